"""A few Newton steps for many states side by side, from the volts they have.

Most bent elements lie on a straight piece of their law, and stay on it. So a *round* puts them in as the lines they
have, eliminates once all nodes no keen element touches, and takes its steps on the few that are left: the keen elements
alone are laid anew after each. At its end all volts are there and all lines are laid anew, and what they miss says how
far the next round may still move a node; a line that was wrong is put right so.

In: `Car`, `Lanes`, which elements act. Out: lines and volts in place, and how sure they are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.kernel import BLOCKED_A
from loomwright.network.lane_car import Car, Lanes, car_of, type_bool
from loomwright.network.lane_elimination import Calls, elimination, room_for_parts, run, substitution
from loomwright.network.lane_laws import Laid, laid
from loomwright.network.lane_lines import Lines, across, first_lines, next_lines, over, puts, tangents
from loomwright.network.lane_net import LaneNet, own_volts, stamps, straight_siemens, substitute_fixed
from loomwright.network.records import Law

__all__ = ["Found", "Ready", "Rounds", "rest", "round_of", "rounds_begun", "some_of"]


class Work:
    """Room for rounds of so many lanes, and what is called in them.

    v: by step. [V]   once: before the steps.   step: in each.   back: after them.   tie_calls: which of the nodes
    devices look at float.   rest: all other volts and ties.
    """

    __slots__ = (
        "back", "base", "emf_v", "keen_over", "keen_slope", "lines", "mesh", "once", "quiet_over", "quiet_slope",
        "rest", "siemens", "step", "tie_calls", "ties", "v",
    )  # fmt: skip

    def __init__(self, net: LaneNet, count: int) -> None:
        order = net.order
        self.base, self.lines = (np.empty((len(order.base), count)) for _ in range(2))
        self.mesh = np.empty((len(order.base) - order.keen.top, count))
        self.siemens, self.emf_v = (np.empty((len(net.linear), count)) for _ in range(2))
        self.quiet_slope, self.quiet_over = (np.empty((len(net.quiet.elements), count)) for _ in range(2))
        self.keen_slope, self.keen_over = (np.empty((len(net.keen.elements), count)) for _ in range(2))
        self.v, self.ties = (np.zeros((net.arrays.nodes + 1, count)) for _ in range(2))
        self.ties[net.tied] = 1.0
        done, quiet, keen = (room_for_parts(one, count) for one in (order.straight, order.quiet, order.keen))
        top, v = order.keen.top, self.v
        self.once: Calls = [
            *stamps(net, self.siemens, self.emf_v, self.lines),
            *puts(net.quiet, self.quiet_slope, self.quiet_over, self.lines, 0),
            *elimination(order.straight, self.lines, 0, done),
            *elimination(order.quiet, self.lines, 0, quiet),
        ]
        self.step: Calls = [
            *puts(net.keen, self.keen_slope, self.keen_over, self.mesh, top),
            *elimination(order.keen, self.mesh, top, keen),
            *substitution(order.keen.steps, keen, self.mesh, top, False, v),
        ]
        self.back: Calls = [
            *substitution(order.quiet.steps, quiet, self.lines, 0, False, v),
            *substitution(net.seen, done, self.lines, 0, False, v),
        ]
        done_ties, quiet_ties, keen_ties = net.ties
        self.tie_calls: Calls = [
            *substitution(keen_ties, keen, self.mesh, top, True, self.ties),
            *substitution(quiet_ties, quiet, self.lines, 0, True, self.ties),
            *substitution(done_ties, done, self.lines, 0, True, self.ties),
        ]
        self.rest: Calls = [
            *substitution(order.straight.steps, done, self.lines, 0, False, v),
            *substitution(order.keen.steps, keen, self.mesh, top, True, self.ties),
            *substitution(order.quiet.steps, quiet, self.lines, 0, True, self.ties),
            *substitution(order.straight.steps, done, self.lines, 0, True, self.ties),
        ]


class Ready:
    """A network ready for lanes, and room for as many as there were, used again from block to block."""

    __slots__ = ("car", "works")

    def __init__(self, arrays: Arrays) -> None:
        self.car = car_of(arrays)
        self.works: dict[int, Work] = {}

    def work(self, count: int) -> Work:
        """Room for so many lanes."""
        if count not in self.works:
            self.works[count] = Work(self.car.net, count)
        return self.works[count]


@dataclass(slots=True, eq=False)
class Rounds:
    """Where the volts and lines of some states stand; one column a lane.

    lane: number of each.   thermal: its row of wire temperatures.   straight, keen, quiet: figures of these elements.
    """

    lane: type_i
    thermal: type_i
    straight: tuple[Laid, ...]
    keen: tuple[Laid, ...]
    quiet: tuple[Laid, ...]
    keen_lines: Lines
    quiet_lines: Lines
    work: Work

    @property
    def v(self) -> type_f:
        """Volts by step. [V]"""
        return self.work.v


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a round found, lane by lane.

    seen: of the nodes devices look at, nothing where one floats.   doubt_v: how far the next round may still move a
    node.   edge_v: volts between the nearest diode and its edge; below nothing where one is past it. [V]
    """

    seen: type_f
    doubt_v: type_f
    edge_v: type_f


def rounds_begun(ready: Ready, lanes: Lanes) -> Rounds:
    """States before their first round: at no volts, with no lines."""
    net, selected = ready.car.net, lanes.selected
    arrays, count = net.arrays, selected.shape[1]
    straight, keen, quiet = (
        laid(arrays, groups, selected) for groups in (net.linear_groups, net.keen.groups, net.quiet.groups)
    )
    thermal = selected[arrays.thermal] if arrays.thermal >= 0 else np.zeros(count, np.int64)
    idle = tuple(np.zeros((len(curved.elements), count), bool) for curved in (net.keen, net.quiet))
    lines = first_lines(keen, idle[0]), first_lines(quiet, idle[1])
    rounds = Rounds(np.arange(count), thermal, straight, keen, quiet, *lines, ready.work(count))
    rounds.v[:] = 0.0
    _fill(net, rounds)
    return rounds


def _fill(net: LaneNet, rounds: Rounds) -> None:
    """What stays the same from round to round."""
    np.take(net.order.base, rounds.thermal, axis=1, out=rounds.work.base, mode="clip")
    own_volts(rounds.straight, rounds.work.emf_v)


def some_of(ready: Ready, rounds: Rounds, columns: type_i) -> Rounds:
    """Some of the lanes; fewer than there are."""
    straight, keen, quiet = (
        tuple(group.of(columns) for group in groups) for groups in (rounds.straight, rounds.keen, rounds.quiet)
    )
    lines = rounds.keen_lines.of(columns), rounds.quiet_lines.of(columns)
    work = ready.work(len(columns))
    found = Rounds(rounds.lane[columns], rounds.thermal[columns], straight, keen, quiet, *lines, work)
    first = ready.car.arrays.first_live_step
    np.take(rounds.v[first:], columns, axis=1, out=work.v[first:], mode="clip")
    _fill(ready.car.net, found)
    return found


def round_of(car: Car, rounds: Rounds, acts: type_bool, steps: int) -> Found:
    """Take all lanes a round further, so many steps.

    Args:
        acts: which live elements act.
    """
    net, work, v = car.net, rounds.work, rounds.v
    keen_acts, quiet_acts = acts[car.keen], acts[car.quiet]
    np.copyto(work.lines, work.base)
    straight_siemens(rounds.straight, acts[car.linear], work.siemens)
    np.copyto(work.quiet_slope, rounds.quiet_lines.slope)
    over(rounds.quiet_lines, work.quiet_over)
    run(work.once)
    doubt_v = edge_v = np.zeros(v.shape[1])
    for _ in range(steps):
        np.copyto(work.mesh, work.lines[net.order.keen.top :])
        np.copyto(work.keen_slope, rounds.keen_lines.slope)
        over(rounds.keen_lines, work.keen_over)
        run(work.step)
        doubt_v, edge_v = next_lines(
            rounds.keen, keen_acts, rounds.keen_lines, across(net.keen, v),
            begun=False, idle=True, watched=net.keen.watched,
        )  # fmt: skip
    run(work.back)
    quiet_doubt_v, quiet_edge_v = next_lines(
        rounds.quiet,
        quiet_acts,
        rounds.quiet_lines,
        across(net.quiet, v),
        begun=False,
        idle=True,
        watched=net.quiet.watched,
    )
    seen = np.take(v, car.seen, axis=0)
    if len(net.hanging):
        run(work.tie_calls)
        seen[car.row_of[net.hanging]] *= work.ties[net.hanging] != 0.0
    return Found(seen, doubt_v + quiet_doubt_v, np.minimum(edge_v, quiet_edge_v))


def rest(car: Car, rounds: Rounds, lanes: Lanes, acts: type_bool) -> None:
    """Volts of all nodes of all lanes at rest, and which float: one step more, with tangents alone; a diode that
    carries nothing is no path.

    Args:
        rounds: of all lanes, as they were begun.
    """
    net, work = car.net, rounds.work
    work.v[:] = lanes.v
    for curved, groups, mine, slope, overs in (
        (net.quiet, rounds.quiet, car.quiet, work.quiet_slope, work.quiet_over),
        (net.keen, rounds.keen, car.keen, work.keen_slope, work.keen_over),
    ):
        lines = tangents(groups, acts[mine], across(curved, work.v))
        for group in groups:
            if group.law == Law.DIODE:
                blocked = np.abs(lines.amps[group.lines]) < BLOCKED_A
                lines.amps[group.lines][blocked] = 0.0
                lines.slope[group.lines][blocked] = 0.0
        np.copyto(slope, lines.slope)
        over(lines, overs)
    np.copyto(work.lines, work.base)
    straight_siemens(rounds.straight, acts[car.linear], work.siemens)
    run(work.once)
    np.copyto(work.mesh, work.lines[net.order.keen.top :])
    run(work.step)
    run(work.back)
    run(work.rest)
    ties = work.ties.copy()
    substitute_fixed(net, rounds.thermal, ties, work.v)
    lanes.floating = ties == 0.0
    lanes.floating[-1] = False
    lanes.v = np.where(lanes.floating, 0.0, work.v)
    work.ties[net.tied] = 1.0
