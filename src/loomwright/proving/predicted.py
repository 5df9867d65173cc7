"""What would each instrument have shown with each fault, as the car stood when it was read?

From the table where it holds the state; else solved, with what was off. Where the battery was through a lamp, a wire
that touches is solved near either end as well: the lamp's 1.8 A flow in it as far as the place where it touches, so a
drop of millivolts is more or less by that, and nobody knows the place. The one that goes best with all readings through
the lamp is taken, straight between those that are solved: amps are the lamp's wherever it touches, ohms go with length.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.solve import Batch
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fault_table import FaultTable, before_all
from loomwright.proving.fitting import HALF_WAY, Probe, ReadAs, decades, fits
from loomwright.proving.ohms_read import ohms_shown
from loomwright.proving.put_off import LAMP, put_off
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["predicted"]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
Columns = dict[ReadAs, Figures]
_OUT_OF_QUESTION = 14.0
"""A fault with two readings against it, this much less likely than the best, is not solved for the others: e to the
power of [-]."""
_ALONG = (0.1, HALF_WAY, 0.9)
"""How far along it a wire is tried that touches [0..1]."""
_TRIED = np.linspace(_ALONG[0], _ALONG[-1], 17)


def predicted(
    scene: Scene,
    probes: Sequence[Probe],
    table: FaultTable,
    tell: Tell | None = None,
    kept: Columns | None = None,
) -> tuple[Figures, Figures]:
    """What each instrument shows with each fault, [V, A; `decades` of ohms], and how far along a wire touches. [0..1]

    Args:
        tell: called with faults done and to do, where a reading has a state of its own; may raise Stopped.
        kept: what was solved for earlier readings of the same faults, added to.
    """
    found = np.zeros((len(table.suspects), len(probes)))
    known, apart = _from_table(probes, table, found)
    columns = {} if kept is None else kept
    along = np.full(len(table.suspects), HALF_WAY)
    lamped: list[int] = []
    for some in apart.values():
        alive = _alive(probes, found, known)
        at = _ALONG if LAMP in probes[some[0]].off else (HALF_WAY,)
        _solve_apart(scene, [probes[k] for k in some], table.suspects, alive, at, columns, tell)
        for k in some:
            found[:, k] = _nothing_changed(columns[probes[k].read_as], alive)
        known += some
        if len(at) > 1:
            lamped += some
            _best_along([probes[k] for k in lamped], columns, found, lamped, along)
    for k in (k for k, probe in enumerate(probes) if probe.is_ohms):
        alive = _alive(probes, found, known)
        column = columns.setdefault(probes[k].read_as, np.full(len(table.suspects), np.nan))
        new = alive[np.isnan(column[alive])]
        column[new] = decades(ohms_shown(scene, probes[k], [table.suspects[int(row)] for row in new], tell))
        found[:, k] = _nothing_changed(column, alive)
        known.append(k)
    return found, along


def _from_table(
    probes: Sequence[Probe], table: FaultTable, found: Figures
) -> tuple[list[int], dict[tuple[str, ...], list[int]]]:
    """Puts in the readings in states of the table; which they are, and the others with figures by what is off. [-]"""
    every = np.arange(len(table.suspects))
    apart: dict[tuple[str, ...], list[int]] = {}
    known: list[int] = []
    for k, probe in enumerate(probes):
        if probe.is_ohms:
            continue
        state = table.state_at(probe.state)
        if state < 0 or probe.off:
            apart.setdefault(tuple(sorted(probe.off)), []).append(k)
            continue
        known.append(k)
        if probe.clamped:
            sides = table.amps_of(every, state), table.second_amps_of(every, state)
            for element, second, sign in probe.clamped:
                found[:, k] += sign * sides[second][:, np.flatnonzero(table.wires == element)].sum(axis=1)
        else:
            found[:, k] = np.subtract(*table.volts_of(every, state, np.array([probe.a, probe.b])).T)
    return known, apart


def _nothing_changed(column: Figures, alive: type_i) -> Figures:
    """A column in which faults that are out of the question already are taken to change nothing."""
    return np.where(np.isnan(column), column[alive[0]], column)


def _best_along(
    probes: Sequence[Probe], columns: Columns, found: Figures, which: Sequence[int], along: Figures
) -> None:
    """Put in what is shown where a wire touches at the place along it that goes best with all these readings.

    Args:
        which: the columns of `found` that the probes are. [-]
    """
    solved = np.stack([[columns[_touching_at(probe, at)] for probe in probes] for at in _ALONG])
    rows = np.flatnonzero(~np.isnan(solved).any(axis=(0, 1)))
    if not len(rows):
        return
    best = np.full(len(rows), -np.inf)
    for part in _TRIED:
        low = min(int(np.searchsorted(_ALONG, part, side="right")) - 1, len(_ALONG) - 2)
        share = (part - _ALONG[low]) / (_ALONG[low + 1] - _ALONG[low])
        shown = (1.0 - share) * solved[low][:, rows] + share * solved[low + 1][:, rows]
        told = np.asarray(sum(fits(probe, shown[n]) for n, probe in enumerate(probes)))
        better = told > best
        best[better], along[rows[better]] = told[better], part
        found[rows[better][:, None], np.array(which)] = shown[:, better].T


def _touching_at(probe: Probe, part: float) -> ReadAs:
    """The reading, a wire touching that far along it."""
    return (*probe.read_as[:-1], part)


def _solve_apart(
    scene: Scene,
    probes: Sequence[Probe],
    suspects: Sequence[Suspect],
    alive: type_i,
    at: Sequence[float],
    columns: Columns,
    tell: Tell | None,
) -> None:
    """What some faults show at readings with the same things off; put into the columns.

    Args:
        alive: the faults that are wanted. [-]
        at: how far along them wires touch. [0..1]
    """
    names = {part: [_touching_at(probe, part) for probe in probes] for part in at}
    wanted: list[tuple[int, float, Suspect]] = []
    for part in at:
        for name in names[part]:
            columns.setdefault(name, np.full(len(suspects), np.nan))
        new = np.isnan([columns[name][alive] for name in names[part]]).any(axis=0)
        some = [(int(row), suspects[int(row)]) for row in alive[new]]
        if part == HALF_WAY:
            wanted += [(row, part, one) for row, one in some]
        else:
            wanted += [(row, part, replace(one, along_frac=part)) for row, one in some if one.along >= 0]
    if not wanted:
        return
    some_suspects = [one for _, _, one in wanted]
    # one meter of the table's at every point, so that a loose end reads nothing
    post = scene.compiled.arrays.nodes
    meters = [(node, post, constant("meter_volts_ohm")) for node in range(post)]
    bench = bench_of(scene, some_suspects, meters, along=True)
    states, which = np.unique(np.array([probe.values for probe in probes]), axis=0, return_inverse=True)
    before, put = before_all(scene, states), put_off(scene, probes[0].off)
    come = None if (before == states).all() else before
    state_of = [int(row) for row in which.reshape(-1)]
    for (row, part, suspect), batch in zip(wanted, bench.solved(some_suspects, states, come, tell, put), strict=True):
        lost = bench.lost_a(suspect, batch)
        for probe, state, name in zip(probes, state_of, names[part], strict=True):
            columns[name][row] = _shown(probe, batch, state, lost)


def _shown(probe: Probe, batch: Batch, state: int, lost: Sequence[tuple[int, Figures]]) -> float:
    """What the instrument shows: volts, amps, or how far the lamp glows. [V, A]"""
    if probe.clamped:
        more = dict(lost)
        return float(
            sum(
                sign * (batch.amps[state, k] + (more[k][state] if second and k in more else 0.0))
                for k, second, sign in probe.clamped
            )
        )
    return float(batch.v[state, probe.a] - batch.v[state, probe.b])


def _alive(probes: Sequence[Probe], shown: Figures, known: Sequence[int]) -> type_i:
    """The faults that are not out of the question by some readings; the sound car first. [-]"""
    told = np.zeros(len(shown))
    for k in known:
        told += fits(probes[k], shown[:, k])
    told[0] = told.max()
    return np.flatnonzero(told >= told.max() - _OUT_OF_QUESTION)
