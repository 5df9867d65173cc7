"""In which order are nodes eliminated in lanes, and where does each stand in the lines?

Nodes that are done once a job come first, as in `schedule`. The others are ordered anew by what a round of Newton steps
does with them (`lane_round`): those only contacts and straight lines touch, those of elements that lie on a straight
piece of their law nearly always, and the *keen* ones, whose lines change from step to step.

In: `Arrays`, which elements are keen. Out: `LaneOrder`, made once a job.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.lane_elimination import Order, Step
from loomwright.network.schedule import Schedule, plan_elimination

__all__ = ["LaneOrder", "lane_order", "steps_for"]

_QUIET, _KEEN = 1, 2

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class LaneOrder:
    """Orders one after the other; `bent` is `quiet` and `keen` together.

    base: lines of all but the fixed, one column a thermal row.  ref_line: of each node, its conductance to the
    reference; its injected current is the next. The fixed have none, the reference has a last one.
    edge_line: of two nodes.
    """

    fixed: tuple[Step, ...]
    straight: Order
    quiet: Order
    keen: Order
    bent: Order
    base: type_f
    ref_line: type_i
    edge_line: dict[tuple[int, int], int]

    def lines_between(self, a: type_i, b: type_i) -> type_i:
        """The line of what lies between nodes, or between one and the reference."""
        earthed = self.ref_line[np.minimum(a, b)].tolist()
        pairs = zip(np.minimum(a, b).tolist(), np.maximum(a, b).tolist(), earthed, strict=True)
        return np.array([self.edge_line.get((one, other), line) for one, other, line in pairs], np.int64)


def lane_order(arrays: Arrays, curved: type_i, keen: type_i) -> LaneOrder:
    """The orders of a network.

    Args:
        curved: elements that are no straight line.
        keen: those of them whose lines change from step to step.
    """
    first, nodes = arrays.first_live_step, arrays.nodes
    ranks = np.zeros(nodes + 1, np.int64)
    for elements, rank in ((curved, _QUIET), (keen, _KEEN)):
        for ends in (arrays.from_step, arrays.to_step):
            ranks[ends[elements]] = np.maximum(ranks[ends[elements]], rank)
    based = _based(arrays)
    pairs = [*based, *zip(arrays.from_step[arrays.live].tolist(), arrays.to_step[arrays.live].tolist(), strict=True)]
    touches = [(a - first, b - first) for a, b in pairs if max(a, b) < nodes]
    plan = plan_elimination(nodes - first, touches, ranks[first:nodes].tolist())
    island = arrays.reach.island
    steps, ref_line, edge_line, bottom = _steps(plan, first, nodes, island == island[-1])
    base = np.zeros((bottom, len(arrays.base_ref)))
    base[ref_line[first:nodes]] = arrays.base_ref[:, first:nodes].T
    for pair, siemens in based.items():
        base[edge_line[pair]] = siemens
    straight, bent = plan.first_live, plan.first_bent
    return LaneOrder(
        fixed=_fixed(arrays),
        straight=_order(steps, 0, straight),
        quiet=_order(steps, straight, bent),
        keen=_order(steps, bent, len(steps)),
        bent=_order(steps, straight, len(steps)),
        base=base,
        ref_line=ref_line,
        edge_line=edge_line,
    )


def _based(arrays: Arrays) -> dict[tuple[int, int], type_f]:
    """What lies between two nodes once the fixed ones are out, one figure a thermal row. [S]"""
    ptr, near = arrays.steps.ptr.tolist(), arrays.steps.near.tolist()
    found = {}
    for step in range(arrays.first_live_step, arrays.nodes):
        for edge in range(ptr[step], ptr[step + 1]):
            if arrays.base_edge[:, edge].any():
                found[step, near[edge]] = arrays.base_edge[:, edge]
    return found


def _steps(
    plan: Schedule, first: int, nodes: int, tied: type_bool
) -> tuple[list[Step], type_i, dict[tuple[int, int], int], int]:
    """Steps of a plan with their lines; nodes counted as in `Arrays`."""
    turn = {node: k for k, node in enumerate(plan.order)}
    ref_line = np.zeros(nodes + 1, np.int64)
    edge_line: dict[tuple[int, int], int] = {}
    line_of: dict[int, int] = {}
    line = 0
    for node, near in zip(plan.order, plan.near, strict=True):
        for k, (other, edge) in enumerate(near):
            line_of[edge] = line + k
            edge_line[min(node, other) + first, max(node, other) + first] = line + k
        line += len(near) + 2
        ref_line[node + first] = line - 2
    ref_line[nodes] = line
    steps = []
    part = 0
    for node, near, pairs in zip(plan.order, plan.near, plan.pairs, strict=True):
        others = iter(pairs)
        refs = (int(ref_line[other + first]) for other, _ in near)
        goes = tuple(
            _runs([*(line_of[next(others)] for _ in near[k + 1 :]), ref, ref + 1]) for k, ref in enumerate(refs)
        )
        around = tuple(other + first for other, _ in near)
        line = int(ref_line[node + first]) - len(near)
        steps.append(Step(node + first, line, part, turn[node], bool(tied[node + first]), around, goes))
        part += len(near)
    return steps, ref_line, edge_line, int(ref_line[nodes]) + 2


def _runs(lines: list[int]) -> tuple[tuple[int, int, int], ...]:
    """Lines one below the other taken together: places first .. last-1, and the first line."""
    begins = [k for k, line in enumerate(lines) if not k or line != lines[k - 1] + 1]
    return tuple((k, end, lines[k]) for k, end in zip(begins, [*begins[1:], len(lines)], strict=True))


def _order(steps: list[Step], first: int, last: int) -> Order:
    """Some steps, parts and shares counted from the first of them."""
    here = steps[first:last]
    top, part = (steps[first - 1].end_line, steps[first - 1].end_part) if first else (0, 0)
    counted = tuple(replace(step, part=step.part - part, share=step.share - first) for step in here)
    bottom, end = (here[-1].end_line, here[-1].end_part) if here else (top, part)
    return Order(top, bottom, end - part, counted)


def _fixed(arrays: Arrays) -> tuple[Step, ...]:
    """Steps done once a job, to come back by alone."""
    ptr, near = arrays.steps.ptr.tolist(), arrays.steps.near.tolist()
    return tuple(
        Step(step, 0, ptr[step], step, False, tuple(near[ptr[step] : ptr[step + 1]]), ())
        for step in range(arrays.first_live_step)
    )


def steps_for(steps: tuple[Step, ...], nodes: type_bool, known: type_bool) -> tuple[Step, ...]:
    """Those of some steps that some nodes hang on, what is known left out; their neighbours are marked in place."""
    found = []
    for step in steps:
        if nodes[step.node] and not known[step.node]:
            nodes[list(step.around)] = True
            found.append(step)
    return tuple(found)
