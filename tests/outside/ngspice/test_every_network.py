"""Every distinct network that the search of the demonstration car solves, beside ngspice.

Two states are one network where the same elements act with the same figures. A sample of them in every run; all of them
by hand, with `make outside-all`.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np
import pytest

from loomwright.network.arrays import type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.settle import SETTLED
from loomwright.network.solve import Batch
from loomwright.states.asking.cones import cones_of
from loomwright.states.asking.plan import ALL_BELOW, plan_states, space_of
from loomwright.states.asking.search import answers_of
from loomwright.writers.netlist import netlist
from tests.outside.ngspice.cars import demo, devices_of
from tests.outside.ngspice.simulator import VOLTS_TOLERANCE, Beside, beside, run, truly_floating
from tests.outside.ngspice.test_demo_car import NOT_SOLVED, worst_of

SAMPLED = 24
_PIECE = 2048


def planned(compiled: Compiled) -> type_i:
    """The states that the search of the car solves."""
    return plan_states(space_of(compiled), cones_of(compiled).asked, ALL_BELOW)


def acting(compiled: Compiled, batch: Batch) -> type_b:
    """Which elements act, one row a state, from guards and from devices as they lie."""
    found = np.ones((len(batch.values), len(compiled.network.elements)), np.uint8)
    for index, element in enumerate(compiled.network.elements):
        if element.guards:
            held = np.zeros(len(batch.values), bool)
            for guard in element.guards:
                terms = [np.isin(batch.values[:, variable], list(values)) for variable, values in guard.holds]
                held |= np.logical_and.reduce(terms) if terms else True
            found[:, index] = held
        for device, on in element.needs:
            found[:, index] &= batch.devices[:, device] == on
    return found


def networks(compiled: Compiled, states: type_i) -> Iterator[tuple[Batch, int]]:
    """The states that are each the first of their network, in batches solved here."""
    seen: set[bytes] = set()
    variables = [k for selector in compiled.network.selectors for k in (selector.first, selector.second) if k >= 0]
    for first in range(0, len(states), _PIECE):
        answers = answers_of(compiled, states[first : first + _PIECE])
        batch = answers.batch
        keys = np.concatenate([acting(compiled, batch), batch.values[:, variables].astype(np.uint8)], axis=1)
        for row in np.flatnonzero(answers.possible & (batch.status == SETTLED)):
            key = keys[row].tobytes()
            if key not in seen:
                seen.add(key)
                yield batch, int(row)


def row_of(batch: Batch, row: int) -> Batch:
    """One state of a batch as a batch."""
    here = slice(row, row + 1)
    return Batch(
        values=batch.values[here],
        v=batch.v[here],
        floating=batch.floating[here],
        devices=batch.devices[here],
        buzz=batch.buzz[here],
        amps=batch.amps[here],
        status=batch.status[here],
    )


def compared(ngspice: str, compiled: Compiled, states: type_i, folder: Path) -> tuple[list[Beside], int, list[str]]:
    """Each network beside the simulator: how far apart, how many it does not solve, what floats in one of them only."""
    many: list[Beside] = []
    unsolved = 0
    astray: list[str] = []
    variables = compiled.network.variables
    for found, row in networks(compiled, states):
        batch = row_of(found, row)
        state = {v.name: v.values[int(k)] for v, k in zip(variables, batch.values[0], strict=True)}
        on = devices_of(compiled, batch)
        made = netlist(compiled.network, state, devices=on)
        answers = run(ngspice, made, folder)
        if answers is None:
            unsolved += 1
            continue
        many.append(beside(compiled, batch, made, answers))
        ours = {point for point, k in compiled.node_of.items() if batch.floating[0, k]}
        astray += [f"{state}: {point}" for point in ours ^ truly_floating(compiled, made, answers, on)]
    return many, unsolved, astray


def _judged(many: list[Beside], unsolved: int, astray: list[str], told: list[str]) -> None:
    worst = worst_of(many)
    told.append(
        f"networks of the demo's search: {len(many)} compared, {worst.compared} node volts, worst "
        f"{worst.volts * 1000:.3f} mV at {worst.volts_at}; currents at most {worst.amps:.2f} of their tolerance; "
        f"{unsolved} not solved by ngspice"
    )
    assert astray == []
    assert worst.volts <= VOLTS_TOLERANCE, worst
    assert worst.amps <= 1.0, worst


def test_a_sample_of_the_networks_of_the_search_agrees(ngspice: str, tmp_path: Path, told: list[str]) -> None:
    compiled = demo()
    states = planned(compiled)
    chosen = sorted(Random(11).sample(range(len(states)), SAMPLED))
    many, unsolved, astray = compared(ngspice, compiled, states[chosen], tmp_path)
    assert len(many) > SAMPLED // 2
    assert unsolved <= NOT_SOLVED
    _judged(many, unsolved, astray, told)


@pytest.mark.long
def test_every_network_of_the_search_agrees(ngspice: str, tmp_path: Path, told: list[str]) -> None:
    compiled = demo()
    many, unsolved, astray = compared(ngspice, compiled, planned(compiled), tmp_path)
    # as many left out as of the random states, for each hundred
    assert unsolved * 100 <= NOT_SOLVED * len(many)
    _judged(many, unsolved, astray, told)
