"""How warm is a wire in the state that is looked at: by itself, among the others, where its current comes and goes?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.car import Car
from loomwright.job.figures import plain_figure
from loomwright.pages.records.loom_words import degrees
from loomwright.pages.records.state_asked import StateAsked
from loomwright.quantities import QuantityFault

__all__ = ["WireWarmth", "wire_warmth"]

_FLOWS_A = 0.05
_LONGEST_S = 86_400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WireWarmth:
    """Printed. alone, among: settled, by itself and in the run that makes it warmest.   where: that run.

    on, off: as typed.   peak: the most it reaches coming and going.   told: why there is none.
    """

    air: str
    alone: str
    among: str
    where: str
    stands: str
    is_too_hot: bool
    on: str
    off: str
    peak: str
    is_peak_too_hot: bool
    told: str


def wire_warmth(car: Car, name: str, asked: StateAsked, on: str = "", off: str = "") -> WireWarmth | None:
    """The warmth of one wire; None where nothing flows in it, or its size or diameter is not known.

    Args:
        on: seconds its current comes on for, as typed; blank: it stays on.
        off: seconds it is off for.
    """
    seconds, told = _seconds(on, off)
    found = car.heat(
        asked.state, before=asked.before or None, changes=asked.changes, on_off_s=seconds, only=(name,)
    ).wires.get(name)
    if found is None or found.amps < _FLOWS_A:
        return None
    peak_c, class_c = found.peak_c, found.class_c
    return WireWarmth(
        air=degrees(found.ambient_c) + (f" at {found.at}" if found.at else ""),
        alone=degrees(found.alone_c),
        among=degrees(found.copper_c) if found.where else "",
        where=found.where,
        stands="" if class_c is None else f"{class_c:g} °C",
        is_too_hot=found.is_too_hot,
        on=on,
        off=off,
        peak="" if peak_c is None else degrees(peak_c),
        is_peak_too_hot=peak_c is not None and class_c is not None and peak_c > class_c,
        told=told,
    )


def _seconds(on: str, off: str) -> tuple[tuple[float, float] | None, str]:
    """What was typed, in seconds, or why it cannot be meant."""
    if not on.strip() and not off.strip():
        return None, ""
    try:
        on_s, off_s = plain_figure(on, "s"), plain_figure(off, "s")
    except QuantityFault:
        return None, "Both in seconds: how long it is on, then how long it is off, 5 and 20."
    if not (0.0 < on_s <= _LONGEST_S and 0.0 <= off_s <= _LONGEST_S):
        return None, "On for more than 0 s, off for 0 s or more, a day at most."
    return (on_s, off_s), ""
