"""How long does a search of a million raw states take, and how much memory?

Twenty circuits on one backbone, each with its switch, fuse and lamp; ten pairs of them cross-fed through a wire. The
largest current of every wire is asked for. Run by hand, in a process of its own.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from random import Random

import numpy as np
import pytest

from loomwright.job.variables import Variable
from loomwright.network.compiled import compile_network
from loomwright.network.records import Element, Guard, Law, Network, Selector
from loomwright.network.solve import solve_many
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.search import search
from loomwright.states.asking.watch import Watch

BAR_S, BAR_GB = 20.0, 1.0
CIRCUITS, CROSSED, SEED = 20, 10, 5
_KB_PER_GB = 1024.0 * 1024.0


def backbone() -> Network:
    """Twenty circuits on one backbone, two to the twentieth raw states."""
    rng = Random(SEED)
    names = ["minus", "plus", "body"]
    elements: list[Element] = []

    def node(name: str) -> int:
        names.append(name)
        return len(names) - 1

    def add(name: str, a: int, b: int, law: Law, *rows: tuple[float, ...], **more: object) -> None:
        elements.append(Element(name=name, a=a, b=b, law=law, figures=rows, **more))  # type: ignore[arg-type]

    add("battery", 1, 0, Law.BATTERY, (12.6, 100.0, 13.0, 10.0, 1e-3), type="battery", part="BAT")
    add("W0", 2, 0, Law.LINEAR, (800.0, 0.0), type="wire")
    along, loads = 1, []
    for k in range(CIRCUITS):
        now, fused, fed = (node(f"{name}{k}") for name in ("along", "fused", "fed"))
        add(f"WB{k}", along, now, Law.LINEAR, (rng.uniform(100.0, 400.0), 0.0), type="wire")
        add(f"F{k}.fuse", now, fused, Law.LINEAR, (200.0, 0.0), type="fuse", part=f"F{k}")
        guard = (Guard(((k + 1, frozenset({1})),)),)
        add(f"SW{k}.contact", fused, fed, Law.LINEAR, (200.0, 0.0), guards=guard, type="switch", part=f"SW{k}")
        watt = rng.choice((5.0, 10.0, 21.0, 55.0))
        add(f"LA{k}.lamp", fed, 2, Law.LAMP, (12.0, watt / 12.0, 12.0 / watt), type="lamp", part=f"LA{k}", load=True)
        along = now
        loads.append(fed)
    for k in range(CROSSED):
        add(f"WX{k}", loads[k], loads[CIRCUITS - 1 - k], Law.LINEAR, (rng.uniform(10.0, 50.0), 0.0), type="wire")
    switches = tuple(Variable(name=f"SW{k}", values=("off", "on"), rest="off") for k in range(CIRCUITS))
    return Network(
        nodes=tuple(names),
        elements=tuple(elements),
        devices=(),
        selectors=(Selector(0, -1, ((0,),)),),
        variables=(Variable(name="ambient_c", values=("40",), rest="40", numeric=True), *switches),
        reference=0,
        thermal=0,
    )


def _largest(index: int) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        amps = np.abs(answers.amps(index))
        return amps > 0.0, amps

    return Watch(
        rule=str(index), severity="note", at=(), label="", wrong="", mend="", broken=broken, worst=True
    )  # fmt: skip


def searched() -> dict[str, float]:
    """Search it; how long, how much, how far from the states that are known to be the worst."""
    compiled = compile_network(backbone())
    wires = [k for k, element in enumerate(compiled.network.elements) if element.is_wire]
    begun = time.perf_counter()
    found = search(compiled, [_largest(k) for k in wires])
    taken_s = time.perf_counter() - begun
    all_on = np.array([[0, *[1] * CIRCUITS]])
    return {
        "taken_s": taken_s,
        "cpu_s": time.process_time(),
        "peak_gb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / _KB_PER_GB,
        "raw": float(found.states_searched),
        "solved": float(found.solved),
        "main_a": max(one.found for one in found.broken if int(one.watch.rule) == wires[0]),
        "all_on_a": abs(float(solve_many(compiled, all_on).amps[0, wires[0]])),
    }


def test_a_million_raw_states(capsys: pytest.CaptureFixture[str]) -> None:
    command = [
        sys.executable,
        "-c",
        "import json; from benchmarks.test_million_states import searched as s; print(json.dumps(s()))",
    ]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    told = json.loads(ran.stdout)
    with capsys.disabled():
        print(
            f"\n{told['raw']:.0f} raw states, {told['solved']:.0f} solved: "
            f"{told['taken_s']:.1f} s, {told['peak_gb']:.2f} GB"
        )
    assert told["raw"] == 2**CIRCUITS
    # everything on is the worst of the earth's wire
    assert told["main_a"] == pytest.approx(told["all_on_a"])
    assert told["taken_s"] < BAR_S
    assert told["peak_gb"] < BAR_GB
