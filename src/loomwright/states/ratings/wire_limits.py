"""What may a wire carry, for ever, for half a minute, or in a short?

In: a wire of the sheets. Out: `WireLimit`, and from it amps and temperatures.

    for ever       I_max = the ampacity table at the wire's size, class and the ambient of its hotter end
    steady         T = T_a + (T_max - T_a) (I / I_max)^2                        the square law: heat goes with I^2
    after a time   T = T_0 + (T_steady - T_0) (1 - exp(-t / tau)),  tau = C (T_max - T_a) / (I_max^2 R')
    in a short     I^2 t = (k S)^2,  k^2 = C_v (234.5 + 20) / rho_20 * ln((234.5 + T_end) / (234.5 + T_0))

C is the heat of the copper alone, C_v per volume; leaving the insulation's out is the safe side, and for short times
the third line turns into the fourth with resistance held at T_max. A wire whose size or insulation nobody knows has no
limit.

Source: `tables.ampacity`; k-factor (IEC 60364-5-54) for k; the square law as against a handbook's root law: see
docs/method/protection.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, inf, log, sqrt

from loomwright.job.air import air_at_places_c
from loomwright.job.cells_read import all_looked_at
from loomwright.job.rows import Wire
from loomwright.refusals import OutOfReach
from loomwright.states.asking.scene import Scene
from loomwright.tables.ampacity import continuous_a
from loomwright.tables.conductors import ohm_per_m
from loomwright.tables.constants import constant
from loomwright.tables.limits import insulation_class_c

__all__ = [
    "WireLimit",
    "adiabatic_k",
    "after_c",
    "carries_a",
    "damage_c",
    "limit_of",
    "limits_of",
    "short_time_a",
    "steady_c",
    "time_constant_s",
]

_PVC_MOST_C = 110.0
"""Classes up to here are PVC, hotter ones crosslinked: which end temperature in a short is taken. [C]"""
_ROOM_C = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLimit:
    """A wire as far as heat goes.

    size_mm2: its copper. [mm2]   insulation_c: class. [C]   ambient_c: hotter end, engine hot. [C]
    excess_k: how much of that is its place's own, gone while the engine stands. [K]
    """

    wire: str
    size_mm2: float
    insulation_c: float
    ambient_c: float
    excess_k: float


def limits_of(scene: Scene) -> Mapping[str, WireLimit]:
    """The limits of all wires whose size and insulation are known."""
    return scene.once("limits", _limits_of)


def _limits_of(scene: Scene) -> Mapping[str, WireLimit]:
    air_c = scene.once("air", _air_of)
    wires = all_looked_at(scene.wires.values(), ("id", "from_", "to", "insulation", "size_mm2"))
    found = ((wire.id, _limit(scene, wire, air_c)) for wire in wires)
    return {name: limit for name, limit in found if limit is not None}


def limit_of(scene: Scene, wire: Wire) -> WireLimit | None:
    """The limit of one wire; None where its size or its insulation is not known, or in no table."""
    return _limit(scene, wire, scene.once("air", _air_of))


def _limit(scene: Scene, wire: Wire, air_c: Mapping[str, float]) -> WireLimit | None:
    if wire.size_mm2 is None:
        return None
    insulation_c = insulation_class_c(wire.insulation)
    if insulation_c is None:
        return None
    design_c = scene.vehicle.design_ambient_c
    hottest_c = max(_place_c(scene, end, air_c, design_c) for end in (wire.from_, wire.to))
    try:
        continuous_a(wire.size_mm2, insulation_c, design_c)
    except OutOfReach:
        return None
    return WireLimit(
        wire=wire.id,
        size_mm2=wire.size_mm2,
        insulation_c=insulation_c,
        ambient_c=hottest_c,
        excess_k=hottest_c - design_c,
    )


def carries_a(limit: WireLimit, ambient_c: float | None = None) -> float:
    """What the wire carries for ever, nothing where the place is as hot as its class. [A]

    Args:
        ambient_c: around it; its hotter end with the engine hot where left out. [C]
    """
    at_c = limit.ambient_c if ambient_c is None else ambient_c
    return continuous_a(limit.size_mm2, limit.insulation_c, at_c)


def steady_c(limit: WireLimit, *, amps: float, ambient_c: float) -> float:
    """Temperature the copper settles at. [C]

    Args:
        amps: steady current.
        ambient_c: around the wire. [C]
    Source:
        heat goes with the square of the current; a handbook's root law is not used.
    """
    most_a = carries_a(limit, ambient_c)
    if most_a <= 0.0:
        return inf if amps > 0.0 else ambient_c
    return ambient_c + (limit.insulation_c - ambient_c) * (amps / most_a) ** 2


def time_constant_s(limit: WireLimit, ambient_c: float) -> float:
    """How fast the wire warms: 63 % of the way in this time. [s]

    Args:
        ambient_c: around the wire. [C]
    Limits:
        Copper alone; the insulation slows it by another third to a half.
    """
    most_a = carries_a(limit, ambient_c)
    loss_w_per_m = most_a**2 * ohm_per_m(limit.size_mm2, limit.insulation_c)
    # J/(mm3 K) x mm2 x 1000 mm/m = J/(m K)
    heat_j_per_m_k = constant("copper_heat_j_per_mm3_k") * limit.size_mm2 * 1000.0
    return heat_j_per_m_k * (limit.insulation_c - ambient_c) / loss_w_per_m if loss_w_per_m > 0.0 else 0.0


def after_c(limit: WireLimit, *, amps: float, ambient_c: float, start_c: float, time_s: float) -> float:
    """Temperature of the copper after a current has flowed for a time. [C]

    Args:
        amps: held from start to end.
        ambient_c: around the wire. [C]
        start_c: of the copper before. [C]
        time_s: how long. [s]
    """
    end_c = steady_c(limit, amps=amps, ambient_c=ambient_c)
    tau_s = time_constant_s(limit, ambient_c)
    if tau_s <= 0.0:
        return end_c
    return start_c + (end_c - start_c) * (1.0 - exp(-time_s / tau_s))


def short_time_a(limit: WireLimit, *, ambient_c: float, time_s: float) -> float:
    """The current that warms the wire from its ambient to its class in a time: for cranking and stall. [A]

    Args:
        ambient_c: around the wire, and its temperature before. [C]
        time_s: how long. [s]
    """
    tau_s = time_constant_s(limit, ambient_c)
    if tau_s <= 0.0:
        return 0.0
    return carries_a(limit, ambient_c) / sqrt(1.0 - exp(-time_s / tau_s))


def damage_c(insulation_c: float) -> float:
    """Temperature the insulation stands for the moment of a short. [C]

    Args:
        insulation_c: its class. [C]
    Source:
        k-factor: 160 °C for PVC, 250 °C for crosslinked PE.
    """
    return constant("short_end_pvc_c" if insulation_c <= _PVC_MOST_C else "short_end_xlpe_c")


def adiabatic_k(start_c: float, end_c: float) -> float:
    """Factor k of a copper wire in a short: I^2 t may reach (k S)^2. [-]

    Args:
        start_c: the wire before; a vehicle's wire is hot then. [C]
        end_c: what its insulation stands. [C]
    Limits:
        No heat leaves the wire: true up to a tenth of its time constant, and on the safe side after that.
    Source:
        k-factor, IEC 60364-5-54: 226 * sqrt(ln(1 + (end - start) / (234.5 + start))).
    Example:
        >>> round(adiabatic_k(70.0, 160.0)), round(adiabatic_k(105.0, 160.0))
        (115, 87)
    """
    zero = constant("copper_zero_k")
    heat = constant("copper_heat_j_per_mm3_k") * (zero + _ROOM_C)
    # ohm mm2/m = 1000 ohm mm, hence the factor
    rho_ohm_mm = constant("copper_resistivity_ohm_mm2_per_m") / 1000.0
    return sqrt(heat / rho_ohm_mm * log((zero + end_c) / (zero + start_c)))


def _place_c(scene: Scene, end: str, air_c: Mapping[str, float], design_c: float) -> float:
    """Ambient of the place a wire's end sits at, engine hot. [C]"""
    part = scene.parts.get(scene.point(end).split(".")[0]) if end else None
    return design_c if part is None else air_c.get(part.place, design_c)


def _air_of(scene: Scene) -> Mapping[str, float]:
    return air_at_places_c(scene.job)
