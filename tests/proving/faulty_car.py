"""A car that is not quite as written, with one fault in it, and a meter that is not quite right: the other side of a
trial. It shares the network's solver with the tool, and nothing of how the tool ranks faults.
"""

from __future__ import annotations

from collections.abc import Mapping
from zlib import crc32

import numpy as np

from loomwright.car import Car
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Changes, Law, Short
from loomwright.network.solve import Solved, solve

METER_OHM = 10e6
"""A meter rests on every wired point at once: together they draw some microamps."""


class FaultyCar:
    """One car: figures strayed, one thing wrong. Things come off it for a reading, and go back."""

    def __init__(self, car: Car, wrong: dict[str, object], rng: np.random.Generator, stray: float = 0.05) -> None:
        self._rng, self._seed = rng, int(rng.integers(1 << 30))
        self._car, self._wrong, self._stray = car, wrong, stray
        self._post = next(part.id for part in car.filled.parts if part.kind == "battery") + ".-"
        self._compiled: dict[tuple[str, ...], tuple[Compiled, Mapping[str, str]]] = {}
        self._solved: dict[object, Solved] = {}

    def shown(self, point: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What is between a point and the battery's earthed post. [V]"""
        solved, aliases = self._at(state, off)
        return solved.volts.get(aliases.get(point, point)) or 0.0

    def volts(self, point: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What the meter shows of it. [V]"""
        return round(self.shown(point, state, off) * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01), 2)

    def drop(self, point: str, to: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What the meter shows between two points, in its range of millivolts where that holds it. [V]"""
        volts = self.shown(point, state, off) - self.shown(to, state, off)
        coarse = abs(volts) > 0.2
        shown = volts * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01 if coarse else 0.0002)
        return round(shown, 2 if coarse else 4)

    def clamp(self, wire: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What a clamp round a wire shows, to 10 mA, 1.5 % and 20 mA off. [A]"""
        amps = abs(self._at(state, off)[0].amps[wire])
        return round(abs(amps * self._rng.normal(1.0, 0.015) + self._rng.normal(0.0, 0.02)), 2)

    def _at(self, state: dict[str, str], off: tuple[str, ...]) -> tuple[Solved, Mapping[str, str]]:
        if off not in self._compiled:
            self._compiled[off] = self._with_off(off)
        compiled, aliases = self._compiled[off]
        key = (off, *sorted(state.items()))
        if key not in self._solved:
            self._solved[key] = solve(compiled, state)
        return self._solved[key], aliases

    def _with_off(self, off: tuple[str, ...]) -> tuple[Compiled, Mapping[str, str]]:
        """The car with things off: wires let go, parts unplugged, the battery's earth lead through a lamp."""
        job, wrong, post = self._car.filled, self._wrong, self._post
        wires, parts = {wire.id for wire in job.wires}, {part.id for part in job.parts}
        ends = dict.fromkeys(end for wire in job.wires for end in (wire.from_, wire.to) if "." in end and end != post)
        lamp = "lamp" in off
        changes = Changes(
            opened=(*wrong.get("opened", ()), *(name for name in off if name in wires)),
            pulled=tuple(wrong.get("pulled", ())),
            series=tuple(wrong.get("series", ())),
            shorts=(*wrong.get("shorts", ()), *(Short(end, post, METER_OHM) for end in ends)),
            removed=tuple(wrong.get("removed", ())),
            stuck=tuple(wrong.get("stuck", ())),
            unplugged=(*(name for name in off if name in parts), *((post,) if lamp else ())),
            lamps=((f"~{post}", post, 21.0),) if lamp else (),
        )
        network = build_network(job, self._car.kinds, changes, self._car.variables)
        silent = frozenset(wrong.get("silent", ()))
        strayed = _strayed(network, self._seed, self._stray, silent) if self._stray or silent else network
        return compile_network(strayed), network.aliases


def _strayed(network, seed: int, stray: float, silent: frozenset[str]):
    """The same network, every straight line, lamp and constant load a little off, always in the same way; what is
    silent carries nothing.
    """
    from dataclasses import replace

    elements = []
    for element in network.elements:
        own = np.random.default_rng([seed, crc32(element.name.encode())])
        share = float(own.normal(1.0, stray))
        if element.name in silent:
            nothing = tuple((1e-9, *[0.0] * (len(row) - 1)) for row in element.figures)
            elements.append(replace(element, law=Law.LINEAR, figures=nothing))
            continue
        place = {Law.LINEAR: 0, Law.LAMP: 1, Law.CURRENT: 0, Law.POWER: 0}.get(element.law)
        if place is not None and not element.name.startswith("bridge"):
            rows = tuple(tuple(v * share if k == place else v for k, v in enumerate(row)) for row in element.figures)
            element = replace(element, figures=rows)
        elements.append(element)
    return replace(network, elements=tuple(elements))
