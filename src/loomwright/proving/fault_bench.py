"""What would the meter read with each fault in the car?

One network holds the car, the meters and a bridge of no conductance wherever a short could be; a fault changes figures
in it, so it is turned into arrays once. A changed-over pair of wires alone is another network. Every fault is solved in
every state in which something was or could be read; the volts of all nodes come with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled, compile_network, with_figures
from loomwright.network.records import FIGURES, Element, Law, Network
from loomwright.network.solve import Batch, solve_many
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene

__all__ = ["FaultBench", "bench_of"]

Figures = NDArray[np.float64]
Tell = Callable[[int, int], None]
_BRIDGE = "suspect."
_WORKERS = 2
"""Threads that solve; the solver lets go of the interpreter meanwhile [-]."""


@dataclass(frozen=True, slots=True, eq=False)
class FaultBench:
    """The car with every bridge in it. figures: of the sound car.   row: the first figure row of each element. [-]

    bridge_of: two nodes of the scene -> the element that may join them.
    """

    scene: Scene
    compiled: Compiled
    figures: Figures
    bridge_of: dict[tuple[int, int], int]

    def solved(
        self, suspects: Sequence[Suspect], states: type_i, before: type_i | None = None, tell: Tell | None = None
    ) -> list[Batch]:
        """Every fault solved in every state.

        Args:
            states: value indices, one row a state.
            before: the states they are come from; from rest where left out.
            tell: called with faults done and to do; may raise Stopped.
        """
        done: list[Batch] = []
        with ThreadPoolExecutor(_WORKERS) as pool:
            for batch in pool.map(lambda one: self._solve(one, states, before), suspects):
                done.append(batch)
                if tell is not None:
                    tell(len(done), len(suspects))
        return done

    def _solve(self, suspect: Suspect, states: type_i, before: type_i | None) -> Batch:
        compiled = self.with_fault(suspect)
        start = None if before is None else solve_many(compiled, before).devices
        return solve_many(compiled, states, start)

    def with_fault(self, suspect: Suspect) -> Compiled:
        """The network with one fault in it, or with both of a pair."""
        if suspect.kind == "none":
            return self.compiled
        parts = suspect.both or (suspect,)
        compiled = self.compiled
        for one in parts:
            if one.swapped is not None:
                compiled = compile_network(_swapped(compiled.network, *one.swapped))
            if one.held is not None:
                device, lies = one.held
                stuck = compiled.arrays.stuck.copy()
                stuck[device] = 1 if lies else 0
                compiled = replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))
        figures = self.figures.copy()
        for one in parts:
            self._put(one, figures)
        return with_figures(compiled, figures)

    def _put(self, suspect: Suspect, figures: Figures) -> None:
        """A fault that is a change of figures, put into them."""
        for k in suspect.opened:
            for row in self._rows(k):
                figures[row] = _silent(self.compiled.network.elements[k].law, figures[row])
        for k, ohm in suspect.added_ohm:
            for row in self._rows(k):
                siemens = figures[row, 0]
                figures[row, 0] = siemens / (1.0 + ohm * siemens)
        if suspect.bridge is not None:
            bridge = self.bridge_of[_ordered(suspect.bridge)]
            figures[self.compiled.arrays.row[bridge], 0] = 1.0 / suspect.bridge_ohm

    def _rows(self, element: int) -> range:
        first = int(self.compiled.arrays.row[element])
        return range(first, first + len(self.compiled.network.elements[element].figures))


def bench_of(scene: Scene, suspects: Sequence[Suspect], meters: Sequence[tuple[int, int, float]] = ()) -> FaultBench:
    """The car with every bridge and meter in it.

    Args:
        meters: two nodes of the scene and the ohms of the meter between them. [ohm]
    """
    network = scene.compiled.network
    place = _network_nodes(scene)
    singles = [part for one in suspects for part in (one.both or (one,))]
    pairs = list(dict.fromkeys(_ordered(one.bridge) for one in singles if one.bridge is not None))
    added = [
        Element(name=f"{_BRIDGE}{k}", a=place[a], b=place[b], law=Law.LINEAR, figures=((0.0, 0.0),), type="bridge")
        for k, (a, b) in enumerate(pairs)
    ]
    added += [
        Element(name=f"meter.{k}", a=place[a], b=place[b], law=Law.LINEAR, figures=((1.0 / ohm, 0.0),), type="meter")
        for k, (a, b, ohm) in enumerate(meters)
    ]
    compiled = compile_network(replace(network, elements=(*network.elements, *added)))
    first = len(network.elements)
    return FaultBench(
        scene=scene,
        compiled=compiled,
        figures=compiled.arrays.figures.copy(),
        bridge_of={(a, b): first + k for k, (a, b) in enumerate(pairs)},
    )


def _ordered(pair: tuple[int, int]) -> tuple[int, int]:
    return (min(pair), max(pair))


def _network_nodes(scene: Scene) -> dict[int, int]:
    """Node of the compiled numbering -> node of the network's."""
    return {scene.compiled.node_of[name]: index for index, name in enumerate(scene.compiled.network.nodes)}


def _swapped(network: Network, one: tuple[int, int], other: tuple[int, int]) -> Network:
    elements = list(network.elements)
    nodes = [(elements[k].a, elements[k].b)[end] for k, end in (one, other)]
    for (k, end), node in zip((one, other), reversed(nodes), strict=True):
        elements[k] = replace(elements[k], a=node) if end == 0 else replace(elements[k], b=node)
    return replace(network, elements=tuple(elements))


def _silent(law: Law, row: Figures) -> Figures:
    """Figures of an element that carries nothing, whatever its law."""
    quiet = np.zeros(FIGURES)
    if law == Law.LAMP:
        quiet[:] = row
        quiet[1], quiet[2] = 0.0, 1e12
    elif law in (Law.DIODE, Law.CURRENT, Law.POWER, Law.MOTOR, Law.CLAMP, Law.BATTERY):
        quiet[:] = row
        for k in {Law.DIODE: (2,), Law.CLAMP: (0, 4), Law.BATTERY: (1, 3, 4)}.get(law, (0,)):
            quiet[k] = 0.0
    return quiet
