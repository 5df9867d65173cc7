"""As which lines do the bent elements of many states stand in for the next step, side by side?

The rules of `lines` in plain numpy: tangents, but for a diode that conducts and an element that is dark. A line holds
until it is laid anew, so elements whose lines hardly change may be left as they are for some steps.

In: volts, elements, the lines before. Out: lines, how far the step after may still move a node, and how far the
nearest diode is from leading where its line blocks or the other way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.kernel import BLOCKED_A
from loomwright.network.lane_elimination import Calls, run
from loomwright.network.lane_laws import Laid, LawGroup, amps_and_slopes, by_law, law_groups
from loomwright.network.lane_order import LaneOrder
from loomwright.network.laws import DIODE_BLOCKED, DIODE_START, FLAT
from loomwright.network.lines import NOMINAL_V, ROUNDING, SETTLED_V
from loomwright.network.records import Law

__all__ = [
    "Curved", "Lines", "across", "curved_of", "first_lines", "leave_idle", "next_lines", "over", "put_in", "puts",
    "tangents",
]  # fmt: skip

_STRAIGHT_KNEES = 30.0
_LEAST_SIEMENS = 1e-30
_UNSURE_V = 1e-6
"""Doubt where a diode that carries nothing still counted as a path. [V]"""

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Curved:
    """Bent elements, law by law, and where they stand.

    a, b: their ends.  to, out_of, into: lines of their slope, and of the currents injected at their ends.
    watched: those beside nodes that devices look at and that may float.
    """

    elements: type_i
    groups: tuple[LawGroup, ...]
    a: type_i
    b: type_i
    to: type_i
    out_of: type_i
    into: type_i
    watched: type_bool


@dataclass(slots=True, eq=False)
class Lines:
    """Each bent element as a line: amps and slope, and the volts they are those of.  limit: which of its limits each
    clamp is beyond."""

    amps: type_f
    slope: type_f
    at: type_f
    limit: NDArray[np.int8]

    def of(self, lanes: type_i) -> Lines:
        """Some of the lanes."""
        amps, slope, at = (np.take(own, lanes, axis=1) for own in (self.amps, self.slope, self.at))
        return Lines(amps, slope, at, self.limit[:, lanes])


def curved_of(arrays: Arrays, order: LaneOrder, elements: type_i, watched: type_i) -> Curved:
    """Some bent elements of a network; those at the watched nodes are watched."""
    elements = by_law(arrays, elements)
    a, b = arrays.from_step[elements], arrays.to_step[elements]
    return Curved(
        elements=elements,
        groups=law_groups(arrays, elements),
        a=a,
        b=b,
        to=order.lines_between(a, b),
        out_of=order.ref_line[a] + 1,
        into=order.ref_line[b] + 1,
        watched=np.isin(a, watched) | np.isin(b, watched),
    )


def across(curved: Curved, v: type_f) -> type_f:
    """Volts across. [V]"""
    found = np.take(v, curved.a, axis=0)
    found -= np.take(v, curved.b, axis=0)
    return found


def first_lines(groups: tuple[Laid, ...], acts: type_bool) -> Lines:
    """Lines at no volts, see `lines`."""
    at = np.zeros(acts.shape)
    amps, slope = amps_and_slopes(groups, at)
    for group in groups:
        p, mine = group.p, group.lines
        if group.law == Law.LAMP:
            amps[mine], slope[mine] = 0.0, p[1] / p[0]
        elif group.law == Law.CLAMP:
            amps[mine], slope[mine] = -p[0] * p[1], p[0]
        elif group.law == Law.CURRENT:
            amps[mine], slope[mine] = 0.0, p[0] / np.maximum(p[1], NOMINAL_V)
        elif group.law == Law.MOTOR:
            amps[mine], slope[mine] = 0.0, p[0] * np.maximum(NOMINAL_V - p[1], p[1]) / NOMINAL_V
    amps *= acts
    slope *= acts
    return Lines(amps, slope, at, np.zeros(acts.shape, np.int8))


def tangents(groups: tuple[Laid, ...], acts: type_bool, at: type_f) -> Lines:
    """Tangents at some volts across."""
    amps, slope = amps_and_slopes(groups, at)
    leave_idle(groups, acts, amps, slope)
    return Lines(amps, slope, at, np.zeros(at.shape, np.int8))


def leave_idle(groups: tuple[Laid, ...], acts: type_bool, amps: type_f, slope: type_f) -> None:
    """Nothing through those that do not act."""
    for group in groups:
        for k in group.gated:
            np.multiply(amps[k], acts[k], out=amps[k])
            np.multiply(slope[k], acts[k], out=slope[k])


def next_lines(
    groups: tuple[Laid, ...],
    acts: type_bool,
    lines: Lines,
    at: type_f,
    *,
    begun: bool,
    idle: bool,
    watched: type_bool | None = None,
) -> tuple[type_f, type_f]:
    """Lay every line anew for some volts across, see `lines`.

    Args:
        begun: after the first step from no volts.
        idle: a lamp that nothing feeds keeps the line it has.
        watched: diodes of which it is asked what hangs on them.
    Returns:
        How far the step after may still move a node, lane by lane; volts between the nearest diode and its edge,
        nothing where one is past it. [V]
    """
    had = at - lines.at
    had *= lines.slope
    had += lines.amps
    amps, slope = amps_and_slopes(groups, at)
    leave_idle(groups, acts, amps, slope)
    missed = amps - had
    np.abs(missed, out=missed)
    work = np.abs(amps)
    work *= ROUNDING
    missed -= work
    np.maximum(missed, 0.0, out=missed)
    # where a diode now blocks, its line still leads beside what it is off
    np.add(lines.slope, _LEAST_SIEMENS, out=work)
    np.copyto(work, slope, where=slope > 0.0)
    missed /= work
    doubt_v: type_f = np.add.reduce(missed, axis=0)
    edge_v, astray = np.full(at.shape[1], np.inf), np.zeros(at.shape[1], bool)
    for group in groups:
        p, mine = group.p, group.lines
        if group.law == Law.DIODE:
            past = at[mine] - (p[0] + DIODE_BLOCKED * p[1])
            led = lines.slope[mine] > 0.0
            nearest = np.where(led, past, -past)
            nearest[~acts[mine]] = np.inf
            np.minimum(edge_v, nearest.min(axis=0, initial=np.inf), out=edge_v)
            idles = led & (np.abs(amps[mine]) < BLOCKED_A) & (np.abs(had[mine]) < BLOCKED_A)
            _at_its_amps(p, had[mine], led, at[mine], amps[mine], slope[mine])
            if watched is not None and (idles := idles & watched[mine, None]).any():
                # it is no path, though its line was one: only the next step tells what hangs on nothing else
                np.copyto(amps[mine], 0.0, where=idles)
                np.copyto(slope[mine], 0.0, where=idles)
                doubt_v[idles.any(axis=0)] += _UNSURE_V
        elif group.law == Law.LAMP and idle:
            dark = (np.abs(at[mine]) < SETTLED_V) & (lines.at[mine] == 0.0)
            np.copyto(amps[mine], had[mine], where=dark)
            np.copyto(slope[mine], lines.slope[mine], where=dark)
            np.copyto(at[mine], 0.0, where=dark)
            _cold(p, acts[mine], lines.at[mine], at[mine], amps[mine], slope[mine])
        elif group.law in (Law.CURRENT, Law.MOTOR) and idle:
            _low(group.law, p, acts[mine], lines.at[mine], at[mine], amps[mine], slope[mine])
        elif group.law == Law.LAMP:
            _cold(p, acts[mine], lines.at[mine], at[mine], amps[mine], slope[mine])
        elif group.law == Law.CLAMP:
            between = (at[mine] - p[1]) * p[0]
            now = (between > p[3]).astype(np.int8) - (between < p[2])
            jumps = acts[mine] & (begun | (now * lines.limit[mine] == -1))
            if jumps.any():
                amps[mine] = np.where(jumps, between, amps[mine])
                slope[mine] = np.where(jumps, p[0], slope[mine])
                now[jumps] = 0
                astray |= jumps.any(axis=0)
            lines.limit[mine] = now
    if idle and astray.any():
        # volts at which a clamp is past both its limits say nothing of the diodes beside it
        for mine in (group.lines for group in groups if group.law == Law.DIODE):
            for own, had_own in ((amps, lines.amps), (slope, lines.slope), (at, lines.at)):
                np.copyto(own[mine], had_own[mine], where=astray)
    lines.amps, lines.slope, lines.at = amps, slope, at
    return doubt_v, edge_v


def _cold(p: type_f, acts: type_bool, had_at: type_f, at: type_f, amps: type_f, slope: type_f) -> None:
    """Lamps whose volts turned, as cold resistors: steps along the law beside nothing would go to and fro."""
    turned = at * had_at < 0.0
    if turned.any():
        amps[:] = np.where(turned, acts * (at / p[2]), amps)
        slope[:] = np.where(turned, acts * (1.0 / p[2]), slope)


def _low(law: int, p: type_f, acts: type_bool, had_at: type_f, at: type_f, amps: type_f, slope: type_f) -> None:
    """Electronics and motors whose volts turned, on the piece of their law about nothing, for the same reason."""
    turned = at * had_at < 0.0
    if turned.any():
        own = p[0] * FLAT if law == Law.MOTOR else p[0] / p[1]
        amps[:] = np.where(turned, acts * (at * own), amps)
        slope[:] = np.where(turned, acts * own, slope)
        at[turned] = 0.0
        amps[turned] = 0.0


def _at_its_amps(p: type_f, had: type_f, led: type_bool, at: type_f, amps: type_f, slope: type_f) -> None:
    """Tangents of diodes that conduct, where they carry what their line gave them."""
    leads = np.nonzero(led & (slope > 0.0))
    if not len(leads[0]):
        return
    forward_v, knee_v, siemens = (np.broadcast_to(figure, at.shape)[leads] for figure in p[:3])
    carried = np.maximum(had[leads], 0.0)
    knees = carried / (knee_v * siemens) + DIODE_START
    soft = knees < _STRAIGHT_KNEES
    leads = (leads[0][soft], leads[1][soft])
    e = np.expm1(knees[soft])
    at[leads] = forward_v[soft] + knee_v[soft] * np.log(e)
    amps[leads] = carried[soft]
    slope[leads] = siemens[soft] * e / (1.0 + e)


def puts(curved: Curved, slopes: type_f, overs: type_f, mesh: type_f, top: int) -> Calls:
    """The calls that put every bent element in beside what is there.

    Args:
        slopes, overs: of its line, and the amps it has at no volts. [S, A]
        mesh: lines of the elimination from `top` on, written in place.
    """
    calls: Calls = []
    for k, (line, a, b) in enumerate(zip(curved.to - top, curved.out_of - top, curved.into - top, strict=True)):
        calls += (np.add, mesh[line], slopes[k], mesh[line])
        calls += (np.subtract, mesh[a], overs[k], mesh[a])
        calls += (np.add, mesh[b], overs[k], mesh[b])
    return calls


def over(lines: Lines, out: type_f) -> type_f:
    """The amps each line has at no volts. [A]"""
    np.multiply(lines.slope, lines.at, out=out)
    np.subtract(lines.amps, out, out=out)
    return out


def put_in(curved: Curved, lines: Lines, mesh: type_f, top: int) -> None:
    """Every bent element as its line beside what is there, see `puts`."""
    run(puts(curved, lines.slope, over(lines, np.empty(lines.slope.shape)), mesh, top))
