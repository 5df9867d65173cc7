"""Which fuse does each load hang on: by rating, key state, what must not die together, and place?

`fuse_asked` says what must hold and what is wished; here the answer is worked out and told: each branch with its fuse
and why, what moves, what is added, what dies together all the same, and what no fuse carries.

A branch that leads to further fuses stays. Two loads on one branch cannot be parted here: that is told, and so is a
relay behind whose contact both sit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.allocation.fuse_asked import EMPTY, FUSE_GOALS, HOLE, Asked, asked_of
from loomwright.allocation.fuse_ground import Branch, FuseWay, Grid
from loomwright.allocation.placing import Tell, place
from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import Kinds

__all__ = ["BranchSeat", "FuseWays", "fused_apart"]


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


def fused_apart(
    job: Job, kinds: Kinds, amps: Mapping[str, float], tell: Tell | None = None, *, through: Mapping[str, float] = EMPTY
) -> FuseWays:
    """A fuse for every branch.

    Args:
        job: as the sheets have it, its decisions beside it.
        amps: wire -> the most that flows in it, where that is known. [A]
        tell: called with goals done and to do; may raise Stopped.
        through: fuse -> the most that flows through it at once, as it stands, where that is known. [A]
    Raises:
        Stopped: before anything was found.
    """
    asked = asked_of(job, kinds, amps, through)
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
    together_a = asked.at_once_a(fuse, [wire for wire, at in placed.items() if at == fuse])
    if asked.ratings.get(fuse) is None:
        yield f"{round(together_a, 2):.3g} A in all, rating open"
    elif together_a > asked.most_a(fuse):
        yield f"{round(together_a, 2):.3g} A, more than the {asked.most_a(fuse):.3g} A it carries for ever"
    else:
        yield f"{round(together_a, 2):.3g} A in all of the {asked.most_a(fuse):.3g} A it carries for ever"
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
            # behind one switch or flasher they are one circuit: a fuse each would want a contact each
            if {twins.one, twins.other} <= set(branch.loads) and not branch.is_fixed and not branch.is_switched:
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
    for branch in asked.grid.branches.values():
        amps, most_a = branch.amps or 0.0, asked.most_a(branch.fuse)
        if amps > most_a and asked.stays_alone(branch, branch.fuse):
            yield (
                f"{branch.fuse} is rated {asked.ratings[branch.fuse]:g} A and {amps:.3g} A flow, more than the "
                f"{most_a:.3g} A it carries for ever: a larger one, where its wires carry that, unless it is only "
                "for a while"
            )
    unknown = [wire for wire, branch in asked.grid.branches.items() if branch.amps is None]
    if unknown:
        yield f"the current in {' '.join(unknown)} is not known, so it counts as nothing"
    if not asked.grid.fuses:
        yield "there is no fuse"
