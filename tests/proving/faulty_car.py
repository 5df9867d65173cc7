"""A car that is not quite as written, with one fault in it, and a meter that is not quite right: the other side of a
trial. It shares the network's solver with the tool, and nothing of how the tool ranks faults.
"""

from __future__ import annotations

from collections.abc import Mapping
from zlib import crc32

import numpy as np

from loomwright.car import Car
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes, Law, Short
from loomwright.network.solve import solve

METER_OHM = 10e6
"""A meter rests on every wired point at once: together they draw some microamps."""


class FaultyCar:
    """One car: figures strayed, one thing wrong."""

    def __init__(self, car: Car, wrong: dict[str, object], rng: np.random.Generator, stray: float = 0.05) -> None:
        self._rng, seed = rng, int(rng.integers(1 << 30))
        job = car.filled
        post = next(part.id for part in job.parts if part.kind == "battery") + ".-"
        ends = dict.fromkeys(end for wire in job.wires for end in (wire.from_, wire.to) if "." in end and end != post)
        changes = Changes(
            opened=tuple(wrong.get("opened", ())),
            pulled=tuple(wrong.get("pulled", ())),
            series=tuple(wrong.get("series", ())),
            shorts=(*wrong.get("shorts", ()), *(Short(end, post, METER_OHM) for end in ends)),
            removed=tuple(wrong.get("removed", ())),
            stuck=tuple(wrong.get("stuck", ())),
        )
        network = build_network(job, car.kinds, changes, car.variables)
        silent = frozenset(wrong.get("silent", ()))
        self._aliases = network.aliases
        self._compiled = compile_network(_strayed(network, seed, stray, silent) if stray or silent else network)
        self._solved: dict[tuple[tuple[str, str], ...], Mapping[str, float | None]] = {}

    def shown(self, point: str, state: dict[str, str]) -> float:
        """What is between a point and the battery's earthed post. [V]"""
        key = tuple(sorted(state.items()))
        if key not in self._solved:
            self._solved[key] = solve(self._compiled, state).volts
        return self._solved[key].get(self._aliases.get(point, point)) or 0.0

    def volts(self, point: str, state: dict[str, str]) -> float:
        """What the meter shows of it. [V]"""
        return round(self.shown(point, state) * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01), 2)


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
