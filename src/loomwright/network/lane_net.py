"""Which parts of a network do lanes need, and where do its elements stand in their lines?

In: `Arrays`. Out: `LaneNet`, made once a job; see `lane_elimination` for what a line is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.lane_elimination import Calls, Step
from loomwright.network.lane_laws import Laid, LawGroup, by_law, law_groups
from loomwright.network.lane_lines import Curved, curved_of
from loomwright.network.lane_order import LaneOrder, lane_order, steps_for
from loomwright.network.reach import NEVER
from loomwright.network.records import Law

__all__ = ["LaneNet", "lane_net", "own_volts", "stamps", "straight_siemens", "substitute_fixed"]

type_bool = NDArray[np.bool_]

_HEAVY_SIEMENS = 5.0
"""What electronics or windings draw against the volts they begin to work at; above this they are heavy. [S]"""


@dataclass(frozen=True, slots=True, eq=False)
class LaneNet:
    """A network for lanes.

    linear: live straight elements, law by law.  linear_to: line each puts its siemens in.   sourced: which of them have
    volts of their own.   keen, quiet: bent elements whose lines change from step to step, and those that lie on a
    straight piece of their law nearly always;  curved: both.   seen: straight steps that the volts of what devices look
    at hang on.   hanging: nodes they look at that may float.   ties: straight, quiet and keen steps on which hangs
    whether they do.   tied: nodes near them that never do.
    """

    arrays: Arrays
    order: LaneOrder
    linear: type_i
    linear_groups: tuple[LawGroup, ...]
    linear_to: type_i
    sourced: type_bool
    keen: Curved
    quiet: Curved
    curved: Curved
    seen: tuple[Step, ...]
    hanging: type_i
    tied: type_i
    ties: tuple[tuple[Step, ...], ...]


def lane_net(arrays: Arrays, seen: type_i, between: type_i) -> LaneNet:
    """A network made ready for lanes.

    Args:
        seen: steps of the nodes devices look at.
        between: of those between which they look at volts.
    """
    keen = arrays.nonlinear[[_is_keen(arrays, e) for e in arrays.nonlinear]]
    quiet = np.setdiff1d(arrays.nonlinear, keen)
    order = lane_order(arrays, arrays.nonlinear, keen)
    live = arrays.live
    linear = by_law(arrays, live[arrays.law[live] == Law.LINEAR])
    island = arrays.reach.island
    tied = island == island[-1]
    looked_at, asked = (np.isin(np.arange(arrays.nodes + 1), nodes) for nodes in (seen, between))
    hanging = np.flatnonzero(asked & ~tied)
    asked &= ~tied
    ties = tuple(steps_for(one.steps, asked, tied) for one in (order.straight, order.quiet, order.keen))
    watched = np.array([step.node for steps in ties for step in steps], np.int64)
    return LaneNet(
        arrays=arrays,
        order=order,
        linear=linear,
        linear_groups=law_groups(arrays, linear),
        linear_to=order.lines_between(arrays.from_step[linear], arrays.to_step[linear]),
        sourced=_sourced(arrays, linear),
        keen=curved_of(arrays, order, keen, watched),
        quiet=curved_of(arrays, order, quiet, watched),
        curved=curved_of(arrays, order, arrays.nonlinear, watched),
        seen=steps_for(order.straight.steps, looked_at, np.zeros(len(tied), bool)),
        hanging=hanging,
        tied=np.flatnonzero(asked & tied),
        ties=ties,
    )


def _sourced(arrays: Arrays, elements: type_i) -> type_bool:
    """Which elements have volts of their own in any state."""
    ends = np.append(np.sort(arrays.row), len(arrays.figures))
    rows = [slice(row, ends[np.searchsorted(ends, row, "right")]) for row in arrays.row[elements]]
    return np.array([arrays.figures[row, 1].any() for row in rows], bool)


def _is_keen(arrays: Arrays, element: int) -> bool:
    """Whether an element's line changes from step to step: lamps, what `reach` would never take as straight, and loads
    so heavy that they move their own supply."""
    law, (first, second) = arrays.law[element], arrays.figures[arrays.row[element], :2]
    straight = arrays.reach.straight[element]
    heavy = law == Law.CURRENT and first > _HEAVY_SIEMENS * second
    return bool(
        law == Law.LAMP or heavy or (straight == NEVER and law in (Law.BATTERY, Law.DIODE, Law.CLAMP, Law.POWER))
    )


def stamps(net: LaneNet, siemens: type_f, emf_v: type_f, lines: type_f) -> Calls:
    """The calls that put in the straight elements.

    Args:
        siemens, emf_v: of each, nothing where it does not act; see `straight_siemens`. [S, V]
        lines: of the elimination, written in place.
    """
    arrays, work = net.arrays, np.empty(lines.shape[1])
    out_of = net.order.ref_line[arrays.from_step[net.linear]] + 1
    into = net.order.ref_line[arrays.to_step[net.linear]] + 1
    calls: Calls = []
    for k in range(len(net.linear)):
        line = lines[net.linear_to[k]]
        calls += (np.add, line, siemens[k], line)
        if net.sourced[k]:
            a, b = lines[out_of[k]], lines[into[k]]
            calls += (np.multiply, siemens[k], emf_v[k], work)
            calls += (np.add, a, work, a, np.subtract, b, work, b)
    return calls


def straight_siemens(groups: tuple[Laid, ...], acts: type_bool, out: type_f) -> None:
    """What the straight elements that act conduct. [S]"""
    for group in groups:
        np.multiply(acts[group.lines], group.p[0], out=out[group.lines])


def own_volts(groups: tuple[Laid, ...], out: type_f) -> None:
    """Volts of the straight elements' own. [V]"""
    for group in groups:
        out[group.lines] = group.p[1]


def substitute_fixed(net: LaneNet, thermal: type_i, ties: type_f, volts: type_f) -> None:
    """Ties and volts of the nodes that are eliminated once a job."""
    arrays, steps = net.arrays, net.order.fixed
    first = len(steps)
    edges = int(arrays.steps.ptr[first])
    part = np.take(np.ascontiguousarray(arrays.base_part[:, :edges].T), thermal, axis=1)
    share = (arrays.base_ref[:, :first] > 0.0).T.astype(float)
    work = np.empty(len(thermal))
    for found, begun in ((ties, True), (volts, False)):
        row_of = list(found)
        for k in range(first - 1, -1, -1):
            own = row_of[k]
            own[:] = share[k][thermal] if begun and share[k].any() else 0.0
            for at, near in enumerate(steps[k].around, steps[k].part):
                np.multiply(row_of[near], part[at], out=work)
                np.add(own, work, out=own)
