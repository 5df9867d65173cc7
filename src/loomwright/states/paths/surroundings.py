"""Which wires and parts lie round a thing, by the names on the loom?

What a finding touches: the wires at the two ends of an element, the parts at their far ends, the rows of a pin.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.network.records import Element
from loomwright.states.asking.scene import Scene

__all__ = ["around", "element_label", "parts_of", "pin_rows", "wire_ends", "wire_label", "wires_round"]


def wires_round(scene: Scene, nodes: Iterable[int]) -> tuple[str, ...]:
    """Wires that end at any of the nodes; metals, where half the car ends, left out."""
    found: dict[str, None] = {}
    for node in nodes:
        name = scene.name_of(node)
        if "." not in name:
            continue
        found.update(dict.fromkeys(wire.id for wire in scene.wires_at.get(name, ())))
    return tuple(found)


def around(scene: Scene, index: int) -> tuple[str, ...]:
    """Wires at both ends of an element, then the parts these lead to, its own left out."""
    wires = wires_round(scene, scene.ends(index))
    part = scene.element(index).part
    ends = [end for name in wires for end in (scene.wires[name].from_, scene.wires[name].to)]
    parts = dict.fromkeys(scene.point(end).split(".")[0] for end in ends if end)
    return (*wires, *(name for name in parts if name in scene.parts and name != part))


def parts_of(scene: Scene, elements: Iterable[int]) -> tuple[str, ...]:
    """The parts that elements belong to, each once."""
    return tuple(dict.fromkeys(scene.element(k).part for k in elements if scene.element(k).part in scene.parts))


def pin_rows(scene: Scene, point: str) -> tuple[str, ...]:
    """Rows of the sheets that speak of a controller's pin: its own, its needs'."""
    own = [pin for pin in scene.job.controller_pins if f"{pin.part}.{pin.terminal}" == point]
    names = {name for pin in own for name in (pin.id, pin.terminal, point)}
    return (*(pin.id for pin in own), *(need.id for need in scene.job.needs if need.pin in names))


def wire_ends(scene: Scene, wire: str) -> tuple[str, ...]:
    """The parts a wire joins."""
    row = scene.wires[wire]
    parts = (scene.point(end).split(".")[0] for end in (row.from_, row.to) if end)
    return tuple(dict.fromkeys(part for part in parts if part in scene.parts))


def wire_label(scene: Scene, wire: str) -> str:
    """A wire as printed, and where it goes."""
    row = scene.wires[wire]
    return f"{wire} (wire, {row.from_} to {row.to})"


def element_label(scene: Scene, element: Element) -> str:
    """A part as printed, what it is, and which of its contacts is meant where it has several."""
    own = element.name.removeprefix(element.part + ".")
    alike = {
        scene.element(k).name for k in scene.elements_of.get(element.part, ()) if scene.element(k).type == element.type
    }
    return f"{element.part} ({scene.title(element.part)}{', ' + own if len(alike) > 1 else ''})"
