"""The same answers in plain numpy, many states side by side: one lane a state.

What the compiled kernels do for one state after the other (`held`, `kernel`, `settle`) is done here for all lanes at
once: every step of the elimination is a few sums over arrays of lanes. It needs no compiler and says the same by
another way, so each is a check of the other.

All lanes take rounds of Newton steps together (`lane_round`), each with its own relays in its own pass: after a round a
lane whose devices are sure to move has them moved and goes on with the next pass, one at rest is done, and any other
goes on as it is. What is rare, relays that come round in an orbit or volts that settle slowly, is handed to the slow
way (`lane_passes`, `lane_newton`).

In: a `Compiled`, values and devices as in `solve_many`. Out: a `Batch`.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import FREE, type_b, type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.kernel import HASTY_V, OFF_OF_DOUBT
from loomwright.network.lane_car import Car, Lanes, acting, begun, type_bool
from loomwright.network.lane_devices import blow, stall, through, wanted
from loomwright.network.lane_guess import lay_for
from loomwright.network.lane_passes import PASSES, pass_by_pass
from loomwright.network.lane_round import Ready, Rounds, rest, round_of, rounds_begun, some_of
from loomwright.network.lines import SETTLED_V
from loomwright.network.records import Law
from loomwright.network.settle import SETTLED
from loomwright.network.solve import Batch, start_at_rest

__all__ = ["LANES", "ready_for_lanes", "solve_lanes"]

LANES = 2048
"""States that are solved side by side [-]."""
_STEPS, _STEPS_OF_FEW, _FEW = 3, 5, 256
"""Newton steps a round, and how many where only few lanes are left, since then a round costs more than a step [-]."""
_FEWEST = 64
"""To leave lanes out below this gains nothing [-]."""
_ROUNDS = 8
"""Rounds after which a lie of the contacts counts as slow [-]."""
_KNEE_EDGE_V = 1e-6
_ROWS = 256
"""Answers are written for so many lanes at a time [-]."""


def ready_for_lanes(compiled: Compiled) -> Ready:
    """A network made ready for lanes once, to be given to `solve_lanes` as often as it is solved; by one at a time."""
    return Ready(compiled.arrays)


def solve_lanes(compiled: Compiled, values: type_i, start: type_b | None = None, ready: Ready | None = None) -> Batch:
    """Solve many states in plain numpy.

    Args:
        values: value index of each variable, one row a state. [-]
        start: devices to begin from, one row a state; default at rest.
        ready: of the same network; nothing in it changes the answer.
    """
    count = len(values)
    devices = start_at_rest(compiled, count) if start is None else start.copy()
    ready = ready or ready_for_lanes(compiled)
    nodes, elements = compiled.arrays.nodes + 1, len(compiled.arrays.a)
    found = Batch(
        values=values,
        v=np.empty((count, nodes)),
        floating=np.empty((count, nodes), np.uint8),
        devices=devices,
        buzz=np.empty(devices.shape, np.uint8),
        amps=np.empty((count, elements)),
        status=np.empty(count, np.uint8),
    )
    for first in range(0, count, LANES):
        here = slice(first, first + LANES)
        lanes = _solved(ready, values[here], devices[here])
        _write(ready.car, lanes, found, here)
    return found


def _write(car: Car, lanes: Lanes, found: Batch, here: slice) -> None:
    """Answers by node and element, one row a state."""
    step_of, count = car.arrays.step_of, lanes.v.shape[1]
    acts = acting(car, lanes, np.arange(count))
    for first in range(0, count, _ROWS):
        # few columns at a time: to turn the whole would fetch each line of the store again and again
        some = slice(first, min(first + _ROWS, count))
        rows = slice(here.start + first, here.start + some.stop)
        found.v[rows] = lanes.v[:, some].T[:, step_of]
        found.floating[rows] = lanes.floating[:, some].T[:, step_of]
        found.amps[rows] = _amps(car, lanes, some, acts).T
    found.devices[here], found.buzz[here], found.status[here] = lanes.devices.T, lanes.buzz.T, lanes.status


def _solved(ready: Ready, values: type_i, devices: type_b) -> Lanes:
    """Bring some states to rest."""
    car = ready.car
    lanes = begun(car.arrays, values, devices)
    slow = np.arange(len(values))
    if not (car.arrays.law[car.arrays.nonlinear] == Law.POWER).any():
        slow = _by_rounds(ready, lanes)
        again = begun(car.arrays, values[slow], devices[slow])
        lanes.devices[:, slow] = again.devices
    if len(slow):
        pass_by_pass(car, lanes, slow)
    return lanes


def _by_rounds(ready: Ready, lanes: Lanes) -> type_i:
    """Bring lanes to rest by rounds; those that do not come to rest so."""
    car = ready.car
    count, first = lanes.v.shape[1], car.arrays.first_live_step
    rounds = whole = rounds_begun(ready, lanes)
    going, fresh, slow = np.ones(count, bool), np.ones(count, bool), np.zeros(count, bool)
    tried = np.zeros(lanes.devices.shape, bool)
    passes, taken = np.zeros(count, np.int64), np.zeros(count, np.int64)
    history: list[type_b] = []
    while going.any():
        lane = rounds.lane
        acts = acting(car, lanes, lane)
        anew = np.flatnonzero(fresh[lane])
        if len(anew):
            lay_for(car, rounds, anew, acts[:, anew])
            taken[lane[anew]] = 0
        found = round_of(car, rounds, acts, _STEPS if going.sum() > _FEW else _STEPS_OF_FEW)
        taken[lane] += 1
        settled = found.doubt_v <= SETTLED_V
        off_v = np.where(settled, 0.0, OFF_OF_DOUBT * found.doubt_v)
        asked, sure = wanted(car, lanes, lane, acts, found.seen, off_v)
        sure &= settled | ((found.doubt_v < HASTY_V) & (found.edge_v > off_v + _KNEE_EDGE_V))
        moves = going[lane] & sure & (asked != np.take(lanes.devices, lane, axis=1)).any(axis=0)
        fresh[lane] = moves
        done = np.flatnonzero(settled & ~moves & going[lane])
        if len(done):
            done = _at_rest(car, lanes, lane, done, acts, found.seen, tried, fresh, passes)
            lanes.v[first:, lane[done]] = rounds.v[first:, done]
            going[lane[done]] = False
        moving = np.flatnonzero(moves)
        met = _move(lanes, lane[moving], asked[:, moving], passes, history)
        slow[lane[moving[met]]] = True
        slow |= going & ~fresh & (taken >= _ROUNDS)
        going &= ~slow
        rounds = _fewer(ready, rounds, going[lane])
    rest(car, whole, lanes, acting(car, lanes, np.arange(count)))
    return np.flatnonzero(slow)


def _fewer(ready: Ready, rounds: Rounds, going: type_bool) -> Rounds:
    """Only so many lanes as there is room for that holds those that are going; some that are done fill up."""
    count, needed = len(going), max(int(going.sum()), _FEWEST)
    while count * 3 // 4 >= needed:
        count = count * 3 // 4
    if count == len(going):
        return rounds
    return some_of(ready, rounds, np.sort(np.argsort(~going, kind="stable")[:count]))


def _at_rest(
    car: Car, lanes: Lanes, lane: type_i, columns: type_i, acts: type_bool, seen: type_f, tried: type_bool,
    fresh: type_bool, passes: type_i,
) -> type_i:  # fmt: skip
    """Try motors and fuses of some lanes whose relays rest; those where nothing changes are done."""
    again = stall(car, lanes, lane[columns], seen[:, columns], tried)
    rests = columns[~again]
    blown = blow(car, lanes, lane[rests], acts[:, rests], seen[:, rests])
    tried[:, lane[rests[blown]]] = False
    changed = lane[np.concatenate([columns[again], rests[blown]])]
    fresh[changed] = True
    passes[changed] = 0
    lanes.status[lane[rests[~blown]]] = SETTLED
    return rests[~blown]


def _move(lanes: Lanes, which: type_i, asked: type_b, passes: type_i, history: list[type_b]) -> type_bool:
    """Move the devices of some lanes; which of them lie as in a pass before, or have moved too often.

    Args:
        passes: of each lane, made since its relays last rested; counted on.
        history: how devices lay in each pass; added to.
    """
    now = passes[which]
    if not len(which):
        return np.zeros(0, bool)
    while len(history) <= now.max(initial=-1):
        history.append(np.full(lanes.devices.shape, FREE, np.uint8))
    for k in np.unique(now):
        mine = which[now == k]
        history[k][:, mine] = lanes.devices[:, mine]
    lanes.devices[:, which] = asked
    met = now + 1 >= PASSES
    for k, old in enumerate(history):
        met |= (now >= k) & (np.take(old, which, axis=1) == asked).all(axis=0)
    passes[which] = now + 1
    return met


def _amps(car: Car, lanes: Lanes, some: slice, acts: type_bool) -> type_f:
    """Current through every element of some lanes; none where an end floats. [A]"""
    arrays, elements = car.arrays, car.every.elements
    a, b = arrays.from_step[elements], arrays.to_step[elements]
    v, floating = lanes.v[:, some], lanes.floating[:, some]
    amps, _ = through(car, car.every, lanes.selected[:, some], acts[:, some], v[a] - v[b])
    amps[floating[a] | floating[b]] = 0.0
    return np.take(amps, car.every.place, axis=0)
