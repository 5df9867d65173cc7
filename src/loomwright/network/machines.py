"""How do alternator and starter enter the network?

The alternator is a regulated source with a limit, acting while the engine turns and it is excited: once its field has
carried `excite_ma` it keeps itself excited until the engine stops. Its trio feeds D+ from B+ then; when it stands, D+
is a path to earth through the field. The starter's current follows the torque it must give: constant while cranking,
its stalled resistance while the engine stands, a light running current where it spins a running engine over.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.network.draft import TURNING
from loomwright.network.element_types import FLAT_SIEMENS, Spot, position_guards
from loomwright.network.records import Device, Law, Sense
from loomwright.tables.constants import constant

__all__ = ["MACHINE_TYPES"]

_SELF_WAKING = ("commanded", "dynamo")


def _excited(spot: Spot) -> int:
    """The device 'excited' of this alternator, made on first use without senses (its field fills them in)."""
    name = f"{spot.part}.excited"
    found = [k for k, device in enumerate(spot.draft.devices) if device.name == name]
    if found:
        return found[0]
    guards = position_guards(spot.draft, "engine", TURNING)
    return spot.draft.add_device(Device(name=name, what="excited", senses=(), guards=guards))


def _alternator(spot: Spot) -> None:
    if spot.draft.changes.without_battery:
        return
    setpoint_v = spot.number("setpoint_v")
    siemens = 1.0 / constant("alternator_regulation_ohm")
    full_a, idle_a = spot.number("max_a"), spot.number("idle_output_a", spot.number("max_a"))
    engine = spot.draft.variables[spot.draft.variable("engine")]
    # a dynamo or a commanded alternator wakes by itself; the others wait for their field
    needs = () if spot.text("form") in _SELF_WAKING else ((_excited(spot), True),)
    limits = [idle_a if value == "idle" else full_a for value in engine.values]
    rows = [(siemens, setpoint_v, -limit_a, 0.0, FLAT_SIEMENS) for limit_a in limits]
    spot.draft.add(
        spot.element(
            Law.CLAMP,
            *rows,
            selector=spot.draft.by_variable("engine"),
            guards=position_guards(spot.draft, "engine", TURNING),
            needs=needs,
        )
    )


def _field(spot: Spot) -> None:
    index = spot.draft.add(spot.element(Law.LINEAR, (1.0 / spot.number("ohm"), 0.0)))
    if spot.maybe("excite_ma") is None:
        return
    device = _excited(spot)
    excite_a = spot.number("excite_ma") / 1000.0
    made = spot.draft.devices[device]
    # kept while it turns: the off limit can't be undershot
    sense = Sense(index, -1, -1, excite_a, -1.0)
    spot.draft.devices[device] = Device(
        name=made.name, what=made.what, senses=(*made.senses, sense), guards=made.guards
    )  # fmt: skip


def _trio(spot: Spot) -> None:
    if spot.draft.changes.without_battery:
        return
    siemens = 1.0 / constant("alternator_trio_ohm")
    row = (siemens, 0.0, 0.0, spot.number("max_a"), FLAT_SIEMENS)
    spot.draft.add(
        spot.element(
            Law.CLAMP,
            row,
            guards=position_guards(spot.draft, "engine", TURNING),
            needs=((_excited(spot), True),),
        )
    )


def _starter_motor(spot: Spot) -> None:
    running_a, stall_a, rated_v = spot.number("running_a"), spot.number("stall_a"), spot.number("rated_v")
    stalled_ohm = rated_v / stall_a
    light_a = running_a * constant("starter_overrun_frac")
    laws = (
        (("stopped",), Law.LINEAR, (1.0 / stalled_ohm, 0.0)),
        (("cranking",), Law.CURRENT, (running_a, running_a * stalled_ohm)),
        (TURNING, Law.CURRENT, (light_a, light_a * stalled_ohm)),
    )
    for positions, law, row in laws:
        guards = position_guards(spot.draft, "engine", positions)
        spot.draft.add(spot.element(law, row, guards=guards, rated_a=running_a))
    _let_go_when_reversed(spot, rated_v)


def _let_go_when_reversed(spot: Spot, rated_v: float) -> None:
    """The solenoid lets go once its pull winding is fed backwards from M.

    With terminal 50 open and the main contact still in, current comes back from M through the pull winding into the
    hold
    winding: equal turns, opposite sense, no pull left. Half the volts that puts across the pull winding are the limit.
    """
    settings = {element.name: element for element in spot.draft.elements if element.part == spot.part}
    hold, pull = settings.get(f"{spot.part}.hold"), settings.get(f"{spot.part}.pull")
    if hold is None or pull is None:
        return
    hold_ohm, pull_ohm = (1.0 / max(row[0] for row in element.figures) for element in (hold, pull))
    limit_v = -0.5 * rated_v * pull_ohm / (pull_ohm + hold_ohm)
    for index, device in enumerate(spot.draft.devices):
        if device.name == f"{spot.part}.hold":
            ends = (pull.a, pull.b) if spot.draft.live_sign > 0 else (pull.b, pull.a)
            reversed_pull = Sense(-1, *ends, limit_v, limit_v)
            spot.draft.devices[index] = replace(device, senses=(*device.senses, reversed_pull))


MACHINE_TYPES = {"alternator": _alternator, "field": _field, "trio": _trio, "starter_motor": _starter_motor}
