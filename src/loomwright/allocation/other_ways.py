"""What else could a circuit sit in: every other cavity, every other fuse, with its cost or why it cannot be?

Each is tried in the answer that was found: moved there where it is free, the two exchanged where it is taken. What
breaks is named, else the first goal that suffers. Longer chains are not told; that none of them is better is proved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from loomwright.allocation.cavities import Cavities, plugs_beside
from loomwright.allocation.cavity_ground import Crossing, Plug, crossings_of, plugs_of
from loomwright.allocation.cavity_puzzle import CAVITY_GOALS, GAP, cavity_puzzle, why_not_here
from loomwright.allocation.exchanges import Standing
from loomwright.allocation.fuse_asked import EMPTY, FUSE_GOALS, Asked, asked_of
from loomwright.allocation.fuse_ways import FuseWays
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import Kinds

__all__ = ["OtherWay", "other_cavities", "other_fuses"]

_COSTS = {
    "made up": "an end that is made up comes out",
    "plug": "it goes to another plug",
    "spares": "a larger way is taken by what a smaller one carries",
    "kept": "one more is moved",
    "new": "a fuse is added",
    "wiring": "its wire gets longer",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherWay:
    """Another cavity or fuse. is_possible: it could sit there, without moving a third.   says: the cost, or why not."""

    name: str
    says: str
    is_possible: bool


def other_cavities(job: Job, amps: Mapping[str, float], answer: Cavities, was: str) -> tuple[OtherWay, ...]:
    """Where else a crossing could sit.

    Args:
        amps: wire -> the most that flows in it, where that is known. [A]
        answer: of the same job.
        was: the crossing, by its way as it stands in the sheets.
    """
    filled = with_decided(job)
    plugs = plugs_of(filled)
    group = plugs_beside(plugs, was.rsplit(".", 1)[0])
    own = {name: each for name, each in crossings_of(filled, amps, plugs).items() if each.plug in group}
    placed = {each.was: each.way for each in answer.seats if each.was in own}
    if was not in own:
        return ()
    puzzle = cavity_puzzle(own, group, filled.crimps)
    gaps = {f"{GAP}{one} {other}" for one, other in answer.beside}
    standing = Standing(puzzle, placed | {name: name for name in gaps if name in puzzle.seats})
    return tuple(
        _cavity(own, plug, way.name, was, standing, why_not_here(own[was], way, plug, filled.crimps))
        for plug in group.values()
        for way in plug.ways
        if way.name != placed.get(was)
    )


def other_fuses(
    job: Job,
    kinds: Kinds,
    amps: Mapping[str, float],
    answer: FuseWays,
    wire: str,
    *,
    through: Mapping[str, float] = EMPTY,
) -> tuple[OtherWay, ...]:
    """Which other fuse a branch could hang on.

    Args:
        amps: wire -> the most that flows in it, where that is known. [A]
        through: fuse -> the most that flows through it at once, as it stands, where that is known. [A]
        answer: of the same job.
        wire: the branch. Of fuses that may be added only the first of a kind is told, where it would do.
    """
    asked = asked_of(job, kinds, amps, through)
    placed = {each.wire: each.fuse for each in answer.seats}
    if wire not in placed:
        return ()
    standing = Standing(replace(asked, holes={}).puzzle(), placed)
    tried = (_fuse(asked, slot, wire, placed, standing) for slot in asked.slots if slot != placed[wire])
    known = asked.grid.fuses
    return tuple(one for one in tried if one.name in known or (one.is_possible and one.name.startswith("new fuse 1 ")))


def _cavity(own: Mapping[str, Crossing], plug: Plug, way: str, was: str, standing: Standing, why: str) -> OtherWay:
    if why:
        return OtherWay(name=way, says=why, is_possible=False)
    if was not in standing.placed:
        return OtherWay(name=way, says="it could sit there, were there room for all", is_possible=False)
    here = standing.placed[was]
    holder = next((name for name, at in standing.placed.items() if at == way), "")
    moves = {was: way} | ({holder: here} if holder else {})
    who = " ".join(own[holder].circuits or own[holder].wires) if holder else ""
    taken = f"taken by {who}, which would go to {here}" if holder else "free"
    if holder and here not in standing.puzzle.seats[holder]:
        return OtherWay(name=way, says=f"taken by {who}, which cannot sit in {here}", is_possible=False)
    broken = standing.broken(moves)
    if broken and " beside " not in broken:
        return OtherWay(name=way, says=f"{taken}: {broken}", is_possible=False)
    cost = "a live way would lie beside a sensor's" if broken else _cost(standing.more(moves), CAVITY_GOALS)
    return OtherWay(name=way, says=f"{taken}{f', but {cost}' if cost else ', and as good'}", is_possible=True)


def _fuse(asked: Asked, slot: str, wire: str, placed: Mapping[str, str], standing: Standing) -> OtherWay:
    why = asked.why_not(asked.grid.branches[wire], slot) or _full(asked, {**placed, wire: slot})
    if why:
        return OtherWay(name=slot, says=why, is_possible=False)
    broken = standing.broken({wire: slot})
    if broken:
        says = broken if "is exceeded" in broken else f"{broken.partition(':')[0]} must not die together"
        return OtherWay(name=slot, says=says, is_possible=False)
    cost = _cost(standing.more({wire: slot}), FUSE_GOALS)
    return OtherWay(
        name=slot, says=f"it could hang there{f', but {cost}' if cost else ', and as good'}", is_possible=True
    )


def _full(asked: Asked, placed: Mapping[str, str]) -> str:
    """Which box would have more fuses than holes, in words; empty where none has."""
    for box, count in asked.holes.items():
        if len({slot for slot in placed.values() if asked.slots[slot].box == box}) > count:
            return f"the {count} holes of {box} are taken"
    return ""


def _cost(more: tuple[int, ...], goals: Mapping[str, str]) -> str:
    worse: Iterator[str] = (name for name, cost in zip(goals, more, strict=True) if cost > 0)
    name = next(worse, "")
    return _COSTS.get(name, name)
