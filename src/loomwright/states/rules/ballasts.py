"""Does a ballast resistor lie before a coil that has its own igniter (SNK-2)?

A ballast takes its share of the volts from a plain coil, so that the coil does not get too hot. A coil with its own
igniter lets its current rise to a peak and cuts it there, and its electronics live on the same feed: at the peak the
ballast takes

    V = R * I_peak

from both. Broken where current is drawn and every way of its feed goes through a ballast; a way that only the starter's
solenoid closes is no feed. A by-pass that is always there, or a ballast before a plain coil, is right.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.firing import feed_end
from loomwright.states.paths.gate_ways import Way, ways
from loomwright.states.paths.joined import Joined
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings
from loomwright.tables.limits import drop_limit_v

__all__ = ["ballast_watches"]

_OWN_IGNITER = "coil_with_igniter"


def ballast_watches(scene: Scene, joined: Joined) -> Iterator[Watch]:
    """One question for each coil with its own igniter that is fed through a ballast only."""
    ballasts = {k: p.id for p in scene.parts.values() if p.kind == "ballast" for k in scene.elements_of[p.id]}
    if not ballasts:
        return
    for part in scene.parts.values():
        if part.kind != _OWN_IGNITER:
            continue
        coil = next(k for k in scene.elements_of[part.id] if scene.element(k).load)
        found = ways(scene, joined, joined.net_of[feed_end(scene, joined, coil)], "live")
        usual = [way for way in found if not _only_at_start(scene, way)]
        before = [next((k for k in way.gates if k in ballasts), None) for way in usual]
        if usual and all(k is not None for k in before):
            yield _watch(scene, ballasts[before[0] or 0], before[0] or 0, part.id, coil)


def _only_at_start(scene: Scene, way: Way) -> bool:
    """Whether a way asks for a starter's solenoid: the by-pass of a ballast."""
    devices = scene.compiled.network.devices
    parts = {devices[device].name.split(".")[0] for device, on in way.needs.items() if on}
    return any(scene.element(k).type == "starter_motor" for part in parts for k in scene.elements_of.get(part, ()))


def _watch(scene: Scene, ballast: str, resistor: int, coil: str, element: int) -> Watch:
    row = scene.parts[coil]
    settings = resolve_settings(scene.kind(coil), row.settings, row.rated_v or scene.vehicle.system_v)
    lost_v = float(settings["peak_a"]) / scene.element(resistor).figures[0][0]
    wires = tuple(
        wire.id for point in scene.wires_at if point.split(".")[0] == ballast for wire in scene.wires_at[point]
    )
    return Watch(
        rule="SNK-2",
        severity="fault",
        at=(ballast, *wires[:1], coil),
        touches=wires[1:],
        label=f"{ballast} ({scene.title(ballast)})",
        wrong=f"lies in the feed of {coil} ({scene.title(coil)}), whose own igniter wants its full volts at the peak",
        broken=partial(_broken, element, constant("fires_frac") * (scene.element(element).rated_a or 0.0), lost_v),
        allowed=drop_limit_v("ignition", scene.vehicle.system_v),
        unit="V",
        source="common-practice",
        mend=f"Take {ballast} out and lead the feed straight to {coil}",
    )


def _broken(element: int, least_a: float, lost_v: float, answers: Answers) -> tuple[type_bool, type_float]:
    return np.abs(answers.amps(element)) >= least_a, np.full(answers.count, lost_v)
