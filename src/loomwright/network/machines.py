"""How do alternator and starter enter the network?

The alternator is a regulated source with a limit, acting while the engine turns and it is excited: once its field has
carried `excite_ma` it keeps itself excited until the engine stops or its volts break down. Its trio feeds D+ from B+
then; when it stands, D+ is a path to earth through the field. A dynamo stands in `dynamos`. The starter's current
follows the torque it must give: constant while cranking, its stalled resistance while the engine stands, a light
running current where it spins beside a running engine; there it must first be brought up from rest, which an
alternator alone cannot.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.network.draft import TURNING
from loomwright.network.dynamos import add_dynamo, series_winding
from loomwright.network.element_types import FLAT_SIEMENS, Spot, position_guards
from loomwright.network.records import Device, Element, Law, Sense
from loomwright.tables.constants import constant

__all__ = ["MACHINE_TYPES"]

_SELF_WAKING = ("commanded",)
_DIVIDER = 1e4
"""Ohms of what reads a starter's windings, as a multiple of theirs [-]."""


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
    if spot.text("form") == "dynamo":
        add_dynamo(spot)
        return
    setpoint_v = spot.number("setpoint_v")
    siemens = 1.0 / constant("alternator_regulation_ohm")
    full_a, idle_a = spot.number("max_a"), spot.number("idle_output_a", spot.number("max_a"))
    engine = spot.draft.variables[spot.draft.variable("engine")]
    needs = ((_excited(spot), True),)
    if spot.text("form") in _SELF_WAKING:
        _by_its_own_volts(spot, setpoint_v)
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


def _by_its_own_volts(spot: Spot, setpoint_v: float) -> None:
    """A commanded alternator wakes by the volts at B+, and loses them under a load no battery shares."""
    device = _excited(spot)
    made = spot.draft.devices[device]
    least_v = constant("field_lost_frac") * setpoint_v
    sense = Sense(-1, spot.a, spot.b, least_v, least_v)
    spot.draft.devices[device] = replace(made, senses=(*made.senses, sense))


def _field(spot: Spot) -> None:
    index = spot.draft.add(spot.element(Law.LINEAR, (1.0 / spot.number("ohm"), 0.0)))
    if spot.maybe("excite_ma") is None:
        return
    device = _excited(spot)
    excite_a = spot.number("excite_ma") / 1000.0
    made = spot.draft.devices[device]
    # kept while it turns, unless its own volts, which feed it, break down under a load no battery shares
    setpoint_v = spot.maybe("setpoint_v")
    lost_a = -1.0 if setpoint_v is None else constant("field_lost_frac") * setpoint_v / spot.number("ohm")
    sense = Sense(index, -1, -1, excite_a, lost_a)
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
    # from rest it is its stalled resistance: a source that cannot bring that up to some volts never spins it
    spins_v = constant("starter_spins_frac") * rated_v
    sense = Sense(-1, spot.a, spot.b, spins_v, spins_v)
    spins = spot.draft.add_device(Device(name=spot.name, what="motor", senses=(sense,), at_rest=True))
    laws = (
        (("stopped",), Law.LINEAR, (1.0 / stalled_ohm, 0.0), ()),
        (("cranking",), Law.CURRENT, (running_a, running_a * stalled_ohm), ()),
        (TURNING, Law.CURRENT, (light_a, light_a * stalled_ohm), ((spins, True),)),
        (TURNING, Law.LINEAR, (1.0 / stalled_ohm, 0.0), ((spins, False),)),
    )
    for positions, law, row, needs in laws:
        guards = position_guards(spot.draft, "engine", positions)
        spot.draft.add(spot.element(law, row, guards=guards, needs=needs, rated_a=running_a))
    _holds_by_both_windings(spot)


def _holds_by_both_windings(spot: Spot) -> None:
    """The solenoid stays in while the amps of both its windings together are what holds it.

    Pull and hold winding have the same turns. With terminal 50 open and the main contact still in, current comes back
    from M through the pull winding and on through the hold winding: as many amps one way as the other, and nothing is
    left. With p and h their ohms, and i the amps at which the hold winding alone lets go:

        V50/h + (V50 - VM)/p >= i        the same as        V50 - VM h/(p + h) >= i h p/(p + h)

    The second term is read off a divider from M to the case, thousands of times the windings' ohms.
    """
    settings = {element.name: element for element in spot.draft.elements if element.part == spot.part}
    hold, pull = settings.get(f"{spot.part}.hold"), settings.get(f"{spot.part}.pull")
    index = next((k for k, device in enumerate(spot.draft.devices) if device.name == f"{spot.part}.hold"), None)
    if hold is None or pull is None or index is None:
        return
    hold_ohm, pull_ohm = (1.0 / max(row[0] for row in element.figures) for element in (hold, pull))
    device = spot.draft.devices[index]
    both_ohm = hold_ohm * pull_ohm / (hold_ohm + pull_ohm)
    limit_v = min(sense.off for sense in device.senses) * both_ohm
    read = spot.draft.node(f"{spot.part}._both")
    for name, a, b, ohm in (("both_m", spot.a, read, pull_ohm), ("both_case", read, spot.b, hold_ohm)):
        row = (1.0 / (_DIVIDER * ohm), 0.0)
        spot.draft.add(
            Element(name=f"{spot.part}.{name}", a=a, b=b, law=Law.LINEAR, figures=(row,), part=spot.part, type="read")
        )
    ends = (hold.a, read) if spot.draft.live_sign > 0 else (read, hold.a)
    both = Sense(-1, *ends, limit_v, limit_v)
    spot.draft.devices[index] = replace(device, senses=(*device.senses, both))


MACHINE_TYPES = {
    "alternator": _alternator,
    "field": _field,
    "trio": _trio,
    "series_winding": series_winding,
    "starter_motor": _starter_motor,
}
