"""The front door: one job and its answers.

`Car` is one frozen revision of a job. Its answers are worked out when asked and kept; pages, commands and papers all
ask here, so they agree. Safe to ask from several threads: an answer may be worked out twice, never half.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from loomwright.findings import Finding, in_order
from loomwright.handover.answer_rows import rows_named
from loomwright.handover.pack import Making, Pack, pack_of
from loomwright.handover.paper import paper_of
from loomwright.handover.plain_rows import Rows
from loomwright.handover.records import Paper
from loomwright.handover.wire_list import notes_of
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.variables import Variable, variables_of
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.meter import Bench, MeterReading, read_amps, read_lamp, read_ohms, read_volts
from loomwright.network.records import Changes
from loomwright.network.solve import Solved, devices_on, solve
from loomwright.routes.records import Routes
from loomwright.routes.route_findings import route_findings
from loomwright.routes.wire_routes import wire_routes
from loomwright.sizing import protection
from loomwright.sizing.choosing import choose
from loomwright.sizing.provisional import Provisional, has_blanks, provisional
from loomwright.sizing.size_record import record_of
from loomwright.sizing.sized import Sized
from loomwright.sizing.stale import stale_findings
from loomwright.sizing.why import Why, why_length, why_size
from loomwright.states.asking.folding import Told, folded
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import Searched, search
from loomwright.states.asking.telling import told_of
from loomwright.states.rulebook import sheet_findings, state_watches
from loomwright.tables.kinds import Kind, load_kinds

_EVERY = 10**12
__all__ = ["Car", "Checked", "State"]

State = Mapping[str, str | float]
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a check found. states_searched: raw states whose verdicts are settled; solved: states worked out for it.
    [-]"""

    findings: tuple[Finding, ...]
    states_searched: int
    solved: int
    raw_states: int

    @property
    def worst(self) -> str:
        """The gravest severity there is, `none` where there is nothing."""
        words = [finding.severity for finding in self.findings]
        return next((word for word in ("fault", "warning", "note") if word in words), "none")


class Car:
    """One job and its answers.

    job: as the sheets have it.   filled: the same with what was decided in its blank cells; this is what is asked.
    """

    def __init__(self, job: Job, kinds: Mapping[str, Kind] | None = None) -> None:
        self.job = job
        self.filled = with_decided(job)
        self.kinds: Mapping[str, Kind] = kinds_of(job, kinds if kinds is not None else load_kinds())

    @cached_property
    def variables(self) -> tuple[Variable, ...]:
        """The state variables of the job."""
        return self.compiled.network.variables

    @cached_property
    def compiled(self) -> Compiled:
        """The network of the job as it stands."""
        return self.compiled_with(Changes())

    @cached_property
    def scene(self) -> Scene:
        """The car as rules see it."""
        return scene_of(self.filled, self.kinds, self.compiled)

    @cached_property
    def routes(self) -> Routes:
        """Which runs each wire follows, and how long that makes it."""
        return wire_routes(self.job, self.kinds)

    def route_findings(self) -> tuple[Finding, ...]:
        """What the runs say of the wires, less what is waived; no state is looked at."""
        told = [Told(finding, None, None) for finding in route_findings(self.job, self.routes)]
        return in_order(one.finding for one in _without_waived(self.filled, told))

    @cached_property
    def taken(self) -> Provisional:
        """The job that is solved: what nobody typed or decided is taken provisionally, and noted."""
        if not has_blanks(self.filled):
            return Provisional(job=self.filled, notes=())
        return provisional(self.filled, self.kinds, self.routes)

    def sized(self, tell: Tell | None = None, look_at: Sequence[str] = ()) -> Sized:
        """Sizes and ratings for what is blank, with the limits that ruled; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            look_at: wires and fuses whose limits are asked for though their cell is typed.
        """
        named = tuple(sorted(look_at))
        known: dict[tuple[str, ...], Sized] = self.__dict__.setdefault("_sized", {})
        if named not in known:
            # what is taken provisionally is the same car as long as nothing is kept, built or looked at
            plain = not (named or self.job.decisions or self.job.progress)
            begun = self.scene if plain else None
            chosen = choose(self.job, self.kinds, self.routes, look_at=named, begun=begun, tell=tell)
            known[named] = record_of(chosen, self.routes)
        return known[named]

    def why(self, cell: str, tell: Tell | None = None) -> Why:
        """The way back of a size, a rating or a length: `car.why("W104.size_mm2")`.

        Raises:
            OutOfReach: no such wire or fuse, or a column nobody decides.
        """
        if cell.endswith(".length_mm"):
            return why_length(self.job, self.kinds, self.routes, cell)
        return why_size(self.job, cell, lambda look_at: self.sized(tell, look_at))

    def compiled_with(self, changes: Changes, state: State | None = None) -> Compiled:
        """The network with something changed, and with figures of the state that the job itself does not name."""
        network = build_network(self.taken.job, self.kinds, changes, self._variables_for(state or {}))
        return compile_network(replace(network, notes=(*network.notes, *self.taken.notes)))

    def solve(
        self,
        state: State | None = None,
        *,
        before: State | None = None,
        changes: Changes | None = None,
        **values: str | float,
    ) -> Solved:
        """The car in one state, `car.solve({"key": "start"})` or `car.solve(key="start")`.

        Args:
            state: values of variables; those not named are at rest.
            before: the state it came from.
            changes: what is unplugged, pulled, cut, bridged or stuck.
            values: more variables, by name.
        Raises:
            OutOfReach: an unknown variable, value, part or point.
        """
        state = {**(state or {}), **values}
        named = {**state, **(before or {})}
        if (changes is None or changes == Changes()) and self._knows(named):
            return solve(self.compiled, state, before)
        return solve(self.compiled_with(changes or Changes(), named), state, before)

    def devices(self, state: State, before: State | None = None, changes: Changes | None = None) -> Mapping[str, bool]:
        """Which relays, controllers, motors and fuses are on in a state, by device name."""
        compiled = self.compiled_with(changes or Changes(), {**state, **(before or {})})
        return devices_on(compiled, state, before)

    def bench(self, state: State, before: State | None = None, changes: Changes | None = None) -> Bench:
        """The bench a meter is used on."""
        return Bench(
            job=self.taken.job,
            kinds=self.kinds,
            changes=changes or Changes(),
            state=state,
            before=before,
            variables=self._variables_for({**state, **(before or {})}),
        )

    def volts(self, a: str, b: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What a voltmeter reads between two points. [V]"""
        return read_volts(self.bench(state, changes=changes), a, b)

    def ohms(self, a: str, b: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What an ohmmeter reads between two points, battery off. [ohm]"""
        return read_ohms(self.bench(state, changes=changes), a, b)

    def amps(self, wire: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What a clamp reads on a wire. [A]"""
        return read_amps(self.bench(state, changes=changes), wire)

    def lamp(self, a: str, b: str, watt: float, state: State, *, changes: Changes | None = None) -> MeterReading:
        """How a test lamp glows between two points. [A]"""
        return read_lamp(self.bench(state, changes=changes), a, b, watt)

    def check(self, tell: Tell | None = None, everything: bool = False) -> Checked:
        """Everything the rules find, in every state; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            everything: solve every raw state instead of proving most by bounds.
        """
        if everything or "_checked" not in self.__dict__:
            checked = self._check_now(tell, everything)
            if everything:
                return checked
            self.__dict__["_checked"] = checked
        return self._checked

    def _check_now(self, tell: Tell | None, everything: bool) -> Checked:
        scene = self.scene
        watches = state_watches(scene) + protection.watches(scene)
        searched = search(self.compiled, watches, tell, _EVERY if everything else ALL_BELOW)
        told = [*sheet_findings(scene), *protection.sheet_findings(scene)]
        told += [Told(finding, None, None) for finding in route_findings(self.job, self.routes)]
        told += [Told(finding, None, None) for finding in stale_findings(self.job, self.kinds, self.routes)]
        told += [told_of(self.compiled, searched.space, broken) for broken in searched.broken]
        kept = _without_waived(self.filled, told)
        findings = folded(
            _roots_first(kept), searched.space, searched.states, lambda changes: self.compiled_with(changes)
        )
        return Checked(
            findings=in_order(findings),
            states_searched=searched.states_searched,
            solved=searched.solved,
            raw_states=searched.space.raw,
        )

    def findings(self) -> tuple[Finding, ...]:
        """Everything the rules find."""
        return self._checked.findings

    @cached_property
    def _checked(self) -> Checked:
        return self._check_now(None, everything=False)

    def paper(self, *, date: str = "", tell: Tell | None = None) -> Paper:
        """What the first paper of the job says: cautions, findings, wires, readings to expect, fuses.

        Args:
            date: printed as it stands; none where empty.
            tell: called with states done and to do, where the check is not worked out yet; may raise Stopped.
        """
        checked = self.check(tell)
        return paper_of(
            self.filled,
            self.kinds,
            self.compiled,
            checked.findings,
            states_searched=checked.states_searched,
            date=date,
            notes=notes_of(self.job),
        )

    def pack(self, *, date: str = "", tell: Tell | None = None, making: Making | None = None) -> Pack:
        """What is taped to the bench and taken under the car: the paper, and all that is built and tested by.

        Args:
            date: printed as it stands; none where empty.
            tell: called with states done and to do, where the check is not worked out yet; may raise Stopped.
            making: told what is being worked out after that; may raise Stopped.
        """
        checked = self.check(tell)
        return pack_of(
            self.job,
            self.scene,
            checked.findings,
            states_searched=checked.states_searched,
            date=date,
            making=making,
        )

    def rows(
        self,
        name: str,
        state: State | None = None,
        *,
        before: State | None = None,
        changes: Changes | None = None,
        filled: bool = False,
        **values: str | float,
    ) -> Rows:
        """An answer or a sheet as flat rows: `car.rows("findings")`, `car.rows("volts", key="start")`.

        Args:
            name: a sheet, or an answer of `handover.answer_rows`.
            state: for volts, amps and relays: values of variables; those not named are at rest.
            before: for the same: the state it came from.
            changes: for the same: what is unplugged, pulled, cut, bridged or stuck.
            filled: a sheet with what was decided in its blank cells, and which cells those are.
            values: more variables, by name.
        Raises:
            OutOfReach: no such rows, or something asked of rows that do not have it.
        """
        asked = {**(state or {}), **values} if state is not None or values else None
        return rows_named(self, name, asked, before=before, changes=changes, filled=filled)

    def searched(self, tell: Tell | None = None) -> Searched:
        """The search alone, for those who want its states."""
        return search(self.compiled, state_watches(self.scene), tell)

    def _knows(self, state: State) -> bool:
        known = {variable.name: variable.values for variable in self.variables}
        return all(name in known and _has(known[name], value) for name, value in state.items())

    def _variables_for(self, state: State) -> tuple[Variable, ...]:
        """The job's variables, with figures of a state that none of its conditions names."""
        found = []
        for variable in variables_of(self.filled, self.kinds):
            value = state.get(variable.name)
            if value is not None and variable.numeric and not _has(variable.values, value) and _is_number(value):
                values = sorted({*variable.values, f"{float(value):g}"}, key=float)
                variable = replace(variable, values=tuple(values))
            found.append(variable)
        return tuple(found)


def _is_number(value: str | float) -> bool:
    try:
        float(value)
    except ValueError:
        return False
    return True


def _has(values: Sequence[str], value: str | float) -> bool:
    if str(value) in values:
        return True
    if not _is_number(value):
        return False
    return any(_is_number(text) and float(text) == float(value) for text in values)


def _without_waived(job: Job, told: Sequence[Told]) -> list[Told]:
    """Findings less those a row of the sheet `waived` switches off."""

    def waived(finding: Finding) -> bool:
        places = {*finding.at, *finding.touches}
        return any(row.rule == finding.rule and (not row.point or row.point in places) for row in job.waived)

    return [one for one in told if not waived(one.finding)]


def _roots_first(told: Sequence[Told]) -> list[Told]:
    rank = {"NET": 0}
    return sorted(told, key=lambda one: (one.trial is None, rank.get(one.finding.rule[:3], 1)))
