"""Do the road lights do what their roles say? LMP-1 dark when it should be lit, LMP-2 lit when it should be dark.

brake     lit together; work with the key and the lights off
tail      position, tail and plate lamps: lit wherever terminal 58 before them is live, and with dipped or main
          beam (a flash apart); those of one side together; with the key on, both sides together; with the key off
          too, in some position of their switch: a car that is parked or has stopped on the road is seen by them
dipped    left and right together                   main      left and right together
reverse   lit in R with the key in run, in no other range, where no switch of its own works it
turn      one side together; the lever's side and not the other, lights off too; all with the hazard switch, key off too
fog       never without tail lamps
any       dark while each of its own switches rests, whatever the rest of the car does: a glow there has come by a
          way that nobody drew; with no switch of its own, dark with the key off
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.feeds import feed_end
from loomwright.states.rules.lamp_watches import Ask, ever_watch, lamp_watch
from loomwright.states.rules.lamps import DARK_SHARE, Lamps, any_at, any_lit, at_rest, is_dark, on_supply
from loomwright.states.rules.load_elements import LoadElement
from loomwright.states.rules.wrong_feeds import moved, moved_for, taken_off
from loomwright.tables.constants import constant

__all__ = ["moved_by", "road_light_watches"]

_Own = tuple[LoadElement, tuple[int, ...]]
"""A lamp, and the variables of its own switches [-]."""

_TOGETHER = (
    ("brake_lamp",),
    ("dipped_left", "dipped_right"),
    ("main_left", "main_right"),
    ("reverse_lamp",),
    ("fog_rear",),
    ("fog_front",),
    ("turn_left_front", "turn_left_rear"),
    ("turn_right_front", "turn_right_rear"),
    ("tail_left", "position_left"),
    ("tail_right", "position_right"),
)
_SIDES = ("tail_left", "tail_right", "position_left", "position_right")
_HEAD = ("dipped_left", "dipped_right", "main_left", "main_right")
_LEFT, _RIGHT = ("turn_left_front", "turn_left_rear"), ("turn_right_front", "turn_right_rear")
_DARK_AT_REST = (
    *_HEAD, *_SIDES, *_LEFT, *_RIGHT, "brake_lamp", "plate_lamp", "fog_rear", "fog_front", "interior_lamp", "tail",
)  # fmt: skip


def road_light_watches(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    """Every question about the road lights that are there."""
    yield from _rests(lamps, ways)
    yield from _together(lamps, ways)
    yield from _reverse(lamps, ways)
    yield from _turn(lamps, ways)
    yield from _fog(lamps, ways)
    tails = lamps.of(*_SIDES, "tail")
    for lamp in lamps.of("brake_lamp"):
        yield _late_brake_lamp(ways, lamp, tails)
    for lamp in lamps.of(*_SIDES, "tail", "plate_lamp"):
        if lamps.own[lamp.name]:  # without a switch of its own it is a running light
            yield _unparked(ways, lamp)


def _late_brake_lamp(ways: Ways, lamp: LoadElement, tails: tuple[LoadElement, ...]) -> Watch:
    end = feed_end(ways, lamp)
    late = None if end is None else moved(ways, end)
    where = f": move {late.words}" if late else ""
    mend = f"Feed it from terminal 30, not from the key nor from the light switch{where}"
    words = "does not work with the key and the lights off"
    watch = ever_watch(ways, lamp, "LMP-1", words, mend, partial(_lit_by_the_pedal, lamp, tails))
    return replace(watch, trial=late.trial, root=True) if late else watch


def _unparked(ways: Ways, lamp: LoadElement) -> Watch:
    end = feed_end(ways, lamp)
    late = None if end is None else moved(ways, end)
    where = f": move {late.words}" if late else ""
    mend = f"Feed its switch from terminal 30, not from the key{where}"
    words = "never lights with the key off: nobody sees the car where it is parked or has broken down"
    watch = ever_watch(ways, lamp, "LMP-1", words, mend, partial(_lit_with_key_off, lamp))
    return replace(watch, trial=late.trial, root=True) if late else watch


def _lit_with_key_off(lamp: LoadElement, answers: Answers) -> type_bool:
    return any_lit((lamp,), answers) & answers.at_rest("key")


def _lit_by_the_pedal(lamp: LoadElement, tails: tuple[LoadElement, ...], answers: Answers) -> type_bool:
    return _lit_with_key_off(lamp, answers) & ~any_lit(tails, answers)


def _rests(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    mend = "Follow the way given here: look for its earth, a bridge, or a switch that feeds it from behind"
    for lamp in lamps.of(*_DARK_AT_REST):
        own = lamps.own[lamp.name]
        if own:
            words = "glows while its own switches rest"
            yield lamp_watch(ways, lamp, "LMP-2", words, mend, partial(_glows_at_rest, lamp, own))
        else:
            yield _unswitched(ways, lamp)


def _unswitched(ways: Ways, lamp: LoadElement) -> Watch:
    """A lamp that no switch of its own works: it may be lit with the key (a running light), not without."""
    watch = lamp_watch(
        ways,
        lamp,
        "LMP-2",
        "is lit with the key off, and no switch puts it out",
        "Feed it over its own switch",
        partial(_lit_with_key_off, lamp),
    )
    return _taken_off(ways, lamp, watch)


def _taken_off(ways: Ways, lamp: LoadElement, watch: Watch) -> Watch:
    """The question as a root of others: its trial takes the lamp's feed off."""
    ends = [node for node in (lamp.a, lamp.b) if ways.side(node) in ("plus", "both")]
    trial = taken_off(ways, ends[0]) if ends else None
    return replace(watch, trial=trial, root=True) if trial else watch


def _glows_at_rest(lamp: LoadElement, own: tuple[int, ...], answers: Answers) -> type_bool:
    return at_rest(own, answers) & any_lit((lamp,), answers, constant("glow_dim_frac"))


def _together(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    """One question a lamp: is it dark while something says that it should be lit?"""
    reasons: dict[str, list[tuple[str, Ask]]] = {}
    named: dict[str, LoadElement] = {}
    for lamp, words, ask in (*_with_its_kind(lamps), *_with_lights_on(lamps, ways)):
        named[lamp.name] = lamp
        reasons.setdefault(lamp.name, []).append((words, ask))
    for name, found in reasons.items():
        lamp = named[name]
        words = "is dark while " + " or ".join(dict.fromkeys(words for words, _ in found))
        asks = tuple(ask for _, ask in found)
        mend = f"Measure at {lamp.part} in this state, feed and earth, and follow its wires to where the volts end"
        yield lamp_watch(ways, lamp, "LMP-1", words, mend, partial(_any_of, asks))


def _any_of(asks: tuple[Ask, ...], answers: Answers) -> type_bool:
    found = np.zeros(answers.count, bool)
    for ask in asks:
        found |= ask(answers)
    return found


def _with_its_kind(lamps: Lamps) -> Iterator[tuple[LoadElement, str, Ask]]:
    """Lamps that are lit together; with the key off one side of the tail lamps alone may be a parking light."""
    for roles in _TOGETHER:
        group = lamps.of(*roles)
        for lamp in group:
            others = tuple(other for other in group if other is not lamp)
            if others:
                yield lamp, _one_lit(others), partial(_alone_dark, lamp, _with_own(lamps, others))
    sides = lamps.of(*_SIDES)
    for lamp in (*sides, *lamps.of("plate_lamp", "tail")):
        others = tuple(other for other in sides if other is not lamp)
        if others:
            yield lamp, _one_lit(others), partial(_dark_with_key_on, lamp, _with_own(lamps, others))


def _with_lights_on(lamps: Lamps, ways: Ways) -> Iterator[tuple[LoadElement, str, Ask]]:
    """Position, tail and plate lamps with the head lamps and with terminal 58."""
    scene = ways.scene
    head = lamps.of(*_HEAD)
    springs = _springing(scene)
    live_v = constant("live_frac") * scene.vehicle.system_v
    for lamp in lamps.of(*_SIDES, "tail", "plate_lamp"):
        if head:
            yield lamp, "a head lamp is lit", partial(_dark_with_head, lamp, head, springs)
        points = _terminals_58(ways, lamp)
        if points:
            yield lamp, f"{scene.name_of(points[0])} is live", partial(_dark_at_58, lamp, points, live_v)


def _one_lit(others: tuple[LoadElement, ...]) -> str:
    names = tuple(dict.fromkeys(other.part for other in others))
    return f"{names[0]} is lit" if len(names) == 1 else f"one of {' '.join(names)} is lit"


def _with_own(lamps: Lamps, others: tuple[LoadElement, ...]) -> tuple[_Own, ...]:
    return tuple((other, lamps.own[other.name]) for other in others)


def _alone_dark(lamp: LoadElement, others: tuple[_Own, ...], answers: Answers) -> type_bool:
    """Dark while another is lit that is meant to be: one lit with its own switches at rest is itself what is wrong."""
    lit = np.zeros(answers.count, bool)
    for other, own in others:
        here = any_lit((other,), answers)
        lit |= here & ~at_rest(own, answers) if own else here
    return lit & is_dark(lamp, answers)


def _dark_with_head(
    lamp: LoadElement, head: tuple[LoadElement, ...], springs: tuple[tuple[int, tuple[int, ...]], ...], answers: Answers
) -> type_bool:
    return ~any_at(springs, answers) & any_lit(head, answers) & is_dark(lamp, answers)


def _springing(scene: Scene) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Positions that spring back, the key's apart: a head lamp flash is one."""
    found = []
    for index, variable in enumerate(scene.compiled.network.variables):
        values = tuple(k for k, name in enumerate(variable.values) if name in variable.momentary or name == "flash")
        if values and variable.name != "key":
            found.append((index, values))
    return tuple(found)


def _terminals_58(ways: Ways, lamp: LoadElement) -> tuple[int, ...]:
    """Terminals 58, 58L, 58R … of switches that lead to a lamp."""
    scene = ways.scene
    found = []
    for node in dict.fromkeys((*ways.region(lamp.a).nodes, *ways.region(lamp.b).nodes)):
        part, _, terminal = scene.name_of(node).partition(".")
        is_switch = part in scene.parts and scene.kind(part).duty == "switch"
        if is_switch and terminal.startswith("58") and scene.parts[part].kind != "key_switch":
            found.append(node)
    return tuple(found)


def _dark_at_58(lamp: LoadElement, nodes: tuple[int, ...], live_v: float, answers: Answers) -> type_bool:
    live = np.zeros(answers.count, bool)
    for node in nodes:
        live |= np.abs(np.nan_to_num(answers.volts(node))) >= live_v
    return live & is_dark(lamp, answers)


def _dark_with_key_on(lamp: LoadElement, others: tuple[_Own, ...], answers: Answers) -> type_bool:
    # key off: one side alone may be a parking light
    return answers.key_on() & _alone_dark(lamp, others, answers)


def _reverse(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    scene = ways.scene
    selector = scene.compiled.variable_of.get("selector")
    if selector is None or "R" not in scene.compiled.network.variables[selector].values:
        return
    for lamp in lamps.of("reverse_lamp"):
        if lamps.own[lamp.name]:
            continue  # a switch of its own works it
        mend = "Feed it over the contact of the range switch that closes in R"
        out_of_r = lamp_watch(ways, lamp, "LMP-2", "is lit out of R", mend, partial(_lit_out_of_r, lamp))
        yield _taken_off(ways, lamp, out_of_r)
        mend = "Measure along its way with the key in run and the lever in R"
        yield lamp_watch(ways, lamp, "LMP-1", "is dark in R", mend, partial(_dark_in_r, scene, lamp))


def _lit_out_of_r(lamp: LoadElement, answers: Answers) -> type_bool:
    return ~answers.at("selector", "R") & any_lit((lamp,), answers, constant("glow_dim_frac"))


def _dark_in_r(scene: Scene, lamp: LoadElement, answers: Answers) -> type_bool:
    asked = answers.at("selector", "R") & answers.at("key", "run") & on_supply(scene, answers)
    return asked & is_dark(lamp, answers)


def _turn(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    scene = ways.scene
    hazards = moved_by(scene, "hazard_switch")
    left, right, tails = lamps.of(*_LEFT), lamps.of(*_RIGHT), lamps.of(*_SIDES, "tail")
    lever = next((v.name for v in scene.compiled.network.variables if {"left", "right"} <= set(v.values)), "")
    # tail lamps are dark with the rest of the car off, if ever
    moved_for_it = LooksAt(variables=(*hazards, *((scene.compiled.variable_of[lever],) if lever else ())))
    for lamp in (*left, *right):
        side, others = ("left", right) if lamp in left else ("right", left)
        if lever:
            words = f"never lights by the lever to the {side} alone, the key in run"
            mend = f"Follow its wire from the lever's {side} contact, and the lever's feed"
            ask = partial(_lit_at, lamp, tails, lever, side, hazards)
            yield ever_watch(ways, lamp, "LMP-1", words, mend, ask, moved_for_it)
            away = "right" if side == "left" else "left"
            words = f"is lit with the lever to the {away}"
            mend = "Look for a bridge between the sides, or an earth that several lamps share"
            ask = partial(_lit_wrongly, lamp, lever, away, hazards)
            yield lamp_watch(ways, lamp, "LMP-2", words, mend, ask)
        if hazards:
            ask = partial(_lit_by_hazard, lamp, hazards, lever)
            yield _late_hazard_lamp(ways, lamp, ask, moved_for_it)
            if others:
                words = f"is lit together with {others[0].part} while the hazard switch rests"
                ask = partial(_both_sides, lamp, others, hazards)
                yield lamp_watch(ways, lamp, "LMP-2", words, "Look for a bridge between the sides", ask)


def _late_hazard_lamp(ways: Ways, lamp: LoadElement, ask: Ask, moved_for_it: LooksAt) -> Watch:
    found = (moved_for(ways, part.id) for part in ways.scene.role_of.get("hazard_switch", ()))
    late = next((one for one in found if one is not None), None)
    words = "never lights by the hazard switch alone, the key off and the lever at rest"
    what = f"move {late.words} to terminal 30" if late else "feed the hazard switch from terminal 30"
    mend = f"{what[0].upper()}{what[1:]}, and follow its contact to this lamp"
    watch = ever_watch(ways, lamp, "LMP-1", words, mend, ask, moved_for_it)
    # the wire stands nowhere on the lamp's own way, which goes over the lever
    return replace(watch, at=(*watch.at, late.wire), trial=late.trial, root=True) if late else watch


def moved_by(scene: Scene, role: str) -> tuple[int, ...]:
    """The variables that parts of a role move."""
    parts = {part.id for part in scene.role_of.get(role, ())}
    return tuple(
        index for index, variable in enumerate(scene.compiled.network.variables) if parts & set(variable.parts)
    )


def _lit_at(
    lamp: LoadElement,
    tails: tuple[LoadElement, ...],
    lever: str,
    side: str,
    hazards: tuple[int, ...],
    answers: Answers,
) -> type_bool:
    """Lit by the lever alone: key in run, the hazard switch at rest, the tail lamps dark."""
    asked_at = answers.at(lever, side) & answers.at("key", "run") & at_rest(hazards, answers)
    return any_lit((lamp,), answers) & asked_at & ~any_lit(tails, answers)


def _lit_wrongly(
    lamp: LoadElement, lever: str, away: str, hazards: tuple[int, ...], answers: Answers
) -> type_bool:  # fmt: skip
    asked = answers.at(lever, away) & at_rest(hazards, answers)
    return asked & any_lit((lamp,), answers, constant("glow_dim_frac"))


def _lit_by_hazard(lamp: LoadElement, hazards: tuple[int, ...], lever: str, answers: Answers) -> type_bool:
    """Lit by the hazard switch alone: key off, and the lever where it joins no side."""
    alone = answers.at_rest("key") & ~(answers.at(lever, "left") | answers.at(lever, "right"))
    return any_lit((lamp,), answers) & alone & ~at_rest(hazards, answers)


def _both_sides(
    lamp: LoadElement, others: tuple[LoadElement, ...], hazards: tuple[int, ...], answers: Answers
) -> type_bool:  # fmt: skip
    return at_rest(hazards, answers) & any_lit((lamp,), answers) & any_lit(others, answers)


def _fog(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    tails = lamps.of(*_SIDES, "tail")
    for lamp in lamps.of("fog_rear", "fog_front"):
        if tails:
            words = "is lit while every tail and position lamp is dark"
            mend = "Feed the fog lamp switch from terminal 58"
            yield lamp_watch(ways, lamp, "LMP-2", words, mend, partial(_fog_alone, lamp, tails))


def _fog_alone(lamp: LoadElement, tails: tuple[LoadElement, ...], answers: Answers) -> type_bool:
    return any_lit((lamp,), answers, constant("glow_dim_frac")) & ~any_lit(tails, answers, DARK_SHARE)
