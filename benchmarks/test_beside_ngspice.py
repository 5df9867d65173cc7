"""How fast is one solve beside the circuit simulator: kept warm, and begun anew, on the same networks in the same run?

Ours: the kernels on one thread, from relays at rest with all passes and all volts back; compiling not counted, nothing
remembered from one state to the next. Theirs, warm: the netlist of the state with relays as they lie is loaded, then a
source is altered and the operating point asked for; loading not counted. Processor time of this process. Run by hand.
"""

from __future__ import annotations

import re
import resource
import shutil
import statistics
import subprocess
import time
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from benchmarks.looms import MODES, loom
from benchmarks.warm_ngspice import WarmNgspice, library
from loomwright.network import lanes
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.known import room_to_know
from loomwright.network.lane_round import Ready
from loomwright.network.lanes import LANES, ready_for_lanes, solve_lanes
from loomwright.network.settle import settle_many
from loomwright.network.solve import solve_many, start_at_rest, values_of
from loomwright.writers.netlist import netlist
from tests.outside.ngspice.cars import demo, devices_of, possible_states

WARM, COLD, LANES_WARM, LANES_COLD = 20.0, 200.0, 10.0, 100.0
_ALTERED = 5
_AGREE_V = 2e-3
_COLD_MOST = 3000


@pytest.fixture(scope="module")
def warm() -> WarmNgspice:
    """The simulator, begun once."""
    if not library():
        pytest.skip("libngspice is not on this machine")
    return WarmNgspice()


def ours_s(compiled: Compiled, values: type_i) -> float:
    """Processor time of one solve, of many on one thread. [s]"""
    arrays, count = compiled.arrays, len(values)
    start = start_at_rest(compiled, count)
    known = room_to_know(arrays, 1)
    v, amps = np.zeros((count, arrays.nodes + 1)), np.zeros((count, len(arrays.a)))
    floating = np.zeros((count, arrays.nodes + 1), np.uint8)
    taken = []
    for _ in range(5):
        devices, buzz, status = start.copy(), np.zeros_like(start), np.zeros(count, np.uint8)
        begun = time.process_time()
        settle_many(arrays, values, devices, v, floating, buzz, amps, status, np.arange(count), known)
        taken.append((time.process_time() - begun) / count)
    return min(taken)


def warm_s(ngspice: WarmNgspice, text: str, source: str, node: str, ours_v: float) -> float:
    """Processor time of one `alter` and `op`, the volts of a node held against ours. [s]"""
    ngspice.load(text)
    found = re.search(rf"^{source} .* DC (\S+)", text, re.MULTILINE | re.IGNORECASE)
    assert found is not None, source
    volts = float(found.group(1))
    ngspice.command("op")
    assert abs(ngspice.volts(node) - ours_v) < _AGREE_V
    taken = ngspice.altered_and_solved_s(source, [volts - 1e-3 * k for k in range(1, _ALTERED + 1)])
    ngspice.drop()
    return min(taken)


def cold_s(path: Path, text: str) -> float:
    """Processor time of a simulator begun for one netlist. [s]"""
    program = shutil.which("ngspice")
    assert program is not None
    path.write_text(text, encoding="utf-8")
    before = _children_s()
    subprocess.run([program, "-b", str(path)], capture_output=True, check=False)
    return _children_s() - before


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _battery_source(compiled: Compiled) -> str:
    index = next(k for k, element in enumerate(compiled.network.elements) if element.law.name == "BATTERY")
    return f"v{index}e"


def _told(
    capsys: pytest.CaptureFixture[str], what: str, ours: float, warmed: float, cold: float, bars: tuple[float, float]
) -> None:
    with capsys.disabled():
        print(
            f"\n{what}: ours {ours * 1e6:.0f} us, ngspice warm {warmed * 1e3:.2f} ms: {warmed / ours:.1f} times "
            f"(bar {bars[0]:.0f})"
            + (f"; begun anew {cold * 1e3:.1f} ms: {cold / ours:.0f} times (bar {bars[1]:.0f})" if cold else "")
        )


def test_the_demonstration_car(warm: WarmNgspice, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    compiled = demo()
    with_battery = (one for one in possible_states(compiled, seed=1) if one[0]["battery"] != "absent")
    states = list(islice(with_battery, 40))
    ours = ours_s(compiled, np.array([values_of(compiled, state) for state, _ in states]))
    warmed, cold = [], []
    for state, batch in states[::2]:
        made = netlist(compiled.network, state, devices=devices_of(compiled, batch))
        node = made.node_of["BAT.+"]
        ours_v = float(batch.v[0, compiled.node_of["BAT.+"]])
        warmed.append(warm_s(warm, made.text, _battery_source(compiled), node, ours_v))
        cold.append(cold_s(tmp_path / "car.cir", made.text))
    _told(capsys, "demonstration car", ours, statistics.mean(warmed), statistics.mean(cold), (WARM, COLD))
    assert statistics.mean(warmed) >= WARM * ours
    assert statistics.mean(cold) >= COLD * ours


def test_lanes_in_plain_numpy(
    warm: WarmNgspice, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    compiled = demo()
    with_battery = (one for one in possible_states(compiled, seed=1) if one[0]["battery"] != "absent")
    # as many states as lanes: a few states many times over would hide the odd ones all lanes wait for
    states = list(islice(with_battery, LANES))
    many = np.array([values_of(compiled, state) for state, _ in states])
    ready = ready_for_lanes(compiled)
    taken, warmed, cold = [], [], []
    for k, (state, batch) in enumerate(states[:20]):
        # by turns, since how busy the machine is changes
        if k % 5 == 0:
            taken += [lanes_s(compiled, many, ready) for _ in range(3)]
        made = netlist(compiled.network, state, devices=devices_of(compiled, batch))
        ours_v = float(batch.v[0, compiled.node_of["BAT.+"]])
        warmed.append(warm_s(warm, made.text, _battery_source(compiled), made.node_of["BAT.+"], ours_v))
        cold.append(cold_s(tmp_path / "car.cir", made.text))
    # a solve is one network brought to rest with its relays held, which is what the simulator is given to do
    state, bars = min(taken), (LANES_WARM, LANES_COLD)
    passes = _passes_a_state(compiled, many, monkeypatch)
    ours = state / passes
    figures = statistics.mean(warmed), statistics.mean(cold), bars
    _told(capsys, f"{LANES} lanes in plain numpy, a solve", ours, *figures)
    _told(capsys, f"{LANES} lanes in plain numpy, a state with its {passes:.2f} passes", state, *figures)
    assert statistics.mean(cold) >= LANES_COLD * ours
    assert statistics.mean(warmed) >= LANES_WARM * ours


def _passes_a_state(compiled: Compiled, many: type_i, monkeypatch: pytest.MonkeyPatch) -> float:
    """How often a state is solved with its relays held, as the simulator solves it, until they lie still. [-]"""
    laid: list[int] = []
    lay_for = lanes.lay_for

    def counted(car: lanes.Car, rounds: lanes.Rounds, columns: type_i, acts: lanes.type_bool) -> None:
        laid.append(len(columns))
        lay_for(car, rounds, columns, acts)

    with monkeypatch.context() as patch:
        patch.setattr(lanes, "lay_for", counted)
        solve_lanes(compiled, many)
    return sum(laid) / len(many)


def lanes_s(compiled: Compiled, many: type_i, ready: Ready) -> float:
    """Processor time of one state, of as many as there are lanes. [s]"""
    begun = time.process_time()
    solve_lanes(compiled, many, ready=ready)
    return (time.process_time() - begun) / len(many)


@pytest.mark.parametrize("wires", [1000, 3000, 10_000])
def test_a_loom(wires: int, warm: WarmNgspice, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    compiled = compile_network(loom(wires, seed=7))
    modes = [{"mode": mode, "ambient_c": "40"} for mode in MODES]
    values = np.array([values_of(compiled, state) for state in modes])
    batch = solve_many(compiled, values)
    assert (batch.status == 0).all()
    ours = ours_s(compiled, values)
    warmed, cold = [], []
    for row, state in enumerate(modes):
        made = netlist(compiled.network, state, devices={})
        node = made.node_of["body"]
        warmed.append(
            warm_s(warm, made.text, _battery_source(compiled), node, float(batch.v[row, compiled.node_of["body"]]))
        )
        if not row and wires <= _COLD_MOST:
            cold.append(cold_s(tmp_path / "loom.cir", made.text))
    _told(capsys, f"loom of {wires} wires", ours, statistics.mean(warmed), statistics.mean(cold or [0.0]), (WARM, COLD))
    assert statistics.mean(warmed) >= WARM * ours
