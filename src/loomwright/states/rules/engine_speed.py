"""Does an engine speed gauge get the pulses it is made for? SGN-5, a warning.

A gauge that counts pulses hangs on a coil's low side; one that senses current lies in the feed of coils. What it gets
for one turn of the crankshaft, four strokes:

    pulses = cylinders / 2 * coils of the engine that it sees / all its coils

cylinders: injectors, where there are several; else the primaries of its coils, where there are several. The
gauge's setting `pulses_per_rev` says what it wants. Told too: a gauge that senses current and that no coil is fed
through. Not asked where nobody can tell the cylinders, nor of a gauge on an output of the controller.

Source: worked-out, from four strokes; common practice.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import ways_of
from loomwright.states.signals.earth_nets import wired_nodes
from loomwright.tables.kinds import resolve_settings

__all__ = ["pulse_findings"]

_LOW_SIDES = {"coil_plain": ("1",), "coil_twin": ("1a", "1b")}
_FEEDS = {"coil_plain": ("15",), "coil_twin": ("15",), "coil_with_igniter": ("supply",)}
_STROKES = 2.0
_NEAR = 0.01
_GOES_ON = ("wire", "joint", "resistor", "fuse")


def pulse_findings(scene: Scene) -> Iterator[Told]:
    """Every engine speed gauge whose pulses are not those it wants."""
    for part in scene.parts.values():
        if part.kind == "tacho_pulse":
            yield from _counted(scene, part, _coils_at(scene, f"{part.id}.signal"))
        elif part.kind == "tacho_series":
            seen = _coils_fed(scene, part.id)
            if not seen and all(f"{part.id}.{end}" in scene.wires_at for end in ("in", "out")):
                words = "senses the current of an ignition coil, and no coil is fed through it"
                yield Told(
                    _warn(scene, part, words, "Lay it into the coil's feed, or fit one that counts pulses"), None, None
                )
            else:
                yield from _counted(scene, part, seen)


def _counted(scene: Scene, part: Part, seen: list[str]) -> Iterator[Told]:
    pulses = _pulses(scene, len(seen))
    wanted = resolve_settings(scene.kinds[part.kind], part.settings).get("pulses_per_rev")
    if not seen or pulses is None or not isinstance(wanted, float) or abs(pulses - wanted) <= _NEAR:
        return
    finding = _warn(
        scene,
        part,
        f"gets {pulses:g} pulses a turn from {' '.join(seen[:3])} and wants {wanted:g}: "
        f"it shows {pulses / wanted:.2g} times the speed",
        "Set it to that, write pulses_per_rev as it is, or drive it from an output of the controller",
        *seen,
    )
    yield Told(finding, None, None)


def _warn(scene: Scene, part: Part, wrong: str, mend: str, *touches: str) -> Finding:
    return Finding(
        rule="SGN-5",
        severity="warning",
        at=(part.id,),
        touches=tuple(touches),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=wrong,
        mend=mend,
    )


def _pulses(scene: Scene, seen: int) -> float | None:
    """Pulses for one turn of the crankshaft from so many primaries. [-]"""
    injectors = sum(part.kind == "injector" for part in scene.parts.values())
    primaries = sum(len(_LOW_SIDES.get(part.kind, _FEEDS.get(part.kind, ()))) for part in scene.parts.values())
    cylinders = injectors if injectors > 1 else primaries if primaries > 1 else 0
    return cylinders / _STROKES * seen / primaries if cylinders and primaries else None


def _coils_at(scene: Scene, point: str) -> list[str]:
    """The primaries whose low side a point is wired to."""
    if point not in scene.wires_at:
        return []
    net, _ = wired_nodes(scene, (scene.node(point),))
    lows = {f"{part.id}.{end}" for part in scene.parts.values() for end in _LOW_SIDES.get(part.kind, ())}
    return sorted({scene.name_of(node) for node in net} & lows)


def _coils_fed(scene: Scene, gauge: str) -> list[str]:
    """The coils whose feed comes over the gauge: reached from its far end alone, the gauge open."""
    feeds = {f"{part.id}.{end}": part.id for part in scene.parts.values() for end in _FEEDS.get(part.kind, ())}
    ends = [f"{gauge}.{end}" for end in ("in", "out")]
    ways, own = ways_of(scene), frozenset(scene.elements_of.get(gauge, ()))
    fed = [ways.region(scene.node(end), own).reaches_plus for end in ends]
    if fed == [False, True]:
        ends.reverse()
    near, far = (_reached(scene, gauge, end) & set(feeds) for end in ends)
    return sorted(feeds[point] for point in far - near)


def _reached(scene: Scene, gauge: str, start: str) -> set[str]:
    """Points that wires, fuses and series resistors join to one end of the gauge."""
    near: dict[int, list[int]] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        passes = element.type in _GOES_ON and element.part != gauge and not element.load
        if passes and (element.type != "resistor" or not element.part or scene.kind(element.part).duty == "passive"):
            a, b = scene.ends(index)
            near.setdefault(a, []).append(b)
            near.setdefault(b, []).append(a)
    found = {scene.node(start)}
    waiting = list(found)
    while waiting:
        for other in near.get(waiting.pop(), ()):
            if other not in found and "." in scene.name_of(other):
                found.add(other)
                waiting.append(other)
    return {scene.name_of(node) for node in found}
