"""What does an ohmmeter show with each fault, the battery off?

The trade's first look at a wire that may touch the body: the battery's lead off, the plugs out, a meter to the metal.
The meter is put into the network with every fault, all sources out of it; the switches lie as the state has them. Many
meters may stand in one network, one of them on at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.build import build_network
from loomwright.network.records import Changes
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.fitting import Probe
from loomwright.proving.put_off import put_off
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene

__all__ = ["OhmsBench", "ohms_bench", "ohms_shown"]

Tell = Callable[[int, int], None]
Pair = tuple[int, int]
_ANCHOR_OHM = 1e9
"""From the second tip to the battery's earthed post: gives what meets no post its volts, and carries nothing [ohm]."""
_LEAST_A = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OhmsBench:
    """The car without its sources, and meters in it. pairs: the nodes of each.   sources: elements. [-]"""

    scene: Scene
    bench: FaultBench
    pairs: tuple[Pair, ...]
    sources: tuple[int, ...]

    def shown(
        self,
        number: int,
        suspects: Sequence[Suspect],
        values: type_i,
        off: Sequence[str],
        tell: Tell | None = None,
    ) -> NDArray[np.float64]:
        """Ohms that one of the meters shows, with each of some faults; infinite where nothing flows. [ohm]

        Args:
            number: which meter. [-]
            suspects: of those the bench was made for.
            values: of the state, as indices. [-]
            off: what is off besides.
            tell: called with faults done and to do; may raise Stopped.
        """
        a, b = self.pairs[number]
        bench, meter = self.bench.with_ohmmeter(number)
        without = Suspect(kind="off", at=("battery",), opened=self.sources)
        put = Suspect(kind="off", at=tuple(off), both=(*put_off(self.scene, off).singles, without))
        found = []
        for batch in bench.solved(suspects, values[None, :], None, tell, put):
            amps = -float(batch.amps[0, meter])
            found.append(float(batch.v[0, a] - batch.v[0, b]) / amps if amps > _LEAST_A else np.inf)
        return np.array([max(ohm, 0.0) for ohm in found])


def ohms_bench(scene: Scene, suspects: Sequence[Suspect], pairs: Sequence[Pair]) -> OhmsBench:
    """The car with every fault that is asked for, and a meter between each pair of nodes."""
    post = scene.compiled.arrays.nodes
    anchors = [(b, post, _ANCHOR_OHM) for b in sorted({b for _, b in pairs} - {post})]
    bench = bench_of(scene, suspects, anchors, along=True, ohms_between=pairs)
    return OhmsBench(scene=scene, bench=bench, pairs=tuple(pairs), sources=_sources(scene))


def ohms_shown(
    scene: Scene, probe: Probe, suspects: Sequence[Suspect], tell: Tell | None = None
) -> NDArray[np.float64]:
    """Ohms between the two points of a reading, with each of some faults; infinite where nothing flows. [ohm]

    Args:
        tell: called with faults done and to do; may raise Stopped.
    """
    if not suspects:
        return np.zeros(0)
    return ohms_bench(scene, suspects, [(probe.a, probe.b)]).shown(0, suspects, probe.values, probe.off, tell)


def _sources(scene: Scene) -> tuple[int, ...]:
    """The elements that are not there with the battery off: those of all sources."""
    network = scene.compiled.network
    dead = build_network(scene.job, scene.kinds, Changes(without_battery=True), network.variables)
    left = {element.name for element in dead.elements}
    return tuple(k for k, element in enumerate(network.elements) if element.name not in left)
