"""Does every load get its volts, and where are they lost?

DRP-1: volts lost from the live source's posts to the load, there and back, against the limit of its circuit's class;
its own circuit on, everything else at rest, the engine running (cranking for the starter). Told at the piece that loses
most, once for all loads that share it, at the load that is worst off. A warning; a fault over a tenth of the system's
volts. What goes with it as well, a lamp that glows by an earth that lifts, a controller that resets, lies beneath: on
trial the piece has a tenth of its ohms.
DRP-2: one joint or stretch over its own limit, where its circuit's is kept: a note.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from loomwright.findings import Finding, Severity
from loomwright.network.records import Changes, Element, Short
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.telling import asked_again
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.paths.current_path import named
from loomwright.states.paths.drop_paths import DropPath, drop_paths, lost_v
from loomwright.states.paths.surroundings import element_label, wire_label
from loomwright.tables.constants import constant
from loomwright.tables.limits import segment_limit_v

__all__ = ["sheet_findings"]

_EQUAL = 1.0 + 1e-6
_SEGMENTS = {
    "joint": "connection",
    "case": "earth",
    "bond": "earth",
    "bolted": "earth",
    "resistor": "earth",
    "switch": "switch_contact",
    "contact": "relay_contact",
}
_CABLE_A = 20.0
"""Current from which a wire is a high-current cable with a limit of its own, as the sources group them. [A]"""
_LEAD_FAULT = 2.0
"""A solenoid's lead that loses so many times its limit does not bring it in on a hot day: our choice [-]."""
_HALF = 0.5
_BESIDE = 9.0
"""Nine tenths of the current go beside a piece that is asked with a tenth of its ohms [-]."""


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """DRP-1 and DRP-2, each with the state it was met in: the circuit on, the rest of the car at rest."""
    paths = [path for path in drop_paths(scene, conduction_of(scene)) if path.pieces]
    lost = [path for path in paths if path.total_v > path.limit_v * _EQUAL]
    found = [_lost(scene, piece, group) for piece, group in _by_worst_piece(lost)]
    told = {name for one in found for name in one.finding.at}
    return (*found, *_pieces(scene, paths, told))


def _by_worst_piece(paths: Sequence[DropPath]) -> Iterator[tuple[int, list[DropPath]]]:
    """Loads that lose too much, together where the same piece loses most; the worst off first."""
    groups: dict[int, list[DropPath]] = {}
    for path in paths:
        groups.setdefault(path.pieces[int(np.argmax(path.each_v))], []).append(path)
    for piece in sorted(groups):
        yield piece, sorted(groups[piece], key=lambda path: (-path.total_v / path.limit_v, path.load))


def _lost(scene: Scene, piece: int, group: list[DropPath]) -> Told:
    """DRP-1 at one piece, for the load that is worst off."""
    path = group[0]
    fault_v = constant("drop_fault_frac") * scene.vehicle.system_v
    wrong = f"too many volts are lost on the way to {path.part} and back, most of them here"
    if path.at_first > 1.0:
        fault_v = _LEAD_FAULT * path.limit_v
        wrong = (
            f"too many volts are lost on the lead to the solenoid of {path.part} while it goes in, most of them here: "
            "hot, it clicks and does not"
        )
    severity: Severity = "fault" if path.total_v > fault_v * _EQUAL else "warning"
    at = named(scene, (piece,)) or (path.part,)
    way = named(scene, path.pieces)
    others = (other.part for other in group)
    finding = Finding(
        rule="DRP-1",
        severity=severity,
        at=at,
        when=_when(scene, path),
        touches=tuple(name for name in dict.fromkeys((*others, *way)) if name not in at),
        label=_label(scene, scene.element(piece)),
        wrong=wrong,
        found=path.at_first * path.total_v,
        allowed=path.at_first * path.limit_v,
        unit="V",
        source="common-practice",
        mend=_mend(scene.element(piece)),
        path=way,
    )
    told = _with_state(finding, path, lambda answers: path.at_first * lost_v(path, answers))
    return replace(told, trial=_thicker(scene, piece))


def _thicker(scene: Scene, piece: int) -> Changes:
    """A piece with a tenth of its ohms: what it costs beside volts, such as an earth that lifts, goes with it."""
    ohm = 1.0 / _siemens(scene.element(piece))
    a, b = (scene.name_of(node) for node in scene.ends(piece))
    return Changes(shorts=(Short(a, b, ohm / _BESIDE),))


def _pieces(scene: Scene, paths: Sequence[DropPath], told: set[str]) -> Iterator[Told]:
    """DRP-2: pieces over a limit of their own, at the load whose current is most."""
    worst: dict[int, tuple[float, DropPath]] = {}
    for path in paths:
        # a lead may lose in one wire all that it may lose
        if path.at_first > 1.0:
            continue
        for piece, lost in zip(path.pieces, path.each_v, strict=True):
            if lost > worst.get(piece, (0.0, path))[0]:
                worst[piece] = (lost, path)
    for piece, (lost, path) in sorted(worst.items()):
        at = named(scene, (piece,))
        limit = _piece_limit_v(scene.element(piece), path, lost * _siemens(scene.element(piece)))
        if at and not told.intersection(at) and limit is not None and lost > limit[0] * _EQUAL:
            yield _piece(scene, piece, path, at, lost, limit)


def _piece(
    scene: Scene, piece: int, path: DropPath, at: tuple[str, ...], lost: float, limit: tuple[float, str]
) -> Told:
    finding = Finding(
        rule="DRP-2",
        severity="note",
        at=at,
        when=_when(scene, path),
        touches=(path.part,),
        label=_label(scene, scene.element(piece)),
        wrong=f"takes more than such a piece should while {path.part} is on",
        found=lost,
        allowed=limit[0],
        unit="V",
        source=limit[1],
        mend=_mend(scene.element(piece)),
    )
    return _with_state(finding, path, lambda answers: np.nan_to_num(np.abs(answers.across(piece))))


def _when(scene: Scene, path: DropPath) -> tuple[tuple[str, str], ...]:
    """Key, engine, and what of the load's own is away from rest; the rest of the car off."""
    variables = scene.compiled.network.variables
    moment = [scene.compiled.variable_of[name] for name in ("key", "engine") if name in scene.compiled.variable_of]
    told = [(variables[k].name, variables[k].values[int(path.values[k])]) for k in (*moment, *path.away)]
    return (*told, ("others", "off"))


def _with_state(finding: Finding, path: DropPath, figure: Callable[[Answers], type_float]) -> Told:
    """The finding with its state, so that a mend elsewhere that cures it takes it along."""

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        found = figure(answers)
        on = np.abs(answers.amps(path.load)) >= path.on_a
        return on & (found > (finding.allowed or 0.0) * _EQUAL), found

    return asked_again(finding, broken, path.values)


def _piece_limit_v(element: Element, path: DropPath, amps: float) -> tuple[float, str] | None:
    """What one piece may take, and where that is from; None where nothing is printed for it. [V]"""
    if element.is_wire and amps < _CABLE_A:
        # nobody prints a limit for a thin wire: no more than half of what its circuit may lose
        return _HALF * path.limit_v, "our-choice"
    segment = "wire_or_cable" if element.is_wire else _SEGMENTS.get(element.type)
    if segment is None:
        return None
    source = {"relay_contact": "relay-bulletin", "earth": "drop-encyclopaedia"}.get(segment, "drop-manual")
    return segment_limit_v(segment, amps), source


def _siemens(element: Element) -> float:
    return min(row[0] for row in element.figures if row[0] > 0.0)


def _label(scene: Scene, element: Element) -> str:
    if element.is_wire:
        return wire_label(scene, element.name)
    return element_label(scene, element) if element.part in scene.parts else f"{element.name} (joint)"


def _mend(element: Element) -> str:
    if element.is_wire:
        return "Fit a thicker wire, or a shorter way"
    if element.type in ("switch", "contact"):
        return "Clean or renew the contact, or let it work a relay close to the load"
    return "Take the joint apart, clean it to bright metal, and tighten it"
