"""On which ways must the wires that are to be decided not lose too many volts?

A *line* is one way in one state and what may be lost on it: the way of a load's current there and back, in each of the
plainest states in which it is on by itself (the question of DRP-1); or the way that brings a point the volts that the
job itself requires there (`>= 9 V`, `live`), or takes a current from a point that must not stand above so much
(`<= 0.1 V`, `dead`), or from its earth where it carries none, in the states that its condition asks for. What is lost
on a line is the sum over its pieces; what a requirement allows is what is lost now and what is left.

Only lines that pass a wire to be decided are kept. Not looked at: requirements about the state before, another battery
or a plug that is off.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from loomwright.job.rows import Requirement
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.own_states import OwnStates
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.paths.conduction import Conduction
from loomwright.states.paths.current_path import bringing, taking
from loomwright.states.paths.drop_paths import DropPath, own_drop_paths
from loomwright.states.rules.requirement_reading import Asked, ready
from loomwright.tables.constants import constant

__all__ = ["Line", "Lost", "drop_lines", "lost_on", "requirement_lines"]

_STATES_MOST = 256
_LINES_MOST = 6
"""Lines kept of one requirement: its worst states [-]."""
_SPARE_V = 2.0
"""Volts that must be there and have more to spare with the thinnest wires are not asked further. [V]"""
_SPARE_FRAC = 0.5
"""The same of volts that must not be there, as a share of the most there may be. [0..1]"""
_MOMENTS = (("off", "stopped"), ("run", "stopped"), ("start", "stopped"), ("run", "idle"), ("run", "running"))
_NEAR_V = 0.2
"""States that are no more than this better than the worst are kept. [V]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """One way in one state, and what may be lost on it.

    at: the part of the load, or the id of the requirement. point: of a requirement. values: the state.
    pieces: elements that lose volts. limit_v: of a drop; of a requirement the volts required. [V]
    node: whose volts are required; -1 for a drop. least: at least so much is required, else at most.
    source: of the limit.
    """

    at: str
    values: type_i
    pieces: tuple[int, ...]
    limit_v: float
    node: int = -1
    least: bool = True
    point: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """What is lost on a line in one network.

    each_v: by its pieces. [V]   each_a: what flows through them. [A]   left_v: to its limit; below nothing: broken. [V]
    """

    each_v: tuple[float, ...]
    each_a: tuple[float, ...]
    left_v: float

    @property
    def allowed_v(self) -> float:
        """What may be lost. [V]"""
        return sum(self.each_v) + self.left_v


def drop_lines(scene: Scene, conduction: Conduction, own: OwnStates, wires: Collection[str]) -> tuple[Line, ...]:
    """The ways of all loads, and of charging, that pass any of the wires.

    Args:
        own: states in which each load is on by itself, solved once for whoever asks.
    """
    asked = {scene.compiled.elements_of[name][0] for name in wires if name in scene.compiled.elements_of}
    paths = own_drop_paths(scene, conduction, own)
    return tuple(_of_drop(path) for path in paths if not asked.isdisjoint(path.pieces))


def requirement_lines(scene: Scene, conduction: Conduction, wires: Collection[str]) -> tuple[Line, ...]:
    """The ways on which the volts hang that the job requires, where they pass any of the wires."""
    asked = {scene.compiled.elements_of[name][0] for name in wires if name in scene.compiled.elements_of}
    found: list[Line] = []
    for row in scene.job.requirements if asked else ():
        required = _required_v(scene, row)
        node = scene.compiled.node_of.get(scene.point(row.point), -1)
        if required is None or node < 0 or any(_is_special(row, term.variable) for term in row.when.terms):
            continue
        reading = ready(scene, row)
        look = tuple(_lines(scene, conduction, row, required, node, _plain_states(scene, reading), reading))
        enough_v = _SPARE_V if required[1] else _SPARE_FRAC * required[0]
        if any(not asked.isdisjoint(line.pieces) and spare_v < enough_v for line, spare_v in look):
            states = _deciding_states(scene, reading, node)
            lines = _lines(scene, conduction, row, required, node, states, reading)
            found.extend(line for line, _ in lines if not asked.isdisjoint(line.pieces))
    return tuple(found)


def lost_on(compiled: Compiled, lines: Sequence[Line]) -> tuple[Lost, ...]:
    """What is lost on each line in a network.

    Args:
        compiled: the network, its elements numbered as those of the lines.
    """
    if not lines:
        return ()
    states, which = np.unique(np.stack([line.values for line in lines]), axis=0, return_inverse=True)
    answers = answers_of(compiled, states)
    return tuple(_lost(answers, int(row), line) for row, line in zip(which.reshape(-1), lines, strict=True))


def _lost(answers: Answers, row: int, line: Line) -> Lost:
    arrays, volts = answers.compiled.arrays, answers.batch.v[row]
    each_v = tuple(abs(float(volts[arrays.a[k]] - volts[arrays.b[k]])) for k in line.pieces)
    each_a = tuple(abs(float(answers.batch.amps[row, k])) for k in line.pieces)
    if line.node < 0:
        return Lost(each_v=each_v, each_a=each_a, left_v=line.limit_v - sum(each_v))
    stands_v = abs(float(volts[line.node]))
    left_v = stands_v - line.limit_v if line.least else line.limit_v - stands_v
    return Lost(each_v=each_v, each_a=each_a, left_v=left_v)


def _of_drop(path: DropPath) -> Line:
    return Line(
        at=path.part, values=path.values, pieces=path.pieces, limit_v=path.limit_v, source="common-practice"
    )  # fmt: skip


def _required_v(scene: Scene, row: Requirement) -> tuple[float, bool] | None:
    """The volts a requirement asks for, and whether at least or at most; None where it asks for something else."""
    if row.must.kind == "live":
        return constant("live_frac") * scene.vehicle.system_v, True
    if row.must.kind == "dead":
        return constant("dead_v"), False
    if row.must.kind != "compare" or row.must.unit != "V" or row.must.value is None:
        return None
    return row.must.value, row.must.op in (">=", ">")


def _is_special(row: Requirement, variable: str) -> bool:
    return variable in ("unplugged", "battery") or any(term.before for term in row.when.terms)


def _lines(
    scene: Scene,
    conduction: Conduction,
    row: Requirement,
    required: tuple[float, bool],
    node: int,
    states: type_i,
    reading: Asked,
) -> Iterator[tuple[Line, float]]:
    """The lines of a requirement in its worst states, and the volts it has to spare there. [V]"""
    if not len(states):
        return
    ways = {element for found in conduction.at.values() for element, _ in found}
    answers = answers_of(scene.compiled, states)
    limit_v, least = required
    fine = answers.possible & ~answers.collapsed() & reading.holds(answers) & ~np.isnan(answers.volts(node))
    stands_v = np.abs(answers.volts(node))
    left_v = np.where(fine, stands_v - limit_v if least else limit_v - stands_v, np.inf)
    order = np.argsort(left_v, kind="stable")[:_LINES_MOST]
    for number in (int(k) for k in order if fine[k] and left_v[k] <= left_v[order[0]] + _NEAR_V):
        polarity = scene.vehicle.live_sign
        if least:
            passed = bringing(scene, answers, number, node, polarity)
        else:
            # a point that carries nothing stands where its earth stands
            passed = taking(scene, answers, number, node, polarity)
            passed = passed or _way_to_post(scene, conduction, _earth_of(conduction, node))
        line = Line(
            at=row.id,
            values=answers.batch.values[number].copy(),
            pieces=tuple(k for k in passed if k in ways),
            limit_v=limit_v,
            node=node,
            least=least,
            point=row.point,
        )
        yield line, float(left_v[number])


def _earth_of(conduction: Conduction, node: int) -> int:
    """The nearest node that is always tied to earth, whatever lies between; the node itself where none is."""
    seen, waiting = {node}, [node]
    for here in waiting:
        if here in conduction.earth:
            return here
        for _, other in conduction.all_at.get(here, ()):
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return node


def _way_to_post(scene: Scene, conduction: Conduction, earth: int) -> tuple[int, ...]:
    """The fewest ways that nothing opens from an earth to the battery's earthed post."""
    post = scene.compiled.arrays.nodes
    came: dict[int, tuple[int, int]] = {earth: (-1, -1)}
    waiting = [earth]
    for here in waiting:
        for element, other in conduction.at.get(here, ()):
            if other not in came and other in conduction.earth | {post} and element not in conduction.asks:
                came[other] = (element, here)
                waiting.append(other)
    found = []
    here = post
    while here in came and here != earth:
        element, here = came[here]
        found.append(element)
    return tuple(reversed(found))


def _plain_states(scene: Scene, reading: Asked) -> type_i:
    """Every combination of what the condition names, at some moments of key and engine, the rest off and loaded."""
    states = _product(scene, reading, ())
    compiled = scene.compiled
    named = {variable for variable, _ in reading.terms}
    where = [compiled.variable_of.get(name) for name in ("key", "engine")]
    words = [() if k is None else compiled.network.variables[k].values for k in where]
    fine = np.zeros(len(states), bool)
    for moment in _MOMENTS:
        now = np.ones(len(states), bool)
        for k, names, word in zip(where, words, moment, strict=True):
            if k is not None and k not in named and word in names:
                now &= states[:, k] == names.index(word)
        fine |= now
    ambient = compiled.variable_of["ambient_c"]
    if ambient not in named:
        fine &= states[:, ambient] == scene.space.rest[ambient]
    found: type_i = states[fine]
    return found


def _deciding_states(scene: Scene, reading: Asked, node: int) -> type_i:
    """The same with what decides the point, the rest of the car off and loaded."""
    touching = [k for k in range(len(scene.compiled.network.elements)) if node in scene.ends(k)]
    return _product(scene, reading, sorted(scene.cones.of(touching)) if touching else ())


def _product(scene: Scene, reading: Asked, more: Iterable[int]) -> type_i:
    space = scene.space
    allowed = {k: tuple(space.values[k]) for k in (*space.core, *more)}
    for k, values in reading.terms:
        allowed[k] = tuple(value for value in values if value in space.values[k])
    kept: list[int] = []
    size = 1
    for k in (*(term for term, _ in reading.terms), *space.core, *more):
        if k not in kept and size * len(allowed[k]) <= _STATES_MOST:
            kept.append(k)
            size *= len(allowed[k])
    combos = np.array(list(product(*(allowed[k] for k in kept))), np.int64).reshape(-1, len(kept))
    rows = []
    for others in (space.rest, space.loaded):
        block = np.repeat(others[None, :], len(combos), axis=0)
        block[:, kept] = combos
        rows.append(block)
    return np.concatenate(rows)
