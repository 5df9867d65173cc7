"""Does current take a way nobody meant it to take?

    SNK-1  through a part against its design direction
    SNK-2  through two loads of different purpose one after the other: the earth of one goes through the other; through
           a ballast into a coil that has its own igniter
    SNK-3  into a supply contact, or into electronics, by any way but their own

Design direction: that of a part that has one; for every other load and coil from the end that contacts can feed to the
end that can be earthed; where both ends can be either (reversing motors, a tell-tale between two lines) there is none
and nothing is asked. A part is lit or turned backwards from half a volt on; below that it is dead, and cold filaments
let through amps that mean nothing.

Not asked of, see docs/method/sneak.md: the charge lamp while the engine stands, the tell-tale between turn lamps,
suppression parts, sensors, gauges, ballasts, the starter's pull winding: none of them is a load by its kind.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from loomwright.findings import Severity
from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.gate_ways import is_earthed, is_fed
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.ways_in import WayIn, ways_in
from loomwright.states.rules.ballasts import ballast_watches
from loomwright.states.rules.load_elements import load_elements
from loomwright.states.rules.series_loads import series_watches
from loomwright.tables.constants import constant

__all__ = ["design_direction", "watches"]

_HALF = 0.5
_LEAST_A = 1e-3


def watches(scene: Scene) -> tuple[Watch, ...]:
    """The questions SNK-1, SNK-2 and SNK-3 of a car."""
    joined = joined_of(scene)
    lamps = _charge_lamps(scene, joined)
    return (
        *_reverse_watches(scene, joined, lamps),
        *series_watches(scene, joined, lamps),
        *ballast_watches(scene, joined),
        *(_way_in_watch(scene, way) for way in ways_in(scene, joined)),
    )


def _charge_lamps(scene: Scene, joined: Joined) -> frozenset[str]:
    """Parts with the role of charge lamp, and lamps that hang on an alternator's D+."""
    elements = scene.compiled.network.elements
    trio = {joined.net_of[scene.ends(k)[1]] for k, e in enumerate(elements) if e.type == "trio"}
    found = {part.id for part in scene.role_of.get("charge_lamp", ())}
    for k, element in enumerate(elements):
        if element.type == "lamp" and trio & set(joined.nets(scene, k)):
            found.add(element.part)
    return frozenset(found)


# SNK-1


def _reverse_watches(scene: Scene, joined: Joined, lamps: frozenset[str]) -> list[Watch]:
    made = []
    sides: dict[int, str] = {}
    for k, element in enumerate(scene.compiled.network.elements):
        if not _has_direction(element):
            continue
        direction = design_direction(scene, joined, k, sides)
        if element.polar and direction < 0:
            continue  # wired the wrong way round altogether: NET-4 tells it
        direction = 1 if element.polar else direction
        if direction:
            made.append(_reverse_watch(scene, joined, k, direction, element.part in lamps))
    return made


def _has_direction(element: Element) -> bool:
    if element.type in ("pin", "diode", "trio", "field", "switch", "contact"):
        return False
    return bool(element.part) and (element.polar or element.load or element.type == "coil")


def design_direction(scene: Scene, joined: Joined, k: int, sides: dict[int, str]) -> int:
    """1 where an element's current is meant to go from its first node to its second, -1 the other way, 0 neither. [-]

    Args:
        sides: what each net can be by its gates, filled as it is asked.
    """
    a, b = (_side(scene, joined, net, sides) for net in joined.nets(scene, k))
    sense = joined.polarity
    if (a == "live") != (b == "live"):
        return sense if a == "live" else -sense
    if (a == "earth") != (b == "earth"):
        return sense if b == "earth" else -sense
    return 0


def _side(scene: Scene, joined: Joined, net: int, sides: dict[int, str]) -> str:
    if net not in sides:
        fed, earthed = is_fed(scene, joined, net), is_earthed(scene, joined, net)
        sides[net] = "both" if fed and earthed else "live" if fed else "earth" if earthed else ""
    return sides[net]


def _reverse_watch(scene: Scene, joined: Joined, k: int, direction: int, is_charge_lamp: bool) -> Watch:
    element = scene.element(k)
    rated_a = element.rated_a
    feed = scene.ends(k)[0 if direction == joined.polarity else 1]
    half_v = _HALF * scene.vehicle.system_v
    name = _one_of_several(scene, k, feed) or element.part

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        amps = -direction * answers.amps(k)
        hit = amps > _LEAST_A
        if hit.any():
            hit &= np.nan_to_num(np.abs(answers.across(k)), nan=0.0) > constant("dead_v")
            if is_charge_lamp:
                # the lamp is lit from D+ when the key goes off; that is told where it wakes what hangs on the key
                hit &= answers.turning() & (np.nan_to_num(np.abs(answers.volts(feed)), nan=0.0) >= half_v)
        return hit, amps

    return Watch(
        rule="SNK-1",
        severity="fault",
        at=_hand(scene, element.part, scene.ends(k)) if name == element.part else (element.part, name),
        touches=_wires_of(scene, scene.ends(k)),
        label=f"{name} ({scene.title(element.part)})",
        wrong="current goes through it the wrong way round",
        broken=broken,
        severity_of=partial(_reverse_severity, rated_a),
        unit="A",
        mend=_reverse_mend(is_charge_lamp),
        path_of=partial(_path, scene, joined, k),
    )


def _one_of_several(scene: Scene, k: int, feed: int) -> str:
    """The terminal that tells which load of a part is meant, where its ends lie inside: a lamp of a trailer."""
    element = scene.element(k)
    if "._" not in scene.name_of(feed):
        return ""
    load = next((load for load in load_elements(scene) if k in load.indices), None)
    if load is None or sum(other.part == element.part for other in load_elements(scene)) < 2:
        return ""
    return scene.name_of(load.a if feed == scene.ends(k)[0] else load.b)


def _reverse_severity(rated_a: float | None, found: float) -> Severity:
    small = rated_a is not None and abs(found) < constant("sneak_small_frac") * rated_a
    return "warning" if small else "fault"


def _reverse_mend(is_charge_lamp: bool) -> str:
    if is_charge_lamp:
        return "Fit a diode in the lamp's lead, anode to the key's side"
    return "Look along the way the current takes for an earth or a feed that is missing, and make it good"


# SNK-3


def _way_in_watch(scene: Scene, way: WayIn) -> Watch:
    title = scene.title(way.part)

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = way.rules(answers)
        if hit.any():
            hit &= way.awake(answers)
        return hit, way.volts(answers)

    return Watch(
        rule="SNK-3",
        severity="fault",
        at=way.at,
        touches=way.touches,
        label=f"{way.at[0]} at {way.part} ({title})" if way.at[0] != way.part else f"{way.part} ({title})",
        wrong=f"current comes in through it and feeds {way.terminal} with its own contact open",
        broken=broken,
        unit="V",
        mend=way_in_mend(scene, way),
        path_of=partial(_path, scene, None, way.flows[0][0]),
    )


def way_in_mend(scene: Scene, way: WayIn) -> str:
    """What a person can do about a way into a supply."""
    element = scene.element(way.flows[0][0])
    if way.lamp:
        return (
            "Fit a diode in the lamp's lead, anode to the key's side, or feed the relays from a contact the lamp misses"
        )
    if element.type == "pin":
        return f"Feed what hangs on that output from behind the contact that feeds {way.terminal}"
    if element.type == "switch" and way.strict and element.part == scene.element(way.own[0]).part:
        return "Part the two terminals of the key: take off the wire that joins what hangs on them"
    if element.type in ("switch", "contact", "diode"):
        return f"Take its wire off {way.terminal}, or put a diode in it that lets current out only"
    return "Give each of the two its own feed, or put a diode in the lead between them"


# paths and places


def _path(scene: Scene, joined: Joined | None, k: int, answers: Answers, row: int) -> tuple[str, ...]:
    """Wires and parts along the current through an element in one state, from its source on."""
    polarity = scene.vehicle.live_sign
    forward = polarity * float(answers.batch.amps[row, k]) > 0.0
    a, b = scene.ends(k)
    first, last = (a, b) if forward else (b, a)
    before = bringing(scene, answers, row, first, polarity)
    after = taking(scene, answers, row, last, polarity)
    return named(scene, (*before, k, *after))


def _hand(scene: Scene, part: str, ends: tuple[int, int]) -> tuple[str, ...]:
    return (part, *_wires_of(scene, ends)[:2])


def _wires_of(scene: Scene, ends: tuple[int, int]) -> tuple[str, ...]:
    found = [wire.id for node in ends for wire in scene.wires_at.get(scene.name_of(node), ())]
    return tuple(dict.fromkeys(found))
