"""How does each element type of a part kind become elements and devices of the network?

One small function a type, in a plain mapping at the end. In: a `Spot` (the part, its element, its figures with settings
filled in). Nothing here knows a kind by name; kinds are data (`tables/kinds`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import exp

from loomwright.job.conditions import parse_condition
from loomwright.network.draft import Draft, guards_for
from loomwright.network.records import Device, Element, Guard, Law, Sense
from loomwright.tables.conductors import hot_factor
from loomwright.tables.constants import constant
from loomwright.tables.fuses import family_named, fuse_ohm
from loomwright.tables.joints import joint_ohm

__all__ = ["ELEMENT_TYPES", "FLAT_SIEMENS", "Spot", "diode_figures"]

FLAT_SIEMENS = 1e-3
_DIODE_KNEE_V = 0.035
_DIODE_SIEMENS = 50.0
_OPEN_RATING_A = 10.0
_SIGNAL_ON_V, _SIGNAL_OFF_V = 1.5, 1.0
_KELVIN = 273.15
_RATINGS = ("rated_a", "rating_a", "motor_a", "lamp_a", "make_a")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where an element goes: the draft, its part and place, its two nodes, its figures, the part's state variable."""

    draft: Draft
    part: str
    place: str
    name: str
    type: str
    a: int
    b: int
    between: tuple[str, str]
    figures: Mapping[str, object]
    variable: str
    coils: Mapping[str, int]
    node_of: Callable[[str], int]

    def number(self, key: str, default: float | None = None) -> float:
        """A figure as a number. Raises KeyError where the kind lacks it."""
        value = self.figures.get(key, default)
        if value is None or value == "":
            raise KeyError(f"{self.name}: {key}")
        return float(value)  # type: ignore[arg-type]

    def maybe(self, key: str) -> float | None:
        """A figure as a number, or None where it is not given."""
        value = self.figures.get(key)
        return None if value is None or value == "" else float(value)  # type: ignore[arg-type]

    def text(self, key: str, default: str = "") -> str:
        """A figure as text."""
        return str(self.figures.get(key, default))

    def element(self, law: Law, *rows: tuple[float, ...], **more: object) -> Element:
        """The element with its nodes and ratings filled in."""
        said: dict[str, object] = {name: self.maybe(name) for name in _RATINGS if name in self.figures}
        said |= {name: bool(self.figures.get(name, False)) for name in ("polar", "load")}
        said |= {"name": self.name, "part": self.part, "type": self.type, **more}
        return Element(a=self.a, b=self.b, law=law, figures=rows, **said)  # type: ignore[arg-type]

    def live_by(self) -> tuple[tuple[int, bool], ...]:
        """The need of a load that draws only while one of its terminals is driven."""
        terminal = self.text("live_by")
        if not terminal:
            return ()
        name = f"{self.part}.{terminal}_live"
        known = [k for k, device in enumerate(self.draft.devices) if device.name == name]
        if known:
            return ((known[0], True),)
        sense = Sense(-1, self.node_of(terminal), self.b, _SIGNAL_ON_V, _SIGNAL_OFF_V)
        return ((self.draft.add_device(Device(name=name, what="signal", senses=(sense,))), True),)


def diode_figures(forward_v: float) -> tuple[float, float, float]:
    """Figures of the diode law for a forward voltage at about one ampere. [V, V, S]"""
    return forward_v, _DIODE_KNEE_V, _DIODE_SIEMENS


def _ohm(spot: Spot) -> float:
    ohm = spot.maybe("ohm")
    return ohm if ohm is not None else spot.number("volt") ** 2 / spot.number("watt")


def _resistor(spot: Spot) -> None:
    if not spot.figures.get("copper"):
        spot.draft.add(spot.element(Law.LINEAR, (1.0 / _ohm(spot), 0.0), needs=spot.live_by()))
        return
    rows = _winding(spot, _ohm(spot))
    spot.draft.add(spot.element(Law.LINEAR, *rows, selector=spot.draft.thermal(), needs=spot.live_by()))


def _winding(spot: Spot, cold_ohm: float) -> tuple[tuple[float, float], ...]:
    """Figures of a copper winding at the temperatures of its place."""
    temperatures_c = spot.draft.temperatures_c(spot.place)
    return tuple((1.0 / (cold_ohm * hot_factor(temperature_c)), 0.0) for temperature_c in temperatures_c)


def _lamp(spot: Spot) -> None:
    volt, watt = spot.number("volt"), spot.number("watt")
    cold_ohm = volt * volt / watt * constant("lamp_cold_frac")
    rated_a = spot.maybe("rated_a") or watt / volt
    spot.draft.add(spot.element(Law.LAMP, (volt, watt / volt, cold_ohm), rated_a=rated_a))


def _motor(spot: Spot) -> None:
    at_v, free_v = spot.number("at_v", 13.5), spot.number("free_below_v", 1.5)
    running_a, stall_a = spot.number("running_a"), spot.number("stall_a")
    sense = Sense(-1, spot.a, spot.b, free_v, free_v)
    device = spot.draft.add_device(Device(name=spot.name, what="motor", senses=(sense,), at_rest=True))
    gate = spot.live_by()
    rated_a = spot.maybe("rated_a") or running_a
    running = (running_a / (at_v - free_v), free_v)
    spot.draft.add(spot.element(Law.MOTOR, running, needs=((device, True), *gate), rated_a=rated_a))
    stalled = (stall_a / at_v, 0.0)
    spot.draft.add(spot.element(Law.LINEAR, stalled, needs=((device, False), *gate), rated_a=rated_a))


def _coil(spot: Spot) -> None:
    cold = _ohm(spot)
    if spot.figures.get("copper"):
        index = spot.draft.add(spot.element(Law.LINEAR, *_winding(spot, cold), selector=spot.draft.thermal()))
    else:
        # an electronic input, or a cut-out whose spring makes up for the heat: the same volts at any temperature
        index = spot.draft.add(spot.element(Law.LINEAR, (1.0 / cold, 0.0)))
    if spot.maybe("pull_in_v") is not None:
        sense = Sense(index, -1, -1, spot.number("pull_in_v") / cold, spot.number("drop_out_v") / cold)
        spot.draft.add_device(Device(name=spot.name, what="relay", senses=(sense,)))


def _contact(spot: Spot) -> None:
    ohm = spot.number("ohm", joint_ohm("relay_contact"))
    need = (spot.coils[spot.text("coil", "coil")], spot.text("closed_when", "pulled") == "pulled")
    spot.draft.add(spot.element(Law.LINEAR, (1.0 / ohm, 0.0), needs=(need,)))


def _diode(spot: Spot) -> None:
    spot.draft.add(spot.element(Law.DIODE, diode_figures(spot.number("forward_v", 0.7)), polar=False))


def _switch(spot: Spot) -> None:
    joint = "key_contact" if spot.variable == "key" else "switch_contact"
    ohm = spot.number("ohm", joint_ohm(joint))
    guards: tuple[Guard, ...] | None
    if "closes_when" in spot.figures:
        guards = guards_for(spot.draft, [parse_condition(spot.text("closes_when"))])
    else:
        guards = position_guards(spot.draft, spot.variable, _closed_positions(spot))
    if spot.part in spot.draft.changes.stuck:
        guards = None
    spot.draft.add(spot.element(Law.LINEAR, (1.0 / ohm, 0.0), guards=guards or ()))


def _closed_positions(spot: Spot) -> tuple[str, ...]:
    closed = spot.figures["closed_at"]
    positions = tuple(closed) if isinstance(closed, list | tuple) else tuple(str(closed).split())
    dropped = spot.figures.get("dropped_by", ())
    dropped = tuple(dropped) if isinstance(dropped, list | tuple) else tuple(str(dropped).split())
    if set(dropped) & set(spot.between):
        positions = tuple(position for position in positions if position != "start")
    return tuple(str(position) for position in positions)


def position_guards(draft: Draft, variable: str, positions: tuple[str, ...]) -> tuple[Guard, ...]:
    """A guard that holds at the given positions of a variable."""
    index = draft.variable(variable)
    if index < 0:
        return (Guard(((0, frozenset()),)),)
    values = draft.variables[index].values
    return (Guard(((index, frozenset(k for k, value in enumerate(values) if value in positions)),)),)


def _fuse(spot: Spot) -> None:
    if spot.part in spot.draft.changes.pulled:
        _nothing(spot)
        return
    rating_a = spot.maybe("rating_a")
    family = spot.text("family", "blade_c")
    ohm = spot.number("ohm", _element_ohm(family, rating_a)) + joint_ohm("fuse_clip")
    needs: tuple[tuple[int, bool], ...] = ()
    if rating_a is not None and spot.part not in spot.draft.changes.whole:
        device = spot.draft.reserve_device()
        needs = ((device, False),)
        index = len(spot.draft.elements)
        limit_a = constant("blown_factor") * rating_a
        spot.draft.add_device(
            Device(name=spot.name, what="fuse", senses=(Sense(index, -1, -1, limit_a, -1.0),))
        )  # fmt: skip
    spot.draft.add(spot.element(Law.LINEAR, (1.0 / ohm, 0.0), needs=needs, rating_a=rating_a))


def _element_ohm(family: str, rating_a: float | None) -> float:
    """A fuse's own resistance; a rating nobody makes, or left open, is taken as the nearest that is made. [ohm]"""
    made = family_named(family).ratings
    wanted = rating_a if rating_a is not None else _OPEN_RATING_A
    return fuse_ohm(family, min(made, key=lambda rating: abs(rating - wanted)))


def _link(spot: Spot) -> None:
    if spot.part in spot.draft.changes.pulled:
        _nothing(spot)
    else:
        ohm = spot.number("ohm", constant("fusible_link_mohm") / 1000.0) + joint_ohm("fuse_clip")
        spot.draft.add(spot.element(Law.LINEAR, (1.0 / ohm, 0.0)))


def _battery(spot: Spot) -> None:
    if spot.draft.changes.without_battery:
        return
    emf_v, ohm = spot.number("emf_v"), spot.number("internal_ohm")
    scale = emf_v / 12.6
    charge_v = constant("battery_charge_v") * scale
    acceptance = constant("battery_charge_factor")

    def row(volts: float, inside_ohm: float) -> tuple[float, ...]:
        return volts, 1.0 / inside_ohm, max(charge_v, volts + 0.1), 1.0 / (inside_ohm * acceptance), FLAT_SIEMENS

    flat_v, weak_v = constant("battery_flat_emf_v") * scale, constant("battery_cold_weak_emf_v") * scale
    jumped = 1.0 / (1.0 / ohm + 1.0 / (ohm + constant("jump_ohm")))
    rows = {
        "full": row(emf_v, ohm),
        "flat": row(flat_v, ohm * constant("battery_flat_resistance_factor")),
        "cold_weak": row(weak_v, ohm * constant("battery_cold_weak_resistance_factor")),
        "absent": (emf_v, 0.0, charge_v, 0.0, 0.0),
        "jump": row(emf_v, jumped),
    }
    index = spot.draft.variable("battery")
    if index < 0:
        spot.draft.add(spot.element(Law.BATTERY, rows["full"]))
        return
    chosen = [rows[value] for value in spot.draft.variables[index].values]
    spot.draft.add(spot.element(Law.BATTERY, *chosen, selector=spot.draft.by_variable("battery")))


def _constant_current(spot: Spot) -> None:
    amps = spot.number("amps")
    row = (amps, spot.number("low_v", 6.0))
    rated_a = spot.maybe("rated_a") or amps
    spot.draft.add(spot.element(Law.CURRENT, row, needs=spot.live_by(), rated_a=rated_a))


def _constant_power(spot: Spot) -> None:
    spot.draft.add(spot.element(Law.POWER, (spot.number("watt"), spot.number("low_v", 6.0)), needs=spot.live_by()))


def _source(spot: Spot) -> None:
    if spot.draft.changes.without_battery:
        return
    siemens, volts = 1.0 / spot.number("ohm"), spot.number("volts", 0.0)
    guards: tuple[Guard, ...] | None = None
    if spot.figures.get("live_when"):
        guards = guards_for(spot.draft, [parse_condition(spot.text("live_when"))])
    max_a = spot.maybe("max_a")
    if max_a is None:
        spot.draft.add(spot.element(Law.LINEAR, (siemens, volts), guards=guards or ()))
        return
    row = (siemens, volts, -max_a, max_a, FLAT_SIEMENS)
    spot.draft.add(spot.element(Law.CLAMP, row, guards=guards or ()))


def _ntc(spot: Spot) -> None:
    r25_ohm, beta_k = spot.number("r25_ohm"), spot.number("beta_k")

    def ohm(temperature_c: float) -> float:
        return r25_ohm * exp(beta_k * (1.0 / (temperature_c + _KELVIN) - 1.0 / (25.0 + _KELVIN)))

    _by_sensed(spot, lambda value: 1.0 / ohm(value))


def _law_resistor(spot: Spot) -> None:
    low, high = spot.number("from_value"), spot.number("to_value")
    low_ohm, high_ohm = spot.number("from_ohm"), spot.number("to_ohm")

    def siemens(value: float) -> float:
        share = min(1.0, max(0.0, (value - low) / (high - low)))
        return 1.0 / (low_ohm + share * (high_ohm - low_ohm))

    _by_sensed(spot, siemens)


def _by_sensed(spot: Spot, siemens: Callable[[float], float]) -> None:
    index = spot.draft.variable(spot.text("senses"))
    if index < 0:
        spot.draft.add(spot.element(Law.LINEAR, (siemens(spot.number("rest_value", 20.0)), 0.0)))
        return
    rows = [(siemens(float(value)), 0.0) for value in spot.draft.variables[index].values]
    spot.draft.add(spot.element(Law.LINEAR, *rows, selector=spot.draft.by_variable(spot.text("senses"))))


def _nothing(spot: Spot) -> None:
    """Open at direct current."""
    spot.draft.add(spot.element(Law.LINEAR, (0.0, 0.0)))


ELEMENT_TYPES: Mapping[str, Callable[[Spot], None]] = {
    "resistor": _resistor,
    "lamp": _lamp,
    "motor": _motor,
    "coil": _coil,
    "contact": _contact,
    "diode": _diode,
    "switch": _switch,
    "fuse": _fuse,
    "breaker": _fuse,
    "link": _link,
    "battery": _battery,
    "constant_current": _constant_current,
    "constant_power": _constant_power,
    "source": _source,
    "ntc": _ntc,
    "law_resistor": _law_resistor,
    "capacitor": _nothing,
}
