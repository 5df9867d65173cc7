"""What does a controller look like from its pins, alive and dead?

Inside, its power earths meet in a star, sensor earths join it, drivers return to it; it draws its own current from its
supply pins. It is *alive* while its supply pins see `minimum_v` (dying below `reset_v`) and its key inputs are live.
An ignition output gives 5 V to an igniter, or is a driver to earth itself where its row says some amps.
A driver conducts while its condition holds and the controller is alive; its body diode and recirculation path are
always there, so that a dead controller can be fed through an output.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import ControllerPin, Drive, Need, Part
from loomwright.network.draft import Draft, guards_for
from loomwright.network.element_types import FLAT_SIEMENS, diode_figures, position_guards
from loomwright.network.records import Device, Element, Guard, Law, Sense
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Ability

__all__ = ["add_controller", "pin_ability"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Inside:
    """One controller while it is added."""

    draft: Draft
    part: Part
    settings: Mapping[str, float | str]
    pins: tuple[ControllerPin, ...]
    ability_of: Mapping[str, str]
    abilities: Mapping[str, Ability]
    star: int
    alive: int
    key_live: int
    supplies: tuple[int, ...]
    guards_of: Mapping[str, tuple[Guard, ...] | None]
    duty_of: Mapping[str, float]

    def add(
        self, pin: ControllerPin, name: str, a: int, b: int, law: Law, row: tuple[float, ...], **more: object
    ) -> int:
        element = Element(
            name=f"{self.part.id}.{pin.terminal}{name}",
            a=a,
            b=b,
            law=law,
            figures=(row,),
            part=self.part.id,
            type="pin",
            **more,  # type: ignore[arg-type]
        )
        return self.draft.add(element)


def pin_ability(pin: ControllerPin, needs: Sequence[Need]) -> str:
    """What a pin acts as: the ability its need uses; with no need, the first it lists."""
    for need in needs:
        if need.ability in pin.abilities and _is_pin(need.pin, pin):
            return need.ability
    return pin.abilities[0] if pin.abilities else ""


def _names_of(pin: ControllerPin, needs: Sequence[Need]) -> set[str]:
    names = {pin.id, f"{pin.part}.{pin.terminal}"}
    return names | {need.id for need in needs if _is_pin(need.pin, pin)}


def _is_pin(named: str | None, pin: ControllerPin) -> bool:
    return bool(named) and named in (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")


def add_controller(
    draft: Draft,
    part: Part,
    settings: Mapping[str, float | str],
    pins: Sequence[ControllerPin],
    needs: Sequence[Need],
    drives: Sequence[Drive],
    abilities: Mapping[str, Ability],
    point_node: Mapping[str, int],
    live_post: int,
) -> None:
    """Add the inside of one controller: star, pins, drivers, its two devices.

    Args:
        point_node: node of each of its terminals, plugs that are off already counted.
        live_post: the battery's unearthed post, whose volts a key input is measured by.
    """
    ability_of = {pin.id: pin_ability(pin, needs) for pin in pins}
    star = draft.node(f"{part.id}._star")
    nodes = {pin.id: point_node[pin.terminal] for pin in pins}
    supplies = [pin for pin in pins if ability_of[pin.id] == "supply"]
    keys = [pin for pin in pins if ability_of[pin.id] == "key_input"]
    main = {need.pin for need in needs if need.does == "main_supply" and need.pin}
    watched = [pin for pin in supplies if {pin.id, pin.terminal, f"{part.id}.{pin.terminal}"} & main] or supplies
    share = constant("key_input_live_frac")
    key_senses = tuple(Sense(-1, nodes[pin.id], star, share, share, live_post) for pin in keys)
    minimum_v, reset_v = float(settings["minimum_v"]), float(settings["reset_v"])
    supply_senses = tuple(Sense(-1, nodes[pin.id], star, minimum_v, reset_v) for pin in watched)
    never: tuple[Guard, ...] = (Guard(((0, frozenset()),)),)
    alive = draft.add_device(
        Device(
            name=f"{part.id}.alive",
            what="alive",
            senses=supply_senses + key_senses,
            guards=() if supplies else never,
        )
    )
    key_live = draft.add_device(
        Device(name=f"{part.id}.key", what="key_input", senses=key_senses, guards=() if keys else never)
    )
    guards_of: dict[str, tuple[Guard, ...] | None] = {}
    duty_of: dict[str, float] = {}
    for pin in pins:
        names = _names_of(pin, needs)
        rows = [drive for drive in drives if drive.output in names]
        guards_of[pin.id] = _driven_when(draft, rows) or (None if rows else never)
        duty_of[pin.id] = max((row.duty_frac if row.duty_frac is not None else 1.0 for row in rows), default=1.0)
    inside = _Inside(
        draft=draft,
        part=part,
        settings=settings,
        pins=tuple(pins),
        ability_of=ability_of,
        abilities=abilities,
        star=star,
        alive=alive,
        key_live=key_live,
        supplies=tuple(nodes[pin.id] for pin in supplies),
        guards_of=guards_of,
        duty_of=duty_of,
    )
    for pin in pins:
        _add_pin(inside, pin, nodes[pin.id])


def _driven_when(draft: Draft, rows: Sequence[Drive]) -> tuple[Guard, ...] | None:
    """When an output is on: any of its rows; a row with a time only in the first phase of its condition."""
    found: list[Guard] = []
    for row in rows:
        guards = guards_for(draft, [row.when])
        if row.for_s:
            first = position_guards(draft, "phase", ("first",))[0].holds
            guards = tuple(Guard(guard.holds + first) for guard in guards or (Guard(()),))
        if guards is None:
            return None
        found.extend(guards)
    return tuple(found)


def _add_pin(inside: _Inside, pin: ControllerPin, node: int) -> None:
    ability = inside.ability_of[pin.id]
    if ability == "supply":
        _add_supply(inside, pin, node)
    elif ability == "power_earth":
        inside.add(pin, ".earth", node, inside.star, Law.LINEAR, (1.0 / constant("power_earth_star_ohm"), 0.0))
    elif ability == "sensor_earth":
        inside.add(pin, ".earth", node, inside.star, Law.LINEAR, (1.0 / constant("sensor_earth_star_ohm"), 0.0))
    elif ability == "supply_5v":
        limit_a = pin.max_a or constant("supply_5v_limit_a")
        volts = inside.abilities[ability].source_v or 5.0
        row = (1.0 / (inside.abilities[ability].source_ohm or 0.1), volts, -limit_a, 0.0, FLAT_SIEMENS)
        inside.add(pin, ".supply", node, inside.star, Law.CLAMP, row, needs=((inside.alive, True),), rating_a=limit_a)
    elif inside.abilities[ability].direction == "out":
        _add_driver(inside, pin, node, ability)
    else:
        _add_input(inside, pin, node, ability)


def _add_supply(inside: _Inside, pin: ControllerPin, node: int) -> None:
    share = max(1, len(inside.supplies))
    draw_a = float(inside.settings["draw_a"]) / share
    inside.add(
        pin, ".draw", node, inside.star, Law.CURRENT, (draw_a, 6.0), needs=((inside.alive, True),), rated_a=draw_a,
        load=True
    )  # fmt: skip
    sleep_a = float(inside.settings.get("sleep_a", 0.001)) / share
    inside.add(pin, ".sleep", node, inside.star, Law.CURRENT, (sleep_a, 6.0), needs=((inside.alive, False),))


def _add_driver(inside: _Inside, pin: ControllerPin, node: int, ability: str) -> None:
    table = inside.abilities[ability]
    on_ohm = table.on_ohm or 0.05
    alive = inside.key_live if ability == "main_relay" else inside.alive
    guards = inside.guards_of[pin.id]
    if ability == "main_relay":
        guards = None
    driven = {
        "guards": guards or (),
        "needs": ((alive, True),),
        "rating_a": pin.max_a,
        "duty_frac": inside.duty_of[pin.id],
    }
    if ability == "ignition" and (pin.max_a or 0.0) < constant("ignition_coil_driver_a"):
        logic = (1.0 / (table.source_ohm or 100.0), table.source_v or 5.0)
        inside.add(pin, ".drive", node, inside.star, Law.LINEAR, logic, **driven)
        inside.add(pin, ".input", node, inside.star, Law.LINEAR, (1.0 / (table.input_ohm or 1e4), 0.0))
        return
    high = ability == "high_side" or (ability == "half_bridge" and pin.active != "low")
    row = _limited(on_ohm, pin.max_a, table.limit_factor)
    law = Law.CLAMP if len(row) > 2 else Law.LINEAR
    if high and inside.supplies:
        inside.add(pin, ".drive", inside.supplies[0], node, law, row, **driven)
    elif not high:
        inside.add(pin, ".drive", node, inside.star, law, row, **driven)
    _add_parasites(inside, pin, node, ability)


def _limited(on_ohm: float, max_a: float | None, factor: float | None) -> tuple[float, ...]:
    if max_a is None or factor is None:
        return (1.0 / on_ohm, 0.0)
    return (1.0 / on_ohm, 0.0, -max_a * factor, max_a * factor, FLAT_SIEMENS)


def _add_parasites(inside: _Inside, pin: ControllerPin, node: int, ability: str) -> None:
    """Body diodes, the recirculation diode, and what the output does while the controller is dead."""
    body = diode_figures(constant("body_diode_v"))
    if ability in ("high_side", "half_bridge") and inside.supplies:
        inside.add(pin, ".body_high", node, inside.supplies[0], Law.DIODE, body)
    if ability != "high_side":
        inside.add(pin, ".body", inside.star, node, Law.DIODE, body)
    if pin.recirculates_to:
        target = next((other for other in inside.pins if _is_pin(pin.recirculates_to, other)), None)
        point = f"{inside.part.id}.{target.terminal}" if target else pin.recirculates_to
        inside.add(pin, ".recirculation", node, inside.draft.node(point), Law.DIODE, body)
    dead = ((inside.alive, False),)
    on = (1.0 / (inside.abilities[ability].on_ohm or 0.05), 0.0)
    if pin.unpowered == "low":
        inside.add(pin, ".unpowered", node, inside.star, Law.LINEAR, on, needs=dead)
    elif pin.unpowered == "high" and inside.supplies:
        inside.add(pin, ".unpowered", inside.supplies[0], node, Law.LINEAR, on, needs=dead)


def _add_input(inside: _Inside, pin: ControllerPin, node: int, ability: str) -> None:
    table = inside.abilities[ability]
    input_ohm = table.input_ohm or 1e6
    inside.add(pin, ".input", node, inside.star, Law.LINEAR, (1.0 / input_ohm, 0.0))
    pull_ohm = pin.pull_up_ohm or table.source_ohm
    if pull_ohm:
        pull_v = pin.pull_up_v or table.source_v or 5.0
        inside.add(
            pin, ".pull_up", node, inside.star, Law.LINEAR, (1.0 / pull_ohm, pull_v), needs=((inside.alive, True),)
        )
