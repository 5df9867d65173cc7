"""What are the volts of every node in many states side by side, contacts and devices held as they are?

Newton's method as in `kernel`, in plain numpy, one lane a state. The elimination walks every step of the schedule for
all lanes, open contacts too, since an open one is a nought that costs no more. Lanes that have come to rest are left
out once they are many.

In: `LaneNet`, for each lane its thermal row, rows of figures, which elements act. Out: volts, floating, settled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.kernel import BLOCKED_A, NEWTON_STEPS, SETTLED_V
from loomwright.network.lane_laws import amps_and_slopes
from loomwright.network.laws import DIODE_BLOCKED
from loomwright.network.records import Law

__all__ = ["LaneNet", "lane_net", "newton_lanes"]

_PLAIN_STEPS = 8
_LINE_TRIALS = 30
_LINE_SHARE = 0.5
_KNEE_EDGE_V = 1e-6
_FEW_FRAC = 0.7

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One step of the elimination: its node, neighbours, edges, and for each pair of neighbours their numbers."""

    node: int
    near: type_i
    edges: type_i
    pairs: type_i
    first: type_i
    second: type_i


@dataclass(frozen=True, slots=True, eq=False)
class LaneNet:
    """A network for lanes.

    straight, bent: steps of live nodes no bent law touches, and of the others, in numbers of their own.
    fixed: steps done once a job.   needing: live elements that need devices.   linear, curved: live ones by law.
    """

    arrays: Arrays
    fixed: tuple[_Step, ...]
    straight: tuple[_Step, ...]
    bent: tuple[_Step, ...]
    nodes: type_i
    edges: type_i
    needing: type_i
    linear: type_i
    curved: type_i
    a: type_i
    b: type_i
    slot: type_i


def lane_net(arrays: Arrays) -> LaneNet:
    """A network made ready for lanes."""
    steps = _steps(arrays)
    bent = steps[arrays.first_bent_step :]
    curved = arrays.nonlinear
    touched = [step.edges for step in bent] + [step.pairs for step in bent]
    slots = arrays.slot[curved]
    edges = np.unique(np.concatenate([*touched, slots[slots >= 0], np.zeros(0, np.int64)]))
    nodes = np.array([*(step.node for step in bent), arrays.nodes], np.int64)
    place = np.full(arrays.nodes + 1, -1)
    place[nodes] = np.arange(len(nodes))
    edge_place = np.full(arrays.base_edge.shape[1] + 1, -1)
    edge_place[edges] = np.arange(len(edges))
    own = tuple(
        _Step(int(place[s.node]), place[s.near], edge_place[s.edges], edge_place[s.pairs], s.first, s.second)
        for s in bent
    )
    counts = np.diff(arrays.need_ptr)
    return LaneNet(
        arrays=arrays,
        fixed=tuple(steps[: arrays.first_live_step]),
        straight=tuple(steps[arrays.first_live_step : arrays.first_bent_step]),
        bent=own,
        nodes=nodes,
        edges=edges,
        needing=np.array([e for e in arrays.live if counts[e]], np.int64),
        linear=np.array([e for e in arrays.live if arrays.law[e] == Law.LINEAR], np.int64),
        curved=curved,
        a=place[arrays.a[curved]],
        b=place[arrays.b[curved]],
        slot=np.where(slots >= 0, edge_place[slots], -1),
    )


def _steps(arrays: Arrays) -> list[_Step]:
    steps = arrays.steps
    found = []
    ends = [*steps.pair_ptr[1:].tolist(), len(steps.pair_edge)]
    for k, node in enumerate(steps.node):
        here = slice(steps.ptr[k], steps.ptr[k + 1])
        first, second = np.triu_indices(steps.ptr[k + 1] - steps.ptr[k], 1)
        pairs = steps.pair_edge[steps.pair_ptr[k] : ends[k]]
        found.append(_Step(int(node), steps.near_node[here], steps.near_edge[here], pairs, first, second))
    return found


def newton_lanes(net: LaneNet, thermal: type_i, rows: type_i, acts: type_bool) -> tuple[type_f, type_bool, type_bool]:
    """Bring every lane to its operating point.

    Args:
        thermal: which base (wire temperatures) applies, one a lane. [-]
        rows: row of figures of each element, one column a lane.
        acts: which elements act, one column a lane.
    Returns:
        Volts, floating, one column a lane, and which lanes settled. [V]
    """
    arrays = net.arrays
    lanes = len(thermal)
    edge = np.ascontiguousarray(arrays.base_edge[thermal].T)
    ref = np.ascontiguousarray(arrays.base_ref[thermal].T)
    inj = np.zeros_like(ref)
    for e in net.linear:
        siemens = np.where(acts[e], arrays.figures[rows[e], 0], 0.0)
        a, b = int(arrays.a[e]), int(arrays.b[e])
        _add(siemens, siemens * arrays.figures[rows[e], 1], a, b, int(arrays.slot[e]), edge, ref, inj)
    _eliminate(net.straight, edge, ref, inj)
    held = _Held(
        edge=edge[net.edges],
        ref=ref[net.nodes],
        inj=inj[net.nodes],
        rows=rows[net.curved],
        acts=acts[net.curved],
    )
    v = np.zeros((arrays.nodes + 1, lanes))
    floating = np.zeros((arrays.nodes + 1, lanes), bool)
    v[net.nodes], floating[net.nodes], settled = _descended(net, held)
    _substitute(net.straight, edge, ref, inj, v, floating)
    _substitute(net.fixed, edge, ref, inj, v, floating)
    return v, floating, settled


@dataclass(slots=True, eq=False)
class _Held:
    """The bent part of some lanes, contacts held."""

    edge: type_f
    ref: type_f
    inj: type_f
    rows: type_i
    acts: type_bool

    def of(self, lanes: type_i | type_bool) -> _Held:
        """Some of the lanes."""
        return _Held(
            edge=self.edge[:, lanes],
            ref=self.ref[:, lanes],
            inj=self.inj[:, lanes],
            rows=self.rows[:, lanes],
            acts=self.acts[:, lanes],
        )


def _descended(net: LaneNet, whole: _Held) -> tuple[type_f, type_bool, type_bool]:
    """Newton's method from no volts at all; volts and floating of the bent nodes, and which lanes settled."""
    count = whole.ref.shape[1]
    all_v = np.zeros((len(net.nodes), count))
    all_floating = np.zeros(all_v.shape, bool)
    settled = np.zeros(count, bool)
    which, held = np.arange(count), whole
    v, floating = all_v.copy(), all_floating.copy()
    amps, slopes = _asked(net, held, v)
    bridged, limit = _begun_easily(net, held, amps, slopes)
    done = np.zeros(count, bool)
    for step in range(NEWTON_STEPS):
        new_v = v.copy()
        _solved_lines(net, held, amps, slopes, v, new_v, floating)
        change = new_v - v
        now = (np.abs(change).max(axis=0, initial=0.0) <= SETTLED_V) & ~bridged & ~done
        for_good = which[now]
        all_v[:, for_good], all_floating[:, for_good] = new_v[:, now], floating[:, now]
        settled[for_good] = True
        done |= now
        if done.all():
            break
        if done.mean() > 1.0 - _FEW_FRAC:
            kept = ~done
            which, held, limit = which[kept], held.of(kept), limit[:, kept]
            v, new_v, change, floating = v[:, kept], new_v[:, kept], change[:, kept], floating[:, kept]
            amps, slopes, done = amps[:, kept], slopes[:, kept], done[kept]
        if step < _PLAIN_STEPS:
            v = new_v
        else:
            share = _shares(net, held, amps, v, change)
            v = np.where(share == 1.0, new_v, v + share * change)
        amps, slopes = _asked(net, held, v)
        bridged = np.zeros(len(which), bool)
        if step < _PLAIN_STEPS - 1:
            bridged = _bridged(net, held, v, amps, slopes, limit)
    lost = which[~done]
    all_v[:, lost], all_floating[:, lost] = v[:, ~done], floating[:, ~done]
    _behind_blocked(net, whole, all_v, all_floating)
    return all_v, all_floating, settled


def _add(siemens: type_f, offset_a: type_f, a: int, b: int, slot: int, edge: type_f, ref: type_f, inj: type_f) -> None:
    if slot >= 0:
        edge[slot] += siemens
    else:
        ref[min(a, b)] += siemens
    inj[a] += offset_a
    inj[b] -= offset_a


def _eliminate(steps: Sequence[_Step], edge: type_f, ref: type_f, inj: type_f) -> None:
    """Eliminate nodes in place, see `elimination.eliminate`."""
    for step in steps:
        c = edge[step.edges]
        total = ref[step.node] + c.sum(axis=0)
        part = c * np.divide(1.0, total, out=np.zeros_like(total), where=total > 0.0)
        ref[step.near] += part * ref[step.node]
        inj[step.near] += part * inj[step.node]
        if len(step.pairs):
            edge[step.pairs] += part[step.first] * c[step.second]


def _substitute(
    steps: Sequence[_Step], edge: type_f, ref: type_f, inj: type_f, v: type_f, floating: type_bool
) -> None:  # fmt: skip
    """Volts of eliminated nodes, the last first, see `elimination.substitute`."""
    for step in reversed(steps):
        c = edge[step.edges]
        total = ref[step.node] + c.sum(axis=0)
        flow = inj[step.node] + (c * v[step.near]).sum(axis=0)
        grounded = (ref[step.node] > 0.0) | ((c > 0.0) & ~floating[step.near]).any(axis=0)
        np.divide(flow, total, out=v[step.node], where=grounded)
        floating[step.node] = ~grounded


def _solved_lines(
    net: LaneNet, held: _Held, amps: type_f, slopes: type_f, v: type_f, new_v: type_f, floating: type_bool
) -> None:
    """Every bent element beside the straight part as its line at v; the volts that gives."""
    edge, ref, inj = held.edge.copy(), held.ref.copy(), held.inj.copy()
    reference = len(net.nodes) - 1
    for k, (a, b, slot) in enumerate(zip(net.a.tolist(), net.b.tolist(), net.slot.tolist(), strict=True)):
        offset_a = slopes[k] * (v[a] - v[b]) - amps[k]
        if slot >= 0:
            edge[slot] += slopes[k]
        else:
            ref[a if b == reference else b] += slopes[k]
        inj[a] += offset_a
        inj[b] -= offset_a
    _eliminate(net.bent, edge, ref, inj)
    _substitute(net.bent, edge, ref, inj, new_v, floating)


def _asked(net: LaneNet, held: _Held, v: type_f) -> tuple[type_f, type_f]:
    """Amps and slopes of the bent elements, nothing where they do not act."""
    amps, slopes = amps_and_slopes(net.arrays, net.curved, held.rows, v[net.a] - v[net.b])
    return np.where(held.acts, amps, 0.0), np.where(held.acts, slopes, 0.0)


def _begun_easily(net: LaneNet, held: _Held, amps: type_f, slopes: type_f) -> tuple[type_bool, type_i]:
    """Dark lamps as hot, clamps as between their limits; lanes where one is not, and no limit passed yet."""
    law = net.arrays.law[net.curved]
    bridged = np.zeros(amps.shape[1], bool)
    for k in np.flatnonzero((law == Law.LAMP) | (law == Law.CLAMP)):
        p, on = net.arrays.figures[held.rows[k]].T, held.acts[k]
        if law[k] == Law.LAMP:
            slopes[k], amps[k] = np.where(on, p[1] / p[0], 0.0), 0.0
        else:
            bridged |= on & (_beyond(p, np.zeros(len(on))) != 0)
            slopes[k], amps[k] = np.where(on, p[0], 0.0), np.where(on, -p[0] * p[1], 0.0)
    return bridged, np.zeros(amps.shape, np.int64)


def _beyond(p: type_f, across: type_f) -> type_i:
    i = (across - p[1]) * p[0]
    return np.where(i > p[3], 1, np.where(i < p[2], -1, 0))


def _bridged(net: LaneNet, held: _Held, v: type_f, amps: type_f, slopes: type_f, limit: type_i) -> type_bool:
    """Clamps that would jump from one limit past the other are first taken between them; lanes where one is."""
    bridged = np.zeros(v.shape[1], bool)
    for k in np.flatnonzero(net.arrays.law[net.curved] == Law.CLAMP):
        p = net.arrays.figures[held.rows[k]].T
        across = v[net.a[k]] - v[net.b[k]]
        now = _beyond(p, across)
        jumps = held.acts[k] & (now * limit[k] == -1)
        amps[k] = np.where(jumps, (across - p[1]) * p[0], amps[k])
        slopes[k] = np.where(jumps, p[0], slopes[k])
        limit[k] = np.where(jumps, 0, now)
        bridged |= jumps
    return bridged


def _shares(net: LaneNet, held: _Held, amps: type_f, v: type_f, d: type_f) -> type_f:
    """How far along the step each lane goes, see `kernel`."""
    straight = ((held.ref * v - held.inj) * d).sum(axis=0)
    growth = (held.ref * d * d).sum(axis=0)
    for step in net.bent:
        c = held.edge[step.edges]
        along = d[step.node] - d[step.near]
        straight += (c * (v[step.node] - v[step.near]) * along).sum(axis=0)
        growth += (c * along * along).sum(axis=0)
    along = d[net.a] - d[net.b]
    begin = np.abs(straight + (amps * along).sum(axis=0))

    def at(share: type_f) -> type_f:
        found = straight + share * growth + (_asked(net, held, v + share * d)[0] * along).sum(axis=0)
        return np.asarray(found)

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


def _behind_blocked(net: LaneNet, held: _Held, v: type_f, floating: type_bool) -> None:
    """What hangs on diodes alone that carry nothing is marked as floating."""
    diodes = net.arrays.law[net.curved] == Law.DIODE
    if not diodes.any():
        return
    amps, slopes = _asked(net, held, v)
    figures = net.arrays.figures[held.rows[diodes]]
    across = v[net.a[diodes]] - v[net.b[diodes]]
    edge_v = figures[..., 0] + DIODE_BLOCKED * figures[..., 1] - _KNEE_EDGE_V
    blocked = diodes[:, None] & (np.abs(amps) < BLOCKED_A)
    marginal = (held.acts[diodes] & (across > edge_v) & blocked[diodes]).any(axis=0)
    if not marginal.any():
        return
    amps, slopes = np.where(blocked, 0.0, amps)[:, marginal], np.where(blocked, 0.0, slopes)[:, marginal]
    fresh, flags = v[:, marginal], floating[:, marginal]
    _solved_lines(net, held.of(marginal), amps, slopes, v[:, marginal], fresh, flags)
    floating[:, marginal] = flags
