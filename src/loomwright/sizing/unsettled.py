"""Why is there no size or no rating for a cell, and what would mend it?

Sentences only; whoever finds that there is none brings the figures.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.sizing.fit_findings import range_says
from loomwright.sizing.fuse_asks import Unguarded
from loomwright.sizing.fuse_choice import FuseAsk
from loomwright.sizing.open_cells import RATING, SIZE, OpenCells, Unsettled
from loomwright.sizing.volt_choice import Impossible
from loomwright.sizing.wire_heat import Heat
from loomwright.states.ratings.wire_limits import WireLimit

__all__ = [
    "alike",
    "given_too_thin",
    "no_class",
    "no_rating",
    "no_volts",
    "none_cool",
    "none_fits",
    "none_hot",
    "none_safe",
    "none_strong",
]

_RATING = RATING.removeprefix("settings.")
_DOES = {"load": "carries", "starting": "passes while the starter is fed", "rush": "stands at the first rush"}


def no_class(wire: str, insulation: str) -> Unsettled:
    """A wire whose insulation is in no table."""
    return Unsettled(
        cell=f"{wire}.{SIZE}",
        why=f"no table knows what {insulation!r} as its insulation stands",
        mend="Write its class, a letter A to H or its temperature, or leave it blank for 105 °C",
    )


def no_rating(cells: OpenCells, part: str, ask: FuseAsk) -> Unsettled:
    """A fuse whose family is not made as large as its loads ask."""
    fuse = cells.fuses[part]
    largest = f"the largest {fuse.family or 'breaker'}, {fuse.ratings[-1]:g} A, {_DOES[ask.limit]}"
    return Unsettled(
        cell=f"{part}.{_RATING}",
        why=f"{ask.found:.3g} {ask.unit} flow, more than {largest}",
        mend="Choose a family that is made larger, or share its loads between two fuses",
    )


def given_too_thin(part: str, rating_a: float, limit: WireLimit, rule: str) -> Unsettled:
    """A fuse whose least rating is more than a given wire behind it stands.

    Args:
        rating_a: the least its loads allow. [A]
    """
    wire = f"{limit.wire} behind it, given as {limit.size_mm2:g} mm²,"
    return Unsettled(
        cell=f"{part}.{_RATING}",
        why=f"its loads ask for {rating_a:g} A, and {wire} does not stand that ({rule})",
        mend=f"Fit {limit.wire} thicker, or take a load off; or type a smaller rating, knowing how near its load comes",
    )


def none_strong(cells: OpenCells, wire: str) -> Unsettled:
    """A wire whose class asks for more than there is."""
    thickest = _thickest(cells)
    why = f"its class asks for {cells.wires[wire].least_mm2:g} mm², and {thickest}"
    return Unsettled(cell=f"{wire}.{SIZE}", why=why, mend="Take thicker wire into stock")


def none_fits(cells: OpenCells, wire: str, least_mm2: float) -> Unsettled:
    """A wire for which there is no size that it needs and the terminals at its ends take.

    Args:
        least_mm2: what its class, its heat and its fuses ask for. [mm2]
    """
    one = cells.wires[wire]
    takes = "; ".join(f"the {fit.called} takes {range_says(fit)}" for fit in one.fits)
    why = f"its class, its heat and its fuses ask for {least_mm2:g} mm² at least, and {takes}"
    return Unsettled(
        cell=f"{wire}.{SIZE}", why=why, mend="A terminal that takes thicker wire, or less current through it"
    )


def none_cool(cells: OpenCells, wire: str, heat: Heat | None) -> Unsettled:
    """A wire that would be too warm in any size."""
    amps, allowed_a = (heat.worst.amps, heat.allowed_a) if heat is not None else (0.0, 0.0)
    why = f"{amps:.3g} A flow, and {_thickest(cells)}: where it lies that carries {allowed_a:.3g} A"
    mend = "Lead it past the hot place, write a hotter class as its insulation, or lay two wires"
    return Unsettled(cell=f"{wire}.{SIZE}", why=why, mend=mend)


def none_hot(limit: WireLimit) -> Unsettled:
    """A wire whose place is as hot as its insulation stands, whatever flows."""
    why = f"the hottest place it passes has {limit.ambient_c:.3g} °C, its insulation stands {limit.insulation_c:.3g} °C"
    return Unsettled(
        cell=f"{limit.wire}.{SIZE}",
        why=f"{why}: no size mends that",
        mend="Write a hotter class as its insulation, or lead it another way, past that place (via)",
    )


def alike(unsettled: Iterable[Unsettled]) -> tuple[tuple[str, Unsettled], ...]:
    """The cells of which the same is to be said, in words, with the first of them, in the order they were told.

    Example:
        >>> one, other = (Unsettled(cell=f"W{k}.size_mm2", why="too hot", mend="Lead it past") for k in (1, 2))
        >>> [(cells, same.why) for cells, same in alike((one, other))]
        [('W1 W2.size_mm2', 'too hot')]
    """
    found: dict[tuple[str, str, str], list[Unsettled]] = {}
    for one in unsettled:
        found.setdefault((one.cell.rpartition(".")[2], one.why, one.mend), []).append(one)
    return tuple(
        (f"{' '.join(one.cell.rpartition('.')[0] for one in same)}.{column}", same[0])
        for (column, _, _), same in found.items()
    )


def none_safe(cells: OpenCells, wire: str, worst: Unguarded) -> Unsettled:
    """A wire that no size protects."""
    why = f"{worst.by} asks for more than there is ({worst.rule}): {_thickest(cells)}"
    mend = f"Fit a smaller fuse at {worst.by}, or take thicker wire into stock"
    return Unsettled(cell=f"{wire}.{SIZE}", why=why, mend=mend)


def no_volts(cells: OpenCells, one: Impossible) -> Unsettled:
    """A load or a requirement that no size gives its volts."""
    where = f"on the way to {one.line.at} and back" if one.line.node < 0 else f"on the way to {one.line.point}"
    allowed = f"allowed {max(one.allowed_v, 0.0):.3g} V"
    if one.is_given:
        return Unsettled(
            cell=f"{one.line.at}.volts",
            why=f"{where} {one.given_v:.3g} V are lost in what is given, {allowed}: no size of "
            f"{' '.join(one.wires)} mends that",
            mend="Fit the given wire that loses most thicker, or lead it a shorter way (DRP-1 of the check names it)",
        )
    return Unsettled(
        cell=f"{one.wires[0]}.{SIZE}",
        why=f"{where} {one.least_v:.3g} V are lost even in the thickest, {allowed}: {_thickest(cells)}",
        mend="Shorten the way, feed the load from nearer by, or allow more in drop_limit_v of its circuit",
    )


def _thickest(cells: OpenCells) -> str:
    return f"{cells.sizes_mm2[-1]:g} mm² is the thickest {_there(cells)}"


def _there(cells: OpenCells) -> str:
    return "the shop holds" if cells.is_stock else "there is"
