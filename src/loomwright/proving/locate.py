"""Which fault explains what was read, and what should be read next?

Every single fault is solved in every state in which something was read. How well it explains a reading is a matter of
the meter's error and of how far the car's figures stray, with a share of readings that are simply wrong; how often such
faults are met decides between those that explain them equally well. Faults that no reading so far tells apart are told
as one group. The next reading is the one that is expected to tell most of those that are left apart, for its trouble.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from loomwright.job.conditions import Condition
from loomwright.job.rows import Reading
from loomwright.network.arrays import type_i
from loomwright.network.solve import Batch, before_of, values_of
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fault_table import FaultTable
from loomwright.proving.suspects import Suspect, fault_words, weight_of
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["AT_REST", "Located", "NextPoint", "SuspectGroup", "asked_of", "locate"]

Tell = Callable[[int, int], None]
AT_REST = "everything at rest"
_WRONG_FRAC = 0.004
_SPAN_V = 15.0
_STRAY_FRAC = 0.03
_STRAY_V = 0.08
_STRAY_A = 0.05
_GLOWS = ("dark", "dim", "full")
_ALIKE_V = 0.15
_KEPT_FRAC = 1e-6
_MOST_NEXT = 5
_STEPS_V = 0.6
_MOST_LIKELY = 400
_LEAST_BITS = 0.02
_TURN_BITS = 0.15
"""Trouble of one switch to be moved, against what a reading tells [bit]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectGroup:
    """Faults that the readings do not tell apart.

    odds: of all of them together. [-]   place: where to put a hand.
    """

    suspects: tuple[Suspect, ...]
    odds: float
    place: str

    @property
    def says(self) -> str:
        """The faults in words."""
        if any(one.kind == "none" for one in self.suspects):
            return fault_words("none")
        names = list(dict.fromkeys(one.says for one in self.suspects))
        return " or ".join(names[:6]) + (f" or one of {len(names) - 6} more" if len(names) > 6 else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class NextPoint:
    """A reading worth taking. when: the state.

    bits: what it is expected to tell. [-]
    worth: the same less the trouble of what has to be turned or moved first. [-]   expect_v: with no fault. [V]
    """

    point: str
    when: str
    bits: float
    worth: float
    expect_v: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """The answer. groups: most likely first.   next: readings that would tell them apart, best first.

    asked_again: readings that sit badly with every fault: to be taken again.   faults: how many were tried. [-]
    """

    groups: tuple[SuspectGroup, ...]
    next: tuple[NextPoint, ...]
    asked_again: tuple[Reading, ...]
    faults: int


def locate(scene: Scene, readings: Sequence[Reading], table: FaultTable, tell: Tell | None = None) -> Located:
    """Ranks every single fault by how well it explains the readings.

    Args:
        readings: volts, clamped amps or a test lamp at points of the job, each with the state it was read in.
        table: what every point reads with every fault (`fault_table`).
        tell: called with faults done and to do, where a reading was taken in a state of its own; may raise Stopped.
    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    probes = _probes(scene, readings)
    predicted = _predicted(scene, probes, table, tell)
    fit = np.array([[_log_fit(probe, value) for probe, value in zip(probes, row, strict=True)] for row in predicted])
    prior = np.log([_prior(suspect) for suspect in table.suspects])
    odds = _normal(prior + fit.sum(axis=1) if len(probes) else prior)
    return Located(
        groups=tuple(_groups(scene, table.suspects, odds, predicted)),
        next=tuple(_next(scene, table, odds, probes)),
        asked_again=_doubted(probes, fit),
        faults=len(table.suspects),
    )


def asked_of(scene: Scene, readings: Sequence[Reading]) -> None:
    """Refuses readings that cannot be meant.

    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    _probes(scene, readings)


def _doubted(probes: Sequence[_Probe], fit: NDArray[np.float64]) -> tuple[Reading, ...]:
    """Readings that sit badly with every fault."""
    return tuple(probe.reading for k, probe in enumerate(probes) if fit[:, k].max() < log(2 * _WRONG_FRAC))


def _predicted(scene: Scene, probes: Sequence[_Probe], table: FaultTable, tell: Tell | None) -> NDArray[np.float64]:
    """What each instrument shows with each fault: from the table, or solved where the table has it not."""
    found = np.zeros((len(table.suspects), len(probes)))
    apart = []
    for k, probe in enumerate(probes):
        state = table.state_at(probe.state)
        if state >= 0 and probe.element < 0:
            volts = table.volts(state)
            found[:, k] = volts[:, probe.a] - volts[:, probe.b]
        else:
            apart.append(k)
    if apart:
        own = [probes[k] for k in apart]
        meters = [(probe.a, probe.b, constant("meter_volts_ohm")) for probe in own if probe.element < 0]
        bench = bench_of(scene, table.suspects, list(dict.fromkeys(meters)))
        states, before, state_of = _states(scene, own)
        for row, batch in enumerate(bench.solved(table.suspects, states, before, tell)):
            found[row, apart] = [_shown(probe, batch, state) for probe, state in zip(own, state_of, strict=True)]
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Probe:
    reading: Reading
    a: int
    b: int
    element: int
    state: Mapping[str, str]
    values: type_i


def _probes(scene: Scene, readings: Sequence[Reading]) -> list[_Probe]:
    problems: list[Problem] = []
    found = []
    for number, reading in enumerate(readings, start=2):
        try:
            found.append(_probe(scene, reading))
        except OutOfReach as fault:
            problems.append(
                Problem(
                    sheet="readings",
                    row=number,
                    column=fault.name,
                    found=str(fault.found),
                    allowed=fault.allowed,
                    mend="Name the point as the sheets do, and the car as it stood",
                )
            )
    if problems:
        raise BadDocument(tuple(problems))
    return found


def _probe(scene: Scene, reading: Reading) -> _Probe:
    if reading.measure not in ("volts", "clamp", "lamp"):
        raise OutOfReach("measure", reading.measure, "volts, clamp, lamp: a fault is sought with the car live")
    if reading.value is None:
        raise OutOfReach("value", "", "what was read")
    element = -1
    if reading.measure == "clamp":
        known = scene.compiled.elements_of
        if reading.point not in known:
            raise OutOfReach("point", reading.point, "the wire the clamp was round")
        element = known[reading.point][0]
        a = b = 0
    else:
        a, b = _node(scene, reading.point), _node(scene, reading.to) if reading.to else _post(scene)
    state = _state(reading.when)
    values = values_of(scene.compiled, state)
    return _Probe(reading=reading, a=a, b=b, element=element, state=state, values=values)


def _node(scene: Scene, point: str) -> int:
    name = scene.point(point)
    if name not in scene.compiled.node_of:
        raise OutOfReach("point", point, "a point of the job: part.terminal, or a metal")
    return scene.compiled.node_of[name]


def _post(scene: Scene) -> int:
    return scene.compiled.arrays.nodes


def _state(when: Condition) -> dict[str, str]:
    """The state a reading was taken in: each variable at the one value its condition names."""
    found: dict[str, str] = {}
    for term in when.terms:
        if len(term.values) != 1 or term.op != "=":
            raise OutOfReach("when", when.text, "one value for each variable: key=run, light=head")
        found[term.variable] = term.values[0]
    return found


def _states(scene: Scene, probes: Sequence[_Probe]) -> tuple[type_i, type_i | None, list[int]]:
    """The distinct states of the readings, what they are come from, and which of them each reading was taken in."""
    if not probes:
        rest = values_of(scene.compiled, {})
        return rest[None, :], None, []
    states, which = np.unique(np.array([probe.values for probe in probes]), axis=0, return_inverse=True)
    earlier = [before_of(scene.compiled, values) for values in states]
    before = None
    if any(one is not None for one in earlier):
        before = np.array([values if one is None else one for values, one in zip(states, earlier, strict=True)])
    return states, before, [int(k) for k in which.reshape(-1)]


def _shown(probe: _Probe, batch: Batch, state: int) -> float:
    """What the instrument shows: volts, amps, or how far the lamp glows. [V, A]"""
    if probe.element >= 0:
        return float(batch.amps[state, probe.element])
    return float(batch.v[state, probe.a] - batch.v[state, probe.b])


def _log_fit(probe: _Probe, shown: float) -> float:
    """How well a predicted figure goes with what was read: a share of readings is wrong, whatever the fault. [-]"""
    reading = probe.reading
    if reading.measure == "lamp":
        glow = "full" if abs(shown) > 0.7 * 12.0 else "dim" if abs(shown) > 2.0 else "dark"
        right = 1.0 if glow == reading.value else 0.05
        return log(_WRONG_FRAC + (1.0 - _WRONG_FRAC) * right)
    read = float(reading.value) if isinstance(reading.value, int | float) else 0.0
    if probe.element >= 0:
        sigma, span = _STRAY_A + _STRAY_FRAC * 2 * abs(shown), 50.0
        read, shown = abs(read), abs(shown)
    else:
        sigma, span = _STRAY_V + _STRAY_FRAC * abs(shown), _SPAN_V
    z = (read - shown) / sigma
    density = exp(-0.5 * min(z * z, 200.0)) / (sigma * 2.5066)
    return log(_WRONG_FRAC / span + (1.0 - _WRONG_FRAC) * density)


def _prior(suspect: Suspect) -> float:
    """How likely a fault is before anything was read; a joint's share goes to the levels it is tried at."""
    weight = weight_of(suspect.kind)
    return weight / 3.0 if suspect.kind == "resistance" else weight


def _normal(log_odds: NDArray[np.float64]) -> NDArray[np.float64]:
    found = np.exp(log_odds - log_odds.max())
    return np.asarray(found / found.sum())


def _groups(
    scene: Scene, suspects: Sequence[Suspect], odds: NDArray[np.float64], predicted: NDArray[np.float64]
) -> list[SuspectGroup]:
    """Faults whose predictions for every reading are alike, together; most likely first."""
    order = [int(k) for k in np.argsort(-odds) if odds[k] > _KEPT_FRAC]
    groups: list[list[int]] = []
    for k in order:
        for group in groups:
            if _alike(predicted[k], predicted[group[0]]):
                group.append(k)
                break
        else:
            groups.append([k])
    told = [
        SuspectGroup(
            suspects=tuple(suspects[k] for k in group),
            odds=float(sum(odds[k] for k in group)),
            place=_place(scene, suspects[group[0]]),
        )
        for group in groups
    ]
    return sorted(told, key=lambda one: -one.odds)


def _alike(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    return bool(np.all(np.abs(one - other) <= _ALIKE_V + 0.02 * np.abs(one)))


def _place(scene: Scene, suspect: Suspect) -> str:
    """Where on the car to put a hand."""
    if not suspect.at:
        return ""
    wire = scene.wires.get(suspect.at[0])
    ends = (wire.from_, wire.to) if wire is not None else (suspect.at[0],)
    names = {place.id: place.name or place.id for place in scene.job.places}
    parts = [scene.parts.get(end.split(".")[0]) for end in ends]
    found = [names.get(part.place or "", part.place or "") for part in parts if part is not None]
    return " to ".join(dict.fromkeys(name for name in found if name))


def _next(scene: Scene, table: FaultTable, odds: NDArray[np.float64], probes: Sequence[_Probe]) -> list[NextPoint]:
    """The points whose volts tell most of the faults that are left apart, the less the car has to be changed for it."""
    read = {(probe.a, table.state_at(probe.state)) for probe in probes if probe.element < 0}
    now: Mapping[str, str] = probes[-1].state if probes else {}
    order = np.argsort(-odds)
    likely = order[: min(_MOST_LIKELY, int((odds > _KEPT_FRAC).sum()))]
    weights = odds[likely] / odds[likely].sum()
    names = {scene.compiled.node_of[name]: name for name in _reachable(scene)}
    nodes = np.array(sorted(names))
    found: list[NextPoint] = []
    for s in range(len(table.states)):
        volts, away = table.volts(s), table.away(s)
        bits = _bits(np.round(volts[np.ix_(likely, nodes)] / _STEPS_V).astype(np.int64), weights)
        trouble = _TURN_BITS * sum(away.get(name) != now.get(name) for name in {*away, *now})
        when = ", ".join(f"{name}={value}" for name, value in away.items()) or AT_REST
        for k in np.argsort(-bits)[:_MOST_NEXT]:
            node = int(nodes[k])
            if (node, s) not in read and bits[k] > _LEAST_BITS:
                told, expect_v = float(bits[k]), float(volts[0, node])
                found.append(
                    NextPoint(point=names[node], when=when, bits=told, worth=told - trouble, expect_v=expect_v)
                )
    return sorted(found, key=lambda one: (-one.worth, one.point))[:_MOST_NEXT]


def _bits(shown: NDArray[np.int64], weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """How many bits each column tells: the entropy of what it shows, the rows weighted. [bit]"""
    order = np.argsort(shown, axis=0, kind="stable")
    ordered = np.take_along_axis(shown, order, axis=0)
    weight = weights[order]
    total = np.cumsum(weight, axis=0)
    last = np.ones_like(ordered, bool)
    last[:-1] = ordered[:-1] != ordered[1:]
    bits = np.zeros(shown.shape[1])
    for column in range(shown.shape[1]):
        shares = np.diff(total[last[:, column], column], prepend=0.0)
        shares = shares[shares > 0.0]
        bits[column] = -(shares * np.log2(shares)).sum()
    return bits


def _reachable(scene: Scene) -> list[str]:
    """The points a person can put a probe to: terminals of parts, no splice inside the loom, no inside of a part."""
    hidden = {part for part, row in scene.parts.items() if row.kind == "splice"}
    names = [name for name in scene.compiled.node_of if "._" not in name and not name.startswith("~")]
    return [name for name in names if name.split(".")[0] not in hidden]
