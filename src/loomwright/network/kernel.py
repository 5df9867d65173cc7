"""What are the volts of every node, with contacts and devices held as they are?

Newton's method on the element laws around the elimination of `elimination`, on what `held` has left. Every bent element
stands in as a line: its tangent, but for a diode that conducts the tangent where it carries the amps the line before
gave it, since its volts say little and its amps much; and where an element is dark, as a line through its working
point. Settled when the lines are so near the laws that the next step can move no node: amps that a line is off its law
by are put in between the element's own ends, whose slope lies beside all else, so they move no node by more than amps
over slope.

Where these quick steps go in circles, careful ones follow: tangents alone, and how far to go along a step is found by a
line search on (sum of currents) x (change of volts), which grows along the step for these laws.

It begins from no volts at all, whatever was solved before, so that the answer hangs on the lie of the contacts alone.

In: `Live`, which elements act, their rows of figures. Out: volts, floating flags, steps taken.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import ONE, Arrays, type_b, type_f, type_i
from loomwright.network.elimination import eliminate, mark_floating, spread, substitute
from loomwright.network.foreseen import BROKEN, HOLD, doubt_all, doubt_none, lines_hold
from loomwright.network.held import (
    ELEMENTS,
    END_A,
    END_B,
    LAW,
    LEFT,
    LIMIT,
    NEAR,
    ROW,
    SLOT,
    STRAIGHT,
    Held,
    Live,
    hold,
    room_to_hold,
)
from loomwright.network.laws import DIODE_BLOCKED, amps_of_row
from loomwright.network.lean import lean
from loomwright.network.lines import AMPS, AT, SETTLED_V, SLOPE, first_lines, next_lines
from loomwright.network.records import Law
from loomwright.network.senses import MOVES, UNSURE, Senses, want

__all__ = [
    "BLOCKED_A", "HASTY_V", "NEWTON_STEPS", "OFF_OF_DOUBT", "QUICK_STEPS", "Work", "newton", "room_to_work",
]  # fmt: skip

NEWTON_STEPS = 120
"""More than this and the state is named a collapse [-]."""
QUICK_STEPS = 12
"""Steps taken before the careful ones [-]."""
BLOCKED_A = 1e-9
"""A diode that carries less is blocked. [A]"""
HASTY_V = 0.1
"""Where the next step can move no node further than this the devices are asked whether they are sure to move. [V]"""
OFF_OF_DOUBT = 4.0
"""Volts between two points against what a node may move: two nodes, and as much again for all steps after [-]."""
DIODE = int(Law.DIODE)
_ATTEMPTS = 3
"""Solved again so often with what did not lie as foreseen taken as bent; then with all of it [-]."""
_AGAIN = -2
_LINE_TRIALS = 30
_KNEE_EDGE_V = 1e-6
_LINE_SHARE = 0.5


class Work(NamedTuple):
    """Room for Newton's method, made once for many states.

    edge, part, ref, inj, share: of what is left, see `elimination`.  v, change: its volts, and a careful step. [V]
    """

    held: Held
    edge: type_f
    part: type_f
    ref: type_f
    inj: type_f
    share: type_f
    v: type_f
    change: type_f
    floating: type_b
    line: type_f


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def room_to_work(net: Arrays) -> Work:
    """Room to solve a network in, used again from state to state."""
    count = net.nodes + 1 - net.first_live_step
    edges = net.base_edge.shape[1]
    return Work(
        room_to_hold(net), np.zeros(edges), np.zeros(edges), np.zeros(count), np.zeros(count), np.zeros(count),
        np.zeros(count), np.zeros(count), np.zeros(count, np.uint8), np.zeros((3, len(net.nonlinear))),
    )  # fmt: skip


@lean
def _put_in(work: Work) -> None:
    """Every bent element beside the straight part as its line, and all that is left eliminated."""
    held = work.held
    bent, line, counts = held.bent, work.line, held.counts
    edge, ref, inj = work.edge, work.ref, work.inj
    left_edge, left_ref, left_inj = held.left_edge, held.left_ref, held.left_inj
    left = counts[LEFT]
    for k in range(counts[NEAR]):
        edge[k] = left_edge[k]
    for k in range(left):
        ref[k] = left_ref[k]
        inj[k] = left_inj[k]
    for k in range(counts[ELEMENTS]):
        g = line[SLOPE, k]
        if g == 0.0:
            continue
        a, b, slot = bent[END_A, k], bent[END_B, k], bent[SLOT, k]
        if slot >= 0:
            edge[slot] += g
        else:
            ref[min(a, b)] += g
        over = line[AMPS, k] - g * line[AT, k]
        inj[a] -= over
        inj[b] += over
    eliminate(held.left, np.uint64(0), np.uint64(left), edge, work.part, ref, inj, work.share)


@lean
def _ask(count: int, bent: type_i, figures: type_f, v: type_f, d: type_f, t: float, line: type_f) -> float:
    """Tangents of the bent elements at v + t d; gives their (sum of currents) x (change of volts)."""
    total = 0.0
    for k in range(count):
        a, b = bent[END_A, k], bent[END_B, k]
        along = d[a] - d[b]
        at = v[a] - v[b] + t * along
        line[AT, k] = at
        line[AMPS, k], line[SLOPE, k] = amps_of_row(bent[LAW, k], figures, bent[ROW, k], at)
        total += line[AMPS, k] * along
    return total


@lean
def _line_of(held: Held, v: type_f, d: type_f) -> tuple[float, float]:
    """The straight part of (sum of currents) x (change of volts) along v + t d: at nothing, and its growth with t."""
    ptr, near, _, _ = held.left
    begin = 0.0
    growth = 0.0
    for step in range(held.counts[LEFT]):
        begin += (held.left_ref[step] * v[step] - held.left_inj[step]) * d[step]
        growth += held.left_ref[step] * d[step] * d[step]
        for k in range(ptr[step], ptr[step + 1]):
            c = held.left_edge[k]
            along = d[step] - d[near[k]]
            begin += c * (v[step] - v[near[k]]) * along
            growth += c * along * along
    return begin, growth


@lean
def _sure_of_diodes(count: int, bent: type_i, figures: type_f, v: type_f, off_v: float) -> bool:
    """Whether every diode will lead or block as it did in the step just taken, with volts across that far off. [V]"""
    for k in range(count):
        if bent[LAW, k] != DIODE:
            continue
        row = bent[ROW, k]
        past = v[bent[END_A, k]] - v[bent[END_B, k]] - figures[row, 0] - DIODE_BLOCKED * figures[row, 1]
        if abs(past) <= off_v + _KNEE_EDGE_V or (past > 0.0) != (bent[LIMIT, k] == 1):
            return False
    return True


@lean
def _spread(live: Live, work: Work, v: type_f, floating: type_b) -> None:
    """Volts of what is left and, from them, of every changeable step that was eliminated before; nothing where one
    floats."""
    held = work.held
    v[len(v) - 1] = 0.0
    floating[len(v) - 1] = 0
    for k in range(held.counts[LEFT]):
        step = held.left_step[k]
        v[step] = 0.0 if work.floating[k] else work.v[k]
        floating[step] = work.floating[k]
    spread(
        live.steps.ptr, live.steps.near, held.straight, np.uint64(held.counts[STRAIGHT]), held.part, held.ref,
        held.share, held.inj, v, floating,
    )  # fmt: skip


@lean
def _lines(live: Live, rows: type_i, work: Work, v: type_f, off_v: float, marks: bool) -> int:
    """Whether what was taken as straight is, see `foreseen`."""
    return lines_hold(
        work.held.foreseen, live.from_step, live.to_step, live.law, live.figures, rows, v, off_v, marks
    )  # fmt: skip


@lean
def _descend_quickly(
    live: Live, senses: Senses, rows: type_i, acts: type_b, may: type_b, lies: type_b, hasty: bool, work: Work,
    wanted: type_b, v: type_f, floating: type_b,
) -> tuple[int, float]:  # fmt: skip
    """Steps from no volts at all; how many, -1 where they did not settle, -2 where some element is not on the piece of
    its law it was taken to be on; the doubt left where devices move. [-, V]"""
    # taken out of the tuples once, since every array taken out is counted up and down
    own_v, line, part, inj, share = work.v, work.line, work.part, work.inj, work.share
    counts, bent, figures = work.held.counts, work.held.bent, live.figures
    ptr, near = work.held.left.ptr, work.held.left.near
    count, left = counts[ELEMENTS], np.uint64(counts[LEFT])
    for k in range(left + ONE):
        own_v[k] = 0.0
    first_lines(count, bent, figures, line)
    looked = False
    for taken in range(1, QUICK_STEPS + 1):
        _put_in(work)
        substitute(ptr, near, left, part, inj, share, own_v)
        doubt_v = next_lines(taken, count, bent, figures, own_v, line)
        if doubt_v <= SETTLED_V:
            return taken, 0.0
        off_v = OFF_OF_DOUBT * doubt_v
        if (hasty or not looked) and doubt_v < HASTY_V and _sure_of_diodes(count, bent, figures, own_v, off_v):
            mark_floating(ptr, near, left, part, work.ref, work.floating)
            _spread(live, work, v, floating)
            # the first look alone decides what is solved again, so that it hangs on nothing but what acts
            lines = _lines(live, rows, work, v, off_v, not looked)
            if lines == BROKEN and not looked:
                return _AGAIN, 0.0
            looked = True
            if hasty and lines == HOLD:
                moves = want(senses, may, rows, acts, v, off_v, lies, wanted)
                if moves == MOVES:
                    return taken, doubt_v
                hasty = moves == UNSURE
    return -1, 0.0


@lean
def _descend_carefully(figures: type_f, work: Work) -> int:
    """Steps with a line search from where the quick ones ended; how many, or -1 where they did not settle."""
    held, v, change, line = work.held, work.v, work.change, work.line
    count, left, bent = held.counts[ELEMENTS], held.counts[LEFT], held.bent
    change[: left + 1] = 0.0
    _ask(count, bent, figures, v, change, 0.0, line)
    for taken in range(QUICK_STEPS, NEWTON_STEPS):
        _put_in(work)
        for k in range(left):
            change[k] = v[k]
        substitute(held.left.ptr, held.left.near, np.uint64(left), work.part, work.inj, work.share, change)
        worst = 0.0
        for k in range(left):
            change[k] -= v[k]
            worst = max(worst, abs(change[k]))
        share = 1.0
        if worst > SETTLED_V:
            straight, growth = _line_of(held, v, change)
            bent_sum = 0.0
            for k in range(count):
                bent_sum += line[AMPS, k] * (change[bent[END_A, k]] - change[bent[END_B, k]])
            enough = _LINE_SHARE * abs(straight + bent_sum)
            low, high = 0.0, 1.0
            for trial in range(_LINE_TRIALS):
                now = straight + share * growth + _ask(count, bent, figures, v, change, share, line)
                if now <= enough and (trial == 0 or now >= -enough):
                    break
                if now > 0.0:
                    high = share
                else:
                    low = share
                share = 0.5 * (low + high)
        for k in range(left):
            v[k] += share * change[k]
        if worst <= SETTLED_V:
            return taken + 1
    return -1


@lean
def _float_behind_blocked(figures: type_f, work: Work) -> None:
    """A diode that carries nothing holds up nothing: what hangs on such diodes alone is marked as floating."""
    held, v, line = work.held, work.v, work.line
    bent, left = held.bent, held.counts[LEFT]
    marginal = False
    for k in range(held.counts[ELEMENTS]):
        if bent[LAW, k] == DIODE:
            # a diode just under its knee may have counted as a path in the last step, though it carries nothing now
            row = bent[ROW, k]
            across = v[bent[END_A, k]] - v[bent[END_B, k]]
            if across > figures[row, 0] + DIODE_BLOCKED * figures[row, 1] - _KNEE_EDGE_V:
                i, _ = amps_of_row(DIODE, figures, row, across)
                if abs(i) < BLOCKED_A:
                    line[SLOPE, k] = 0.0
                    marginal = True
            else:
                line[SLOPE, k] = 0.0
    if marginal:
        _put_in(work)
    mark_floating(held.left.ptr, held.left.near, np.uint64(left), work.part, work.ref, work.floating)


@lean
def newton(
    live: Live, senses: Senses, base_edge: type_f, base_ref: type_f, rows: type_i, acts: type_b, may: type_b,
    lies: type_b, hasty: bool, work: Work, wanted: type_b, v: type_f, floating: type_b,
) -> tuple[int, float]:  # fmt: skip
    """Bring `v` and `floating` to the operating point, contacts and devices held; steps done once a job are left out.

    Args:
        base_edge, base_ref: of the thermal row that applies.
        rows: row of figures for each element.
        acts: which elements act.
        may, lies: which devices may be on, and how they lie.
        hasty: where devices are sure to move, leave off before the volts are settled.
        work, wanted: room; nothing in it changes the answer.
        v: answer by step, nothing where one floats; the last entry is the reference. [V]
    Returns:
        Newton steps taken, or -1 where it did not settle (a collapse); and how far the next would still move a node,
        nothing where it settled. [-, V]
    """
    foreseen = work.held.foreseen
    doubt_none(live.nonlinear, foreseen)
    attempt = 0
    while True:
        attempt += 1
        hold(live, base_edge, base_ref, rows, acts, work.held)
        taken, doubt_v = _descend_quickly(live, senses, rows, acts, may, lies, hasty, work, wanted, v, floating)
        if doubt_v > 0.0:
            return taken, doubt_v
        if taken > 0:
            _float_behind_blocked(live.figures, work)
            _spread(live, work, v, floating)
            if _lines(live, rows, work, v, 0.0, True) == HOLD:
                return taken, 0.0
        elif taken > _AGAIN and foreseen.taken[0] == 0:
            break
        if attempt >= _ATTEMPTS or taken == -1:
            doubt_all(foreseen)
    taken = _descend_carefully(live.figures, work)
    _float_behind_blocked(live.figures, work)
    _spread(live, work, v, floating)
    return taken, 0.0
