"""One run of the circuit simulator, and our answer beside it."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import networkx as nx
import numpy as np

from loomwright.network.compiled import Compiled
from loomwright.network.laws import amps_and_slope
from loomwright.network.records import FIGURES, Law
from loomwright.network.solve import Batch
from loomwright.writers.netlist import Netlist

__all__ = ["VOLTS_TOLERANCE", "Beside", "amps_tolerance", "beside", "run", "truly_floating", "version"]

VOLTS_TOLERANCE = 1e-3
"""Most volts by which a node may differ: the bar set for the arithmetic. [V]"""
_BLOCKED_A = 1e-9
_ANSWER = re.compile(r"^(\S+?)(?:\[k\])? = (\S+)$", re.MULTILINE)


def amps_tolerance(amps: float) -> float:
    """Most amps by which a current may differ: a thousandth of it, or a milliampere. [A]"""
    return max(1e-3, 1e-3 * abs(amps))


@dataclass(frozen=True)
class Beside:
    """How far our answer is from the simulator's.

    volts: the largest difference and its point. [V]  amps: the largest share of the tolerance and its element. [-]
    compared, left_out: points compared; points left out though they do not float. [-]
    """

    volts: float
    volts_at: str
    amps: float
    amps_at: str
    compared: int
    left_out: int


def run(ngspice: str, made: Netlist, folder: Path) -> Mapping[str, float] | None:
    """What the simulator answers, by its own names; None where it finds no answer."""
    path = folder / "car.cir"
    path.write_text(made.text, encoding="utf-8")
    ran = subprocess.run([ngspice, "-b", str(path)], capture_output=True, text=True, timeout=60, check=False)
    answers = {name: float(figure) for name, figure in _ANSWER.findall(ran.stdout)}
    wanted = {node for node in made.node_of.values() if node != "0"}
    wanted |= {vector for vectors in made.ammeter_of.values() for vector in vectors}
    return answers if wanted <= set(answers) else None


def beside(compiled: Compiled, batch: Batch, made: Netlist, answers: Mapping[str, float]) -> Beside:
    """Our answer (row 0 of the batch) beside the simulator's, points and elements one by one."""
    worst_v, at_v, compared, left_out = 0.0, "", 0, 0
    for point, index in compiled.node_of.items():
        if batch.floating[0, index]:
            continue
        spice = made.node_of.get(point)
        if spice is None:
            left_out += 1
            continue
        compared += 1
        theirs = 0.0 if spice == "0" else answers[spice]
        if abs(theirs - batch.v[0, index]) > worst_v:
            worst_v, at_v = abs(theirs - float(batch.v[0, index])), point
    ours: dict[str, float] = {}
    for index, element in enumerate(compiled.network.elements):
        ours[element.name] = ours.get(element.name, 0.0) + float(batch.amps[0, index])
    worst_a, at_a = 0.0, ""
    for name, amps in ours.items():
        theirs = sum(answers[vector] for vector in made.ammeter_of.get(name, ()))
        share = abs(theirs - amps) / amps_tolerance(amps)
        if share > worst_a:
            worst_a, at_a = share, name
    return Beside(worst_v, at_v, worst_a, at_a, compared, left_out)


def truly_floating(
    compiled: Compiled, made: Netlist, answers: Mapping[str, float], devices: Mapping[str, bool]
) -> frozenset[str]:
    """Points without a path to the reference at the simulator's volts, found by walking the elements that conduct."""
    graph = nx.Graph()
    graph.add_nodes_from(compiled.network.nodes)
    nodes = compiled.network.nodes
    for element in compiled.network.elements:
        if element.name not in made.ammeter_of:
            continue
        if any(devices[compiled.network.devices[k].name] != on for k, on in element.needs):
            continue
        ends = nodes[element.a], nodes[element.b]
        if element.law == Law.DIODE:
            high, low = (0.0 if made.node_of[end] == "0" else answers[made.node_of[end]] for end in ends)
            figures = np.zeros(FIGURES)
            figures[: len(element.figures[0])] = element.figures[0]
            if abs(amps_and_slope(int(element.law), figures, high - low)[0]) < _BLOCKED_A:
                continue
        graph.add_edge(*ends)
    reached = nx.node_connected_component(graph, nodes[compiled.network.reference])
    return frozenset(set(nodes) - set(reached))


@cache
def version(ngspice: str) -> str:
    """The simulator's name and version."""
    ran = subprocess.run([ngspice, "--version"], capture_output=True, text=True, check=False)
    found = re.search(r"ngspice-\d+\S*", ran.stdout + ran.stderr)
    return found.group(0) if found else "ngspice"
