"""What are the volts of every node in many states side by side, contacts and devices held as they are?

Newton's method as in `kernel`, in plain numpy, one lane a state: begun from no volts, the same lines for the bent
elements, the same end. The elimination walks every step of the schedule for all lanes, open contacts too, since an open
one is a nought that costs no more. Lanes that have come to rest are left out once they are many. This is the way for
the lanes that `lane_round` does not bring to rest.

In: `LaneNet`, for each lane the rows its state selects and which elements act. Out: volts, floating, settled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_f, type_i
from loomwright.network.kernel import BLOCKED_A, NEWTON_STEPS, QUICK_STEPS
from loomwright.network.lane_elimination import Parts, eliminate_lanes, room_for_parts, run, substitute_lanes
from loomwright.network.lane_laws import Laid, diode_amps, laid
from loomwright.network.lane_lines import Lines, across, first_lines, next_lines, put_in, tangents
from loomwright.network.lane_net import LaneNet, own_volts, stamps, straight_siemens, substitute_fixed
from loomwright.network.laws import DIODE_BLOCKED
from loomwright.network.lines import SETTLED_V
from loomwright.network.records import Law

__all__ = ["newton_lanes"]

_LINE_TRIALS = 30
_LINE_SHARE = 0.5
_KNEE_EDGE_V = 1e-6
_FEW_FRAC = 0.8

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
    arrays, order = net.arrays, net.order
    thermal = selected[arrays.thermal] if arrays.thermal >= 0 else np.zeros(selected.shape[1], np.int64)
    lines = np.take(order.base, thermal, axis=1)
    linear = laid(arrays, net.linear_groups, selected)
    siemens, emf_v = np.empty(linear_acts.shape), np.empty(linear_acts.shape)
    straight_siemens(linear, linear_acts, siemens)
    own_volts(linear, emf_v)
    run(stamps(net, siemens, emf_v, lines))
    straight = eliminate_lanes(order.straight, lines, 0, room_for_parts(order.straight, selected.shape[1]))
    shape = (arrays.nodes + 1, selected.shape[1])
    ties, volts = np.zeros(shape), np.zeros(shape)
    held = _Held(
        lines=lines[order.bent.top :],
        acts=curved_acts,
        groups=laid(arrays, net.curved.groups, selected),
    )
    settled = _descended(net, held, ties, volts)
    for found in (ties, volts):
        substitute_lanes(order.straight.steps, straight, lines, 0, found is ties, found)
    substitute_fixed(net, thermal, ties, volts)
    floating = ties == 0.0
    floating[-1] = False
    volts[floating] = 0.0
    return volts, floating, settled


@dataclass(slots=True, eq=False)
class _Held:
    """The bent part of some lanes, contacts held: its lines, its elements' figures and whether they act."""

    lines: type_f
    acts: type_bool
    groups: tuple[Laid, ...]

    def of(self, lanes: type_i) -> _Held:
        """Some of the lanes."""
        return _Held(self.lines[:, lanes], self.acts[:, lanes], tuple(group.of(lanes) for group in self.groups))


class _Room:
    """Room for the bent part of so many lanes, used again from step to step."""

    __slots__ = ("mesh", "parts")

    def __init__(self, net: LaneNet, lanes: int) -> None:
        self.mesh = np.empty((len(net.order.base) - net.order.bent.top, lanes))
        self.parts = room_for_parts(net.order.bent, lanes)


def _descended(net: LaneNet, whole: _Held, ties: type_f, volts: type_f) -> type_bool:
    """Newton's method from no volts at all; ties and volts of the bent nodes, and which lanes settled."""
    count = volts.shape[1]
    settled = np.zeros(count, bool)
    which, held = np.arange(count), whole
    v = np.zeros(volts.shape)
    lines, room = first_lines(held.groups, held.acts), _Room(net, count)
    for taken in range(1, QUICK_STEPS + 1):
        mesh, parts = _solved(net, held, lines, v, room)
        doubt_v, _ = _laid_anew(net, held, lines, v, taken == 1)
        done = np.flatnonzero((doubt_v <= SETTLED_V) & ~settled[which])
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
    bent = net.order.bent
    if len(done) < v.shape[1]:
        mesh, parts, v = mesh[:, done], parts.of(done), v[:, done]
    own = np.zeros(v.shape)
    substitute_lanes(bent.steps, parts, mesh, bent.top, True, own)
    at = np.array([step.node for step in bent.steps], np.int64)
    ties[at[:, None], lanes], volts[at[:, None], lanes] = own[at], v[at]


def _put_in(net: LaneNet, held: _Held, lines: Lines, room: _Room) -> tuple[type_f, Parts]:
    """Every bent element beside the straight part as its line, and all that is left eliminated."""
    bent, mesh = net.order.bent, room.mesh
    np.copyto(mesh, held.lines)
    put_in(net.curved, lines, mesh, bent.top)
    return mesh, eliminate_lanes(bent, mesh, bent.top, room.parts)


def _solved(net: LaneNet, held: _Held, lines: Lines, v: type_f, room: _Room) -> tuple[type_f, Parts]:
    """Volts of the bent nodes for the lines there are, written in place; what the elimination left."""
    mesh, parts = _put_in(net, held, lines, room)
    substitute_lanes(net.order.bent.steps, parts, mesh, net.order.bent.top, False, v)
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


def _laid_anew(net: LaneNet, held: _Held, lines: Lines, v: type_f, begun: bool) -> tuple[type_f, type_f]:
    return next_lines(held.groups, held.acts, lines, across(net.curved, v), begun=begun, idle=begun)


def _tangents(net: LaneNet, held: _Held, v: type_f) -> Lines:
    return tangents(held.groups, held.acts, across(net.curved, v))


def _shares(net: LaneNet, held: _Held, lines: Lines, v: type_f, d: type_f) -> type_f:
    """How far along the step each lane goes, see `kernel`."""
    bent = net.order.bent
    straight, growth = np.zeros(v.shape[1]), np.zeros(v.shape[1])
    for step in bent.steps:
        own, line = step.node, step.line - bent.top
        ref, inj = held.lines[line + len(step.around)], held.lines[line + len(step.around) + 1]
        straight += (ref * v[own] - inj) * d[own]
        growth += ref * d[own] * d[own]
        for k, near in enumerate(step.around, line):
            between = d[own] - d[near]
            straight += held.lines[k] * (v[own] - v[near]) * between
            growth += held.lines[k] * between * between
    along = across(net.curved, d)
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
    idle: list[tuple[slice, type_bool]] = []
    marginal = np.zeros(volts.shape[1], bool)
    for group in held.groups:
        if group.law != Law.DIODE:
            continue
        at = across(net.curved, volts)[group.lines]
        amps, slopes = np.empty(at.shape), np.empty(at.shape)
        diode_amps(group.p, at, amps, slopes)
        idle.append((group.lines, np.abs(amps) < BLOCKED_A))
        near_edge = at > group.p[0] + DIODE_BLOCKED * group.p[1] - _KNEE_EDGE_V
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
