"""What are the volts of every node in many states side by side, contacts and devices held as they are?

Newton's method as in `kernel`, in plain numpy, one lane a state: the same lines for the bent elements, the same end.
The elimination walks every step of the schedule for all lanes, open contacts too, since an open one is a nought that
costs no more. Lanes that have come to rest are left out once they are many.

In: `LaneNet`, for each lane the rows its state selects and which elements act. Out: volts, floating, settled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_f, type_i
from loomwright.network.kernel import BLOCKED_A, NEWTON_STEPS, QUICK_STEPS
from loomwright.network.lane_elimination import Parts, eliminate_lanes, room_for_parts, substitute_lanes
from loomwright.network.lane_laws import Laid, amps_and_slopes, diode_amps, laid
from loomwright.network.lane_net import LaneNet
from loomwright.network.laws import DIODE_BLOCKED, DIODE_START
from loomwright.network.lines import NOMINAL_V, ROUNDING, SETTLED_V
from loomwright.network.records import Law

__all__ = ["newton_lanes"]

_LINE_TRIALS = 30
_LINE_SHARE = 0.5
_KNEE_EDGE_V = 1e-6
_STRAIGHT_KNEES = 30.0
_FEW_FRAC = 0.8
_LEAST_SIEMENS = 1e-30

type_bool = NDArray[np.bool_]


def newton_lanes(
    net: LaneNet, selected: type_i, linear_acts: type_bool, curved_acts: type_bool
) -> tuple[type_f, type_bool, type_bool]:
    """Bring every lane to its operating point.

    Args:
        selected: the row each selector picks, one column a lane; a last line of noughts.
        linear_acts, curved_acts: which of the straight and of the other elements act, one column a lane.
    Returns:
        Volts and floating by step, one column a lane, and which lanes settled. [V]
    """
    arrays = net.arrays
    top = net.fixed.bottom
    thermal = selected[arrays.thermal] if arrays.thermal >= 0 else np.zeros(selected.shape[1], np.int64)
    lines = np.take(net.base, thermal, axis=1)
    _stamp_straight(net, lines, top, selected, linear_acts)
    straight = eliminate_lanes(net.straight, lines, top, room_for_parts(net.straight, selected.shape[1]))
    shape = (arrays.nodes + 1, selected.shape[1])
    ties, volts = np.zeros(shape), np.zeros(shape)
    held = _Held(
        lines=lines[net.bent.top - top :],
        acts=curved_acts,
        groups=laid(arrays, net.curved_groups, selected),
    )
    settled = _descended(net, held, ties, volts)
    for found in (ties, volts):
        substitute_lanes(net.straight, straight, lines, top, found is ties, found)
    _substitute_fixed(net, thermal, ties, volts)
    floating = ties == 0.0
    floating[-1] = False
    volts[floating] = 0.0
    return volts, floating, settled


def _stamp_straight(net: LaneNet, lines: type_f, top: int, selected: type_i, acts: type_bool) -> None:
    """Put in the straight elements that act."""
    arrays = net.arrays
    row_of = list(lines)
    to = (net.linear_to - top).tolist()
    from_line = (net.ref_line[arrays.from_step[net.linear]] + 1 - top).tolist()
    to_line = (net.ref_line[arrays.to_step[net.linear]] + 1 - top).tolist()
    for group in laid(arrays, net.linear_groups, selected):
        siemens, emf_v = group.p[0], group.p[1]
        sourced = (emf_v != 0.0).any(axis=1)
        for k in range(group.lines.start, group.lines.stop):
            own = k - group.lines.start
            mine = acts[k] * siemens[own]
            np.add(row_of[to[k]], mine, out=row_of[to[k]])
            if sourced[own]:
                mine *= emf_v[own]
                row_of[from_line[k]] += mine
                row_of[to_line[k]] -= mine


def _substitute_fixed(net: LaneNet, thermal: type_i, ties: type_f, volts: type_f) -> None:
    """Ties and volts of the nodes that are eliminated once a job."""
    arrays, order = net.arrays, net.fixed
    first = order.edges[1]
    part = np.take(np.ascontiguousarray(arrays.base_part[:, :first].T), thermal, axis=1)
    share = (arrays.base_ref[:, : len(order.steps)] > 0.0).T.astype(float)
    work = np.empty(len(thermal))
    for found, begun in ((ties, True), (volts, False)):
        row_of, at = list(found), first
        for k in range(len(order.steps) - 1, -1, -1):
            _, around, _ = order.steps[k]
            at -= len(around)
            own = row_of[k]
            own[:] = share[k][thermal] if begun and share[k].any() else 0.0
            for j, near in enumerate(around):
                np.multiply(row_of[near], part[at + j], out=work)
                np.add(own, work, out=own)


@dataclass(slots=True, eq=False)
class _Held:
    """The bent part of some lanes, contacts held: its lines, its elements' figures and whether they act."""

    lines: type_f
    acts: type_bool
    groups: tuple[Laid, ...]

    def of(self, lanes: type_i) -> _Held:
        """Some of the lanes."""
        return _Held(self.lines[:, lanes], self.acts[:, lanes], tuple(group.of(lanes) for group in self.groups))


@dataclass(slots=True, eq=False)
class _Lines:
    """Each bent element as a line: amps and slope, and the volts they are those of.  limit: which of its limits each
    clamp is beyond."""

    amps: type_f
    slope: type_f
    at: type_f
    limit: type_i

    def of(self, lanes: type_i) -> _Lines:
        """Some of the lanes."""
        return _Lines(self.amps[:, lanes], self.slope[:, lanes], self.at[:, lanes], self.limit[:, lanes])


class _Room:
    """Room for the bent part of so many lanes, used again from step to step."""

    __slots__ = ("mesh", "parts")

    def __init__(self, net: LaneNet, lanes: int) -> None:
        self.mesh = np.empty((net.bent.bottom + 2 - net.bent.top, lanes))
        self.parts = room_for_parts(net.bent, lanes)


def _descended(net: LaneNet, whole: _Held, ties: type_f, volts: type_f) -> type_bool:
    """Newton's method from no volts at all; ties and volts of the bent nodes, and which lanes settled."""
    count = volts.shape[1]
    settled = np.zeros(count, bool)
    which, held = np.arange(count), whole
    v = np.zeros(volts.shape)
    lines, room = _first_lines(held), _Room(net, count)
    for taken in range(1, QUICK_STEPS + 1):
        mesh, parts = _solved(net, held, lines, v, room)
        done = np.flatnonzero((_next_lines(net, held, lines, v, taken == 1) <= SETTLED_V) & ~settled[which])
        if len(done):
            _hand_over(net, mesh, parts, v, done, which[done], ties, volts)
            settled[which[done]] = True
        going = np.flatnonzero(~settled[which])
        if not len(going):
            break
        if len(going) < _FEW_FRAC * len(which):
            which, held, lines, v = which[going], held.of(going), lines.of(going), v[:, going]
            room = _Room(net, len(going))
    going = np.flatnonzero(~settled[which])
    if len(going):
        rest_of, rest_v = held.of(going), v[:, going]
        settled[which[going]] = _descended_carefully(net, rest_of, rest_v)
        mesh, parts = _solved(net, rest_of, _tangents(net, rest_of, rest_v), rest_v.copy(), _Room(net, len(going)))
        _hand_over(net, mesh, parts, rest_v, np.arange(len(going)), which[going], ties, volts)
    _float_behind_blocked(net, whole, ties, volts)
    return settled


def _hand_over(
    net: LaneNet, mesh: type_f, parts: Parts, v: type_f, done: type_i, lanes: type_i, ties: type_f, volts: type_f
) -> None:
    """Put the volts of some lanes, and the ties that go with them, among those of all."""
    first, top = net.bent.first, net.bent.top
    if len(done) < v.shape[1]:
        mesh, parts, v = mesh[:, done], parts.of(done), v[:, done]
    own = np.zeros(v.shape)
    substitute_lanes(net.bent, parts, mesh, top, True, own)
    if len(lanes) == volts.shape[1]:
        ties[first:], volts[first:] = own[first:], v[first:]
    else:
        ties[first:, lanes], volts[first:, lanes] = own[first:], v[first:]


def _first_lines(held: _Held) -> _Lines:
    """Lines at no volts, see `kernel`."""
    shape = held.acts.shape
    at = np.zeros(shape)
    amps, slope = amps_and_slopes(held.groups, at)
    for group in held.groups:
        p, mine = group.p, group.lines
        if group.law == Law.LAMP:
            amps[mine], slope[mine] = 0.0, p[1] / p[0]
        elif group.law == Law.CLAMP:
            amps[mine], slope[mine] = -p[0] * p[1], p[0]
        elif group.law == Law.CURRENT:
            amps[mine], slope[mine] = 0.0, p[0] / np.maximum(p[1], NOMINAL_V)
        elif group.law == Law.MOTOR:
            amps[mine], slope[mine] = 0.0, p[0] * np.maximum(NOMINAL_V - p[1], p[1]) / NOMINAL_V
    return _Lines(amps * held.acts, slope * held.acts, at, np.zeros(shape, np.int8))


def _across(net: LaneNet, v: type_f) -> type_f:
    arrays = net.arrays
    found = np.take(v, arrays.from_step[net.curved], axis=0)
    found -= np.take(v, arrays.to_step[net.curved], axis=0)
    return found


def _next_lines(net: LaneNet, held: _Held, lines: _Lines, v: type_f, begun: bool) -> type_f:
    """Lay every line anew for the volts v, `begun` after the first step, see `kernel`.

    Returns:
        How far the step after may still move a node, lane by lane. [V]
    """
    across = _across(net, v)
    had = across - lines.at
    had *= lines.slope
    had += lines.amps
    amps, slope = amps_and_slopes(held.groups, across)
    amps *= held.acts
    slope *= held.acts
    missed = np.abs(amps - had)
    missed -= ROUNDING * np.abs(amps)
    np.maximum(missed, 0.0, out=missed)
    missed /= np.where(slope > 0.0, slope, lines.slope + _LEAST_SIEMENS)
    doubt_v: type_f = missed.sum(axis=0)
    for group in held.groups:
        p, mine = group.p, group.lines
        if group.law == Law.DIODE:
            _at_its_amps(p, had[mine], lines.slope[mine], across[mine], amps[mine], slope[mine])
        elif group.law == Law.LAMP and begun:
            idle = np.abs(across[mine]) < SETTLED_V
            amps[mine] = np.where(idle, had[mine], amps[mine])
            slope[mine] = np.where(idle, lines.slope[mine], slope[mine])
        elif group.law == Law.LAMP:
            turned = across[mine] * lines.at[mine] < 0.0
            if turned.any():
                amps[mine] = np.where(turned, held.acts[mine] * (across[mine] / p[2]), amps[mine])
                slope[mine] = np.where(turned, held.acts[mine] * (1.0 / p[2]), slope[mine])
        elif group.law == Law.CLAMP:
            between = (across[mine] - p[1]) * p[0]
            now = (between > p[3]).astype(np.int8) - (between < p[2])
            jumps = held.acts[mine] & (begun | (now * lines.limit[mine] == -1))
            if jumps.any():
                amps[mine] = np.where(jumps, between, amps[mine])
                slope[mine] = np.where(jumps, p[0], slope[mine])
                now[jumps] = 0
            lines.limit[mine] = now
    lines.amps, lines.slope, lines.at = amps, slope, across
    return doubt_v


def _at_its_amps(p: type_f, had: type_f, had_slope: type_f, across: type_f, amps: type_f, slope: type_f) -> None:
    """Tangents of diodes that conduct, where they carry what their line gave them."""
    leads = np.nonzero((had_slope > 0.0) & (slope > 0.0))
    if not len(leads[0]):
        return
    forward_v, knee_v, siemens = (np.broadcast_to(figure, across.shape)[leads] for figure in p[:3])
    carried = np.maximum(had[leads], 0.0)
    knees = carried / (knee_v * siemens) + DIODE_START
    soft = knees < _STRAIGHT_KNEES
    leads = (leads[0][soft], leads[1][soft])
    e = np.expm1(knees[soft])
    across[leads] = forward_v[soft] + knee_v[soft] * np.log(e)
    amps[leads] = carried[soft]
    slope[leads] = siemens[soft] * e / (1.0 + e)


def _put_in(net: LaneNet, held: _Held, lines: _Lines, room: _Room) -> tuple[type_f, Parts]:
    """Every bent element beside the straight part as its line, and all that is left eliminated."""
    arrays, top = net.arrays, net.bent.top
    mesh = room.mesh
    np.copyto(mesh, held.lines)
    over = lines.amps - lines.slope * lines.at
    row_of = list(mesh)
    for k, (line, a, b) in enumerate(
        zip(
            (net.curved_to - top).tolist(),
            (net.ref_line[arrays.from_step[net.curved]] + 1 - top).tolist(),
            (net.ref_line[arrays.to_step[net.curved]] + 1 - top).tolist(),
            strict=True,
        )
    ):
        np.add(row_of[line], lines.slope[k], out=row_of[line])
        np.subtract(row_of[a], over[k], out=row_of[a])
        np.add(row_of[b], over[k], out=row_of[b])
    return mesh, eliminate_lanes(net.bent, mesh, top, room.parts)


def _solved(net: LaneNet, held: _Held, lines: _Lines, v: type_f, room: _Room) -> tuple[type_f, Parts]:
    """Volts of the bent nodes for the lines there are, written in place; what the elimination left."""
    mesh, parts = _put_in(net, held, lines, room)
    substitute_lanes(net.bent, parts, mesh, net.bent.top, False, v)
    return mesh, parts


def _descended_carefully(net: LaneNet, held: _Held, v: type_f) -> type_bool:
    """Steps with a line search from where the quick ones ended, see `kernel`; which lanes settled."""
    settled = np.zeros(v.shape[1], bool)
    for _ in range(QUICK_STEPS, NEWTON_STEPS):
        going = np.flatnonzero(~settled)
        if not len(going):
            break
        mine, begun = held.of(going), v[:, going]
        room = _Room(net, len(going))
        lines = _tangents(net, mine, begun)
        after = begun.copy()
        _solved(net, mine, lines, after, room)
        change = after - begun
        rests = np.abs(change).max(axis=0, initial=0.0) <= SETTLED_V
        share = np.where(rests, 1.0, _shares(net, mine, lines, begun, change))
        v[:, going] = np.where(share == 1.0, after, begun + share * change)
        settled[going[rests]] = True
    return settled


def _tangents(net: LaneNet, held: _Held, v: type_f) -> _Lines:
    across = _across(net, v)
    amps, slope = amps_and_slopes(held.groups, across)
    return _Lines(amps * held.acts, slope * held.acts, across, np.zeros(across.shape, np.int8))


def _shares(net: LaneNet, held: _Held, lines: _Lines, v: type_f, d: type_f) -> type_f:
    """How far along the step each lane goes, see `kernel`."""
    order = net.bent
    straight, growth = np.zeros(v.shape[1]), np.zeros(v.shape[1])
    for k, (first, around, _) in enumerate(order.steps):
        step, line = order.first + k, first - order.top
        ref, inj = held.lines[line + len(around)], held.lines[line + len(around) + 1]
        straight += (ref * v[step] - inj) * d[step]
        growth += ref * d[step] * d[step]
        for j, near in enumerate(around):
            along = d[step] - d[near]
            straight += held.lines[line + j] * (v[step] - v[near]) * along
            growth += held.lines[line + j] * along * along
    along = _across(net, d)
    begin = np.abs(straight + (lines.amps * along).sum(axis=0))

    def at(share: type_f) -> type_f:
        amps = _tangents(net, held, v + share * d).amps
        found: type_f = straight + share * growth + (amps * along).sum(axis=0)
        return found

    count = v.shape[1]
    share, low, high = np.ones(count), np.zeros(count), np.ones(count)
    going = at(share) > _LINE_SHARE * begin
    for _ in range(_LINE_TRIALS):
        if not going.any():
            break
        share = np.where(going, 0.5 * (low + high), share)
        now = at(share)
        going &= np.abs(now) > _LINE_SHARE * begin
        high = np.where(going & (now > 0.0), share, high)
        low = np.where(going & (now <= 0.0), share, low)
    return share


def _float_behind_blocked(net: LaneNet, held: _Held, ties: type_f, volts: type_f) -> None:
    """What hangs on diodes alone that carry nothing is marked as floating."""
    arrays = net.arrays
    idle: list[tuple[slice, type_bool]] = []
    marginal = np.zeros(volts.shape[1], bool)
    for group in held.groups:
        if group.law != Law.DIODE:
            continue
        mine = net.curved[group.lines]
        across = volts[arrays.from_step[mine]] - volts[arrays.to_step[mine]]
        amps, slopes = np.empty(across.shape), np.empty(across.shape)
        diode_amps(group.p, across, amps, slopes)
        idle.append((group.lines, np.abs(amps) < BLOCKED_A))
        near_edge = across > group.p[0] + DIODE_BLOCKED * group.p[1] - _KNEE_EDGE_V
        marginal |= (held.acts[group.lines] & near_edge & idle[-1][1]).any(axis=0)
    lanes = np.flatnonzero(marginal)
    if not len(lanes):
        return
    here, v = held.of(lanes), volts[:, lanes]
    lines = _tangents(net, here, v)
    for mine_lines, blocked in idle:
        lines.slope[mine_lines][blocked[:, lanes]] = 0.0
        lines.amps[mine_lines][blocked[:, lanes]] = 0.0
    mesh, parts = _put_in(net, here, lines, _Room(net, len(lanes)))
    _hand_over(net, mesh, parts, v, np.arange(len(lanes)), lanes, ties, volts)
