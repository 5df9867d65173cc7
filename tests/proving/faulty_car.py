"""A car that is not quite as written, with one fault in it, and a meter that is not quite right: the other side of a
trial. It shares the network's solver with the tool, and nothing of how the tool ranks faults.
"""

from __future__ import annotations

from zlib import crc32

import numpy as np

from loomwright.car import Car
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes, Law, Short
from loomwright.network.solve import solve

METER_OHM = 10e6


class FaultyCar:
    """One car: figures strayed, one thing wrong."""

    def __init__(self, car: Car, wrong: dict[str, object], rng: np.random.Generator, stray: float = 0.05) -> None:
        self._car, self._wrong, self._rng, self._stray = car, wrong, rng, stray
        self._seed = int(rng.integers(1 << 30))

    def volts(self, point: str, state: dict[str, str]) -> float:
        """What the meter shows at a point against the battery's earthed post. [V]"""
        job, kinds = self._car.filled, self._car.kinds
        post = next(part.id for part in job.parts if part.kind == "battery") + ".-"
        changes = Changes(
            opened=tuple(self._wrong.get("opened", ())),
            pulled=tuple(self._wrong.get("pulled", ())),
            series=tuple(self._wrong.get("series", ())),
            shorts=(*self._wrong.get("shorts", ()), Short(point, post, METER_OHM)),
            removed=tuple(self._wrong.get("removed", ())),
            stuck=tuple(self._wrong.get("stuck", ())),
        )
        network = build_network(job, kinds, changes, self._car.variables)
        silent = frozenset(self._wrong.get("silent", ()))
        solved = solve(compile_network(_strayed(network, self._seed, self._stray, silent)), state)
        shown = solved.volts.get(network.aliases.get(point, point)) or 0.0
        return round(shown * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01), 2)


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
