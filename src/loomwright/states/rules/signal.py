"""Do sensors and controllers have an earth of their own?

SGN-1: a sensor earth carries the current of something that is no sensor, meets metal on the way, or lies more than
20 mV from the controller's own earth. SGN-2: a controller's power earth carries more than its own draw and its
drivers'. Both in every state, the worst told, at the wire that shares. Read off the sheets: SGN-3, what volts cannot
show (`signal_sheets`); SGN-5, an engine speed gauge that gets other pulses than it wants (`engine_speed`). SGN-4: park
or neutral that a controller cannot tell from a driving range (`ranges`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.paths.surroundings import wire_ends, wire_label
from loomwright.states.rules.engine_speed import pulse_findings
from loomwright.states.rules.ranges import range_findings
from loomwright.states.signals.earth_nets import EarthNet, earth_nets, meets_others, pins_with, wired_nodes
from loomwright.states.signals.signal_sheets import signal_sheet_findings
from loomwright.tables.constants import constant

__all__ = ["sheet_findings", "watches"]

_ANALOG = ("temperature_input", "analog_input")
"""Inputs that 20 mV move a reading of; a switching sensor does not mind them."""


def watches(scene: Scene) -> tuple[Watch, ...]:
    """SGN-1 and SGN-2 of every controller."""
    return (
        *(watch for net in earth_nets(scene, "sensor_earth") for watch in _sensor_net(scene, net)),
        *_earthed_elsewhere(scene),
        *(watch for net in earth_nets(scene, "power_earth") for watch in _power_net(scene, net)),
        *_through_the_star(scene),
    )


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """SGN-3 and SGN-5, read off the sheets, and SGN-4 of every selector."""
    return (*signal_sheet_findings(scene), *range_findings(scene), *pulse_findings(scene))


def _sensor_net(scene: Scene, net: EarthNet) -> Iterator[Watch]:
    """SGN-1 of one sensor earth: what hangs on it, where it meets metal, how far it lies from the star."""
    strangers = [hanging for hanging in net.hanging if not _is_sensor(scene, hanging.part)]
    for hanging in strangers:
        yield _shared(
            scene,
            "SGN-1",
            net,
            hanging.wire or hanging.part,
            hanging.part,
            _most(hanging.elements),
            wrong=f"brings the current of {hanging.part} into the sensor earth, and with it shifts readings",
            mend=f"Take the earth of {hanging.part} to an earth point of its own",
        )
    for wire, index in net.meets:
        yield _shared(
            scene,
            "SGN-1",
            net,
            wire,
            "",
            _most((index,)),
            wrong="joins the sensor earth to an earth that others use, and their current takes this way",
            mend="Cut it: a sensor earth goes to the controller and nowhere else",
        )
    elements = tuple(k for hanging in strangers for k in hanging.elements) + tuple(k for _, k in net.meets)
    yield from _offset(scene, net, elements)
    yield from _heated(scene, net)


def _heated(scene: Scene, net: EarthNet) -> Iterator[Watch]:
    """A heater's current in the sensor earth, where that shifts the readings: it has a return of its own to take."""
    star = scene.compiled.node_of.get(f"{net.controller}._star")
    if star is None:
        return
    ends = _sensor_ends(scene, net)
    for hanging in net.hanging:
        if not _has_two_returns(scene, hanging.part):
            continue
        amps = _most(hanging.elements)

        def offset(answers: Answers, amps: Callable[[Answers], type_float] = amps) -> type_float:
            heavy = amps(answers) > constant("controller_earth_share_a")
            far = _farthest(answers, ends, star) > constant("sensor_offset_v")
            return np.where(heavy & far & _alive(answers, net.controller), amps(answers), 0.0)

        yield _shared(
            scene,
            "SGN-1",
            net,
            hanging.wire or hanging.part,
            hanging.part,
            offset,
            wrong=f"brings the supply current of {hanging.part} into the sensor earth, and with it shifts readings",
            mend=f"Take this wire to an earth point of its own; a signal earth of {hanging.part} stays where it is",
        )


def _has_two_returns(scene: Scene, part: str) -> bool:
    """True of a sensor whose heater or supply has a return of its own beside that of its signal."""
    names = {terminal.name for terminal in scene.kind(part).terminals}
    return _is_sensor(scene, part) and bool(names & {"signal_earth", "h-"})


def _sensor_ends(scene: Scene, net: EarthNet) -> tuple[int, ...]:
    sensors = [hanging for hanging in net.hanging if _is_sensor(scene, hanging.part)]
    return tuple(dict.fromkeys(n for one in sensors for k in one.elements for n in scene.ends(k) if n in net.nodes))


def _offset(scene: Scene, net: EarthNet, others: tuple[int, ...]) -> Iterator[Watch]:
    """How far the sensors' earth lies from the controller's, where nothing else explains it."""
    sensors = [hanging for hanging in net.hanging if _is_sensor(scene, hanging.part)]
    ends = _sensor_ends(scene, net)
    own = tuple(k for hanging in sensors if _has_two_returns(scene, hanging.part) for k in hanging.elements)
    star = scene.compiled.node_of.get(f"{net.controller}._star")
    if star is None or not ends or not net.pins:
        return
    pin = scene.element(net.pins[0]).name.removesuffix(".earth")
    wires = [wire.id for wire in scene.wires_at.get(pin, ())]
    limit_v = constant("sensor_offset_v")

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        offset = _farthest(answers, ends, star)
        calm = _most(others + own)(answers) <= constant("controller_earth_share_a")
        return (offset > limit_v) & calm & _alive(answers, net.controller), offset

    yield Watch(
        rule="SGN-1",
        severity="fault",
        at=(wires[0] if wires else pin,),
        touches=tuple(dict.fromkeys((pin, *(one.part for one in sensors), *net.wires))),
        label=wire_label(scene, wires[0]) if wires else pin,
        wrong="the sensors' earth lies too far from the controller's own: their readings are shifted",
        allowed=limit_v,
        unit="V",
        source="common-practice",
        mend="Fit a thicker or shorter sensor earth, or a second one",
        broken=broken,
        worst=True,
    )


def _earthed_elsewhere(scene: Scene) -> Iterator[Watch]:
    """SGN-1 of sensors read by a controller but earthed by a wire to somewhere else."""
    inputs, earths = pins_with(scene, *_ANALOG), pins_with(scene, "sensor_earth")
    earth = conduction_of(scene).earth
    for part in scene.parts:
        if not _is_sensor(scene, part):
            continue
        met = {terminal: _met(scene, f"{part}.{terminal}") for terminal in _wired(scene, part)}
        points = {point for names, _ in met.values() for point in names}
        read_by = [point.split(".")[0] for point in sorted(points) if point in inputs]
        if not read_by or not points.isdisjoint(earths):
            continue
        for terminal, (_, shared) in met.items():
            if not shared.isdisjoint(earth):
                yield _elsewhere(scene, part, terminal, read_by[0])


def _elsewhere(scene: Scene, part: str, terminal: str, controller: str) -> Watch:
    point = f"{part}.{terminal}"
    wire = scene.wires_at[point][0].id
    node, star = scene.node(point), scene.compiled.node_of[f"{controller}._star"]
    limit_v = constant("sensor_offset_v")

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        offset = _farthest(answers, (node,), star)
        return (offset > limit_v) & _alive(answers, controller) & answers.turning(), offset

    return Watch(
        rule="SGN-1",
        severity="fault",
        at=(wire,),
        touches=(part, controller),
        label=wire_label(scene, wire),
        wrong=f"earths {part} where others' current flows: its reading is shifted by what they lose",
        allowed=limit_v,
        unit="V",
        source="common-practice",
        mend=f"Take the earth of {part} to a sensor earth of {controller}",
        broken=broken,
        worst=True,
    )


def _power_net(scene: Scene, net: EarthNet) -> Iterator[Watch]:
    """SGN-2 of one power earth: what hangs on it that is no controller and no sensor."""
    for hanging in net.hanging:
        duty = scene.kind(hanging.part).duty
        if duty in ("controller", "sensor"):
            continue
        yield _shared(
            scene,
            "SGN-2",
            net,
            hanging.wire or hanging.part,
            hanging.part,
            _most(hanging.elements),
            wrong=f"brings the current of {hanging.part} into the controller's power earth",
            mend=f"Take the earth of {hanging.part} to an earth point of its own",
        )


def _through_the_star(scene: Scene) -> Iterator[Watch]:
    """SGN-2 where current comes in by one earth pin of a controller and leaves by another."""
    for point in pins_with(scene, "power_earth"):
        controller = point.split(".")[0]
        star = scene.compiled.node_of.get(f"{controller}._star")
        earth = scene.compiled.elements_of.get(f"{point}.earth", ())
        wires = scene.wires_at.get(point, ())
        if star is None or not earth or not wires:
            continue
        # what a sensor earth brings in is SGN-1's, not told again here
        power = {f"{other}.earth" for other in pins_with(scene, "power_earth")}
        at_star = [k for k in scene.elements_of.get(controller, ()) if star in scene.ends(k)]
        own = [k for k in at_star if scene.element(k).name not in power]
        yield _comes_in(scene, point, earth[0], tuple(own), wires[0].id)


def _comes_in(scene: Scene, point: str, earth: int, own: tuple[int, ...], wire: str) -> Watch:
    controller = point.split(".")[0]
    limit_a = constant("controller_earth_share_a")

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        mine = sum((np.abs(answers.amps(k)) for k in own), np.zeros(answers.count))
        foreign = np.abs(answers.amps(earth)) - mine
        return (foreign > limit_a) & ~answers.collapsed(), foreign

    return Watch(
        rule="SGN-2",
        severity="fault",
        at=(wire,),
        touches=tuple(dict.fromkeys((point, controller, *wire_ends(scene, wire)))),
        label=wire_label(scene, wire),
        wrong=f"carries current through {controller} that is not its own",
        allowed=limit_a,
        unit="A",
        source="our-choice",
        mend="Mend the strap or earth that this current should take, and end all power earths at one place",
        broken=broken,
        worst=True,
    )


def _shared(
    scene: Scene,
    rule: str,
    net: EarthNet,
    at: str,
    part: str,
    amps: Callable[[Answers], type_float],
    *,
    wrong: str,
    mend: str,
) -> Watch:
    limit_a = constant("controller_earth_share_a")

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        found = amps(answers)
        return (found > limit_a) & ~answers.collapsed(), found

    pins = tuple(scene.element(k).name.removesuffix(".earth") for k in net.pins)
    label = wire_label(scene, at) if at in scene.wires else f"{at} ({scene.title(at)})"
    is_load = at in scene.wires and part in scene.parts and scene.kind(part).duty == "load"
    return Watch(
        rule=rule,
        severity="fault",
        at=(at,),
        touches=tuple(name for name in dict.fromkeys((part, net.controller, *pins, *net.wires)) if name and name != at),
        label=label,
        wrong=wrong,
        allowed=limit_a,
        unit="A",
        source="our-choice",
        mend=mend,
        trial=Changes(opened=(at,)) if is_load else None,
        root=is_load,
        broken=broken,
        worst=True,
    )


def _most(elements: tuple[int, ...]) -> Callable[[Answers], type_float]:
    """The largest current through any of some elements. [A]"""

    def amps(answers: Answers) -> type_float:
        most = np.zeros(answers.count)
        for k in elements:
            most = np.maximum(most, np.abs(answers.amps(k)))
        return most

    return amps


def _farthest(answers: Answers, nodes: tuple[int, ...], star: int) -> type_float:
    """How far the farthest of some nodes lies from a controller's star; nothing where it floats. [V]"""
    at_star = answers.volts(star)
    most = np.zeros(answers.count)
    for node in nodes:
        most = np.maximum(most, np.nan_to_num(np.abs(answers.volts(node) - at_star)))
    return most


def _alive(answers: Answers, controller: str) -> type_bool:
    device = answers.compiled.device_of.get(f"{controller}.alive")
    fine = np.ones(answers.count, bool) if device is None else answers.on(device)
    return fine & ~answers.collapsed()


def _is_sensor(scene: Scene, part: str) -> bool:
    return scene.kind(part).duty == "sensor"


def _wired(scene: Scene, part: str) -> tuple[str, ...]:
    start = f"{part}."
    return tuple(point.removeprefix(start) for point in scene.wires_at if point.startswith(start))


def _met(scene: Scene, point: str) -> tuple[frozenset[str], frozenset[int]]:
    """Points that wires join to a terminal, and the nodes among their ends where everybody's current meets."""
    nodes, shared = wired_nodes(scene, (scene.node(point),))
    return frozenset(scene.name_of(node) for node in nodes if not meets_others(scene, node)), shared
