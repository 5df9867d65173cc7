"""How much can flow through a wire or a fuse at most, whatever the state?

All that goes through it goes on to the loads beyond. On one side of it the ways are followed, every contact closed; if
they meet no source and no earth there, no more can flow than the loads on that side draw all together at the highest
volts of the car. Where both sides meet one, there is no such figure.

A motor that stands has less volts than it needs to turn. Diodes across a relay's coil and in a controller carry
nothing, as for the ways: a relay that is fitted the wrong way round is told by NET-4.

Source: worked-out; the laws of the loads are those of the network, each grows with the volts across it.
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from loomwright.network.laws import amps_and_slope
from loomwright.network.records import Element, Law
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.supply_cells import string_cells
from loomwright.states.ratings.rating_ground import RatingGround
from loomwright.tables.constants import constant

__all__ = ["highest_v", "most_beyond"]

_SPARE = 1.05
"""Over the highest emf of any source, for what several make together [-]."""
_FIGURES = 6
_BLOCKS = ("switch", "controller")
"""Duties of parts whose diodes block: across a relay's coil, at a controller's pins."""
_GIVING = ("alternator", "source", "trio", "starter_motor")


def most_beyond(scene: Scene, ground: RatingGround, element: int, highest_v: float) -> float | None:
    """The most that can flow through an element; None where nothing beyond it limits that. [A]

    Args:
        element: a wire or a fuse.
        highest_v: of `highest_v`, the same for every element of a scene. [V]
    """
    pulses = ground.heating.through.get(element, ())
    heats = max((sqrt(pulse.square_frac) for pulse in pulses), default=1.0)
    most = [_beyond_a(scene, ground, element, node, highest_v) for node in scene.ends(element)]
    known = [amps for amps in most if amps is not None]
    return min(known) * max(1.0, heats) if known else None


def _beyond_a(scene: Scene, ground: RatingGround, element: int, start: int, highest_v: float) -> float | None:
    """What the loads on one side of an element draw all together. [A]"""
    conduction = ground.conduction
    nodes, waiting = {start}, [start]
    while waiting:
        node = waiting.pop()
        if node in conduction.earth or node == conduction.live_post:
            return None
        for way, other in conduction.at.get(node, ()):
            if way != element and other not in nodes:
                nodes.add(other)
                waiting.append(other)
    ways = {way for node in nodes for way, _ in conduction.at.get(node, ())}
    loads = {k for node in nodes for k, _ in conduction.all_at.get(node, ())} - ways - {element}
    each = [_most_a(scene, scene.element(k), highest_v) for k in loads]
    return None if any(amps is None for amps in each) else sum(amps for amps in each if amps is not None)


def _most_a(scene: Scene, element: Element, highest_v: float) -> float | None:
    """The most an element can draw; None for a source, or a diode that is a load or a part of its own. [A]"""
    if element.law == Law.BATTERY or element.type in _GIVING:
        return None
    if element.law == Law.DIODE:
        return 0.0 if scene.kind(element.part).duty in _BLOCKS else None
    stands = element.type == "motor" and element.law == Law.LINEAR
    most_v = constant("motor_free_below_v") if stands else highest_v
    found = 0.0
    for row in element.figures:
        figures = np.zeros(_FIGURES)
        figures[: len(row)] = row
        volts = (most_v, -most_v, *((row[1], -row[1]) if element.law == Law.POWER else ()))
        found = max(found, *(abs(amps_and_slope(int(element.law), figures, one)[0]) for one in volts))
    return found


def highest_v(scene: Scene) -> float:
    """The highest volts any source stands for, batteries in series together. [V]"""
    cells = [scene.element(k).figures for k in string_cells(scene)]
    found = [scene.vehicle.system_v, sum(max(abs(row[0]) for row in figures) for figures in cells)]
    for element in scene.compiled.network.elements:
        if element.law == Law.BATTERY:
            found += [abs(row[0]) for row in element.figures]
        elif element.law == Law.CLAMP and element.type in ("alternator", "source"):
            found += [abs(row[1]) for row in element.figures]
    return max(found) * _SPARE
