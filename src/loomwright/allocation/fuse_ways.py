"""Which fuse does each load hang on: by rating, key state, what must not die together, and place?

A branch is an item, a fuse a slot with room for many; beside the fuses there are, a box may get new ones. What must
hold: what flows for ever through a fuse stays within the share of its rating that it carries (a fuse whose rating is
open, within that of the largest of its family); a box takes no more blade fuses than it has holes, where they are
counted; the fuse hangs on the contact the circuit asks for; two loads that must not die together hang on two fuses; a
wire whose size is typed or cut does not go behind a larger fuse; a wire kept on its fuse stays. Goals in order:
everything on a fuse; fewest made-up ends moved; fewest new fuses; fewest moved; shortest wiring.

A branch that leads to further fuses stays. Two loads on one branch cannot be parted here: that is told, and so is a
relay behind whose contact both sit.

Source: the share of its rating that a fuse carries is common practice (`tables/constants.csv`, fuse_continuous_frac).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, dist, floor

from loomwright.allocation.engine import Alternative, Goal, Limit, Puzzle, Seat, Side, Unit
from loomwright.allocation.fuse_ground import Branch, FuseWay, Grid, grid_of
from loomwright.allocation.ground import is_made_up
from loomwright.allocation.placing import Tell, place
from loomwright.findings import id_order
from loomwright.job.decided import cut_wires, with_decided
from loomwright.job.fuse_holes import fuse_holes
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families, family_named

__all__ = ["FUSE_GOALS", "HOLE", "Asked", "BranchSeat", "FuseWays", "Slot", "asked_of", "fused_apart"]

FUSE_GOALS: Mapping[str, str] = {
    "built": "everything on a fuse",
    "made up": "fewest made-up ends moved",
    "new": "fewest new fuses",
    "kept": "fewest moved",
    "wiring": "shortest wiring",
}
"""What is asked for, in order -> in words."""

HOLE = "hole "
"""What the name of a unit begins with that stands for the hole of a fuse."""

_MANY = 1000
_MILLI = 1000
_NEW_EACH = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class BranchSeat:
    """One branch and its fuse. was: the fuse it hangs on now.   fuse: the one it gets; `new …` where one is added.

    end: of the wire, that is at the fuse: `from` or `to`.
    """

    wire: str
    end: str
    was: str
    fuse: str
    loads: tuple[str, ...]
    amps: float | None
    state: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseWays:
    """The answer. status: `fits` or `does not fit`.   seats: by fuse.   moved: those that leave their fuse.

    fuses: as they stand.   new: fuses to add, in words.   shared: what still dies together, and what it would take.
    left_out: branches no fuse carries.   goals: goal -> what it costs, and whether proved.
    """

    status: str
    seats: tuple[BranchSeat, ...]
    moved: tuple[BranchSeat, ...]
    fuses: Mapping[str, FuseWay]
    relays: Mapping[str, tuple[str, ...]]
    new: tuple[str, ...]
    shared: tuple[str, ...]
    left_out: tuple[str, ...]
    goals: Mapping[str, tuple[int, bool]]
    notes: tuple[str, ...]

    @property
    def proved(self) -> bool:
        """Whether no answer is better, goal by goal."""
        return all(proved for _, proved in self.goals.values())


def fused_apart(job: Job, kinds: Kinds, amps: Mapping[str, float], tell: Tell | None = None) -> FuseWays:
    """A fuse for every branch.

    Args:
        job: as the sheets have it, its decisions beside it.
        amps: wire -> the most that flows in it, where that is known. [A]
        tell: called with goals done and to do; may raise Stopped.
    Raises:
        Stopped: before anything was found.
    """
    asked = asked_of(job, kinds, amps)
    grid = asked.grid
    answer = place(asked.puzzle(), tell)
    placed = {} if answer is None else {name: at for name, at in answer.placed.items() if not name.startswith(HOLE)}
    seats = tuple(_seat(asked, wire, fuse, placed) for wire, fuse in placed.items())
    seats = tuple(sorted(seats, key=lambda each: (id_order(each.fuse), id_order(each.wire))))
    left = () if answer is None else tuple(name for name in answer.left_out if name in grid.branches)
    return FuseWays(
        status="does not fit" if left else "fits",
        seats=seats,
        moved=tuple(each for each in seats if each.fuse != each.was),
        fuses=grid.fuses,
        relays=grid.relays,
        new=tuple(dict.fromkeys(each.fuse for each in seats if each.fuse not in grid.fuses)),
        shared=tuple(_shared(grid)),
        left_out=tuple(f"{wire}: {_why_left(asked, grid.branches[wire])}" for wire in left),
        goals={}
        if answer is None
        else {name: (answer.costs[number], answer.proved[number]) for number, name in enumerate(FUSE_GOALS)},
        notes=tuple(_notes(asked)),
    )


def asked_of(job: Job, kinds: Kinds, amps: Mapping[str, float]) -> Asked:
    """What is asked of the fuses of a job, as the engine and its words have it."""
    filled = with_decided(job)
    typed = {part.id: part.settings.get("rating_a", "") for part in job.parts}
    grid = grid_of(filled, kinds, amps)
    ratings = {name: float(typed[name]) if typed.get(name) else None for name in grid.fuses}
    return Asked(job=job, grid=grid, ratings=ratings, slots=_slots(grid), holes=fuse_holes(job))


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A fuse, or one that may be added. box: empty where it takes no hole.   new: its number, 0 if it is there. [-]"""

    name: str
    place: str
    box: str
    state: str
    most_a: float
    new: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked. ratings: None where open. [A]   slots: fuses there are or may be.   holes: box -> how many."""

    job: Job
    grid: Grid
    ratings: Mapping[str, float | None]
    slots: Mapping[str, Slot]
    holes: Mapping[str, int]

    def most_a(self, slot: str) -> float:
        """What a fuse carries for ever; of an open one, what the largest of its family would. [A]"""
        rating = self.ratings.get(slot)
        whole = self.slots[slot].most_a if rating is None else rating
        return whole * constant("fuse_continuous_frac")

    def why_not(self, branch: Branch, slot: str) -> str:
        """Why a branch may not hang on a fuse, in words; empty where it may."""
        if branch.is_fixed and slot != branch.fuse:
            return "it feeds further fuses and stays"
        if slot != branch.fuse and branch.wire in self.grid.fuses[branch.fuse].kept:
            return f"{branch.wire} is kept on {branch.fuse}"
        is_bound = slot == branch.fuse and (branch.is_fixed or not self._is_known(branch.wanted))
        if self.slots[slot].state != branch.wanted and not is_bound:
            return f"it hangs on {self.slots[slot].state or 'nothing'}, the circuit asks for {branch.wanted}"
        if branch.amps is not None and branch.amps > self.most_a(slot):
            return f"{branch.amps:.3g} A flow, {slot} carries {self.most_a(slot):.3g} A for ever"
        before, after = self.ratings.get(branch.fuse), self.ratings.get(slot)
        if slot != branch.fuse and before is not None and (after is None or after > before) and self._is_held(branch):
            return f"its wire is made for {before:g} A"
        return ""

    def puzzle(self) -> Puzzle:
        """The puzzle as the engine takes it."""
        branches = self.grid.branches
        seats = {
            wire: {slot: (slot,) for slot in self.slots if not self.why_not(branch, slot)}
            for wire, branch in branches.items()
        }
        holes = [HOLE + slot.name for slot in self.slots.values() if slot.box in self.holes]
        ways = (Alternative(name="empty"), Alternative(name="taken"))
        taken = {name: replace(ways[1], items=(name,)) for name in holes}
        return Puzzle(
            units=(
                *(Unit(name=wire, alternatives=(Alternative(name="", items=(wire,)),)) for wire in branches),
                *(Unit(name=name, alternatives=(ways[0], taken[name])) for name in holes),
            ),
            seats={**seats, **{name: {name: (name,)} for name in holes}},
            goals=tuple(self._goals(seats, holes)),
            rooms=dict.fromkeys(self.slots, _MANY),
            limits=(*self._limits(seats), *self._holes(seats)),
            apart=tuple(self._apart()),
        )

    def _limits(self, seats: Mapping[str, Mapping[str, tuple[str, ...]]]) -> Iterator[Limit]:
        for slot in self.slots:
            takes: dict[Seat, int] = {
                (wire, slot): ceil((self.grid.branches[wire].amps or 0.0) * _MILLI)
                for wire, at in seats.items()
                if slot in at
            }
            most = floor(self.most_a(slot) * _MILLI)
            if sum(takes.values()) > most:
                yield Limit(name=f"what {slot} carries", most=most, takes=takes)

    def _holes(self, seats: Mapping[str, Mapping[str, tuple[str, ...]]]) -> Iterator[Limit]:
        """A fuse that something hangs on takes a hole, and a box has only so many."""
        for box, count in self.holes.items():
            names = [slot.name for slot in self.slots.values() if slot.box == box]
            if names:
                takes = {(HOLE + name, HOLE + name): 1 for name in names}
                yield Limit(name=f"the {count} holes of {box}", most=count, takes=takes)
            for name in names:
                hung: dict[Seat, int] = {(wire, name): 1 for wire, at in seats.items() if name in at}
                if hung:
                    hung[HOLE + name, HOLE + name] = -_MANY
                    yield Limit(name=f"a hole of {box} for {name}", most=0, takes=hung)

    def _apart(self) -> Iterator[Side]:
        own = {slot: slot for slot in self.slots}
        branches = [each for each in self.grid.branches.values() if not each.is_fixed]
        for twins in self.grid.twins:
            ones = [each for each in branches if twins.one in each.loads and twins.other not in each.loads]
            others = [each for each in branches if twins.other in each.loads and twins.one not in each.loads]
            for one in ones:
                for other in others:
                    yield Side(name=f"{twins.one} and {twins.other}", items=(one.wire, other.wire), of=own)

    def _goals(self, seats: Mapping[str, Mapping[str, tuple[str, ...]]], holes: Sequence[str]) -> Iterator[Goal]:
        pairs = [(wire, slot) for wire, at in seats.items() for slot in at]
        moved = [(wire, slot) for wire, slot in pairs if slot != self.grid.branches[wire].fuse]
        built = {b.wire for b in self.grid.branches.values() if is_made_up(self.job, b.wire, b.end)}
        yield Goal(name="built", left_out={**dict.fromkeys(self.grid.branches, 1), **dict.fromkeys(holes, _MANY)})
        yield Goal(name="made up", seats={seat: 1 for seat in moved if seat[0] in built})
        yield Goal(name="new", seats={seat: number for seat in pairs if (number := self.slots[seat[1]].new)})
        yield Goal(name="kept", seats=dict.fromkeys(moved, 1))
        yield Goal(name="wiring", seats={seat: far for seat in moved if (far := self._far_mm(*seat))})

    def _far_mm(self, wire: str, slot: str) -> int:
        where = {row.id: (row.x_mm, row.y_mm, row.z_mm) for row in self.job.places}
        places = {part.id: part.place or "" for part in self.job.parts}
        ends = (where.get(self.slots[slot].place), where.get(places.get(self.grid.branches[wire].to, "")))
        known = [tuple(each for each in end if each is not None) for end in ends if end is not None]
        return round(dist(*known)) if len(known) == 2 and all(len(each) == 3 for each in known) else 0

    def _is_known(self, state: str) -> bool:
        return any(fuse.state == state for fuse in self.grid.fuses.values())

    def _is_held(self, branch: Branch) -> bool:
        """Whether a wire's size can no longer follow its fuse: it is typed, or the wire is cut."""
        typed = {wire.id for wire in self.job.wires if wire.size_mm2 is not None}
        return branch.wire in typed or branch.wire in cut_wires(self.job)


def _slots(grid: Grid) -> dict[str, Slot]:
    found = {}
    for fuse in grid.fuses.values():
        most_a, is_blade = _largest_a(fuse.family), fuse.family.startswith("blade")
        box = fuse.box if is_blade else ""
        found[fuse.id] = Slot(name=fuse.id, place=fuse.place, box=box, state=fuse.state, most_a=most_a, new=0)
    states = {(fuse.box, fuse.state): fuse.place for fuse in grid.fuses.values() if fuse.state}
    for (box, state), where in sorted(states.items()):
        for number in range(1, _NEW_EACH + 1):
            name = f"new fuse {number} on {state} at {box or 'no place'}"
            found[name] = Slot(name=name, place=where, box=box, state=state, most_a=_largest_a("blade_c"), new=number)
    return found


def _largest_a(family: str) -> float:
    try:
        return max(family_named(family).ratings) if family else max(max(each.ratings) for each in families().values())
    except OutOfReach:
        return max(max(each.ratings) for each in families().values())


def _seat(asked: Asked, wire: str, fuse: str, placed: Mapping[str, str]) -> BranchSeat:
    branch = asked.grid.branches[wire]
    return BranchSeat(
        wire=wire,
        end=branch.end,
        was=branch.fuse,
        fuse=fuse,
        loads=branch.loads,
        amps=branch.amps,
        state=asked.slots[fuse].state,
        says="; ".join(_says(asked, branch, fuse, placed)),
    )


def _says(asked: Asked, branch: Branch, fuse: str, placed: Mapping[str, str]) -> Iterator[str]:
    if fuse != branch.fuse:
        why = asked.why_not(branch, branch.fuse)
        if not why:
            why = next(_twins_on(asked, branch, branch.fuse), "") or _why_away(asked, branch.fuse, placed)
        yield f"leaves {branch.fuse}: {why}"
    elif branch.is_fixed:
        yield "feeds further fuses"
    yield f"on {asked.slots[fuse].state or 'no source'}"
    together = [asked.grid.branches[wire].amps or 0.0 for wire, at in placed.items() if at == fuse]
    if asked.ratings.get(fuse) is None:
        yield f"{round(sum(together), 2):.3g} A in all, rating open"
    else:
        yield f"{round(sum(together), 2):.3g} A in all of the {asked.most_a(fuse):.3g} A it carries for ever"
    for twins in asked.grid.twins:
        if {twins.one, twins.other} & set(branch.loads) and not {twins.one, twins.other} <= set(branch.loads):
            other = twins.other if twins.one in branch.loads else twins.one
            yield f"apart from {other}: {twins.says}"


def _why_away(asked: Asked, fuse: str, placed: Mapping[str, str]) -> str:
    """Why something leaves a fuse that it may hang on, in words."""
    box = asked.slots[fuse].box
    if box in asked.holes and fuse not in placed.values():
        fuses = sum(slot.box == box and not slot.new for slot in asked.slots.values())
        return f"{box} has {asked.holes[box]} holes and {fuses} fuses, so {fuse} is given up"
    return f"{fuse} would carry too much"


def _twins_on(asked: Asked, branch: Branch, fuse: str) -> Iterator[str]:
    """Why a branch may not share a fuse with another that was on it, in words."""
    for twins in asked.grid.twins:
        for other in asked.grid.branches.values():
            pair = {twins.one, twins.other}
            if (
                other.wire != branch.wire
                and other.fuse == fuse
                and pair & set(branch.loads)
                and pair & set(other.loads)
            ):
                yield f"{twins.one} and {twins.other} must not die together ({twins.says})"


def _shared(grid: Grid) -> Iterator[str]:
    for twins in grid.twins:
        for branch in grid.branches.values():
            if {twins.one, twins.other} <= set(branch.loads) and not branch.is_fixed:
                yield (
                    f"{twins.one} and {twins.other} ({twins.says}) hang on one wire, {branch.wire} of {branch.fuse}: "
                    "give each a wire and a fuse of its own"
                )
        for relay, loads in grid.relays.items():
            if {twins.one, twins.other} <= set(loads):
                yield f"{twins.one} and {twins.other} ({twins.says}) die with one relay, {relay}"


def _why_left(asked: Asked, branch: Branch) -> str:
    why = dict.fromkeys(asked.why_not(branch, slot) for slot in (branch.fuse, *asked.slots))
    counted = ", ".join(f"{box} has {count} holes" for box, count in asked.holes.items())
    full = f"no fuse has room for it beside the others{f'; {counted}' if counted else ''}"
    return next((each for each in why if each), full)


def _notes(asked: Asked) -> Iterator[str]:
    for fuse in asked.grid.fuses.values():
        if not fuse.state:
            yield f"{fuse.id}: no way leads from it to a source, so its key state is not known"
    unknown = [wire for wire, branch in asked.grid.branches.items() if branch.amps is None]
    if unknown:
        yield f"the current in {' '.join(unknown)} is not known, so it counts as nothing"
    if not asked.grid.fuses:
        yield "there is no fuse"
