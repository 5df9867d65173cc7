"""What does an ohmmeter show with each fault, the battery off?

The trade's first look at a wire that may touch the body: the battery's lead off, the plugs out, a meter to the metal.
The meter is put into the network with every fault, all sources out of it; the switches lie as the state has them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.network.build import build_network
from loomwright.network.records import Changes
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fitting import Probe
from loomwright.proving.put_off import put_off
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene

__all__ = ["ohms_shown"]

Tell = Callable[[int, int], None]
_ANCHOR_OHM = 1e9
"""From the second tip to the battery's earthed post: gives what meets no post its volts, and carries nothing [ohm]."""
_LEAST_A = 1e-12


def ohms_shown(
    scene: Scene, probe: Probe, suspects: Sequence[Suspect], tell: Tell | None = None
) -> NDArray[np.float64]:
    """Ohms between the two points of a reading, with each of some faults; infinite where nothing flows. [ohm]

    Args:
        tell: called with faults done and to do; may raise Stopped.
    """
    if not suspects:
        return np.zeros(0)
    a, b = probe.a, probe.b
    post = scene.compiled.arrays.nodes
    anchor = [] if b == post else [(b, post, _ANCHOR_OHM)]
    bench = bench_of(scene, suspects, anchor, along=True, ohms_between=(a, b))
    meter = bench.compiled.elements_of["ohmmeter"][0]
    without = Suspect(kind="off", at=("battery",), opened=_sources(scene))
    put = Suspect(kind="off", at=probe.off, both=(*put_off(scene, probe.off).singles, without))
    found = []
    for batch in bench.solved(suspects, probe.values[None, :], None, tell, put):
        amps = -float(batch.amps[0, meter])
        found.append(float(batch.v[0, a] - batch.v[0, b]) / amps if amps > _LEAST_A else np.inf)
    return np.array([max(ohm, 0.0) for ohm in found])


def _sources(scene: Scene) -> tuple[int, ...]:
    """The elements that are not there with the battery off: those of all sources."""
    network = scene.compiled.network
    dead = build_network(scene.job, scene.kinds, Changes(without_battery=True), network.variables)
    left = {element.name for element in dead.elements}
    return tuple(k for k, element in enumerate(network.elements) if element.name not in left)
