"""How much current flows through a contact in the first instant it closes?

Cold lamps are nearly a short, a standing motor is its stalled resistance, a starter's pull winding draws until the main
contact bridges it. For one contact, from a state in which its loads run:

    I = V / (R_loop + R_battery + 1 / sum G)      R_loop = (V - V_loads) / I_steady

V is the volts at the battery's posts, V_loads the mean across the loads, G the conductance of each load before it moves
or glows. Only loads with no further contact before them count: the others are switched later.

Limits: a loop of resistances; the few milliseconds that inductance takes are left out, which is the safe side.
Source: worked-out; cold filaments from memory (1/12 of hot).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.records import Element, Law
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.supply_cells import live_post_of, string_cells

__all__ = ["Rush", "rush_of"]

_ON_A = 1e-3
_HIGHEST = 1.5
"""Volts over nominal that nothing in a car passes: a regulator set high and cold holds some 16 V of 12 [-]."""
_DRAW_V = 13.0
"""Volts at which a steady draw is turned into a conductance. [V]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rush:
    """The loads a contact makes.

    each: elements of one load (a motor has two), the element whose current says it is on, siemens at first.
    posts: nodes of the battery. battery_ohm: inside it. [ohm]
    """

    each: tuple[tuple[tuple[int, ...], float], ...]
    posts: tuple[int, int]
    battery_ohm: float

    @property
    def loads(self) -> tuple[int, ...]:
        """All elements that count."""
        return tuple(k for elements, _ in self.each for k in elements)

    def most_a(self, system_v: float) -> float:
        """What could flow with no resistance in the loop. [A]"""
        return _HIGHEST * system_v * sum(siemens for _, siemens in self.each)

    def amps(self, answers: Answers, contact: int) -> type_float:
        """The first current through the contact, were it closed in this state with its loads cold. [A]"""
        siemens, drawn, watts = (np.zeros(answers.count) for _ in range(3))
        for elements, at_first in self.each:
            amps = sum((np.abs(answers.amps(k)) for k in elements), np.zeros(answers.count))
            siemens = siemens + np.where(amps > _ON_A, at_first, 0.0)
            drawn = drawn + amps
            watts = watts + amps * np.nan_to_num(np.abs(answers.across(elements[0])))
        through = np.abs(answers.amps(contact))
        posts_v = np.abs(np.nan_to_num(answers.volts(self.posts[0]) - answers.volts(self.posts[1])))
        on = (siemens > 0.0) & (through > _ON_A)
        loads_v = np.divide(watts, drawn, out=np.zeros_like(watts), where=drawn > _ON_A)
        loop_ohm = np.divide(np.maximum(posts_v - loads_v, 0.0), through, out=np.zeros_like(through), where=on)
        first_ohm = np.divide(1.0, siemens, out=np.full_like(siemens, np.inf), where=on)
        made: type_float = posts_v / (loop_ohm + self.battery_ohm + first_ohm)
        return np.where(on, made, 0.0)


def rush_of(scene: Scene, loads: tuple[int, ...]) -> Rush:
    """The rush of the loads a contact makes."""
    cells = string_cells(scene)
    grouped: dict[str, list[int]] = {}
    for index in loads:
        grouped.setdefault(scene.element(index).name, []).append(index)
    each = []
    for found in grouped.values():
        elements = [scene.element(k) for k in found]
        siemens = max(_at_first(element) for element in elements)
        pull = _pull_siemens(scene, elements[0])
        if siemens > 0.0:
            each.append((tuple(found), siemens + pull))
    discharges = [scene.element(k).figures[0][1] for k in cells]  # full, the first of its conditions
    battery_ohm = sum(1.0 / discharge for discharge in discharges if discharge > 0.0)
    posts = (live_post_of(scene), scene.compiled.arrays.nodes)
    return Rush(each=tuple(each), posts=posts, battery_ohm=battery_ohm)


def _at_first(element: Element) -> float:
    """Conductance of a load before it glows or turns. [S]"""
    figures = element.figures[0]
    if element.type == "pin" or element.law == Law.DIODE:
        return 0.0
    if element.law == Law.LAMP:
        return 1.0 / figures[2]
    if element.law == Law.LINEAR:
        return 0.0 if figures[1] != 0.0 else figures[0]
    if element.law == Law.CURRENT:
        return figures[0] / _DRAW_V
    if element.law == Law.POWER:
        return figures[0] / _DRAW_V**2
    return 0.0


def _pull_siemens(scene: Scene, element: Element) -> float:
    """The pull winding that a starter's hold winding has beside it until the main contact closes. [S]"""
    mine = [scene.element(k) for k in scene.elements_of.get(element.part, ())]
    if element.type != "coil" or not any(other.type == "starter_motor" for other in mine):
        return 0.0
    return sum(max(row[0] for row in other.figures) for other in mine if other.type == "resistor")
