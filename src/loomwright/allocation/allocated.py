"""Which pin does each need get, is that proved the best, and what if there are too few?

The front of the room: looks at the sheets, refuses what cannot be meant, asks the engine, and tells the answer: pins
with their reasons, options chosen, spares counted, what had to be moved; where not everything fits, the smallest sets
that cannot be built together, in words, and ways out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from loomwright.allocation.able import a_ability, able_pins, why_not
from loomwright.allocation.clash_words import Conflict, conflicts_of
from loomwright.allocation.engine import Puzzle
from loomwright.allocation.faults import refuse_faults
from loomwright.allocation.ground import Ground, ground_of
from loomwright.allocation.pin_puzzle import pin_puzzle
from loomwright.allocation.placing import Placed, place
from loomwright.allocation.wanting import more_wanted
from loomwright.allocation.way_records import WayOut
from loomwright.allocation.ways_out import ways_out
from loomwright.allocation.why_pin import OtherPin, WhyPin, others_of, why_pins
from loomwright.job.decided import is_at_need
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.new_colours import with_colours
from loomwright.job.points import Kinds
from loomwright.job.rows import Wire
from loomwright.refusals import Stopped
from loomwright.tables.kinds import load_abilities

__all__ = ["Allocation", "GoalReached", "Moved", "Spare", "allocate", "other_pins", "puzzle_of"]

Tell = Callable[[int, int], None]
_WAYS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalReached:
    """How far one goal was met. cost: in its own measure, least is best. [-]   proved: that no answer has less."""

    name: str
    cost: int
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """What is left over of one ability. pins: those that could still do it; one pin may stand in several rows."""

    ability: str
    pins: tuple[str, ...]
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A need whose pin is another than the one that was kept. built: whether its wire was made up there."""

    need: str
    before: str
    now: str
    built: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Allocation:
    """The answer.

    job: what was asked, its decisions beside it.   pins: need -> pin.   points: need -> the pin as a point.
    why: need -> why that pin.   options: group -> the alternative that is built.   left_out: what is not built.
    goals: how far each was met.   wires: those that are missing between a need and its pin, proposed.
    wanted: ability -> how many more such pins of another controller would make everything fit; none where none would.
    notes: what was not known and so not asked.
    """

    job: Job
    status: Literal["fits", "does not fit"]
    proved: bool
    pins: Mapping[str, str]
    points: Mapping[str, str]
    why: Mapping[str, WhyPin]
    options: Mapping[str, str]
    left_out: tuple[str, ...]
    goals: tuple[GoalReached, ...]
    spares: tuple[Spare, ...]
    moved: tuple[Moved, ...]
    conflicts: tuple[Conflict, ...]
    ways_out: tuple[WayOut, ...]
    wanted: tuple[tuple[str, int], ...]
    wires: tuple[Wire, ...]
    notes: tuple[str, ...]


def allocate(job: Job, kinds: Kinds, tell: Tell | None = None, *, ways: int = _WAYS) -> Allocation:
    """Gives every need its pin, or says what is in the way and how out of it.

    Args:
        job: as the sheets have it, its decisions beside it.
        kinds: the library's and the job's own.
        tell: called with steps done and to do, often; may raise Stopped: then the best found so far is given.
        ways: how many ways out are looked for where not everything fits. [-]
    Raises:
        BadDocument: sheets that cannot be meant.
        Stopped: before anything was found.
    """
    ground = ground_of(job, kinds)
    refuse_faults(ground)
    puzzle = puzzle_of(ground)
    found = place(puzzle, tell)
    assert found is not None  # leaving everything out is always an answer
    conflicts: tuple[Conflict, ...] = ()
    out: tuple[WayOut, ...] = ()
    wanted: tuple[tuple[str, int], ...] = ()
    if found.left_out:
        try:
            conflicts = conflicts_of(ground, puzzle, found.left_out, tell)
            out = ways_out(ground, ways, tell) if ways else ()
            wanted = more_wanted(ground, puzzle, found.left_out) if ways else ()
        except Stopped:
            found = replace(found, proved=(False,) * len(found.proved))
    return replace(_told(ground, puzzle, found), conflicts=conflicts, ways_out=out, wanted=wanted)


def needs_left_out(job: Job, kinds: Kinds) -> tuple[str, ...]:
    """The needs that the best answer gives no pin, of a choice the first alternative; none where all fits.

    Raises:
        BadDocument: sheets that cannot be meant.
    """
    ground = ground_of(job, kinds)
    refuse_faults(ground)
    puzzle = puzzle_of(ground)
    found = place(puzzle)
    assert found is not None  # leaving everything out is always an answer
    units = {unit.name: unit for unit in puzzle.units}
    return tuple(item for name in found.left_out for item in units[name].alternatives[0].items)


def puzzle_of(ground: Ground) -> Puzzle:
    """The puzzle of a job's pins as the sheets have them."""
    able = {
        name: (need.fixed,) if need.fixed is not None else able_pins(ground, need)
        for name, need in ground.needs.items()
    }
    return pin_puzzle(ground, able)


def other_pins(ground: Ground, placed: Mapping[str, str], need: str) -> tuple[OtherPin, ...]:
    """Which other pins a need could be put on by hand, each with its cost or why not: what is fixed may be moved.

    Args:
        placed: the answer, need -> pin; that of the need is in it.
    """
    freed = {
        name: each if each.fixed is None else replace(each, fixed=None, by="", now=each.fixed if each.built else None)
        for name, each in ground.needs.items()
    }
    loose = replace(ground, needs=freed)
    return others_of(loose, puzzle_of(loose), placed, need)


def _told(ground: Ground, puzzle: Puzzle, found: Placed) -> Allocation:
    pins = dict(found.placed)
    points = {need: f"{ground.pins[pin].part}.{ground.pins[pin].terminal}" for need, pin in pins.items()}
    used = {slot for need, pin in pins.items() for slot in puzzle.seats[need][pin]}
    return Allocation(
        job=ground.job,
        status="does not fit" if found.left_out else "fits",
        proved=all(found.proved),
        pins=FixedMap(pins),
        points=FixedMap(points),
        why=FixedMap(why_pins(ground, puzzle, found.placed)),
        options=FixedMap({unit.removeprefix("option "): name for unit, name in sorted(found.chosen.items()) if name}),
        left_out=found.left_out,
        goals=tuple(
            GoalReached(name=goal.name, cost=cost, proved=proved)
            for goal, cost, proved in zip(puzzle.goals, found.costs, found.proved, strict=True)
        ),
        spares=_spares(ground, used),
        moved=tuple(_moved(ground, pins)),
        conflicts=(),
        ways_out=(),
        wanted=(),
        wires=_wires(ground, pins),
        notes=_notes(ground),
    )


def _spares(ground: Ground, used: set[str]) -> tuple[Spare, ...]:
    known = [word for word in load_abilities() if any(word in pin.abilities for pin in ground.pins.values())]
    return tuple(
        Spare(
            ability=word,
            pins=tuple(name for name, pin in ground.pins.items() if word in pin.abilities and name not in used),
            of=sum(word in pin.abilities for pin in ground.pins.values()),
        )
        for word in known
    )


def _moved(ground: Ground, pins: Mapping[str, str]) -> list[Moved]:
    """The needs that are not where they were kept, and why."""
    holder = {pin: need for need, pin in pins.items()}
    found = []
    for name, need in ground.needs.items():
        if need.now is None or name not in pins or pins[name] == need.now:
            continue
        rival = holder.get(need.now)
        why = why_not(need, ground.pins[need.now])
        if need.fixed is not None:
            says = f"{need.fixed} is now typed in its row" if need.by == "typed" else f"wire {need.by} is drawn there"
        elif why:
            says = f"{need.now} {why}"
        elif rival is not None:
            says = f"{need.now} goes to {rival}, {_has_only(ground, rival, need.now)}"
        else:
            says = "another pin serves the whole better"
        built = ", its wire made up there" if need.built else ""
        says = f"{name} moves from {need.now} to {pins[name]}{built}: {says}"
        found.append(Moved(need=name, before=need.now, now=pins[name], built=need.built, says=says))
    return found


def _has_only(ground: Ground, need: str, pin: str) -> str:
    other = ground.needs[need]
    if other.fixed is not None:
        return f"which is fixed to {pin}"
    able = able_pins(ground, other)
    if len(able) == 1:
        return "which no other pin can serve"
    return f"which asks for {a_ability(other.row.ability)}, and {len(able)} pins can do it"


def _wires(ground: Ground, pins: Mapping[str, str]) -> tuple[Wire, ...]:
    """The wires that are missing: a need whose point no wire leads to its pin from, nor waits to."""
    found: list[Wire] = []
    names = {wire.id for wire in ground.job.wires}
    for name, pin in pins.items():
        need = ground.needs[name].row
        point = f"{ground.pins[pin].part}.{ground.pins[pin].terminal}"
        at_pin = any(point in (wire.from_, wire.to) for wire in ground.job.wires if wire.fitted != "removed")
        waits = any(
            bool(wire.from_) != bool(wire.to) and is_at_need(need, wire.from_ or wire.to) for wire in ground.job.wires
        )
        if at_pin or waits or need.part in ("", None, ground.pins[pin].part):
            continue
        own = f"W_{name}"
        while own in names:
            own += "_"
        names.add(own)
        part = next(one for one in ground.job.parts if one.id == need.part)
        start = f"{need.part}.{need.terminal}" if need.terminal else need.part
        found.append(Wire(id=own, circuit=part.circuit, from_=start, to="", fitted="new"))
    made = {wire.id for wire in found}
    coloured = with_colours(replace(ground.job, wires=(*ground.job.wires, *found)), made)
    return tuple(wire for wire in coloured.wires if wire.id in made)


def _notes(ground: Ground) -> tuple[str, ...]:
    out = [
        name
        for name, need in ground.needs.items()
        if need.load_a is None
        and (ability := load_abilities().get(need.row.ability)) is not None
        and ability.direction == "out"
        and ability.id != "supply_5v"
    ]
    far = {pin.part for pin in ground.pins.values()}
    lost = [
        name
        for name, need in ground.needs.items()
        if len(far) > 1
        and any(ground.distance_mm.get((ground.place.get(need.row.part, ""), box)) is None for box in far)
    ]
    gone = [row.id for row in ground.job.needs if row.id not in ground.needs]
    notes = []
    if out:
        notes.append(f"Nobody knows the amps of {' '.join(out)}: write load_a, or no rating is asked of their pins")
    if lost:
        notes.append(f"Nobody knows how far {' '.join(lost)} are from a controller: write their places")
    if gone:
        notes.append(f"Not asked, their parts being removed: {' '.join(gone)}")
    return tuple(notes)
