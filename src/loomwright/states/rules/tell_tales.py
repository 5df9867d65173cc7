"""Do the tell-tales tell the truth? LMP-4.

charge    glows with the key in run and the engine stopped; dark while the alternator is excited and turns, or the
          dynamo's cut-out is in; glows while it turns and is not
oil       glows in some state with the key in run and the engine stopped; is dark in some state with it running
brake     is dark in some state with the key in run
turn      one of them glows while a turn lamp is lit (hazard apart); none while all are dark, unless it hangs on the
          flasher's own pilot contact
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.lamp_watches import ever_watch, lamp_watch
from loomwright.states.rules.lamps import Lamps, any_lit, at_rest, on_supply
from loomwright.states.rules.load_elements import LoadElement
from loomwright.states.rules.road_lights import moved_by
from loomwright.tables.constants import constant

__all__ = ["tell_tale_watches"]

_TURN = ("turn_left_front", "turn_left_rear", "turn_right_front", "turn_right_rear")


def tell_tale_watches(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    """Every question about the tell-tales that are there."""
    scene = ways.scene
    for lamp in lamps.of("charge_lamp"):
        yield from _charge(scene, ways, lamp)
    for lamp in lamps.of("oil_lamp"):
        mend = "Measure from the lamp to its pressure switch, key in run, engine stopped"
        words = "never glows with the key in run and the engine stopped"
        yield ever_watch(ways, lamp, "LMP-4", words, mend, partial(_glows_at, lamp, "stopped"))
        mend = "See whether its wire touches earth on the way to the pressure switch, and what closes the switch"
        words = "never goes out with the engine running"
        yield ever_watch(ways, lamp, "LMP-4", words, mend, partial(_dark_at, lamp, "running"))
    for lamp in lamps.of("brake_tell_tale"):
        mend = "See whether its wire touches earth on the way to its switches"
        words = "never goes out with the key in run"
        yield ever_watch(ways, lamp, "LMP-4", words, mend, partial(_dark_at, lamp, ""))
    yield from _turn(lamps, ways)


def _glow(lamp: LoadElement, answers: Answers) -> type_bool:
    return any_lit((lamp,), answers, constant("glow_dim_frac"))


def _glows_at(lamp: LoadElement, engine: str, answers: Answers) -> type_bool:
    return answers.at("key", "run") & answers.at("engine", engine) & _glow(lamp, answers)


def _dark_at(lamp: LoadElement, engine: str, answers: Answers) -> type_bool:
    at_engine = answers.at("engine", engine) if engine else np.ones(answers.count, bool)
    return answers.at("key", "run") & at_engine & ~_glow(lamp, answers)


def _charge(scene: Scene, ways: Ways, lamp: LoadElement) -> Iterator[Watch]:
    devices = scene.compiled.network.devices
    cut_outs = {f"{part.id}.cut_out" for part in scene.parts.values() if part.kind == "control_box"}
    excited = tuple(k for k, device in enumerate(devices) if device.what == "excited" or device.name in cut_outs)
    words = "is dark with the key in run and the engine stopped"
    mend = "Look at its bulb, its feed from terminal 15 and its wire to D+"
    yield lamp_watch(ways, lamp, "LMP-4", words, mend, partial(_dark_when_stopped, scene, lamp))
    words = "glows while the alternator or dynamo charges"
    mend = "Bring its wire to D+, or D of a dynamo, and nowhere else"
    yield lamp_watch(ways, lamp, "LMP-4", words, mend, partial(_lies_bright, scene, lamp, excited))
    if excited:
        words = "is dark while the alternator or dynamo turns and does not charge"
        mend = "Bring its wire to D+, so that a standing field lights it"
        yield lamp_watch(ways, lamp, "LMP-4", words, mend, partial(_lies_dark, scene, lamp, excited))


def _dark_when_stopped(scene: Scene, lamp: LoadElement, answers: Answers) -> type_bool:
    stopped = answers.at("key", "run") & answers.at("engine", "stopped")
    return stopped & on_supply(scene, answers) & ~_glow(lamp, answers)


def _charging(excited: tuple[int, ...], answers: Answers) -> type_bool:
    charging = answers.turning() & answers.at("key", "run")
    for device in excited:
        charging &= answers.on(device)
    return charging


def _lies_bright(scene: Scene, lamp: LoadElement, excited: tuple[int, ...], answers: Answers) -> type_bool:
    return _charging(excited, answers) & on_supply(scene, answers) & _glow(lamp, answers)


def _lies_dark(scene: Scene, lamp: LoadElement, excited: tuple[int, ...], answers: Answers) -> type_bool:
    turning = answers.turning() & answers.at("key", "run") & ~_charging(excited, answers)
    return turning & on_supply(scene, answers) & ~_glow(lamp, answers)


def _turn(lamps: Lamps, ways: Ways) -> Iterator[Watch]:
    scene = ways.scene
    turning = lamps.of(*_TURN)
    tell_tales = lamps.of("turn_tell_tale")
    if not turning or not tell_tales:
        return
    hazards = moved_by(scene, "hazard_switch")
    words = (
        "is dark while a turn lamp is lit"
        if len(tell_tales) == 1
        else "and the others are dark while a turn lamp is lit"
    )
    mend = "Measure along its way with the lever to each side"
    yield lamp_watch(ways, tell_tales[0], "LMP-4", words, mend, partial(_untold, tell_tales, turning, hazards))
    for lamp in tell_tales:
        if not _on_pilot(ways, lamp):
            words = "glows while every turn lamp is dark"
            mend = "Follow the way given here: what feeds it when the lever rests?"
            yield lamp_watch(ways, lamp, "LMP-4", words, mend, partial(_told_for_nothing, lamp, turning))


def _untold(
    tell_tales: tuple[LoadElement, ...], turning: tuple[LoadElement, ...], hazards: tuple[int, ...], answers: Answers
) -> type_bool:
    glow = any_lit(tell_tales, answers, constant("glow_dim_frac"))
    return any_lit(turning, answers) & at_rest(hazards, answers) & ~glow


def _told_for_nothing(lamp: LoadElement, turning: tuple[LoadElement, ...], answers: Answers) -> type_bool:
    return _glow(lamp, answers) & ~any_lit(turning, answers, constant("glow_dim_frac"))


def _on_pilot(ways: Ways, lamp: LoadElement) -> bool:
    """True where a tell-tale hangs on a flasher's own contact for it, which the model shows closed."""
    scene = ways.scene
    pilots = {f"{part.id}.C" for part in scene.parts.values() if part.kind.startswith("flasher")}
    elements = scene.compiled.network.elements
    contacts = frozenset(index for index, element in enumerate(elements) if element.type in ("switch", "contact"))
    return any(scene.name_of(node) in pilots for end in (lamp.a, lamp.b) for node in ways.region(end, contacts).nodes)
