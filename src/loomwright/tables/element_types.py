"""Which element types are there, and which figures does each take?

The list is the contract between the kinds library and the network: a kind may only use these types with these figures,
and the network has a law for each. A new type is a row here and a law there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["COMMON", "CONDITIONS", "LISTS", "TYPES", "ElementType"]

COMMON = ("rated_a", "polar", "load", "note", "inductive")
"""Figures any element may carry: design amps, design direction, purpose, a remark, makes a spike when switched off."""

LISTS = ("closed_at", "dropped_by")
"""Figures that are lists of words; in a setting they are one text with blanks."""

CONDITIONS = ("closes_when", "live_when")
"""Figures that are conditions on state variables, as in the sheets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementType:
    """One element type.

    needs: groups of figures, one group must be there in full; an empty group = none needed.   takes: the others.
    ends: fewest and most nodes it lies between. [-]   what: the law in a few words.
    """

    needs: tuple[tuple[str, ...], ...]
    takes: tuple[str, ...] = ()
    ends: tuple[int, int] = (2, 2)
    what: str


_CONTACT = ("rating_a", "motor_a", "lamp_a", "make_a", "ohm")

TYPES: Mapping[str, ElementType] = MappingProxyType(
    {
        "resistor": ElementType(
            needs=(("ohm",), ("watt", "volt")),
            takes=("less_v", "frac", "rest_frac", "copper", "limit_a", "peak_a", "rms_a"),
            what="ohms, copper windings at 20 °C; with limit_a held at that current",
        ),
        "lamp": ElementType(needs=(("watt", "volt"),), what="filament: amps go with volts to the power 0.55"),
        "motor": ElementType(
            needs=(("running_a", "stall_a"),),
            takes=("at_v", "free_below_v", "law", "inrush_s"),
            what="running: a line through (at_v, running_a) and free_below_v; stalled: at_v / stall_a ohms",
        ),
        "coil": ElementType(
            needs=(("ohm", "pull_in_v", "drop_out_v"),),
            takes=("electronic", "copper"),
            what="ohms at 20 °C; works its contacts by current",
        ),
        "contact": ElementType(
            needs=(("coil", "closed_when"),), takes=_CONTACT, what="closed while its coil is pulled (or released)"
        ),
        "diode": ElementType(
            needs=(("forward_v",),),
            takes=("rating_a", "suppressor"),
            what="conducts first node to second above forward_v",
        ),
        "switch": ElementType(
            needs=(("closed_at",), ("closes_when",)),
            takes=(*_CONTACT, "dropped_by"),
            what="closed at positions of its variable, or while a condition holds",
        ),
        "fuse": ElementType(needs=(("rating_a", "family"),), what="cold ohms by family and rating; opens by its gates"),
        "link": ElementType(needs=(("size_mm2",),), what="a length of wire made to melt"),
        "breaker": ElementType(
            needs=(("rating_a",),),
            takes=("min_trip_times", "max_trip_times", "resets"),
            what="opens on overload, can close",
        ),
        "battery": ElementType(needs=(("emf_v", "internal_ohm"),), what="emf behind ohms; first node is plus"),
        "alternator": ElementType(
            needs=(("setpoint_v", "max_a", "form"),),
            takes=(
                "idle_output_a",
                "idle_v",
                "armature_ohm",
                "field_ohm",
                "excite_ma",
                "sense",
                "mv_per_k",
                "pulley_ratio",
            ),
            what="holds its setpoint up to its current while it turns excited; first node is plus",
        ),
        "field": ElementType(
            needs=(("ohm",),),
            takes=("excite_ma", "copper", "setpoint_v"),
            what="rotor winding through the regulator; with setpoint_v fed by the machine's own volts",
        ),
        "trio": ElementType(needs=(("max_a",),), what="feeds its second node at the first's volts while charging"),
        "series_winding": ElementType(
            needs=(("ohm", "coil", "let_go_a"),),
            what="in line with a cut-out's contact: its coil lets go once so many amps come back, second node to first",
        ),
        "starter_motor": ElementType(
            needs=(("running_a", "stall_a", "rated_v", "form"),),
            what="cranking current by torque; stalled: rated_v / stall_a",
        ),
        "constant_current": ElementType(
            needs=(("amps",),),
            takes=("low_v", "live_by", "ohm", "rms_a", "peak_a"),
            what="amps down to low_v, ohms below",
        ),
        "constant_power": ElementType(
            needs=(("watt",),), takes=("low_v", "live_by"), what="watts down to low_v, ohms below"
        ),
        "source": ElementType(
            needs=(("ohm",),),
            takes=("volts", "max_a", "live_when"),
            what="volts behind ohms, first node plus; without volts: the battery's live post",
        ),
        "joined": ElementType(needs=((),), takes=("ohm", "rating_a"), ends=(1, 40), what="all its nodes are one piece"),
        "pair": ElementType(needs=((),), takes=("ohm", "rating_a"), what="each numbered pin with its socket"),
        "ntc": ElementType(needs=(("r25_ohm", "beta_k", "senses"),), what="r25 * exp(beta * (1/T - 1/298.15))"),
        "law_resistor": ElementType(
            needs=(("senses", "from_ohm", "to_ohm", "from_value", "to_value"),),
            takes=("rest_value",),
            what="straight line between two values, held beyond them; rest_value where nothing sets the variable",
        ),
        "capacitor": ElementType(needs=((),), takes=("uf",), what="open at direct current"),
    }
)
"""Type -> what it takes."""
