"""The demonstration car and its possible states, for the comparison with the circuit simulator."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from random import Random

import numpy as np

from loomwright.examples.shelf import example_folder
from loomwright.job.points import kinds_of
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.solve import Batch, before_of, solve_many, values_of
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds

__all__ = ["demo", "devices_of", "possible_states", "settled"]

# a battery that is absent leaves most of the car dead, so it is drawn less often than the others
_BATTERIES = ("full", "full", "full", "flat", "cold_weak", "jump", "absent")


@cache
def demo() -> Compiled:
    """The demonstration car, compiled."""
    job = open_folder(example_folder("van"))
    return compile_network(build_network(job, kinds_of(job, load_kinds())))


def settled(compiled: Compiled, state: Mapping[str, str]) -> Batch:
    """Our answer in one state, from the state it came from where that matters."""
    values = values_of(compiled, state)
    earlier = before_of(compiled, values)
    start = None if earlier is None else solve_many(compiled, earlier[None, :]).devices
    return solve_many(compiled, values[None, :], start)


def devices_of(compiled: Compiled, batch: Batch) -> dict[str, bool]:
    """How the devices lie in our answer."""
    return {device.name: bool(batch.devices[0, k]) for k, device in enumerate(compiled.network.devices)}


def possible_states(compiled: Compiled, seed: int) -> Iterator[tuple[dict[str, str], Batch]]:
    """Random states the car can be in, with our answers; the same for a seed."""
    rng = Random(seed)
    solenoids = [k for k, d in enumerate(compiled.network.devices) if d.what == "relay" and d.name == "STR.hold"]
    assert solenoids, "the demonstration car has a starter"
    while True:
        state = {variable.name: rng.choice(variable.values) for variable in compiled.network.variables}
        state["battery"] = rng.choice(_BATTERIES)
        if state["engine"] in ("idle", "running") and rng.random() < 0.5:
            state["key"] = "run"
        if state["engine"] == "cranking":
            state["key"] = "start"
        batch = settled(compiled, state)
        # the engine is cranked only by a starter whose solenoid is in
        if state["engine"] != "cranking" or bool(np.any(batch.devices[0, solenoids])):
            yield state, batch
