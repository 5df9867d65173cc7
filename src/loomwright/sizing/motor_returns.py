"""Which wires carry a motor's current on from it, and which fuse ends that if the motor is held fast?

A load limits what flows beyond it; a motor does so only while it turns. One that seizes, or drags, draws whatever its
fuse lets through, and the wire on its other side carries the same amps: it is asked what the fuse asks of the feed. The
wires at the motor's own terminals are looked at, as far as the next splice or earth.

Source: common practice, no source: a motor's earth wire is as thick as its feed.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.network.records import Law
from loomwright.sizing.fused import Fused
from loomwright.sizing.most_beyond import highest_v
from loomwright.states.asking.scene import Scene

__all__ = ["motor_returns"]

_MOTOR = "motor"


def motor_returns(scene: Scene, fused: Fused) -> Mapping[str, tuple[str, ...]]:
    """Wires that lie behind no fuse but beyond a motor -> the fuses before that motor which it can overload.

    A motor that draws no more than the rating even when it is held fast limits what flows; it is left out.

    Args:
        fused: what protects what.
    """
    elements = scene.compiled.network.elements
    held = [k for k, one in enumerate(elements) if one.type == _MOTOR and one.law == Law.LINEAR]
    if not held:
        return {}
    wires_at: dict[int, list[str]] = {}
    for name in fused.fuses_of:
        for node in scene.ends(scene.compiled.elements_of[name][0]):
            wires_at.setdefault(node, []).append(name)
    most_v = highest_v(scene)
    found: dict[str, dict[str, None]] = {}
    for index in held:
        held_a = max(row[0] for row in elements[index].figures) * most_v
        ends = scene.ends(index)
        for fed, beyond in (ends, ends[::-1]):
            before = {part: None for name in wires_at.get(fed, ()) for part in fused.fuses_of[name]}
            over = {part: None for part in before if held_a > (fused.fuses[part].rating_a or 0.0)}
            for name in wires_at.get(beyond, ()):
                if over and not fused.fuses_of[name] and name not in fused.unfused:
                    found.setdefault(name, {}).update(over)
    return {name: tuple(parts) for name, parts in found.items()}
