"""What is asked of fuses and the branches that hang on them, as the engine that puts items into slots has it?

A branch is an item, a fuse a slot with room for many; beside the fuses there are, a box may get new ones. What must
hold: what flows for ever through a fuse stays within the share of its rating that it carries (a fuse whose rating is
open, within that of the largest of its family). What hangs on a fuse already counts as what flows through it at once,
where that is known; one load alone on its fuse stays there up to the rating, and it is told. A box takes no more blade
fuses than it has holes, where they are counted; the fuse hangs on the contact the circuit asks for; two loads that must
not die together hang on two fuses; a wire whose size is typed or cut does not go behind a larger fuse; a wire kept on
its fuse stays. Goals in order: everything on a fuse; fewest made-up ends moved; fewest new fuses; fewest moved;
shortest wiring.

A branch that leads to further fuses stays. Two loads on one branch cannot be parted here: that is told, and so is a
relay behind whose contact both sit.

Source: the share of its rating that a fuse carries is common practice (`tables/constants.csv`, fuse_continuous_frac).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, dist, floor

from loomwright.allocation.engine import Alternative, Goal, Limit, Puzzle, Seat, Side, Unit
from loomwright.allocation.fuse_ground import Branch, Grid, grid_of
from loomwright.allocation.ground import is_made_up
from loomwright.job.decided import cut_wires, with_decided
from loomwright.job.fixed_map import FixedMap
from loomwright.job.fuse_holes import fuse_holes
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families, family_named

__all__ = ["EMPTY", "FUSE_GOALS", "HOLE", "Asked", "Slot", "asked_of"]

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

EMPTY: Mapping[str, float] = FixedMap()
"""Nothing is known."""
_MANY = 1000
_MILLI = 1000
_NEW_EACH = 2


def asked_of(job: Job, kinds: Kinds, amps: Mapping[str, float], through: Mapping[str, float] = EMPTY) -> Asked:
    """What is asked of the fuses of a job, as the engine and its words have it."""
    filled = with_decided(job)
    typed = {part.id: part.settings.get("rating_a", "") for part in job.parts}
    grid = grid_of(filled, kinds, amps)
    ratings = {name: float(typed[name]) if typed.get(name) else None for name in grid.fuses}
    return Asked(job=job, grid=grid, ratings=ratings, slots=_slots(grid), holes=fuse_holes(job), through=dict(through))


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
    """What is asked. ratings: None where open. [A]   slots: fuses there are or may be.   holes: box -> how many.

    through: fuse -> what flows through it at once, as it stands. [A]
    """

    job: Job
    grid: Grid
    ratings: Mapping[str, float | None]
    slots: Mapping[str, Slot]
    holes: Mapping[str, int]
    through: Mapping[str, float]

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
        is_unknown = not self._is_known(branch.wanted) or not self.grid.fuses[branch.fuse].state
        is_bound = slot == branch.fuse and (branch.is_fixed or is_unknown)
        if self.slots[slot].state != branch.wanted and not is_bound:
            return f"it hangs on {self.slots[slot].state or 'nothing'}, the circuit asks for {branch.wanted}"
        if branch.amps is not None and branch.amps > self.most_a(slot) and not self.stays_alone(branch, slot):
            return f"{branch.amps:.3g} A flow, {slot} carries {self.most_a(slot):.3g} A for ever"
        before, after = self.ratings.get(branch.fuse), self.ratings.get(slot)
        if slot != branch.fuse and before is not None and (after is None or after > before) and self._is_held(branch):
            return f"its wire is made for {before:g} A"
        return ""

    def stays_alone(self, branch: Branch, slot: str) -> bool:
        """Whether a branch that is too much for ever may stay on its own fuse, being within its rating."""
        return slot == branch.fuse and (branch.amps or 0.0) <= (self.ratings.get(slot) or 0.0)

    def at_once_a(self, slot: str, wires: Collection[str]) -> float:
        """The most through a fuse when some wires hang on it: of those that do now, what flows at once. [A]"""
        branches = self.grid.branches
        now = [wire for wire in wires if branches[wire].fuse == slot]
        others = sum(branches[wire].amps or 0.0 for wire in wires if branches[wire].fuse != slot)
        alone = sum(branches[wire].amps or 0.0 for wire in now)
        return others + min(alone, self.through.get(slot, alone) if len(now) > 1 else alone)

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
        branches = self.grid.branches
        for slot in self.slots:
            takes: dict[Seat, int] = {
                (wire, slot): ceil((branches[wire].amps or 0.0) * _MILLI) for wire, at in seats.items() if slot in at
            }
            most_a = self.most_a(slot)
            now = [wire for wire, _ in takes if branches[wire].fuse == slot]
            together_a = self.at_once_a(slot, now)
            if together_a <= most_a < sum(branches[wire].amps or 0.0 for wire in now):
                # as they stand they never flow all at once: they may stay, and others get what is left beside them
                takes = {seat: amps for seat, amps in takes.items() if seat[0] not in now}
                most_a -= together_a
            most = max(floor(most_a * _MILLI), *(takes.get((wire, slot), 0) for wire in now), 0)
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
