"""What is the car's network with one thing wrong in it?

Elements keep their numbers, so that a state's answer is read as that of the sound car; only a connector that is off
gives its pins other nodes, and is built anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from loomwright.job.job import Job
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network, refigured
from loomwright.network.records import Element, Network
from loomwright.states.asking.on_trial import bridge
from loomwright.tables.kinds import Kind
from loomwright.trials.failures import Failure

__all__ = ["rebuilt", "with_failure"]


def rebuilt(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, failure: Failure) -> Network | None:
    """The network of a car with a connector off; None for any other failure, which needs no sheets."""
    changes = failure.changes
    if changes is None or changes.shorts:
        return None
    return build_network(job, kinds, changes, compiled.network.variables)


def with_failure(compiled: Compiled, failure: Failure, anew: Network | None = None) -> Compiled:
    """The network with one thing wrong.

    Args:
        compiled: of the sound car.
        anew: the network of a connector that is off (`rebuilt`).
    """
    network = compiled.network
    if failure.opened:
        return refigured(compiled, _opened(network, failure.opened))
    if failure.held:
        stuck = compiled.arrays.stuck.copy()
        stuck[list(failure.held)] = 1
        return replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))
    if failure.closed:
        which = set(failure.closed)
        closed = [replace(one, guards=(), needs=()) if k in which else one for k, one in enumerate(network.elements)]
        return compile_network(replace(network, elements=tuple(closed)))
    if failure.changes is not None and failure.changes.shorts:
        bridges = [bridge(network, count, short) for count, short in enumerate(failure.changes.shorts, start=1)]
        return compile_network(replace(network, elements=(*network.elements, *bridges)))
    return compiled if anew is None else compile_network(anew)


def _opened(network: Network, which: Sequence[int]) -> tuple[Element, ...]:
    elements = list(network.elements)
    for k in which:
        elements[k] = replace(elements[k], figures=tuple((0.0, *row[1:]) for row in elements[k].figures))
    return tuple(elements)
