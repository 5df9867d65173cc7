"""Which answers of a car can be had as flat rows, and by what name?

Every sheet of the job by its own name; beside them what is worked out: `JOB_ROWS` of the car as it stands, `STATE_ROWS`
of one of its states. A name is asked for in one place, so a page, a program and a data frame get the same rows.

    sheets    wires, parts, readings ...       as typed; filled: with what was decided, and which cells those are
    the car   findings, sizes, expected ...    worked out when asked; findings and sizes are kept by the car
    a state   volts, amps, relays              one row a point, a wire or part element, a part
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Protocol

from loomwright.findings import Finding, says, when_text
from loomwright.handover.asking import asked_of, telling_states, walk_of
from loomwright.handover.fuse_list import fuses_of, most_amps
from loomwright.handover.plain_rows import Plain, Rows, by_id, listed, typed_headings
from loomwright.handover.sheet_rows import filled_rows, sheet_rows
from loomwright.handover.state_rows import amp_rows, expected_rows, relay_rows, volt_rows
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.schema import SHEETS
from loomwright.loom.cut_list import cut_list
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.network.solve import Solved
from loomwright.refusals import OutOfReach
from loomwright.routes.bundles import bundles
from loomwright.routes.records import Routes
from loomwright.sizing.sized import Sized
from loomwright.tables.kinds import Kind, resolve_settings

__all__ = ["JOB_ROWS", "STATE_ROWS", "Answers", "rows_named"]

_FINDINGS = typed_headings(
    "number:int under:int rule severity at touches when says found:float allowed:float unit source mend"
)
_SIZES = typed_headings(
    "wire size_mm2:float decided_by length_mm:float length_by amps:float conductor_c:float drop_v:float "
    "insulation_c:float ambient_c:float when"
)
_RATINGS = typed_headings("fuse rating_a:float decided_by family amps:float when")
_ROUTES = typed_headings(
    "wire length_mm:float by_route_mm:float stands runs places along_mm:float near_mm:float twisted_mm:float "
    "ends_mm:float follows why mend"
)
_BUNDLES = typed_headings(
    "run from to conductors wires:int covering bundle_mm:float bundle_least_mm:float bundle_most_mm:float"
)
_FUSES = typed_headings("fuse name family rating_a:float most_a:float place box way colour feeds dies")
_CUTS = typed_headings("size_mm2:float colour insulation wire from to length_mm:float cut_mm:float twist done:bool")


class Answers(Protocol):
    """What these rows ask of a car; `car.Car` answers all of it."""

    job: Job
    filled: Job
    kinds: Mapping[str, Kind]

    @property
    def compiled(self) -> Compiled:
        """The network of the job as it stands."""

    @property
    def routes(self) -> Routes:
        """Which runs each wire follows."""

    def findings(self) -> tuple[Finding, ...]:
        """Everything the rules find."""

    def sized(self) -> Sized:
        """Sizes and ratings for what is blank, and what stands already."""

    def solve(
        self,
        state: Mapping[str, str | float] | None = None,
        *,
        before: Mapping[str, str | float] | None = None,
        changes: Changes | None = None,
    ) -> Solved:
        """The car in one state."""


def rows_named(
    car: Answers,
    name: str,
    state: Mapping[str, str | float] | None = None,
    *,
    before: Mapping[str, str | float] | None = None,
    changes: Changes | None = None,
    filled: bool = False,
) -> Rows:
    """The rows of a sheet or of an answer, by name.

    Args:
        name: a sheet, or one of `JOB_ROWS` or `STATE_ROWS`; an answer goes before a sheet of the job's own.
        state: for volts, amps and relays: values of variables; those not named are at rest.
        before: for the same: the state it came from.
        changes: for the same: what is unplugged, pulled, cut, bridged or stuck.
        filled: for a sheet: with what was decided in its blank cells.
    Raises:
        OutOfReach: no such rows, or something asked of rows that do not have it.
    """
    asked_of_a_state = any(one is not None for one in (state, before, changes))
    if asked_of_a_state and name not in STATE_ROWS:
        raise OutOfReach("rows of a state", name, " ".join(STATE_ROWS))
    if filled and name not in SHEETS:
        raise OutOfReach("rows that can be filled", name, " ".join(SHEETS))
    if name in STATE_ROWS:
        return STATE_ROWS[name](car.solve(state, before=before, changes=changes))
    if name in JOB_ROWS:
        return JOB_ROWS[name](car)
    if name not in SHEETS and name not in car.job.extra_sheets:
        names = [*JOB_ROWS, *STATE_ROWS, *SHEETS, *car.job.extra_sheets]
        like = nearest(name, names)
        raise OutOfReach("rows", name, " ".join(names) + (f"; nearest: {like}" if like else ""))
    return filled_rows(car.job, car.filled, name) if filled else sheet_rows(car.job, name)


def _findings(car: Answers) -> Rows:
    """Roots first; what goes with a root is under its number."""
    return Rows(_FINDINGS, _numbered(car.findings()))


def _numbered(findings: tuple[Finding, ...]) -> Iterator[tuple[Plain, ...]]:
    waiting: list[tuple[Finding, int | None]] = [(finding, None) for finding in reversed(findings)]
    number = 0
    while waiting:
        one, under = waiting.pop()
        number += 1
        yield (
            *(number, under, one.rule, one.severity, listed(one.at), listed(one.touches), when_text(one.when)),
            *(says(one), one.found, one.allowed, one.unit, one.source, one.mend),
        )
        waiting.extend((inner, number) for inner in reversed(one.folded))


def _expected(car: Answers) -> Rows:
    states = telling_states(car.filled, car.kinds, car.compiled)
    return expected_rows(asked_of(car.compiled, states))


def _sizes(car: Answers) -> Rows:
    """Every wire that is not removed, decided now or not; amps, copper and drop are the worst it meets."""
    sized = car.sized()
    return Rows(
        _SIZES,
        [
            (
                *(name, one.size_mm2, one.decided_by, one.length_mm, one.length_by, one.amps, one.conductor_c),
                *(one.drop_v, one.insulation_c, one.ambient_c, _when(sized, one.values)),
            )
            for name, one in by_id(sized.wires)
        ],
    )


def _ratings(car: Answers) -> Rows:
    sized = car.sized()
    return Rows(
        _RATINGS,
        [
            (name, one.rating_a, one.decided_by, one.family, one.amps, _when(sized, one.values))
            for name, one in by_id(sized.fuses)
        ],
    )


def _when(sized: Sized, values: type_i | None) -> str:
    return when_text(tuple(sized.state_of(values).items()))


def _routes(car: Answers) -> Rows:
    stands_mm = {wire.id: wire.length_mm for wire in car.filled.wires}
    led = [
        (
            *(one.wire, stands_mm[one.wire] or one.length_mm, one.length_mm, one.stands),
            *(listed(one.runs), listed(one.places), one.along_mm, one.near_mm, one.twisted_mm, one.ends_mm),
            *(one.follows, "", ""),
        )
        for one in car.routes.wires.values()
    ]
    not_led = [
        (one.wire, stands_mm[one.wire], None, "", "", "", None, None, None, None, "", one.why, one.mend)
        for one in car.routes.unrouted.values()
    ]
    return Rows(_ROUTES, [*led, *not_led])


def _bundles(car: Answers) -> Rows:
    ends = {run.id: (run.from_, run.to) for run in car.job.runs}
    return Rows(
        _BUNDLES,
        [
            (
                *(one.run, *ends[one.run], listed(one.conductors), len(one.conductors), one.covering),
                *(one.bundle_mm, one.least_mm, one.most_mm),
            )
            for one in bundles(car.job, car.routes).values()
        ],
    )


def _fuses(car: Answers) -> Rows:
    """most_a: the largest current in the states that matter and those with one more thing switched."""
    walk = walk_of(car.filled, car.kinds, car.compiled)
    parts = {part.id: part for part in car.filled.parts}
    rows = []
    for one in fuses_of(car.filled, car.kinds, car.compiled, walk.columns, walk.nearby, before=walk.answers):
        settings = resolve_settings(car.kinds[parts[one.id].kind], parts[one.id].settings)
        rating, most_a = settings.get("rating_a"), abs(most_amps(car.compiled, one.id, walk.answers)[0])
        known_a = float(rating) if rating not in (None, "") else None
        where = (one.at, one.box, one.way, one.colour)
        rows.append((one.id, one.name, one.family, known_a, most_a, *where, listed(one.feeds), listed(one.dies)))
    return Rows(_FUSES, rows)


def _cuts(car: Answers) -> Rows:
    return Rows(
        _CUTS,
        [
            (
                *(reel.size_mm2, reel.colour, reel.insulation, cut.wire, cut.start, cut.end),
                *(cut.length_mm, cut.cut_mm, cut.twist, cut.done),
            )
            for reel in cut_list(car.filled).reels
            for cut in reel.cuts
        ],
    )


JOB_ROWS: Mapping[str, Callable[[Answers], Rows]] = {
    "findings": _findings,
    "expected": _expected,
    "sizes": _sizes,
    "ratings": _ratings,
    "routes": _routes,
    "bundles": _bundles,
    "fuses": _fuses,
    "cut_list": _cuts,
}
"""Name -> rows about the car as it stands. findings: what is wrong. expected: what the meter should read in the states
that matter. sizes, ratings: of wires and fuses, those of blank cells worked out now, and what ruled. routes: the way of
each wire. bundles: what shares a run. fuses: what each carries, feeds, and takes down with it. cut_list: pieces to cut,
reel by reel."""

STATE_ROWS: Mapping[str, Callable[[Solved], Rows]] = {"volts": volt_rows, "amps": amp_rows, "relays": relay_rows}
"""Name -> rows about one state: volts of every point, amps of every wire and part element, how relays lie."""
