"""Does a contact, a switch or a diode stay within its rating?

Three questions of a contact: the steady amps by `rating_a`; the motor and the lamp amps it switches by `motor_a` and
`lamp_a`, where those are less; the rush at switching on by `make_a`. Two currents pass in seconds and are judged by
what the contact may make: the starter's, where the contact carries at least half of it, and that of a solenoid which is
not in yet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.conduction import SWITCHING, beyond
from loomwright.states.paths.surroundings import around, element_label, parts_of
from loomwright.states.paths.tracing import ways_of
from loomwright.states.ratings.rating_ground import FED_A, Heated, RatingGround, over, rating_source
from loomwright.states.ratings.rush import rush_of
from loomwright.states.rules.bridges import turned
from loomwright.states.signals.earth_nets import wired_nodes

__all__ = ["contact_ratings"]

_STARTERS_SHARE = 0.5
_MENDS = {
    "contact": "Fit a relay made for that current, or share the loads between two relays",
    "switch": "Let the switch work a relay, and take the load's current through the relay",
    "diode": "Fit a diode made for that current",
}
_SAFETY = ("isolator", "crash_switch")
"""Kinds whose contact the current itself has to pass: a relay beside them would go on feeding [-]."""


def contact_ratings(ground: RatingGround) -> Iterator[Watch]:
    """The questions of all contacts, switches and diodes whose ratings are known."""
    scene = ground.scene
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type not in (*SWITCHING, "diode") or element.part not in scene.parts:
            continue
        loads = () if element.type == "diode" else beyond(scene, ground.conduction, index)
        rating_a = _rating_for(scene, element, loads)
        if rating_a is not None:
            yield _as_root(scene, index, element, _steady(ground, index, element, rating_a, loads))
        for load, limit_a in (("motor", element.motor_a), ("lamp", element.lamp_a)):
            if limit_a is not None and (rating_a is None or limit_a < rating_a):
                for watch in _of_type(ground, index, element, load, limit_a, loads):
                    yield _as_root(scene, index, element, watch)
        if element.make_a is not None and element.type != "diode":
            for watch in _made(ground, index, element, element.make_a):
                yield _as_root(scene, index, element, watch)


def _as_root(scene: Scene, index: int, element: Element, watch: Watch) -> Watch:
    """A switch that feeds the contact of a relay whose coil is always fed: on trial those two are exchanged."""
    relay = _stands_pulled(scene, index) if element.type == "switch" else None
    trial = turned(scene, f"{relay[0]}.30", relay[1]) if relay is not None else None
    return replace(watch, trial=trial, root=True) if trial is not None else watch


def _mend_of(scene: Scene, index: int, element: Element) -> str:
    """A mend that fits what the contact belongs to: a flasher is no switch, and a relay may be there already."""
    kind = scene.parts[element.part].kind
    if kind in _SAFETY:
        return "Fit one made for that current: what it must cut has to go through it"
    if kind.startswith("flasher"):
        return "Fit a flasher made for all the lamps it lights, the hazard's four included"
    if element.type == "switch":
        relay = _stands_pulled(scene, index)
        if relay is not None:
            name, coil = relay
            return (
                f"Exchange the wires at {name}.30 and {coil}: the switch feeds the contact of {name}, and its coil, "
                "which the switch should work, is always fed"
            )
    return _MENDS[element.type]


def _stands_pulled(scene: Scene, index: int) -> tuple[str, str] | None:
    """A relay whose contact a switch feeds and whose coil always lies between a live point and earth; its live end."""
    ways = ways_of(scene)
    for end in scene.ends(index):
        for node in wired_nodes(scene, (end,))[0]:
            part, _, terminal = scene.name_of(node).partition(".")
            if terminal != "30" or part not in scene.parts or scene.kind(part).group != "relays":
                continue
            points = [f"{part}.{name}" for name in ("86", "85") if f"{part}.{name}" in scene.wires_at]
            live = [point for point in points if scene.node(point) in ways.plus]
            if len(live) == 1 and any(scene.node(point) in ways.minus for point in points):
                return part, live[0]
    return None


def _rating_for(scene: Scene, element: Element, loads: tuple[int, ...]) -> float | None:
    """The steady rating that counts: for motors or lamps only, where the contact switches nothing else. [A]"""
    types = {scene.element(k).type for k in loads if scene.element(k).load}
    own = {frozenset({"motor"}): element.motor_a, frozenset({"lamp"}): element.lamp_a}.get(frozenset(types))
    figures = [figure for figure in (element.rating_a, own) if figure is not None]
    return min(figures, default=None)


def _steady(ground: RatingGround, index: int, element: Element, rating_a: float, loads: tuple[int, ...]) -> Watch:
    made_a = element.make_a if element.make_a is not None else np.inf
    holds = {hold for _, hold in ground.solenoids}
    feeds_solenoid = not holds.isdisjoint(loads)

    heated = Heated(ground.heating, index)

    def limit(answers: Answers) -> type_float:
        starter = ground.starter_amps(answers)
        passing = (starter > FED_A) & (np.abs(answers.amps(index)) > _STARTERS_SHARE * starter)
        if feeds_solenoid:
            passing |= ground.pulling_in(answers)
        return np.where(passing, max(made_a, rating_a), rating_a)

    what = "diode" if element.type == "diode" else "contact"
    return over(
        at=(element.part,),
        touches=around(ground.scene, index),
        label=element_label(ground.scene, element),
        wrong=f"the {what} carries more than it is made for",
        mend=_mend_of(ground.scene, index, element),
        allowed_a=rating_a,
        amps=heated.amps,
        limit=limit,
        most=heated.most,
        source=rating_source(ground.scene, element.part),
    )


def _of_type(
    ground: RatingGround, index: int, element: Element, load: str, limit_a: float, loads: tuple[int, ...]
) -> Iterator[Watch]:
    """The contact by the motor or lamp amps it switches among others, where it has a lower figure for them."""
    mine = tuple(k for k in loads if ground.scene.element(k).type == load)
    if not mine:
        return
    heated = Heated(ground.heating, index)

    def amps(answers: Answers) -> type_float:
        drawn = sum((np.abs(answers.amps(k)) for k in mine), np.zeros(answers.count))
        return np.minimum(heated.amps(answers), drawn)

    yield over(
        at=(element.part,),
        touches=(*around(ground.scene, index), *parts_of(ground.scene, mine)),
        label=element_label(ground.scene, element),
        wrong=f"the contact switches more {load} current than it is made for",
        mend=_mend_of(ground.scene, index, element),
        allowed_a=limit_a,
        amps=amps,
        most=heated.most,
        source=rating_source(ground.scene, element.part, (f"{load}_a",)),
    )


def _made(ground: RatingGround, index: int, element: Element, make_a: float) -> Iterator[Watch]:
    """The contact by the rush at switching on, where that could pass what it stands."""
    scene = ground.scene
    rush = rush_of(scene, beyond(scene, ground.conduction, index, at_once=True))
    if rush.most_a(scene.vehicle.system_v) <= make_a:
        return

    def amps(answers: Answers) -> type_float:
        return rush.amps(answers, index)

    yield over(
        at=(element.part,),
        touches=(*around(scene, index), *parts_of(scene, rush.loads)),
        label=element_label(scene, element),
        wrong="the contact makes more current at switching on than it stands",
        mend="Fit a relay made for that rush, or share the loads between two",
        allowed_a=make_a,
        amps=amps,
        source=rating_source(scene, element.part, ("make_a",)),
    )
