"""The demonstration car beside ngspice: 200 random states with relays as they lie, and 24 with relays left to it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from loomwright.network.compiled import Compiled
from loomwright.network.solve import before_of, solve_many, values_of
from loomwright.writers.netlist import netlist
from tests.outside.checked_page import Checked
from tests.outside.ngspice.cars import demo, devices_of, possible_states
from tests.outside.ngspice.simulator import VOLTS_TOLERANCE, Beside, beside, run, truly_floating, version

STATES = 200
SWITCHING = 24
NOT_SOLVED = 2
LEFT_OUT = 0.05
OTHER_WAY = 3


def margin_row(case: str, figures: int, worst: Beside, source: str) -> Checked:
    """The row of the page of checks for one comparison."""
    share = max(worst.volts / VOLTS_TOLERANCE, worst.amps)
    text = f"{worst.volts * 1000.0:.1g} mV of 1 mV; amps {worst.amps:.1g} of their tolerance"
    return Checked("", case, source, figures, text, 1.0 - share)


def worst_of(many: list[Beside]) -> Beside:
    """The worst of many comparisons, and all their points."""
    volts = max(many, key=lambda one: one.volts)
    amps = max(many, key=lambda one: one.amps)
    points = sum(one.compared for one in many), sum(one.left_out for one in many)
    return Beside(volts.volts, volts.volts_at, amps.amps, amps.amps_at, *points)


def test_200_states_agree_with_ngspice(
    ngspice: str, tmp_path: Path, told: list[str], checked: list[Checked]
) -> None:  # fmt: skip
    compiled = demo()
    many: list[Beside] = []
    unsolved: list[Mapping[str, str]] = []
    astray: list[tuple[str, str]] = []
    for state, batch in islice(possible_states(compiled, seed=1), STATES):
        on = devices_of(compiled, batch)
        made = netlist(compiled.network, state, devices=on)
        answers = run(ngspice, made, tmp_path)
        if answers is None:
            unsolved.append(state)
            continue
        many.append(beside(compiled, batch, made, answers))
        ours = {point for point, k in compiled.node_of.items() if batch.floating[0, k]}
        astray += [(str(state), point) for point in ours ^ truly_floating(compiled, made, answers, on)]
    worst = worst_of(many)
    told.append(
        f"demo, {len(many)} states: {worst.compared} node volts, "
        f"worst {worst.volts * 1000:.3f} mV at {worst.volts_at}; "
        f"currents at most {worst.amps:.2f} of their tolerance, at {worst.amps_at}; "
        f"left out {worst.left_out / (worst.compared + worst.left_out):.2%} of the nodes that do not float; "
        f"{len(unsolved)} states not solved by ngspice"
    )
    assert len(unsolved) <= NOT_SOLVED, unsolved
    assert worst.left_out <= LEFT_OUT * (worst.compared + worst.left_out)
    assert astray == []
    assert worst.volts <= VOLTS_TOLERANCE, worst
    assert worst.amps <= 1.0, worst
    checked.append(
        margin_row(f"demonstration car, {STATES} random states", worst.compared, worst, version(ngspice))
    )  # fmt: skip


def begins_at_rest(compiled: Compiled, state: Mapping[str, str], devices: np.ndarray) -> bool:
    """A state without an earlier one, and without a fuse that blows: ngspice keeps fuses whole."""
    fuses = [k for k, device in enumerate(compiled.network.devices) if device.what == "fuse"]
    return before_of(compiled, values_of(compiled, state)) is None and not devices[0, fuses].any()


@pytest.mark.long
def test_relays_left_to_ngspice_come_to_lie_as_ours(
    ngspice: str, tmp_path: Path, told: list[str], checked: list[Checked]
) -> None:  # fmt: skip
    compiled = demo()
    fits = (
        (state, batch)
        for state, batch in possible_states(compiled, seed=2)
        if state["battery"] != "absent" and begins_at_rest(compiled, state, batch.devices)
    )
    many: list[Beside] = []
    other_way = 0
    for state, batch in islice(fits, SWITCHING):
        made = netlist(compiled.network, state)
        answers = run(ngspice, made, tmp_path)
        assert answers is not None, state
        gates = {name: answers[gate] for name, gate in made.gate_of.items()}
        assert all(min(gate, 1.0 - gate) < 1e-3 for gate in gates.values()), "not at rest"
        theirs = {name: gate > 0.5 for name, gate in gates.items()}
        if theirs != devices_of(compiled, batch):
            # relays that race may lie in two ways: then ours must stay in theirs once it is put there
            other_way += 1
            start = np.array([[theirs[device.name] for device in compiled.network.devices]], np.uint8)
            batch = solve_many(compiled, values_of(compiled, state)[None, :], start)
            assert devices_of(compiled, batch) == theirs, state
        many.append(beside(compiled, batch, made, answers))
    worst = worst_of(many)
    told.append(
        f"demo, {len(many)} states with relays left to ngspice: worst {worst.volts * 1000:.3f} mV at {worst.volts_at}; "
        f"currents at most {worst.amps:.2f} of their tolerance, at {worst.amps_at}; "
        f"{other_way} states lie in another way that ours holds too"
    )
    assert other_way <= OTHER_WAY
    assert worst.volts <= VOLTS_TOLERANCE, worst
    assert worst.amps <= 1.0, worst
    case = f"demonstration car, {SWITCHING} random states, relays left to the simulator"
    checked.append(margin_row(case, worst.compared, worst, version(ngspice)))


@pytest.mark.parametrize("shift_v", [0.002])
def test_a_shift_of_two_millivolts_would_be_caught(ngspice: str, tmp_path: Path, shift_v: float) -> None:
    compiled = demo()
    state, batch = next(possible_states(compiled, seed=3))
    made = netlist(compiled.network, state, devices=devices_of(compiled, batch))
    answers = run(ngspice, made, tmp_path)
    assert answers is not None
    batch.v[0, compiled.node_of["BAT.+"]] += shift_v
    assert beside(compiled, batch, made, answers).volts > VOLTS_TOLERANCE
