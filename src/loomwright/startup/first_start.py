"""Which items does the first start of this job have, which are passed, and which stage is open now?

The list is made from the job's sheets: no oil switch, coils that fire pairs, an electric throttle, a rail without a
return, a battery in the boot, an isolator each bring or take away items. What a meter should show comes from the solved
network. The newest row of the sheet `gates` with an item's name settles it. A stage is closed until every item before
it is passed, or waived with a reason; what can kill is never waived.

Source: `tables/first_start/`; the limits carry their own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.rows import Gate
from loomwright.job.vehicle import vehicle_of
from loomwright.quantities.printing import for_print
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.startup.job_facts import crank_state, fact_parts, facts_of, facts_said, figures_of, fitted_parts
from loomwright.startup.steps import Entry, Measure, Step, step_stages

__all__ = [
    "EMERGENCY",
    "FirstStart",
    "Limit",
    "StartItem",
    "StartStage",
    "first_start",
    "gate_cells",
    "recorded",
]

EMERGENCY = (
    "STOP: key off; then the isolator, or with the engine still the battery's earth lead. Fuel or fire: all out, "
    "doors open, extinguisher from the side; burning car: leave it. Engine runs away: shut its air, never the selector."
)
"""The line that stands on every stage."""
STAGE = "first start"

Volts = Callable[[str, str, Mapping[str, str]], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What may be read. least, most: in `unit`, None: no bound.   expected: by the solved network, or None. [-]

    why: where the bounds come from, in words.   source: their key.
    """

    unit: str
    least: float | None
    most: float | None
    expected: float | None
    why: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StartItem:
    """One item of this job. verdict: `passed`, `failed`, `waived`, or blank.   value: what was read, as written."""

    name: str
    does: str
    sees: str
    fails: str
    caution: str
    source: str
    parts: tuple[str, ...]
    waivable: bool
    limit: Limit | None
    verdict: str
    value: str
    reason: str
    time: str

    @property
    def is_through(self) -> bool:
        """Whether it stands no longer in the way."""
        return self.verdict in ("passed", "waived")


@dataclass(frozen=True, slots=True, kw_only=True)
class StartStage:
    """One stage. number: from 1. [-]   is_open: everything before it is through."""

    number: int
    title: str
    cautions: tuple[str, ...]
    items: tuple[StartItem, ...]
    is_open: bool

    @property
    def left(self) -> int:
        """How many items are not through. [-]"""
        return sum(not item.is_through for item in self.items)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstStart:
    """The list of a job. go: everything is through.   facts: what made the list what it is, in words."""

    stages: tuple[StartStage, ...]
    emergency: str
    facts: tuple[str, ...]
    attempts: int

    @property
    def go(self) -> bool:
        """Whether every item is through."""
        return all(stage.left == 0 for stage in self.stages)

    def item(self, name: str) -> tuple[StartStage, StartItem]:
        """An item and its stage.

        Raises:
            OutOfReach: no such item in this job, with the nearest.
        """
        for stage in self.stages:
            for item in stage.items:
                if item.name == name:
                    return stage, item
        there = [item.name for stage in self.stages for item in stage.items]
        like = nearest(name, there)
        raise OutOfReach("item", name, " ".join(there) + (f"; nearest: {like}" if like else ""))


def first_start(job: Job, volts: Volts | None = None) -> FirstStart:
    """The staged list of a job.

    Args:
        job: the job.
        volts: gives the volts from one point to another (blank: the battery's earthed post) in a state, None where
            they float or the point is not there; left out: nothing is expected.
    Example:
        >>> made = first_start(Job())
        >>> made.stages[0].title, made.stages[0].is_open, made.stages[1].is_open
        ('Before any power', True, False)
    """
    facts = facts_of(job)
    newest = {row.gate: row for row in job.gates if row.stage == STAGE}
    stages: list[StartStage] = []
    is_open = True
    for stage in step_stages():
        items = tuple(item for step in stage.steps for item in _items(job, step, facts, newest, volts))
        if items:
            stages.append(
                StartStage(
                    number=len(stages) + 1, title=stage.title, cautions=stage.cautions, items=items, is_open=is_open
                )
            )
            is_open = is_open and all(item.is_through for item in items)
    return FirstStart(
        stages=tuple(stages), emergency=EMERGENCY, facts=tuple(facts_said(job, facts)), attempts=len(job.attempts)
    )


def gate_cells(
    made: FirstStart, name: str, value: str = "", reason: str = "", *, waive: bool = False
) -> Mapping[str, str]:
    """The row of the sheet `gates` for an item that was looked at.

    Args:
        made: the list as it stands.
        name: of the item.
        value: what was read; blank, `yes` or `no` where nothing is measured.
        reason: why it is waived.
        waive: it is waived, not passed.
    Raises:
        OutOfReach: no such item.
        BadDocument: its stage is closed, the figure is missing, or it may not be waived.
    """
    stage, item = made.item(name)
    if not stage.is_open:
        first = next(each for before in made.stages for each in before.items if not each.is_through)
        raise _refused(name, "closed", f"stage {stage.number} opens after {first.name}", f"First: {first.does}")
    cells = {"gate": name, "stage": STAGE}
    if waive:
        if not item.waivable:
            raise _refused(name, "waived", "passed only: it can hurt somebody", item.does)
        if not reason.strip():
            raise _refused(name, "", "a reason", "Say why it is not needed here")
        return {**cells, "verdict": "waived", "reason": reason.strip()}
    if item.limit is None:
        if value.lower() not in ("", "yes", "no"):
            raise _refused(name, value, "yes or no", item.sees)
        return {**cells, "verdict": "failed" if value.lower() == "no" else "passed"}
    try:
        found = float(value.replace(",", "."))
    except ValueError:
        raise _refused(name, value, f"a figure in {item.limit.unit or 'counts'}", item.does) from None
    unit = {"unit": item.limit.unit} if item.limit.unit else {}
    return {**cells, "verdict": "passed" if _holds(item.limit, found) else "failed", "value": f"{found:g}", **unit}


def recorded(job: Job, cells: Mapping[str, str], *, time: str, who: str = "", sheet: str = "gates") -> Job:
    """The job with one more row in `gates` or `attempts`.

    Args:
        cells: heading -> text.
        time: when.
        who: by whom.
        sheet: where.
    """
    return add_row(job, sheet, {**cells, "time": time, **({"who": who} if who else {})})


def _holds(limit: Limit, found: float) -> bool:
    return (limit.least is None or found >= limit.least) and (limit.most is None or found <= limit.most)


def _items(
    job: Job, step: Step, facts: frozenset[str], newest: Mapping[str, Gate], volts: Volts | None
) -> Iterator[StartItem]:
    if any(_found(job, entry, facts) is not None for entry in step.never):
        return
    found = [parts for entry in step.only if (parts := _found(job, entry, facts)) is not None]
    if step.only and not found:
        return
    parts = tuple(dict.fromkeys(part for each in found for part in each))
    for part in parts if step.each else ("",):
        name = f"{step.id}.{part}" if part else step.id
        words = {**_words(job, parts), "part": part}
        row = newest.get(name)
        yield StartItem(
            name=name,
            does=_filled(step.does, words),
            sees=_filled(step.sees, words),
            fails=_filled(step.fails, words),
            caution=step.caution,
            source=step.source,
            parts=(part,) if part else parts,
            waivable=step.waivable,
            limit=None if step.measure is None else _limit(job, step.measure, words, volts),
            verdict=row.verdict if row else "",
            value="" if row is None or row.value is None else f"{row.value} {row.unit}".strip(),
            reason=row.reason if row else "",
            time=row.time if row else "",
        )


def _found(job: Job, entry: Entry, facts: frozenset[str]) -> tuple[str, ...] | None:
    """The parts an entry speaks of; none of them where it speaks of a fact that holds; None where it does not hold."""
    if "fact" in entry:
        if entry["fact"] not in facts:
            return None
        return fact_parts(job, entry["fact"])
    if "property" in entry:
        name, _, value = entry["property"].partition("=")
        return () if any(row.name == name and row.value == value for row in job.vehicle) else None
    zones = {place.id: place.zone for place in job.places}
    name, _, value = entry.get("setting", "").partition("=")
    parts = tuple(
        part.id
        for part in fitted_parts(job)
        if part.kind == entry.get("kind", part.kind)
        and part.role == entry.get("role", part.role)
        and part.circuit == entry.get("circuit", part.circuit)
        and ("zone" not in entry or zones.get(part.place or "") == entry["zone"])
        and (not name or str(part.settings.get(name, "")) == value)
    )
    return parts or None


def _words(job: Job, parts: tuple[str, ...]) -> dict[str, str]:
    kinds = {part.kind: part.id for part in reversed(fitted_parts(job))}
    starter, coil = kinds.get("starter", ""), kinds.get("coil_plain", "")
    return {
        "coil15": f"{coil}.15" if coil else "",
        "parts": " ".join(parts),
        "battery": kinds.get("battery", ""),
        "starter50": f"{starter}.50" if starter else "",
    }


def _filled(text: str, words: Mapping[str, str]) -> str:
    for name, word in words.items():
        text = text.replace("{" + name + "}", word)
    return text.replace(" ()", "")


def _limit(job: Job, measure: Measure, words: Mapping[str, str], volts: Volts | None) -> Limit:
    system = vehicle_of(job).system_v
    scale = 1.0 if measure.system_v is None else system / measure.system_v
    least = None if measure.least is None else measure.least * scale
    most = None if measure.most is None else measure.most * scale
    expected = None
    if measure.solved and volts is not None:
        points = [_point(job, _filled(point, words)) for point in measure.solved]
        if points[0]:
            expected = volts(points[0], points[1], crank_state(job, measure.state))
    why = measure.source
    own = figures_of(job).get(measure.figure)
    if own is not None:
        least, top = own - measure.within, own + measure.within
        most = min(top, most) if measure.firm and most is not None else top
        why = f"{for_print(own)} {measure.unit} by this job, give or take {measure.within:g}"
    elif expected is not None:
        size = abs(expected) if least is None or least >= 0.0 else expected
        expected = size
        why = f"{for_print(size)} {measure.unit} is expected by the solved network, give or take {measure.within:g}"
        if least is None and most is None:
            least, most = size - measure.within, size + measure.within
        elif not (least or 0.0) <= size <= (most if most is not None else size):
            why += "; that is outside the limit itself: see `loomwright check` before anything is turned"
    return Limit(unit=measure.unit, least=least, most=most, expected=expected, why=why, source=measure.source)


def _point(job: Job, point: str) -> str:
    """A point; `ECU.supply` and `ECU.earth` of a controller stand for a pin of that ability that has a wire."""
    part, _, word = point.partition(".")
    ability = {"supply": "supply", "earth": "power_earth"}.get(word)
    if ability is None:
        return point
    ends = {end for wire in job.wires for end in (wire.from_, wire.to)}
    pins = [
        f"{pin.part}.{pin.terminal}" for pin in job.controller_pins if pin.part == part and ability in pin.abilities
    ]
    return next((pin for pin in pins if pin in ends), next(iter(pins), point))


def _refused(name: str, found: str, allowed: str, mend: str) -> BadDocument:
    return BadDocument((Problem(sheet="gates", row=None, column=name, found=found, allowed=allowed, mend=mend),))
