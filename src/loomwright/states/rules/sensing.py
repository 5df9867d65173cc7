"""Are sensors and gauges fed, and does their signal arrive? NET-3 for what is no load, and for the alternator.

A sensor or gauge is not asked for load current. Where it has a supply terminal, that must see 75 % of its volts against
its earth in some state (5 V sensors and speed sensors: of 5 V; gauges on a stabiliser: of 10 V in 12). Each terminal of
its signal must lead, through wires and joints, to something that takes it: a controller input, a gauge, a lamp; the
other end of a two-wire sensor to earth or to a controller. An alternator that is excited in no state never charges.
NET-5 is asked of the 5 V terminals too: more than one and a half times 5 V against the sensor's earth; and of gauges
made for a stabiliser: more than 1.15 times its mean.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Region, Ways, names_of, part_of
from loomwright.states.rules.bridges import bridge, first_four
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["sensor_findings", "sensor_watches"]

_SENSOR_V = 5.0
"""Supply of a sensor that gives a signal, and the least a speed sensor is made for [V]."""
_STABILISED_SHARE = 10.0 / 12.0
_STABILISED_MOST = 1.15
"""Times its mean that a stabilised gauge may see: beyond that it reads high and warms, common practice [-]."""
_NOT_SIGNALS = ("screen", "case", "engine", "trim", "5v", "5v1", "5v2", "supply", "e1", "e2", "earth")
_EARTH_TERMINALS = ("earth", "e1", "e2")
_TAKES_NOTHING = ("join", "passive")


def sensor_watches(scene: Scene, ways: Ways) -> Iterator[Watch]:
    """Is the supply of each sensor and gauge ever there, is each alternator ever excited?"""
    for part in scene.parts.values():
        for plus, minus, least_v in _supplies(scene, part):
            region = ways.region(scene.node(plus))
            yield Watch(
                rule="NET-3",
                severity="fault",
                at=first_four((part.id, plus)),
                touches=names_of(scene, region.way_to(region.plus) or region.elements()),
                label=f"{part.id} ({scene.title(part.id)})",
                wrong=f"its supply at {plus} is never there",
                mend=f"Measure from {plus} back to its fuse or its 5 V pin, and from {minus or 'its case'} to earth",
                quantifier="ever",
                broken=partial(_is_fed, scene.node(plus), scene.node(minus) if minus else -1, least_v),
                looks_at=LooksAt(nodes=tuple(scene.node(end) for end in (plus, minus) if end)),
            )
            if plus.split(".", 1)[1].startswith("5v"):
                allowed_v = constant("over_volts_factor") * _SENSOR_V
                mend = f"Take the wire at {plus} to a 5 V pin of the controller"
                yield _too_many_volts(scene, part, plus, minus, allowed_v, mend)
            elif _is_stabilised(scene, part):
                allowed_v = _STABILISED_SHARE * scene.vehicle.system_v * _STABILISED_MOST
                mend = "Feed it from the stabiliser's I, with the stabiliser's E on bare metal; or say stabilised=no"
                yield _too_many_volts(scene, part, plus, minus, allowed_v, mend)
    yield from _alternators(scene)


def _is_fed(plus: int, minus: int, least_v: float, answers: Answers) -> tuple[type_bool, type_float]:
    low = answers.volts(minus) if minus >= 0 else np.zeros(answers.count)
    volts = np.abs(answers.volts(plus) - low)
    return volts >= least_v, volts


def _is_stabilised(scene: Scene, part: Part) -> bool:
    """True of a gauge made for a stabiliser: its row says so, or the car has one and its row says nothing."""
    there = any(other.kind == "stabiliser" for other in scene.parts.values())
    is_made_for = resolve_settings(scene.kinds[part.kind], part.settings).get("stabilised") == "yes"
    return is_made_for and (there or "stabilised" in part.settings)


def _too_many_volts(scene: Scene, part: Part, plus: str, minus: str, allowed_v: float, mend: str) -> Watch:
    return Watch(
        rule="NET-5",
        severity="fault",
        at=first_four((part.id, plus)),
        touches=tuple(wire.id for point in (plus, minus) for wire in scene.wires_at.get(point, ())),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=f"gets more volts at {plus} than it is made for",
        allowed=allowed_v,
        unit="V",
        source="common-practice",
        mend=mend,
        broken=partial(_is_above, scene.node(plus), scene.node(minus) if minus else -1, allowed_v),
        worst=True,
    )


def _is_above(plus: int, minus: int, most_v: float, answers: Answers) -> tuple[type_bool, type_float]:
    low = answers.volts(minus) if minus >= 0 else np.zeros(answers.count)
    volts = np.abs(np.nan_to_num(answers.volts(plus) - low))
    return volts > most_v, volts


def _supplies(scene: Scene, part: Part) -> Iterator[tuple[str, str, float]]:
    """Supply terminal, earth terminal (nothing where it is the case), least volts between them."""
    kind = scene.kinds[part.kind]
    is_gauge = kind.duty == "gauge"
    if kind.duty not in ("sensor", "gauge") and part.kind != "throttle_electric":
        return
    names = [terminal.name for terminal in kind.terminals]
    for name in names:
        point = f"{part.id}.{name}"
        if (name != "supply" and not name.startswith("5v")) or point not in scene.wires_at:
            continue
        earth = {"5v1": "e1", "5v2": "e2"}.get(name, "earth")
        earth_point = f"{part.id}.{earth}"
        minus = earth_point if earth in names and earth_point in scene.compiled.node_of else ""
        full_v = scene.vehicle.system_v
        if name.startswith("5v") or part.kind == "sensor_hall":
            full_v = _SENSOR_V
        elif is_gauge:
            full_v *= _STABILISED_SHARE
        yield point, minus if minus in scene.wires_at else "", constant("live_frac") * full_v


def _alternators(scene: Scene) -> Iterator[Watch]:
    for index, device in enumerate(scene.compiled.network.devices):
        if device.what == "excited":
            part = device.name.split(".")[0]
            near = tuple(wire.id for name in ("D+", "L", "DF") for wire in scene.wires_at.get(f"{part}.{name}", ()))
            yield Watch(
                rule="NET-3",
                severity="fault",
                at=(part,),
                touches=near,
                label=f"{part} ({scene.title(part)})",
                wrong="is excited in no state of the car, so it never charges",
                mend=f"Wire {part}.D+ to terminal 15 through a lamp of 2 W or more, or a resistor beside it",
                quantifier="ever",
                broken=partial(_is_on, index),
                looks_at=LooksAt(devices=(index,)),
            )


def _is_on(device: int, answers: Answers) -> tuple[type_bool, type_float]:
    return answers.on(device), np.zeros(answers.count)


def sensor_findings(scene: Scene, ways: Ways, known: frozenset[str]) -> Iterator[Told]:
    """Signals and returns of sensors and gauges that lead to nothing; several on one joint are told once.

    Args:
        known: points that another finding tells of already.
    """
    told: set[frozenset[int]] = set()
    for part in scene.parts.values():
        if scene.kinds[part.kind].duty not in ("sensor", "gauge"):
            continue
        for point in _signals(scene, part):
            region = ways.region(scene.node(point))
            inside = frozenset(region.nodes)
            is_known = known.intersection(scene.name_of(node) for node in inside)
            is_return = point.split(".", 1)[1] in _EARTH_TERMINALS
            is_fine = region.reaches_minus if is_return else _is_taken(ways, region, part.id)
            if inside not in told and not is_known and not is_fine:
                told.add(inside)
                yield _untaken(ways, region, point, is_return)


def _signals(scene: Scene, part: Part) -> Iterator[str]:
    """Wired terminals of a part that carry its return or its signal, the return first."""
    kind = scene.kinds[part.kind]
    for terminal in sorted(kind.terminals, key=lambda one: one.name not in _EARTH_TERMINALS):
        point = f"{part.id}.{terminal.name}"
        is_return = terminal.name in _EARTH_TERMINALS
        if point in scene.wires_at and (is_return or terminal.name not in _NOT_SIGNALS):
            yield point


def _is_taken(ways: Ways, region: Region, part: str) -> bool:
    """True where the walk meets a supply, an earth, or a part that does something with a signal."""
    if not region.is_lost:
        return True
    scene = ways.scene
    own = scene.kind(part).duty
    others = {part_of(scene, node) for node in region.nodes} - {part, ""}
    return any(scene.kind(other).duty not in (own, *_TAKES_NOTHING) for other in others)


def _untaken(ways: Ways, region: Region, point: str, is_return: bool) -> Told:
    scene = ways.scene
    parts = dict.fromkeys(part_of(scene, node) for node in region.nodes)
    sensors = [name for name in parts if name and scene.kind(name).duty in ("sensor", "gauge")]
    joints = [name for name in parts if name and name not in sensors]
    hand = joints[0] if len(sensors) > 1 and joints else point
    title = scene.title(hand.split(".", 1)[0])
    finding = Finding(
        rule="NET-3",
        severity="fault",
        at=first_four((hand, *sensors)),
        touches=tuple(dict.fromkeys((*names_of(scene, region.elements()), *sensors, *joints))),
        label=f"{hand} ({title})",
        wrong="leads to no earth" if is_return else "leads to nothing that takes the signal or gives it an earth",
        mend=f"Run a wire from {point} to {'its earth' if is_return else 'its controller pin, its gauge or its earth'}",
    )
    return Told(finding, None, bridge(scene, point, "minus") if is_return else None)
