"""What the test plan expects, beside ngspice: a handful of live tests of a small car, 10 megohm at every point."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.network.solve import rest_values
from loomwright.writers.netlist import netlist
from tests.outside.checked_page import Checked
from tests.outside.ngspice.simulator import run, version

TESTS = 6
SHARE = 0.01
LEAST_V = 0.05


def test_live_tests_expect_what_ngspice_reads(
    ngspice: str, tmp_path: Path, told: list[str], checked: list[Checked]
) -> None:
    planned = Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job).worked_out().proof_plan()
    live = planned.car
    # the bridges of the fault bench carry nothing in a sound car, and a resistance without end is no element
    whole = live.bench.compiled.network
    network = replace(whole, elements=tuple(one for one in whole.elements if not one.name.startswith("suspect.")))
    metered = [one for one in network.elements if one.name.startswith("meter.")]
    assert {one.figures[0][0] for one in metered} == {1e-7}, "10 megohm, at every point"
    asked = [one for one in planned.live if one.test.stage == "live" and abs(one.test.expected or 0.0) > 1.0]
    spread = asked[:: max(1, len(asked) // TESTS)][:TESTS]
    assert len(spread) == TESTS
    assert len({one.state for one in spread}) >= 2
    worst, at = 0.0, ""
    for one in spread:
        variables = network.variables
        rest = rest_values(live.bench.compiled)
        state = {variable.name: variable.values[int(k)] for variable, k in zip(variables, rest, strict=True)}
        state |= live.states[one.state]
        devices = {d.name: bool(live.sound.devices[one.state, k]) for k, d in enumerate(network.devices)}
        made = netlist(network, state, devices=devices)
        answers = run(ngspice, made, tmp_path)
        assert answers is not None, one.test.id
        point, post = (
            made.node_of[live.bench.compiled.network.nodes[k]] for k in (_node(live, one.node), whole.reference)
        )
        read_v = (0.0 if point == "0" else answers[point]) - (0.0 if post == "0" else answers[post])
        assert read_v == pytest.approx(one.test.expected, rel=SHARE, abs=LEAST_V * SHARE), one.test.id
        away = abs(read_v / (one.test.expected or 1.0) - 1.0)
        if away >= worst:
            worst, at = away, one.test.id
    told.append(f"test plan, {TESTS} live tests: worst {100 * worst:.4f} %, at {at}")
    text = f"{100 * worst:.2g} % of 1 %"
    checked.append(Checked("", "live tests of a small car's plan", version(ngspice), TESTS, text, 1.0 - worst / SHARE))


def _node(live, number: int) -> int:
    """The network's own number of a node of the compiled car."""
    compiled = live.bench.compiled
    return next(index for index, name in enumerate(compiled.network.nodes) if compiled.node_of[name] == number)
