"""At which place does each end of a wire sit?

An end at a part sits where the part does, its case and the one terminal it may have included; so do splices and inline
connectors. A metal is everywhere and has no place: an end at one sits where the other end does, on a bolt near by. A
blank end beside a need goes to the controller that has the need's pin. Anything else has no place, and it is told why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.points import Kinds, all_terminals, canonical_point, split_point
from loomwright.job.rows import Need, Part, Wire
from loomwright.job.vehicle import metals_of
from loomwright.routes.records import Cause, Near, Unrouted

__all__ = ["Ends", "ends_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """Where a wire begins and ends. near: `bolt` where one of the two is at a metal.   parts: the parts it ends at."""

    first: str
    last: str
    near: Near
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """One end: its place, or what keeps it from having one; a metal's end has neither."""

    place: str = ""
    metal: str = ""
    part: str = ""
    cause: Cause = "place"
    why: str = ""
    mend: str = ""


def ends_of(job: Job, kinds: Kinds) -> dict[str, Ends | Unrouted]:
    """Where each wire that is not removed begins and ends, or why it has no place there.

    Example:
        >>> from loomwright.job.rows import Place
        >>> from loomwright.tables.kinds import load_kinds
        >>> job = Job(
        ...     places=(Place(id="nose"),),
        ...     parts=(Part(id="L1", kind="lamp", place="nose"),),
        ...     wires=(Wire(id="W1", from_="L1.2", to="body"),),
        ... )
        >>> ends_of(job, load_kinds())["W1"]
        Ends(first='nose', last='nose', near='bolt', parts=('L1',))
    """
    metals = frozenset(metals_of(job))
    parts = {part.id: part for part in all_looked_at(job.parts, ("id", "place"))}
    seen = all_looked_at(job.wires, ("id", "from_", "to", "fitted"))
    wires = [wire for wire in seen if wire.fitted != "removed"]
    pins = _need_pins(job, kinds, wires)
    spots: dict[str, _Spot] = {}

    def spot(end: str) -> _Spot:
        if end not in spots:
            spots[end] = _spot(end, parts, metals)
        return spots[end]

    found: dict[str, Ends | Unrouted] = {}
    for wire in wires:
        one, other = (
            spot(end) if end else pins.get(wire.id, _FREE if beside else _NO_END)
            for end, beside in ((wire.from_, wire.to), (wire.to, wire.from_))
        )
        found[wire.id] = _ends(wire, one, other)
    return found


_FREE = _Spot(
    cause="free", why="one of its ends is free", mend="Write where that end goes, or type the wire's length"
)  # fmt: skip
_NO_END = _Spot(cause="free", why="both its ends are free", mend="Write where they go, or take the row out")


def _ends(wire: Wire, one: _Spot, other: _Spot) -> Ends | Unrouted:
    parts = tuple(dict.fromkeys(spot.part for spot in (one, other) if spot.part))
    for spot in (one, other):
        if spot.why:
            return Unrouted(wire=wire.id, cause=spot.cause, why=spot.why, mend=spot.mend, touches=parts)
    if one.metal and other.metal:
        why = f"both its ends are at metals, {one.metal} and {other.metal}, and a metal has no place"
        mend = "Put an earth_point with a place at one end, or type the wire's length"
        return Unrouted(wire=wire.id, cause="metals", why=why, mend=mend)
    near: Near = "bolt" if one.metal or other.metal else ""
    return Ends(first=one.place or other.place, last=other.place or one.place, near=near, parts=parts)


def _spot(end: str, parts: Mapping[str, Part], metals: frozenset[str]) -> _Spot:
    name, _ = split_point(end)
    if name in metals:
        return _Spot(metal=name)
    part = parts.get(name)
    if part is None:
        return _Spot(why=f"there is no part {name}", mend=f"Add a row {name} to the sheet parts")
    if not part.place:
        mend = f"Write the place of {name} in the sheet parts, or type the wire's length"
        return _Spot(part=name, why=f"{name} has no place", mend=mend)
    return _Spot(part=name, place=part.place)


def _need_pins(job: Job, kinds: Kinds, wires: list[Wire]) -> dict[str, _Spot]:
    """For each wire with one blank end beside a need's terminal: where the need's pin is."""
    open_ended = [wire for wire in wires if bool(wire.from_) != bool(wire.to)]
    if not open_ended or not job.needs:
        return {}
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    decided = {one.row: one.value for one in job.decisions if (one.sheet, one.column) == ("needs", "pin")}
    job = replace(job, needs=tuple(replace(need, pin=need.pin or decided.get(need.id, "")) for need in job.needs))
    needs = {f"{need.part}.{need.terminal}": need for need in reversed(job.needs) if need.part}
    needs |= {canonical_point(need.part, terminals, metals): need for need in job.needs if not need.terminal}
    found = {}
    for wire in open_ended:
        need = needs.get(canonical_point(wire.from_ or wire.to, terminals, metals))
        if need is not None:
            found[wire.id] = _pin_spot(job, kinds, need)
    return found


def _pin_spot(job: Job, kinds: Kinds, need: Need) -> _Spot:
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    rows = [pin for pin in job.controller_pins if pin.part in parts]
    named = [pin.part for pin in rows if need.pin in (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")]
    boxes = [part.id for part in parts.values() if part.kind in kinds and kinds[part.kind].duty == "controller"]
    able = [pin.part for pin in rows if need.ability and need.ability in pin.abilities]
    for choice in (named, able, boxes) if not need.pin else (named,):
        only = dict.fromkeys(choice)
        if len(only) == 1:
            return _spot(next(iter(only)), parts, frozenset())
    why = f"it goes to the pin of the need {need.id}, and which controller has that pin is open"
    return _Spot(
        cause="need", why=why, mend=f"Write the pin of {need.id} in the sheet needs, or type the wire's length"
    )
