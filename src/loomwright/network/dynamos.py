"""How does a dynamo enter the network, and what parts it from the battery?

The armature of a direct-current machine is a few tenths of an ohm between D and its case, turning or not. From some
speed on its regulator holds the volts, up to its current. At idle most make less than the battery has, and standing
they make none: then current would run backwards into the armature. The cut-out's second winding carries that current
the wrong way round and lets the contact go.

    standing         I = V / R
    idle             I = (V - V_idle) / R       where it gives no amps at idle
    from speed on    its setpoint up to its amps

Which pole is live is the car's: a dynamo is polarised by a touch from the battery, the machine is the same.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.network.draft import TURNING
from loomwright.network.element_types import FLAT_SIEMENS, Spot, position_guards
from loomwright.network.records import Law, Sense
from loomwright.tables.constants import constant

__all__ = ["add_dynamo", "series_winding"]

_STANDING = ("stopped", "cranking")
"""Where the engine does not turn, or too slowly for it to make volts that count."""


def add_dynamo(spot: Spot) -> None:
    """Its armature by the engine's speed."""
    sign = float(spot.draft.live_sign)
    idle_a, most_a = spot.number("idle_output_a", 0.0), spot.number("max_a")
    siemens = 1.0 / spot.number("armature_ohm")
    standing = position_guards(spot.draft, "engine", _STANDING)
    spot.draft.add(spot.element(Law.LINEAR, (siemens, 0.0), guards=standing, type="armature"))
    held = (1.0 / constant("alternator_regulation_ohm"), sign * spot.number("setpoint_v"))
    by_speed = {word: (*held, *_outwards(sign, most_a)) for word in TURNING}
    if idle_a > 0.0:
        by_speed["idle"] = (*held, *_outwards(sign, idle_a))
    else:
        by_speed["idle"] = (siemens, sign * spot.number("idle_v"), -most_a, most_a)
    for word, figures in by_speed.items():
        guards = position_guards(spot.draft, "engine", (word,))
        spot.draft.add(spot.element(Law.CLAMP, (*figures, FLAT_SIEMENS), guards=guards))


def _outwards(sign: float, most_a: float) -> tuple[float, float]:
    """Least and most amps into its live end: a regulated machine only gives. [A]"""
    return (-most_a, 0.0) if sign > 0.0 else (0.0, most_a)


def series_winding(spot: Spot) -> None:
    """The second winding of a cut-out, in line with its contact: its coil lets go once amps come back through it."""
    ohm = spot.number("ohm")
    spot.draft.add(spot.element(Law.LINEAR, (1.0 / ohm, 0.0)))
    index = spot.coils[spot.text("coil")]
    ends = (spot.a, spot.b) if spot.draft.live_sign > 0 else (spot.b, spot.a)
    back_v = -spot.number("let_go_a") * ohm
    device = spot.draft.devices[index]
    spot.draft.devices[index] = replace(device, senses=(*device.senses, Sense(-1, *ends, back_v, back_v)))
