"""Does an LED whose watts nobody wrote wake the alternator? NET-3, a warning.

A charge lamp wakes the alternator with its own current. Where it is an LED, and its row gives no watts, those of its
kind are taken, and they are those of a lamp that gives light: an LED made to tell something takes a tenth. So the
network is built again with what such a one takes; an alternator that wakes in some state as the sheets stand, and in
none with that, wakes by a figure that nobody gave.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene, scene_with
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["led_charge_findings"]

_LED = "led_lamp"
_TURNING = {"key": ("run",), "engine": ("idle", "running")}


def led_charge_findings(scene: Scene) -> Iterator[Told]:
    """Alternators that only an LED of unwritten watts wakes."""
    leds = [part for part in scene.role_of.get("charge_lamp", ()) if part.kind == _LED and "watt" not in part.settings]
    devices = [k for k, device in enumerate(scene.compiled.network.devices) if device.what == "excited"]
    if not leds or not devices:
        return
    values = look(scene, _TURNING, alone=True)
    as_written = scene.answers(values)
    as_small = _with_watts(scene, leds, constant("led_tell_tale_w")).answers(values)
    for device in devices:
        if as_written.on(device).any() and not as_small.on(device).any():
            yield Told(_told(scene, leds, scene.compiled.network.devices[device].name.split(".")[0]), None, None)


def _with_watts(scene: Scene, leds: list[Part], watt: float) -> Scene:
    names = {part.id for part in leds}
    parts = tuple(
        replace(part, settings={**part.settings, "watt": f"{watt:g}"}) if part.id in names else part
        for part in scene.job.parts
    )
    job = replace(scene.job, parts=parts)
    variables = scene.compiled.network.variables
    return scene_with(scene, job, compile_network(build_network(job, scene.kinds, None, variables)))


def _told(scene: Scene, leds: list[Part], alternator: str) -> Finding:
    first = leds[0]
    taken_w = float(resolve_settings(scene.kind(first.id), first.settings, scene.vehicle.system_v)["watt"])
    wires = tuple(wire.id for name in ("+", "-") for wire in scene.wires_at.get(f"{first.id}.{name}", ()))
    return Finding(
        rule="NET-3",
        severity="warning",
        at=(first.id, alternator),
        touches=(*wires, *(part.id for part in leds[1:])),
        label=f"{first.id} ({scene.title(first.id)})",
        wrong=(
            f"gives no watts, and {alternator} wakes only by the {taken_w:g} W taken for it: an LED made to tell "
            f"something takes {constant('led_tell_tale_w'):g} W, and with that it never charges"
        ),
        source="common-practice",
        mend=f"Write the watts printed on {first.id}; with a small LED put a resistor of some 100 ohm, 3 W, beside it",
    )
