"""How is one requirement of the job read in the answers of many states?

    live      size of the volts at least 75 % of the system's
    dead      at most 0.5 V in size, against the post or against the body it is bolted beside, or floating
    floating  no path to anything, or through a blocking diode only
    >= 9 V    a comparison of the size; fails on floating

Volts are against the battery's earthed post. While a starter turns, its return lifts the whole body by some tenths of a
volt, and every open feed that hangs on the body through its load with it: that is no voltage on the feed, so `dead` is
asked against the body as well, and the less of the two counts (not of a point that is itself tied to earth).

Amps are those of a wire, or the sum of the wires at a terminal. Floating is nan here, never nought.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.job.conditions import Must
from loomwright.job.rows import Requirement
from loomwright.network.draft import term_values
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import live_way, ways_of
from loomwright.tables.constants import constant

__all__ = ["Asked", "kept_watch", "never_finding", "point_of", "ready"]

Read = Callable[[Answers], type_float]

_COMPARE = {">=": np.greater_equal, "<=": np.less_equal, ">": np.greater, "<": np.less}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """A requirement ready to be asked.

    terms: variable and the values at which the condition holds. read: the figure at its point.
    system_v: the car's volts. [V]
    """

    requirement: Requirement
    terms: tuple[tuple[int, tuple[int, ...]], ...]
    read: Read
    system_v: float

    def holds(self, answers: Answers) -> type_bool:
        """Where the condition holds, the state before apart."""
        return answers.once(("holds", self.terms), partial(_holds, self.terms))

    def broken(self, answers: Answers) -> tuple[type_bool, type_float]:
        """Where it is asked and does not hold, and the size of the figure there (nan = floating)."""
        figure = np.abs(self.read(answers))
        return self.holds(answers) & ~_kept(self.requirement.must, figure, self.system_v), figure


def _holds(terms: tuple[tuple[int, tuple[int, ...]], ...], answers: Answers) -> type_bool:
    fine = np.ones(answers.count, bool)
    for variable, values in terms:
        asked = np.zeros(len(answers.compiled.network.variables[variable].values), bool)
        asked[list(values)] = True
        fine &= asked[answers.batch.values[:, variable]]
    return fine


def _kept(must: Must, figure: type_float, system_v: float) -> type_bool:
    """Where a figure is what must be; nan is floating."""
    size = np.abs(figure)
    floating = np.isnan(figure)
    if must.kind == "live":
        return np.asarray(size >= constant("live_frac") * system_v)
    if must.kind == "dead":
        return floating | (size <= constant("dead_v"))
    if must.kind == "floating":
        return floating
    return np.asarray(~floating & _COMPARE[must.op](size, must.value or 0.0))


def ready(scene: Scene, requirement: Requirement) -> Asked:
    """A requirement with everything looked up that its question needs."""
    variables = scene.compiled.network.variables
    terms = tuple(
        (scene.compiled.variable_of[term.variable], tuple(sorted(term_values(term, variables[k]))))
        for term in requirement.when.terms
        if not term.before and (k := scene.compiled.variable_of.get(term.variable)) is not None
    )
    system_v = scene.vehicle.system_v
    return Asked(requirement=requirement, terms=terms, read=_reader(scene, requirement), system_v=system_v)


def _reader(scene: Scene, requirement: Requirement) -> Read:
    """How the figure of a requirement is read: amps of a wire or of a terminal's wires, else volts."""
    point = point_of(scene, requirement)
    if requirement.must.unit == "A":
        if point in scene.compiled.elements_of:
            return partial(_sum_of, tuple((index, 1.0) for index in scene.compiled.elements_of[point]))
        return partial(_sum_of, _into(scene, point))
    node = scene.compiled.node_of.get(scene.point(point))
    if node is None:
        return _floating
    body = scene.compiled.node_of.get("body")
    if requirement.must.kind == "dead" and body is not None and node not in ways_of(scene).minus:
        return partial(_volts_beside, node, body)
    return partial(_volts_at, node)


def point_of(scene: Scene, requirement: Requirement) -> str:
    """The point a row means: a plug's id may stand for its part."""
    name, dot, terminal = requirement.point.partition(".")
    tilde = "~" if name.startswith("~") else ""
    for connector in scene.job.connectors:
        if connector.id == name.removeprefix("~") and connector.id not in scene.parts:
            return f"{tilde}{connector.part}{dot}{terminal}"
    return requirement.point


def _into(scene: Scene, point: str) -> tuple[tuple[int, float], ...]:
    """The wires at a terminal, each with the sign that makes current into it positive."""
    full = scene.point(point)
    return tuple(
        (index, 1.0 if scene.point(wire.to) == full else -1.0)
        for wire in scene.wires_at.get(full, ())
        for index in scene.compiled.elements_of.get(wire.id, ())
    )


def _sum_of(signed: tuple[tuple[int, float], ...], answers: Answers) -> type_float:
    total = np.zeros(answers.count)
    for index, sign in signed:
        total = total + sign * answers.amps(index)
    return total


def _volts_at(node: int, answers: Answers) -> type_float:
    return answers.volts(node)


def _volts_beside(node: int, body: int, answers: Answers) -> type_float:
    """Volts of a point against the post or against the body, the less of the two."""
    volts = answers.volts(node)
    beside = volts - answers.volts(body)
    return np.where(np.abs(beside) < np.abs(volts), beside, volts)


def _floating(answers: Answers) -> type_float:
    return np.full(answers.count, np.nan)


def kept_watch(scene: Scene, asked: Asked) -> Watch:
    """The question whether a requirement is kept."""
    requirement = asked.requirement
    must = requirement.must
    point = point_of(scene, requirement)
    allowed = {"live": constant("live_frac") * asked.system_v, "dead": constant("dead_v"), "compare": must.value}
    node = scene.compiled.node_of.get(scene.point(point))
    return Watch(
        rule="REQ-1",
        severity="fault",
        at=(point, requirement.id),
        touches=tuple(wire.id for wire in scene.wires_at.get(scene.point(point), ())),
        label=f"{point} (requirement {requirement.id}{': ' + requirement.why if requirement.why else ''})",
        wrong=_wrong(must),
        mend=_mend(must, point),
        broken=asked.broken,
        allowed=allowed.get(must.kind),
        unit=must.unit or ("" if must.kind == "floating" else "V"),
        # the largest figure is the worst only where less is asked for
        worst=must.op in ("<=", "<"),
        path_of=partial(_path, scene, node) if node is not None and _wants_less(must) else None,
    )


def _wants_less(must: Must) -> bool:
    """True where the point has more than it should: then the way the current takes is told."""
    return must.unit != "A" and (must.kind in ("dead", "floating") or must.op in ("<=", "<"))


def _wrong(must: Must) -> str:
    if must.kind == "compare":
        words = {">=": "not at least", ">": "not more than", "<=": "more than", "<": "not less than"}
        return f"{words[must.op]} what is required"
    return {"live": "is not live", "dead": "is not dead", "floating": "is joined to something"}[must.kind]


def _mend(must: Must, point: str) -> str:
    if must.kind == "live" or (must.kind == "compare" and must.op in (">=", ">")):
        return f"Measure from {point} back to its source in this state and mend what is open or loses volts"
    if must.unit == "A":
        return f"See what {point} feeds in this state, and take some of it off"
    return f"Follow the way from the source to {point} in this state, and move or break it where it should not be"


def _path(scene: Scene, node: int, answers: Answers, row: int) -> tuple[str, ...]:
    return live_way(scene, answers, row, node)


def never_finding(scene: Scene, requirement: Requirement) -> Finding:
    """The warning that no state asks a requirement."""
    return Finding(
        rule="REQ-2",
        severity="warning",
        at=(requirement.id, point_of(scene, requirement)),
        label=f"{requirement.id} (requirement)",
        wrong=f"is never asked: no state the car can be in meets {requirement.when.text or 'its condition'}",
        mend="Mend its condition, or what keeps the car from that state",
    )
