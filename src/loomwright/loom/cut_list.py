"""Which wires are cut from which reel, in what order, and does the shop hold enough?

In: the job with what was decided filled in. Out: one `Reel` for each size, colour and insulation, thinnest first, its
wires longest first; beside them the cables, the groups that are twisted, and the wires nobody knows the length of.

    cut = length of the wire list + allowance      (what was really cut stands as it is)

Only new wires are cut, and those again whose piece a change has made useless. A core of a cable is cut with its
cable. The reels of the stock sheet are filled longest piece first, each piece from the first reel that still has it;
what finds no reel is short.

The allowance is for another try at both ends, the same for every wire. A length worked out by its route has its ends
in it already; one that somebody measured from place to place has not, and whoever typed it has to add them.

Source: the allowance is common practice, no source: 30 to 50 mm for two more terminations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.rows import StockRow, Wire

__all__ = ["ALLOWANCE_MM", "CableCut", "Cut", "CutList", "Reel", "TwistGroup", "cut_list"]

ALLOWANCE_MM = 40.0
"""Added to every length for another try, both ends together; common practice, no source. [mm]"""

_MILLI = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One piece of wire to cut.

    length_mm: of the wire list. [mm]   cut_mm: to cut. [mm]   twist: the group it is twisted in.
    done: it was cut already, and cut_mm is what was cut.
    """

    wire: str
    start: str
    end: str
    length_mm: float
    cut_mm: float
    twist: str
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """All pieces of one wire.

    size_mm2: None where it is not decided. [mm2]   insulation: empty where the sheets name none.
    needed_m: of pieces still to be cut. [m]   held_m: on the reels of the stock sheet; None where it has none. [m]
    short_m: of pieces that find no reel there. [m]   reels: how many rows of the stock sheet are this wire. [-]
    """

    size_mm2: float | None
    colour: str
    insulation: str
    cuts: tuple[Cut, ...]
    needed_m: float
    held_m: float | None
    short_m: float
    reels: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CableCut:
    """One cable to cut. cut_mm: its longest core with the allowance; None where no core has a length. [mm]

    done: all its cores are cut already.
    """

    id: str
    kind: str
    wires: tuple[str, ...]
    cut_mm: float | None
    done: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TwistGroup:
    """Wires that are twisted together, none of them a core. cut_mm: the longest of them with the allowance. [mm]"""

    id: str
    wires: tuple[str, ...]
    cut_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """Everything there is to cut. allowance_mm: in every cut. [mm]

    unmeasured: new wires without a length.   left: wires that are not cut, by why: kept, donor, removed.
    """

    allowance_mm: float
    reels: tuple[Reel, ...]
    cables: tuple[CableCut, ...]
    twists: tuple[TwistGroup, ...]
    unmeasured: tuple[Wire, ...]
    left: tuple[tuple[str, int], ...]


def cut_list(job: Job, *, allowance_mm: float = ALLOWANCE_MM, useless: frozenset[str] = frozenset()) -> CutList:
    """What to cut for a job, reel by reel.

    Args:
        job: with what was decided filled in.
        allowance_mm: added to each length. [mm]
        useless: wires whose piece cannot be used any more (`loom.as_built`): they are cut again.
    """
    new = sorted((wire for wire in job.wires if wire.fitted == "new"), key=lambda wire: id_order(wire.id))
    cut = {row.wire for row in job.progress if row.step == "cut"} - useless
    single = [wire for wire in new if not wire.cable]
    groups: dict[tuple[float, str, str], list[Wire]] = {}
    for wire in (replace(wire, built_length_mm=None) if wire.id in useless else wire for wire in single):
        if wire.length_mm is not None:
            groups.setdefault((wire.size_mm2 or 0.0, wire.colour, wire.insulation), []).append(wire)
    return CutList(
        allowance_mm=allowance_mm,
        reels=tuple(_reel(key, groups[key], job.stock, allowance_mm, cut) for key in sorted(groups)),
        cables=tuple(_cables(job, new, allowance_mm, cut)),
        twists=tuple(_twists(single, allowance_mm)),
        unmeasured=tuple(wire for wire in single if wire.length_mm is None),
        left=tuple(
            (word, count)
            for word in ("kept", "donor", "removed")
            if (count := sum(wire.fitted == word for wire in job.wires))
        ),
    )


def _reel(
    key: tuple[float, str, str], wires: Sequence[Wire], stock: Sequence[StockRow], allowance_mm: float, cut: set[str]
) -> Reel:
    size_mm2, colour, insulation = key
    pieces = sorted(
        (_cut(wire, allowance_mm, cut) for wire in wires), key=lambda one: (-one.cut_mm, id_order(one.wire))
    )
    held = [row.length_m for row in stock if _is_this(row, size_mm2, colour) and row.length_m is not None]
    wanted_m = [piece.cut_mm / _MILLI for piece in pieces if not piece.done]
    return Reel(
        size_mm2=size_mm2 or None,
        colour=colour,
        insulation=insulation,
        cuts=tuple(pieces),
        needed_m=sum(wanted_m),
        held_m=sum(held) if held else None,
        short_m=_short_m(wanted_m, held) if held else sum(wanted_m),
        reels=len(held),
    )


def _cut(wire: Wire, allowance_mm: float, cut: set[str]) -> Cut:
    length_mm = wire.length_mm or 0.0
    built_mm = wire.built_length_mm
    return Cut(
        wire=wire.id,
        start=wire.from_,
        end=wire.to,
        length_mm=length_mm,
        cut_mm=length_mm + allowance_mm if built_mm is None else built_mm,
        twist=wire.twist,
        done=built_mm is not None or wire.id in cut,
    )


def _is_this(row: StockRow, size_mm2: float, colour: str) -> bool:
    return row.size_mm2 == size_mm2 and row.colour == colour


def _short_m(wanted_m: Iterable[float], held_m: Iterable[float]) -> float:
    """Metres of the pieces that no reel can give, the longest piece first. [m]"""
    left = sorted(held_m, reverse=True)
    short = 0.0
    for piece in wanted_m:
        place = next((k for k, rest in enumerate(left) if rest >= piece), None)
        if place is None:
            short += piece
        else:
            left[place] -= piece
    return short


def _cables(job: Job, new: Sequence[Wire], allowance_mm: float, cut: set[str]) -> Iterable[CableCut]:
    kinds = {row.id: row.kind for row in job.cables}
    for name in sorted({wire.cable for wire in new if wire.cable}, key=id_order):
        cores = [wire for wire in new if wire.cable == name]
        yield CableCut(
            id=name,
            kind=kinds.get(name, ""),
            wires=tuple(wire.id for wire in cores),
            cut_mm=_longest(cores, allowance_mm),
            done=all(wire.id in cut for wire in cores),
        )


def _twists(single: Sequence[Wire], allowance_mm: float) -> Iterable[TwistGroup]:
    for name in sorted({wire.twist for wire in single if wire.twist}, key=id_order):
        wires = [wire for wire in single if wire.twist == name]
        yield TwistGroup(id=name, wires=tuple(wire.id for wire in wires), cut_mm=_longest(wires, allowance_mm))


def _longest(wires: Sequence[Wire], allowance_mm: float) -> float | None:
    known = [wire.length_mm for wire in wires if wire.length_mm is not None]
    return max(known) + allowance_mm if known else None
