"""How is the cut list printed, and what is said of each reel?

In: a `CutList`. Out: the same with every figure as it is printed: cut lengths and metres needed up, what the shop holds
down.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.rows import Wire
from loomwright.loom.cut_list import CableCut, Cut, CutList, Reel, TwistGroup
from loomwright.quantities import for_print

__all__ = ["CutRow", "CutSheet", "GroupRow", "OpenWire", "ReelRow", "cut_sheet"]

_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow:
    """One piece. cut: millimetres to cut. length: of the wire list. twist: its group. done: it is cut already."""

    wire: str
    cut: str
    length: str
    start: str
    end: str
    twist: str
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReelRow:
    """One reel. size: in mm², `open` where it is not decided. held: metres in stock, or that the sheet has none.

    verdict: whether the stock does.
    """

    size: str
    colour: str
    insulation: str
    pieces: int
    needed: str
    held: str
    verdict: str
    cuts: tuple[CutRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRow:
    """A cable, or wires that are twisted together. what: its kind. cut: millimetres, or that the length is open."""

    id: str
    what: str
    wires: tuple[str, ...]
    cut: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenWire:
    """A new wire without a length."""

    wire: str
    colour: str
    size: str
    start: str
    end: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """The printed cut list.

    allowance: in every cut, in millimetres. total: metres of all reels. left: what is not cut, in words.
    """

    allowance: str
    total: str
    reels: tuple[ReelRow, ...]
    cables: tuple[GroupRow, ...]
    twists: tuple[GroupRow, ...]
    unmeasured: tuple[OpenWire, ...]
    left: str


def cut_sheet(cuts: CutList) -> CutSheet:
    """The cut list as it is printed."""
    return CutSheet(
        allowance=for_print(cuts.allowance_mm),
        total=_metres(sum(reel.needed_m for reel in cuts.reels)),
        reels=tuple(_reel(reel) for reel in cuts.reels),
        cables=tuple(_group(cable, cable.kind or "cable") for cable in cuts.cables),
        twists=tuple(_group(group, "twisted") for group in cuts.twists),
        unmeasured=tuple(_open(wire) for wire in cuts.unmeasured),
        left=", ".join(f"{count} {word}" for word, count in cuts.left),
    )


def _reel(reel: Reel) -> ReelRow:
    return ReelRow(
        size="open" if reel.size_mm2 is None else for_print(reel.size_mm2),
        colour=reel.colour,
        insulation=reel.insulation,
        pieces=len(reel.cuts),
        needed=_metres(reel.needed_m),
        held="not in the stock sheet" if reel.held_m is None else f"{for_print(reel.held_m, side='down')} m",
        verdict=_verdict(reel),
        cuts=tuple(_cut(cut) for cut in reel.cuts),
    )


def _verdict(reel: Reel) -> str:
    if reel.held_m is None:
        return f"to buy {_metres(reel.needed_m)}" if reel.needed_m else "all cut"
    if not reel.short_m:
        return "enough"
    over = " (the reels are too short for the pieces)" if reel.held_m >= reel.needed_m else ""
    return f"short of {_metres(reel.short_m)}{over}"


def _cut(cut: Cut) -> CutRow:
    return CutRow(
        wire=cut.wire,
        cut=for_print(cut.cut_mm, side="up", digits=_DIGITS),
        length=for_print(cut.length_mm, digits=_DIGITS),
        start=cut.start,
        end=cut.end,
        twist=cut.twist,
        done=cut.done,
    )


def _group(group: CableCut | TwistGroup, what: str) -> GroupRow:
    cut = "length open" if group.cut_mm is None else for_print(group.cut_mm, side="up", digits=_DIGITS)
    return GroupRow(id=group.id, what=what, wires=group.wires, cut=cut)


def _open(wire: Wire) -> OpenWire:
    size = "open" if wire.size_mm2 is None else for_print(wire.size_mm2)
    return OpenWire(wire=wire.id, colour=wire.colour, size=size, start=wire.from_, end=wire.to)


def _metres(metres: float) -> str:
    return f"{for_print(metres, side='up')} m"
