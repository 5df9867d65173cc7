"""Does a controller lose its volts in the instant a fan, a pump or a blower starts? SUP-1, with the engine running.

A standing motor is its stalled resistance, three to five times its running current for a fifth of a second. In each of
a few states (key in run, engine at idle and running, one thing on at a time, and all that can be) every motor that runs
there is held still while the car is solved once more, and a controller that is alive is looked at:

    resets      its supply is below its `reset_v`, and the rush lasts longer than its `ride_through_ms`: a fault
    stumbles    U = (U_posts - U_pins) in the rush - (U_posts - U_pins) before     what feed and earth they share loses
                over `rush_shared_v`: a warning; coils and injectors lose those volts too, and sensors are read wrong

The sag of the battery itself is not counted in the second: it comes with any load and its cure is another. `at[0]` is
the wire or part in which most of it is lost. Constants: `motor_rush_s`, `rush_shared_v` in `tables/constants.csv`.
Limits: a standing resistance, no inductance; a starter has a question of its own (`supply`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.asking.telling import asked_again
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.joined import joined_of
from loomwright.states.paths.supply_cells import live_post_of
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["motor_rush_findings"]

_RUNS_FRAC = 0.5
"""Share of its rated current from which a motor runs. [0..1]"""
_NOT_FED = 0.5
"""Share of its reset volts below which a controller counts as not fed at all. [0..1]"""
_MS_PER_S = 1000.0
_LOSE = ("wire", "joint", "case", "bolted", "bond", "fuse", "breaker", "link", "switch", "contact", "pin", "resistor")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fed:
    """A controller's supply. pin, star: the nodes it is between.   reset_v: it dies below. [V]   rides_s: how long it
    lives without. [s]"""

    part: str
    device: int
    pin: int
    star: int
    reset_v: float
    rides_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Met:
    """The worst rush met. lost_v: on what is shared. [V]   left_v: at the controller. [V]"""

    motor: str
    device: int
    values: type_i
    lost_v: float
    left_v: float


def motor_rush_findings(scene: Scene) -> Iterator[Told]:
    """One finding for each controller that a motor's first rush takes volts from."""
    controllers = tuple(_controllers(scene))
    motors = tuple(_motors(scene))
    if not controllers or not motors:
        return
    states = look(scene, {"key": ("run",), "engine": ("idle", "running")})
    loaded = np.repeat(scene.space.loaded[None, :], 1, axis=0)
    before = scene.answers(np.unique(np.concatenate([states, loaded]), axis=0))
    met: dict[str, tuple[_Fed, _Met]] = {}
    for device, elements, rated_a in motors:
        total = sum((np.abs(before.amps(k)) for k in elements), np.zeros(before.count))
        rows = np.flatnonzero((total >= _RUNS_FRAC * rated_a) & before.possible & before.turning() & before.key_on())
        if not len(rows):
            continue
        values = before.batch.values[rows]
        first = answers_of(_held_still(scene.compiled, device), values)
        for fed in controllers:
            alive = before.on(fed.device)[rows]
            lost = np.where(alive, _lost_v(scene, fed, first) - _lost_v(scene, fed, before)[rows], 0.0)
            row = int(lost.argmax())
            name = scene.element(elements[0]).part
            now = _Met(
                motor=name,
                device=device,
                values=values[row],
                lost_v=float(lost[row]),
                left_v=float(_left_v(fed, first)[row]),
            )
            if fed.part not in met or now.lost_v > met[fed.part][1].lost_v:
                met[fed.part] = (fed, now)
    for fed, worst in met.values():
        if _resets(fed, worst) or worst.lost_v > constant("rush_shared_v"):
            yield _told(scene, fed, worst)


def _controllers(scene: Scene) -> Iterator[_Fed]:
    arrays = scene.compiled.arrays
    for device, found in enumerate(scene.compiled.network.devices):
        part = found.name.split(".")[0]
        if found.what != "alive" or part not in scene.parts:
            continue
        row = scene.parts[part]
        settings = dict(resolve_settings(scene.kind(part), row.settings, row.rated_v or scene.vehicle.system_v))
        if "ride_through_ms" not in settings:
            continue
        least_v, reset_v = float(settings["minimum_v"]), float(settings["reset_v"])
        for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
            if (arrays.sense_on[sense], arrays.sense_off[sense]) == (least_v, reset_v):
                yield _Fed(
                    part=part,
                    device=device,
                    pin=int(arrays.sense_a[sense]),
                    star=int(arrays.sense_b[sense]),
                    reset_v=reset_v,
                    rides_s=float(settings["ride_through_ms"]) / _MS_PER_S,
                )
                break


def _motors(scene: Scene) -> Iterator[tuple[int, tuple[int, ...], float]]:
    """Devices that say whether a motor turns, with their elements and rated amps; no starter."""
    elements = scene.compiled.network.elements
    starters = {element.part for element in elements if element.type == "starter_motor"}
    needing: dict[int, list[int]] = {}
    for k, element in enumerate(elements):
        for need in dict.fromkeys(device for device, _ in element.needs):
            needing.setdefault(need, []).append(k)
    for device, found in enumerate(scene.compiled.network.devices):
        if found.what != "motor":
            continue
        own = tuple(needing.get(device, ()))
        rated_a = max((elements[k].rated_a or 0.0 for k in own), default=0.0)
        if own and rated_a and elements[own[0]].part in scene.parts and elements[own[0]].part not in starters:
            yield device, own, rated_a


def _held_still(compiled: Compiled, device: int) -> Compiled:
    """The car with one motor standing, every fuse whole: none opens in so short a time at a rush it is made for."""
    stuck = compiled.arrays.stuck.copy()
    stuck[[k for k, found in enumerate(compiled.network.devices) if found.what == "fuse"]] = 0
    stuck[device] = 0
    return replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))


def _left_v(fed: _Fed, answers: Answers) -> type_float:
    left: type_float = np.abs(np.nan_to_num(answers.volts(fed.pin) - answers.volts(fed.star)))
    return left


def _lost_v(scene: Scene, fed: _Fed, answers: Answers) -> type_float:
    """Volts between the battery's posts and a controller's pins that are lost on the way there and back. [V]"""
    posts = np.abs(np.nan_to_num(answers.volts(live_post_of(scene)) - answers.volts(scene.compiled.arrays.nodes)))
    lost: type_float = posts - _left_v(fed, answers)
    return lost


def _resets(fed: _Fed, met: _Met) -> bool:
    return _NOT_FED * fed.reset_v < met.left_v < fed.reset_v and fed.rides_s < constant("motor_rush_s")


def _told(scene: Scene, fed: _Fed, met: _Met) -> Told:
    resets = _resets(fed, met)
    still = answers_of(_held_still(scene.compiled, met.device), met.values[None, :])
    free = scene.answers(met.values[None, :])
    polarity = joined_of(scene).polarity
    way = (*bringing(scene, still, 0, fed.pin, polarity), *taking(scene, still, 0, fed.star, polarity))
    lossy = [k for k in way if scene.element(k).type in _LOSE]
    most = max(lossy, key=lambda k: abs(float(still.across(k)[0])) - abs(float(free.across(k)[0])), default=None)
    hand = named(scene, (most,))[:1] if most is not None else ()
    along = named(scene, way)
    verb = "resets" if resets else "loses volts"
    finding = Finding(
        rule="SUP-1",
        severity="fault" if resets else "warning",
        at=tuple(dict.fromkeys((*hand, fed.part, met.motor))),
        when=_when(scene, met.values),
        touches=tuple(name for name in along if name not in (*hand, fed.part, met.motor)),
        label=f"{fed.part} ({scene.title(fed.part)}, {scene.name_of(fed.pin)})",
        wrong=f"{verb} in the moment {met.motor} ({scene.title(met.motor)}) starts"
        + ("" if resets else ": they share a feed or an earth"),
        found=met.left_v if resets else met.lost_v,
        allowed=fed.reset_v if resets else constant("rush_shared_v"),
        unit="V",
        source="common-practice",
        mend="Give the motor a feed from the battery and an earth of its own, or make what they share thick and short",
        path=along,
    )
    return asked_again(finding, partial(_still_does, scene, fed, met), met.values)


def _still_does(scene: Scene, fed: _Fed, met: _Met, answers: Answers) -> tuple[type_bool, type_float]:
    """The same question with something else mended."""
    still = answers_of(_held_still(answers.compiled, met.device), answers.batch.values)
    lost = _lost_v(scene, fed, still) - _lost_v(scene, fed, answers)
    left = _left_v(fed, still)
    resets = (left < fed.reset_v) & (left > _NOT_FED * fed.reset_v) & (fed.rides_s < constant("motor_rush_s"))
    return resets | (lost > constant("rush_shared_v")), lost


def _when(scene: Scene, values: type_i) -> tuple[tuple[str, str], ...]:
    """The state it was met in, variables at rest left out."""
    pairs = zip(scene.compiled.network.variables, values, strict=True)
    return tuple((v.name, v.values[int(k)]) for v, k in pairs if v.values[int(k)] != v.rest)
