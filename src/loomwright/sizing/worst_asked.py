"""Of which things is the worst current asked, and what is each held against?

Wires, fuses, contacts of switches and relays, diodes, outputs of controllers, limited supplies, connector ways, battery
and alternator. The limits are those of the rating rules (`states.ratings`), one or several a thing: steady, its motors
alone, its lamps alone, the rush at switching on. A thing without a rating is asked for its current alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.surroundings import element_label, wire_label
from loomwright.states.rules import rating

__all__ = ["WHATS", "WorstAsked", "worst_asked"]

WHATS = ("battery", "alternator", "fuse", "switch", "contact", "output", "supply", "diode", "wire", "joint")
"""What things are, in the order in which they are told."""

_OF_TYPE = {
    "battery": "battery",
    "alternator": "alternator",
    "fuse": "fuse",
    "breaker": "fuse",
    "link": "fuse",
    "switch": "switch",
    "contact": "contact",
    "diode": "diode",
    "wire": "wire",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorstAsked:
    """One thing. name: as on the loom.   what: one of WHATS.   element: of the network, -1 where it is several.

    amps: its current in each state. [A]   judged: what it is held against.
    """

    name: str
    what: str
    label: str
    element: int
    amps: Callable[[Answers], type_float]
    judged: tuple[Watch, ...]


def worst_asked(scene: Scene) -> tuple[WorstAsked, ...]:
    """Every thing of the car that carries current and can be worn out by it."""
    judged: dict[tuple[str, str], list[Watch]] = {}
    for watch in rating.watches(scene):
        judged.setdefault((watch.at[0], watch.label), []).append(watch)
    found = list(_elements(scene, judged))
    found += [_of_watches(key[0], watches) for key, watches in judged.items()]
    return tuple(sorted(found, key=lambda one: WHATS.index(one.what)))


def _elements(scene: Scene, judged: dict[tuple[str, str], list[Watch]]) -> Iterator[WorstAsked]:
    """The things that are one element; what they are held against is taken out of `judged`."""
    for index, element in enumerate(scene.compiled.network.elements):
        is_output = element.type == "pin" and element.name.endswith(".drive")
        what = "output" if is_output else _OF_TYPE.get(element.type, "")
        if not what or (element.part not in scene.parts and not element.is_wire):
            continue
        if what == "diode" and scene.kind(element.part).duty != "passive":
            continue
        name, label = _named(scene, element, is_output)
        yield WorstAsked(
            name=name,
            what=what,
            label=label,
            element=index,
            amps=_amps_of(index),
            judged=tuple(judged.pop((name.partition(" ")[0], label), ())),
        )


def _named(scene: Scene, element: Element, is_output: bool) -> tuple[str, str]:
    if element.is_wire:
        return element.name, wire_label(scene, element.name)
    if is_output:
        point = element.name.removesuffix(".drive")
        return point, f"{point} (output of {scene.title(element.part)})"
    return element.part, element_label(scene, element)


def _amps_of(index: int) -> Callable[[Answers], type_float]:
    def amps(answers: Answers) -> type_float:
        return np.abs(answers.amps(index))

    return amps


def _of_watches(name: str, watches: list[Watch]) -> WorstAsked:
    """A thing that is several elements together: a bank of outputs, the ways of a connector, a limited supply."""

    def amps(answers: Answers) -> type_float:
        return watches[0].broken(answers)[1]

    label = watches[0].label
    is_supply = "drawn from it" in watches[0].wrong
    what = "supply" if is_supply else "output" if "outputs" in label else "joint"
    return WorstAsked(name=name, what=what, label=label, element=-1, amps=amps, judged=tuple(watches))
