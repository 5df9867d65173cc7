"""Is there enough: volts at the controllers, days before the battery is flat, amps from the alternator?

    SUP-1  a controller's supply pins see less than its `minimum_v` with the key on; in the first rush of the starter,
           with the engine still, less than its `reset_v` for longer than its `ride_through_ms`; in the first rush
           of any other motor (`motor_rush`)
    SUP-2  what is drawn with everything off empties the battery within three weeks; within one it is a fault
    SUP-3  at hot idle, in rain, at night, the battery gives more than it gets (`charging`)
    SUP-4  a second battery is joined to the first while nothing charges (`second_battery`)
    SUP-5  a relay's coil hangs on D+ of the alternator, and should not (`on_d_plus`)

    days = capacity_ah / (24 h * I)

A supply pin that sees next to nothing is not fed: that is KEY-3's. Constants in `tables/constants.csv`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from loomwright.findings import Finding, Severity
from loomwright.network.arrays import type_i
from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.telling import asked_again
from loomwright.states.asking.watch import Places, Watch
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.joined import joined_of
from loomwright.states.paths.supply_cells import cells_once
from loomwright.states.rules.charging import charging_findings
from loomwright.states.rules.motor_rush import motor_rush_findings
from loomwright.states.rules.on_d_plus import d_plus_findings
from loomwright.states.rules.second_battery import second_battery_watches
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["sheet_findings", "watches"]

Asks = Callable[[Answers], tuple[type_bool, type_float]]

_NOT_FED = 0.5
"""Share of its reset volts below which a controller counts as not fed at all [-]."""
_HOURS = 24.0
_CARRIERS = (
    "wire",
    "joint",
    "case",
    "bolted",
    "bond",
    "fuse",
    "breaker",
    "link",
    "switch",
    "contact",
    "pin",
    "resistor",
)
_PASSES_ON = ("switch", "contact", "battery", "alternator", "trio", "source", "diode")
_WORTH = 0.1
"""Share of the largest drain from which another is named too [-]."""


def watches(scene: Scene) -> tuple[Watch, ...]:
    """The questions SUP-1 and SUP-4 of a car."""
    return (*_volts_watches(scene), *second_battery_watches(scene))


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """SUP-2 and SUP-3, each from the one state it is asked in, SUP-1 of motors that start, SUP-5 off the sheets."""
    own = (*_standing_findings(scene), *charging_findings(scene), *motor_rush_findings(scene))
    return (*own, *d_plus_findings(scene))


# SUP-1


def _volts_watches(scene: Scene) -> list[Watch]:
    made = []
    arrays = scene.compiled.arrays
    for device, found in enumerate(scene.compiled.network.devices):
        if found.what != "alive":
            continue
        part = found.name.split(".")[0]
        settings = _settings(scene, part)
        least_v, reset_v = float(settings["minimum_v"]), float(settings["reset_v"])
        for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
            if (arrays.sense_on[sense], arrays.sense_off[sense]) != (least_v, reset_v):
                continue  # a key input
            pin, star = int(arrays.sense_a[sense]), int(arrays.sense_b[sense])
            made.append(_volts_watch(scene, part, pin, star, least_v, reset_v))
            if "ride_through_ms" in settings and float(settings["ride_through_ms"]) / 1000.0 < constant("stall_hole_s"):
                made.append(_stall_watch(scene, part, pin, star, reset_v))
    return made


def _settings(scene: Scene, part: str) -> dict[str, float | str]:
    row = scene.parts[part]
    return dict(resolve_settings(scene.kind(part), row.settings, row.rated_v or scene.vehicle.system_v))


def _across(answers: Answers, pin: int, star: int) -> type_float:
    found: type_float = np.nan_to_num(np.abs(answers.volts(pin) - answers.volts(star)), nan=0.0)
    return found


def _stalls(scene: Scene, answers: Answers) -> type_bool:
    """Where the starter has just been fed and the engine does not turn yet."""
    stalls = answers.at("engine", "stopped")
    if not stalls.any():
        return stalls
    amps = np.zeros(answers.count)
    least = np.inf
    for k, element in enumerate(scene.compiled.network.elements):
        if element.type == "starter_motor":
            amps = amps + np.abs(answers.amps(k))
            least = min(least, element.rated_a or np.inf)
    found: type_bool = stalls & (amps >= least)
    return found


def _volts_watch(scene: Scene, part: str, pin: int, star: int, least_v: float, reset_v: float) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        volts = _across(answers, pin, star)
        hit = answers.key_on() & ~answers.collapsed() & (volts < least_v) & (volts > _NOT_FED * reset_v)
        if hit.any():
            hit &= ~_stalls(scene, answers)
        return hit, volts

    return _made(scene, part, pin, star, broken, least_v, "has too few volts at its supply with the key on")


def _stall_watch(scene: Scene, part: str, pin: int, star: int, reset_v: float) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        volts = _across(answers, pin, star)
        hit = answers.key_on() & (volts < reset_v) & (volts > _NOT_FED * reset_v)
        if hit.any():
            hit &= _stalls(scene, answers)
        return hit, volts

    words = "resets in the first rush of the starter, which lasts longer than it rides through"
    return _made(scene, part, pin, star, broken, reset_v, words)


def _made(scene: Scene, part: str, pin: int, star: int, broken: Asks, allowed: float, wrong: str) -> Watch:
    point = scene.name_of(pin)
    return Watch(
        rule="SUP-1",
        severity="fault",
        at=(part,),
        label=f"{part} ({scene.title(part)}, {point})",
        wrong=wrong,
        broken=broken,
        allowed=allowed,
        unit="V",
        mend="Feed and earth it by wires of its own, thick and short, straight from the main relay and its earth stud",
        places_of=partial(_places, scene, part, pin, star, broken),
    )


def _places(scene: Scene, part: str, pin: int, star: int, broken: Asks) -> Places:
    weakest, along = _weakest(scene, pin, star, broken)
    wires = tuple(wire.id for wire in scene.wires_at.get(scene.name_of(pin), ()))
    hand = tuple(dict.fromkeys((*((weakest,) if weakest else wires[:1]), part)))
    return Places(hand, tuple(dict.fromkeys(place for place in (*along, *wires) if place not in hand)), along)


def _weakest(scene: Scene, pin: int, star: int, broken: Asks) -> tuple[str | None, tuple[str, ...]]:
    """Where most volts are lost on the way there and back, in the worst of a few states that break it."""
    asked = {"key": ("run", "start"), "engine": ("stopped", "cranking", "idle", "running")}
    answers = scene.answers(look(scene, asked))
    hit, volts = broken(answers)
    rows = np.flatnonzero(hit & answers.possible)
    if not len(rows):
        return None, ()
    row = int(rows[np.argmin(volts[rows])])
    polarity = joined_of(scene).polarity
    way = (
        *bringing(scene, answers, row, pin, polarity),
        *taking(scene, answers, row, star, polarity),
    )
    lossy = [k for k in way if scene.element(k).type in _CARRIERS]
    if not lossy:
        return None, named(scene, way)
    worst = max(lossy, key=lambda k: abs(float(answers.across(k)[row])))
    return named(scene, (worst,))[0] if named(scene, (worst,)) else None, named(scene, way)


# SUP-2


def _standing_findings(scene: Scene) -> tuple[Told, ...]:
    """What flattens the battery with everything at rest; told with the state, so that it can fold beneath its cause.

    Told once for all, at the part that draws most. Another that flattens it by itself is told too, and then the first
    is asked without it: each goes with its own cause.
    """
    cells = list(cells_once(scene))
    batteries = [scene.element(k).part for k in cells]
    capacity_ah = sum(float(_settings(scene, part).get("capacity_ah", 0.0)) for part in batteries)
    if not cells or capacity_ah <= 0.0:
        return ()
    values = look(scene, {}, alone=True)
    answers = scene.answers(values)
    hit, days = _flat_soon(cells, capacity_ah, (), answers)
    if not hit[0]:
        return ()
    drawn, along = _drains(scene, answers)
    drains = [part for part in drawn if drawn[part] >= _WORTH * max(drawn.values())]
    alone = {part: _using(scene, part) for part in list(drawn)[1:]}
    told_too = {part: own for part, own in alone.items() if _flattens(capacity_ah, own, answers)[0][0]}
    others = tuple(index for own in told_too.values() for index in own)
    named = ", ".join(f"{part} ({scene.title(part)})" for part in drains[1:3])
    words = "draws most of what flattens the battery with everything off" + (f"; then {named}" if named else "")
    first = drains[0] if drains else batteries[0]
    asks = partial(_flat_soon, cells, capacity_ah, others)
    touched = (*drains, *along, *batteries)
    found = [_standing(scene, (first, *drains[1:3]), touched, words, float(days[0]), asks, values, along)]
    for part, own in told_too.items():
        asks = partial(_flattens, capacity_ah, own)
        own_days = float(asks(answers)[1][0])
        words = "flattens the battery by itself with everything off"
        found.append(_standing(scene, (part,), batteries, words, own_days, asks, values))
    return tuple(found)


def _standing(
    scene: Scene,
    drains: Sequence[str],
    touched: Sequence[str],
    wrong: str,
    found: float,
    asks: Asks,
    values: type_i,
    path: tuple[str, ...] = (),
) -> Told:
    part = drains[0]
    wires = tuple(wire.id for wire in scene.wires.values() if _touches(part, wire.from_, wire.to))
    hand = tuple(dict.fromkeys((part, *wires[:1], *drains[1:])))[:4]
    finding = Finding(
        rule="SUP-2",
        severity=_standing_severity(found),
        at=hand,
        when=(("key", "off"),) if "key" in scene.compiled.variable_of else (),
        touches=tuple(dict.fromkeys(place for place in (*touched, *wires) if place not in hand)),
        label=f"{part} ({scene.title(part)})",
        wrong=wrong,
        found=found,
        allowed=constant("standing_warning_days"),
        unit="d",
        source="common-practice",
        mend="Feed it from a contact that the key opens, or have it draw less while it sleeps",
        path=path,
    )
    return asked_again(finding, asks, values[0])


def _flat_soon(
    cells: Sequence[int], capacity_ah: float, without: Sequence[int], answers: Answers
) -> tuple[type_bool, type_float]:
    """Days until the battery is flat by all that is drawn, less what some elements draw."""
    amps = -answers.batch.amps[:, list(cells)].sum(axis=1)
    return _soon(capacity_ah, amps - np.abs(answers.batch.amps[:, list(without)]).sum(axis=1))


def _flattens(capacity_ah: float, own: Sequence[int], answers: Answers) -> tuple[type_bool, type_float]:
    """Days until the battery is flat by what one part draws."""
    return _soon(capacity_ah, np.abs(answers.batch.amps[:, list(own)]).sum(axis=1))


def _soon(capacity_ah: float, amps: type_float) -> tuple[type_bool, type_float]:
    days = capacity_ah / (_HOURS * np.maximum(amps, 1e-9))
    return days < constant("standing_warning_days"), days


def _using(scene: Scene, part: str) -> tuple[int, ...]:
    """The elements of a part that use current between two nets."""
    joined = joined_of(scene)
    return tuple(
        k
        for k in scene.elements_of[part]
        if _uses(scene.element(k)) and joined.nets(scene, k)[0] != joined.nets(scene, k)[1]
    )


def _standing_severity(found: float) -> Severity:
    return "fault" if found < constant("standing_fault_days") else "warning"


def _drains(scene: Scene, answers: Answers) -> tuple[dict[str, float], tuple[str, ...]]:
    """The parts that draw with everything off with what each draws, the largest first, and the way to that one. [A]"""
    joined = joined_of(scene)
    used: dict[str, float] = {}
    biggest: dict[str, tuple[float, int]] = {}
    for k, element in enumerate(scene.compiled.network.elements):
        amps = abs(float(answers.batch.amps[0, k]))
        a, b = joined.nets(scene, k)
        if a == b or not _uses(element) or amps <= 0.0:
            continue
        used[element.part] = used.get(element.part, 0.0) + amps
        biggest[element.part] = max(biggest.get(element.part, (0.0, k)), (amps, k))
    if not used:
        return {}, ()
    drains = dict(sorted(used.items(), key=lambda one: (-one[1], one[0])))
    k = biggest[next(iter(drains))][1]
    forward = joined.polarity * float(answers.batch.amps[0, k]) > 0.0
    feed = scene.ends(k)[0 if forward else 1]
    return drains, named(scene, bringing(scene, answers, 0, feed, joined.polarity))


def _uses(element: Element) -> bool:
    if not element.part:
        return False
    if element.type == "pin":
        return element.name.endswith((".draw", ".sleep"))
    return element.type not in _PASSES_ON


def _touches(part: str, *ends: str) -> bool:
    return any(end.split(".")[0] == part for end in ends)
