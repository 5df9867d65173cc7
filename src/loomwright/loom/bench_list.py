"""What does the bench need to make a loom: reels to cut from, terminals to crimp, what to order, copper, price?

In: the job with what was decided filled in. Out: `BenchList`: for each wire that is stocked its plan (`reel_plan`); for
each crimp terminal how many, on which sizes, strip, die, seal and pull; what the stock sheet does not hold.

A terminal is looked up in the sheet `crimps`, else in the plain families (`end_crimps`); one that is in neither, or has
no strip or die, is told. So is a size outside what the terminal takes, and another seal than goes with it. Where none
is named, one is proposed if the place tells (`proposed_crimps`); the other ends are counted, and all are ordered. So
are cables, by their kind, and what covers the runs (`covering_order`).

Source: `end_crimps`; masses: `constants.csv`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from loomwright.findings import id_order
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.rows import StockRow
from loomwright.loom.covering_order import CoveringLine, covering_lines
from loomwright.loom.cut_list import CableCut, CutList, Reel, cut_list
from loomwright.loom.end_crimps import EndCrimp, end_crimps
from loomwright.loom.proposed_crimps import OpenEnds, proposed_crimps
from loomwright.loom.reel_plan import Piece, ReelPlan, reel_plan
from loomwright.routes.bundles import Bundle
from loomwright.tables.constants import constant

__all__ = ["BenchList", "CrimpLine", "OrderLine", "StockedWire", "bench_list"]

_MILLI = 1000.0
_NO_RUNS: Mapping[str, Bundle] = FixedMap({})


@dataclass(frozen=True, slots=True, kw_only=True)
class StockedWire:
    """One wire by size, colour and insulation. plan: of the pieces still to be cut.   copper_g: in all pieces. [g]

    price: of what is cut, by the metre of the first stock row that has one; None where none has.
    """

    reel: Reel
    plan: ReelPlan
    copper_g: float | None
    price: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrimpLine:
    """One crimp terminal on one size of wire. count: how many. [-]   seal: empty where none.

    strip_mm: bare length. [mm]   pull_n: it must stand. [N]   die: of the tool; empty where nobody wrote it.
    told: what is missing or does not fit.   is_proposed: nobody named it.
    barrel: of the plain families, where the sheet has no row for it.
    proposed_seal: where none is named and one is needed.   source: of strip and die.
    """

    terminal: str
    size_mm2: float | None
    seal: str
    count: int
    ends: tuple[str, ...]
    strip_mm: float | None
    die: str
    pull_n: float | None
    pull_source: str
    told: tuple[str, ...]
    barrel: str = ""
    proposed_seal: str = ""
    source: str = ""
    is_proposed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """Something the stock sheet does not hold enough of.

    amount: in `per`, up to a whole one; nought where nobody knows. [-]   mend: what to mind.
    """

    item: str
    amount: int
    per: str
    mend: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchList:
    """All of it. copper_g: of all pieces whose size is known. [g]   unmeasured: wires without a length.

    open_ends: ends that name no terminal and whose place tells none.
    """

    cuts: CutList
    wires: tuple[StockedWire, ...]
    crimps: tuple[CrimpLine, ...]
    order: tuple[OrderLine, ...]
    copper_g: float
    unmeasured: tuple[str, ...]
    open_ends: tuple[OpenEnds, ...] = ()


def bench_list(job: Job, useless: frozenset[str] = frozenset(), runs: Mapping[str, Bundle] = _NO_RUNS) -> BenchList:
    """What the bench needs for a job.

    Args:
        job: with what was decided filled in.
        runs: what lies in each run, for what covers it; nothing is ordered of that where left out.
        useless: wires whose piece cannot be used any more: they are cut again.
    """
    cuts = cut_list(job, useless=useless)
    wires = tuple(_stocked(reel, job.stock) for reel in cuts.reels)
    proposed = proposed_crimps(job)
    crimps = (*_crimps(end_crimps(job)), *_crimps(proposed.crimps, is_proposed=True))
    return BenchList(
        cuts=cuts,
        wires=wires,
        crimps=crimps,
        order=(
            *_order(wires, job.stock),
            *_cables(cuts.cables, job.stock),
            *_pieces_of(crimps, job.stock),
            *_unnamed(proposed.open_ends),
            *_covers(covering_lines(job, runs), job.stock),
        ),
        copper_g=sum(one.copper_g for one in wires if one.copper_g is not None),
        unmeasured=tuple(wire.id for wire in cuts.unmeasured),
        open_ends=proposed.open_ends,
    )


def _stocked(reel: Reel, stock: Sequence[StockRow]) -> StockedWire:
    rows = [row for row in stock if row.size_mm2 == reel.size_mm2 and row.colour == reel.colour]
    held = [row.length_m for row in rows if row.length_m is not None]
    pieces = [Piece(wire=cut.wire, cut_m=cut.cut_mm / _MILLI) for cut in reel.cuts if not cut.done]
    priced = next((row for row in rows if row.price is not None and row.length_m), None)
    whole_mm = sum(cut.cut_mm for cut in reel.cuts)
    return StockedWire(
        reel=reel,
        plan=reel_plan(pieces, held),
        copper_g=None if reel.size_mm2 is None else whole_mm * reel.size_mm2 * constant("copper_g_per_mm3"),
        price=None
        if priced is None or priced.price is None or not priced.length_m
        else priced.price / priced.length_m * reel.needed_m,
    )


def _crimps(ends: Iterable[EndCrimp], *, is_proposed: bool = False) -> Iterator[CrimpLine]:
    """Crimps that are alike, together: one line a terminal, size and seal."""
    alike: dict[tuple[str, float, str], list[EndCrimp]] = {}
    for one in ends:
        alike.setdefault((one.terminal, one.size_mm2 or 0.0, one.seal), []).append(one)
    for (terminal, size_mm2, seal), many in sorted(alike.items(), key=lambda one: (id_order(one[0][0]), one[0][1:])):
        first = many[0]
        yield CrimpLine(
            terminal=terminal,
            size_mm2=size_mm2 or None,
            seal=seal,
            count=len(many),
            ends=tuple(f"{one.wire} {one.end}" for one in many),
            strip_mm=first.strip_mm,
            die=first.die,
            pull_n=first.pull_n,
            pull_source=first.pull_source,
            told=tuple(dict.fromkeys(text for one in many for text in one.told)),
            barrel=first.barrel,
            proposed_seal=next((one.proposed_seal for one in many if one.proposed_seal), ""),
            source=first.source,
            is_proposed=is_proposed,
        )


def _order(wires: Sequence[StockedWire], stock: Sequence[StockRow]) -> Iterator[OrderLine]:
    for one in wires:
        short_m = one.plan.short_m
        if short_m > 0.0:
            reel = one.reel
            size = "no size" if reel.size_mm2 is None else f"{reel.size_mm2:g} mm²"
            longest = max((use.cut_m for use in one.plan.without), default=0.0)
            mend = f"one length of {longest:.2f} m at least"
            if one.plan.least_short_m < short_m:
                mend += f"; laid better the reels may be short by {one.plan.least_short_m:.2f} m only"
            words = " ".join(("wire", size, reel.colour, reel.insulation)).strip()
            yield OrderLine(item=words, amount=ceil(short_m - 1e-9), per="m", mend=mend)


def _cables(cables: Sequence[CableCut], stock: Sequence[StockRow]) -> Iterator[OrderLine]:
    """Cables by their kind, longest first: what no single reel of the stock sheet has left."""
    kinds: dict[str, list[float]] = {}
    for one in cables:
        if one.cut_mm is not None and not one.done:
            kinds.setdefault(one.kind or "cable", []).append(one.cut_mm / _MILLI)
    for kind, pieces in sorted(kinds.items()):
        wanted = [Piece(wire="", cut_m=piece) for piece in pieces]
        plan = reel_plan(wanted, [row.length_m for row in stock if row.item == kind and row.length_m is not None])
        if plan.without:
            longest = max(use.cut_m for use in plan.without)
            words = kind if kind == "cable" else f"cable {kind}"
            mend = f"one length of {longest:.2f} m at least"
            yield OrderLine(item=words, amount=ceil(plan.short_m - 1e-9), per="m", mend=mend)


def _covers(lines: Iterable[CoveringLine], stock: Sequence[StockRow]) -> Iterator[OrderLine]:
    """What covers the runs, what the stock sheet has under the same words left out."""
    held = {row.item for row in stock}
    for one in lines:
        if one.item not in held:
            runs = " ".join(one.runs)
            metres = one.length_m
            where = f"runs {runs}" if metres is not None else f"not known how thick: one of {runs}"
            amount = 0 if metres is None else ceil(metres - 1e-9)
            yield OrderLine(item=one.item, amount=amount, per="m", mend=f"{one.mend}; {where}")


def _pieces_of(crimps: Sequence[CrimpLine], stock: Sequence[StockRow]) -> Iterator[OrderLine]:
    held = {row.item for row in stock}
    counts: dict[tuple[str, str, bool], int] = {}
    for line in crimps:
        key = "terminal", line.terminal, line.is_proposed
        counts[key] = counts.get(key, 0) + line.count
        if line.seal or line.proposed_seal:
            key = "seal", line.seal or line.proposed_seal, not line.seal
            counts[key] = counts.get(key, 0) + line.count
    for (what, name, is_proposed), count in sorted(counts.items()):
        if name not in held:
            yield OrderLine(
                item=name if name.startswith(what) else f"{what} {name}",
                amount=count,
                per=_pieces(count),
                mend="proposed, typical: the maker's part goes before it"
                if is_proposed
                else "or write it in the sheet stock",
            )


def _unnamed(left: Sequence[OpenEnds]) -> Iterator[OrderLine]:
    """The ends nothing is known of, in one line, so that nobody stands at the bench without them."""
    count = sum(len(one.ends) for one in left)
    if count:
        where = ", ".join(f"{one.at} {len(one.ends)}" for one in left)
        mend = f"at: {where}; name them in the columns terminal_from and terminal_to of wires"
        yield OrderLine(item="crimp terminal, not named", amount=count, per=_pieces(count), mend=mend)


def _pieces(count: int) -> str:
    return "piece" if count == 1 else "pieces"
