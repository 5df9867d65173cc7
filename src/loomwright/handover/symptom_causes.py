"""A part does nothing: at which few places should a person put a hand, and what does a look or a reading part?

Of every single fault that leaves the part dead, the odds are

    how often the kind is met  *  0.5 ^ (joints from the dead part / 6)  *  0.3 where it also kills what nobody told of
    *  1.5 for each: touched in this job, old, wet; 3 for a bulb

A wire's open or bad joint is at one of its two ends by four parts in ten each, within its run by two. Faults are then
put together by the place a hand goes to: a plug, a fuse in its holder, an earth's bolt, a relay in its socket, a
splice, a wire's run, the part. What is told to work leaves out what would kill it. The look that parts the odds most
evenly comes first, since it needs no meter; then the readings that tell most.

Source: `fault_odds`, `symptom_shares`: judgement of the trade.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.handover.symptom import SymptomTable, draws_a, is_dead
from loomwright.handover.symptom_places import Hand, hands_of, joints_from
from loomwright.job.conditions import parse_condition
from loomwright.job.rows import Reading
from loomwright.proving.fault_table import FaultTable
from loomwright.proving.fitting import probes_of
from loomwright.proving.next_point import NextPoint, next_points
from loomwright.proving.ohms_between import OhmsBetween
from loomwright.proving.suspects import LEVELS_OHM, Suspect, weight_of
from loomwright.states.asking.scene import Scene
from loomwright.tables.load import read_rows

__all__ = ["Cause", "Look", "Symptom", "symptom_causes"]

Figures = NDArray[np.float64]
_DEAD_FRAC = 0.5
_MOST_LOOKS = 3
_NOTICED = ("fan", "fuel_pump", "horn", "motor", "wiper", "led_lamp", "starter")  # seen, heard or felt
_LEADING_FRAC = 0.15  # what raised a place is told of the faults that make so much of it
_LEAST_LOOK_FRAC = 0.02
_AGED = ("resistance", "earth", "contact", "load")
_TOUCHED = ("open", "swapped", "reversed", "neighbour", "earth")
_WETTED = ("open", "resistance", "earth", "neighbour")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A place to put a hand. sort: fuse, earth, plug, relay, splice, wire, part.   at: its id.   says: it in words.

    where: on the car.   faults: what it may be there, likeliest first.   why: what raised the likeliest.
    also: what else is dead with the likeliest of them.   odds: of all of them together. [-]
    """

    sort: str
    at: str
    says: str
    where: str
    faults: tuple[str, ...]
    why: tuple[str, ...]
    also: tuple[str, ...]
    odds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Another part to look at in the same state.

    works, dead: share of the odds that is left if it is so. [-]
    """

    part: str
    name: str
    works: float
    dead: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Symptom:
    """The answer. when: the state, as a condition.   causes: likeliest first.   looks: without a meter, best first.

    next: readings that tell most, in the same state.   faults: single faults that explain it, of those `tried`. [-]
    amps: what the dead wire carries in the sound car. [A]
    """

    dead: tuple[str, ...]
    when: str
    amps: float
    causes: tuple[Cause, ...]
    looks: tuple[Look, ...]
    next: tuple[NextPoint, ...]
    faults: int
    tried: int


def symptom_causes(scene: Scene, table: SymptomTable, works: Sequence[str] = ()) -> Symptom:
    """Places to put a hand, likeliest first.

    Args:
        table: every fault in the state.
        works: what does work in that state: parts, or points of larger ones.
    """
    known = table.table
    others = _others(scene, known, table.names)
    dead = np.ones(len(known.suspects), bool)
    for name, wire in zip(table.names, table.dead, strict=True):
        dead &= _dead(scene, known, name, wire)
    for name in works:
        gone = is_dead(scene, known, name)
        if gone is not None:
            dead &= ~gone
    left = [int(k) for k in np.flatnonzero(dead)]
    joints = joints_from(scene, table.dead)
    spread = {k: _spread(scene, known.suspects[k]) for k in left}
    odds = np.zeros(len(known.suspects))
    for k in left:
        also = any(others[part][k] for part in others)
        odds[k] = _odds(known.suspects[k], joints, also) * sum(share for _, share, _ in spread[k])
    if odds.sum() > 0.0:
        odds /= odds.sum()
    return Symptom(
        dead=table.dead,
        when=table.when,
        amps=float(draws_a(scene, known, table.dead[0])[0]),
        causes=tuple(_causes(known.suspects, odds, spread, others)),
        looks=tuple(_looks(scene, odds, others, works)),
        next=tuple(_next(scene, known, table, odds)) if left else (),
        faults=len(left),
        tried=len(known.suspects) - 1,
    )


def _dead(scene: Scene, table: FaultTable, name: str, wire: str) -> NDArray[np.bool_]:
    """With which faults it does nothing; by its wire where it has no load of its own."""
    gone = is_dead(scene, table, name)
    if gone is not None:
        return gone
    amps = draws_a(scene, table, wire)
    return np.asarray(amps < _DEAD_FRAC * amps[0])


def _others(scene: Scene, table: FaultTable, dead: Sequence[str]) -> Mapping[str, NDArray[np.bool_]]:
    """Part that a person sees, hears or feels work in the state -> with which faults it is dead."""
    asked = {name.partition(".")[0] for name in dead}
    found: dict[str, NDArray[np.bool_]] = {}
    for part in sorted(scene.parts):
        gone = is_dead(scene, table, part) if part not in asked else None
        if gone is not None:
            found[part] = gone
    return found


def _share(what: str) -> float:
    return next(float(row["share"]) for row in read_rows("symptom_shares") if row["what"] == what)


def _odds(suspect: Suspect, joints: Mapping[str, int], also: bool) -> float:
    """How likely a fault is, against the others. [-]"""
    far = max(joints.values(), default=0) + 1
    away = min((joints.get(name.partition(".")[0], far) for name in suspect.at), default=far)
    kinds = len(LEVELS_OHM) if suspect.kind == "resistance" else 1
    told = weight_of(suspect.kind) / kinds * float(0.5 ** (away / _share("halved_after_joints")))
    return told * (_share("not_told_of") if also else 1.0)


def _spread(scene: Scene, suspect: Suspect) -> list[tuple[Hand, float, tuple[str, ...]]]:
    """The places of a fault, what each counts, and what raised it there."""
    found = []
    for hand, share in hands_of(scene, suspect, _share("at_an_end"), _share("within_its_run")):
        raised = tuple(_raised(scene, suspect, hand))
        found.append((hand, share * float(np.prod([_share(one) for one in raised])), raised))
    return found


def _raised(scene: Scene, suspect: Suspect, hand: Hand) -> Iterator[str]:
    """What raises the odds of a fault at a place."""
    fitted = {_fitted(scene, name) for name in suspect.at}
    if suspect.kind in _TOUCHED and "new" in fitted:
        yield "touched"
    if suspect.kind in _AGED and "kept" in fitted:
        yield "aged"
    if suspect.kind == "load" and scene.parts[suspect.at[0]].kind.startswith("lamp"):
        yield "filament"
    if suspect.kind in _WETTED and hand.wet:
        yield "wet"


def _fitted(scene: Scene, name: str) -> str:
    wire, part = scene.wires.get(name), scene.parts.get(name.partition(".")[0])
    return wire.fitted if wire is not None else part.fitted if part is not None else ""


_WHY = {"filament": "bulbs go first", "touched": "touched in this job", "aged": "old", "wet": "wet there"}


def _causes(
    suspects: Sequence[Suspect],
    odds: Figures,
    spread: Mapping[int, list[tuple[Hand, float, tuple[str, ...]]]],
    others: Mapping[str, NDArray[np.bool_]],
) -> list[Cause]:
    gathered: dict[Hand, dict[int, float]] = {}
    raised: dict[Hand, dict[int, tuple[str, ...]]] = {}
    for k, places in spread.items():
        whole = sum(share for _, share, _ in places)
        for hand, share, why in places:
            there = gathered.setdefault(hand, {})
            there[k] = there.get(k, 0.0) + float(odds[k]) * share / whole
            raised.setdefault(hand, {})[k] = why
    found = []
    for hand, there in gathered.items():
        order = sorted(there, key=lambda k: (-there[k], k))
        whole = sum(there.values())
        leading = [k for k in order if there[k] >= _LEADING_FRAC * whole]
        found.append(
            Cause(
                sort=hand.sort,
                at=hand.at,
                says=hand.says,
                where=hand.where,
                faults=tuple(dict.fromkeys(_words(hand, suspects[k]) for k in order)),
                why=tuple(dict.fromkeys(_WHY[one] for k in leading for one in raised[hand][k])),
                also=tuple(part for part in others if others[part][order[0]]),
                odds=whole,
            )
        )
    return sorted(found, key=lambda one: (-round(one.odds, 9), one.sort, one.at))


_SAID = {
    "fuse": "blown, or out",
    "earth": "no contact to its metal",
    "contact": "its contact does not make",
    "load": "burnt out",
    "coil": "its coil is open",
    "dead": "does not pull in",
    "stuck": "stays in",
    "short to body": "chafed through to the body",
    "bare": "bare on the body",
    "short to live": "touches a live wire",
    "neighbour": "touches the wire beside it",
    "swapped": "changed places with the wire beside it",
    "reversed": "the wrong way round",
}


def _words(hand: Hand, suspect: Suspect) -> str:
    """A fault as it is met at the place."""
    name = suspect.at[0]
    if suspect.kind == "resistance":
        return (
            "paint or rust under its bolt"
            if hand.sort == "earth" and name == hand.at
            else f"{name}: corroded, or loose"
        )
    if suspect.kind == "open":
        return f"{name}: broken" if hand.sort == "wire" else f"{name}: crimp or terminal off"
    told = _SAID.get(suspect.kind, suspect.kind)
    return told if hand.at == name else f"{name}: {told}"


def _looks(scene: Scene, odds: Figures, others: Mapping[str, NDArray[np.bool_]], works: Sequence[str]) -> list[Look]:
    """Parts that a look at parts the odds most evenly."""
    known = {name.partition(".")[0] for name in works}
    found = []
    seen = [part for part in others if scene.parts[part].kind in _NOTICED or scene.parts[part].kind.startswith("lamp")]
    for part in seen or others:
        dead = others[part]
        share = float(odds[dead].sum())
        if part not in known and _LEAST_LOOK_FRAC < share < 1.0 - _LEAST_LOOK_FRAC:
            found.append(Look(part=part, name=scene.title(part), works=1.0 - share, dead=share))
    told: list[Look] = []
    for look in sorted(found, key=lambda one: (abs(one.dead - 0.5), one.part)):
        if not any(abs(look.dead - one.dead) < _LEAST_LOOK_FRAC for one in told):  # the same question again
            told.append(look)
    return told[:_MOST_LOOKS]


def _next(scene: Scene, table: FaultTable, symptom: SymptomTable, odds: Figures) -> list[NextPoint]:
    when = parse_condition(symptom.when or "always")
    as_solved = OhmsBetween(beside=np.arange(len(odds)), part=np.zeros(len(odds)))
    read = [Reading(point=name, when=when, measure="clamp", value=0.0, unit="A") for name in symptom.dead]
    return next_points(scene, table, odds, probes_of(scene, read), as_solved)
