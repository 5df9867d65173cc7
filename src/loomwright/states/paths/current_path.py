"""Where does the current through a point come from in one state, and where does it lose its volts?

From a node the element that brings most current is followed to its other end, and so on, until a source is met: a
battery, an alternator, an old feed. What comes out is that row of elements, the source first.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.network.records import Law
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene

__all__ = ["bringing", "named", "taking"]

_LEAST_A = 1e-7
_SOURCES = (Law.BATTERY,)
_SOURCE_TYPES = ("alternator", "source", "trio")


def bringing(
    scene: Scene,
    answers: Answers,
    row: int,
    node: int,
    polarity: int = 1,
) -> tuple[int, ...]:
    """The elements that bring current to a node, the source first.

    Args:
        row: which state of the batch.
        polarity: -1 to follow the current of a positive-earth car from its live post.
    """
    found: list[int] = []
    seen = {node}
    here = node
    flowing_a, ends_of = answers.batch.amps[row].item, scene.ends_of
    while True:
        best, most = -1, _LEAST_A
        for k, _ in scene.at.get(here, ()):
            amps = polarity * flowing_a(k) * (1 if ends_of[k][1] == here else -1)
            if amps > most and k not in found:
                best, most = k, amps
        if best < 0:
            return tuple(reversed(found))
        found.append(best)
        element = scene.element(best)
        a, b = scene.ends(best)
        here = a if b == here else b
        if element.law in _SOURCES or element.type in _SOURCE_TYPES or here in seen:
            return tuple(reversed(found))
        seen.add(here)


def taking(
    scene: Scene,
    answers: Answers,
    row: int,
    node: int,
    polarity: int = 1,
) -> tuple[int, ...]:
    """The elements that take current on from a node to the source's other post, nearest first."""
    return tuple(reversed(bringing(scene, answers, row, node, -polarity)))


def named(scene: Scene, elements: Iterable[int]) -> tuple[str, ...]:
    """The wires and parts that elements belong to, in order, each once."""
    found: dict[str, None] = {}
    for k in elements:
        element = scene.element(k)
        name = element.name if element.is_wire else element.part
        if name:
            found[name] = None
    return tuple(found)
