"""How is the law of one element told in the words of a SPICE netlist?

In: law, its figures, two nodes. Out: lines. Straight lines are resistors and sources; lamps, diodes, motors and
constant loads are behavioural current sources. What has corners (battery, regulated or limited source) is built from
resistors, sources and diodes that are next to ideal, since the plain Newton steps of a simulator go round in circles at
such corners of a formula and do not at diodes. The parts together follow the same law:

  battery   the line between emf and charge volts, everywhere; a diode from the emf below it; a diode into the charge
            volts above them
  clamp     the outside line, everywhere; beside it the rest of the inside line in series with one current limit a
            direction: a current source with a diode that takes back what is not wanted

The diodes cost a tenth of a millivolt at a hundred amperes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, log1p

from loomwright.network.laws import DIODE_BLOCKED, LAMP_EXPONENT
from loomwright.network.records import Law

__all__ = ["IDEAL_DIODE", "LAW_WORDS", "Gate", "law_lines", "law_words"]

IDEAL_DIODE = ".model ideal D(is=1e-12 n=1e-4)"
"""A diode whose knee is a ten-thousandth of a real one's."""

LAW_WORDS: Mapping[Law, str] = {
    Law.LINEAR: "linear: I = (V - emf_v) siemens",
    Law.LAMP: f"lamp: I = design_a (V / design_v)^{LAMP_EXPONENT}, a resistor of cold_ohm where that gives less",
    Law.DIODE: "diode: I = siemens knee_v (ln(1 + exp((V - forward_v) / knee_v)) - ln(1 + exp(-12))), "
    "nothing from 12 knee_v below forward_v",
    Law.CLAMP: "clamp: I = (V - emf_v) siemens between min_a and max_a, beyond them at outside_siemens",
    Law.BATTERY: "battery: discharge_siemens below emf_v, charge_siemens above charge_v, between_siemens between",
    Law.CURRENT: "current: I = amps above low_v, rising by a millionth of it a volt; a resistor below",
    Law.POWER: "power: I = watt / V above low_v, a resistor below",
    Law.MOTOR: "motor: I = (V - free_v) siemens above free_v, a millionth of that slope below",
}
"""Each law in a line, with the names of its figures."""

_FIGURES: Mapping[Law, tuple[str, ...]] = {
    Law.LINEAR: ("siemens", "emf_v"),
    Law.LAMP: ("design_v", "design_a", "cold_ohm"),
    Law.DIODE: ("forward_v", "knee_v", "siemens"),
    Law.CLAMP: ("siemens", "emf_v", "min_a", "max_a", "outside_siemens"),
    Law.BATTERY: ("emf_v", "discharge_siemens", "charge_v", "charge_siemens", "between_siemens"),
    Law.CURRENT: ("amps", "low_v"),
    Law.POWER: ("watt", "low_v"),
    Law.MOTOR: ("siemens", "free_v"),
}
_FLAT = 1e-6
_LINE = 30.0
_SHUT = 37.0


def law_words(law: Law, figures: tuple[float, ...]) -> str:
    """An element's law and figures for a comment: `lamp design_v=12 design_a=1.75 cold_ohm=0.571`."""
    named = " ".join(f"{name}={value:.6g}" for name, value in zip(_FIGURES[law], figures, strict=False))
    return f"{law.name.lower()} {named}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A node whose volts let an element act.

    on: it acts while the node stands at 1 V, else while it stands at 0 V.
    """

    node: str
    on: bool


def law_lines(mark: str, law: Law, figures: tuple[float, ...], a: str, b: str, gates: Sequence[Gate] = ()) -> list[str]:
    """The lines of one element between nodes `a` and `b`; none where it is open.

    Args:
        mark: what tells its parts and inner nodes from those of other elements.
        figures: meaning by `law`, see `records.Law`. [-]
        gates: what lets it act; all must.
    """
    if law == Law.LINEAR:
        return _linear(mark, figures, a, b, gates)
    if law == Law.CLAMP:
        return _clamp(mark, figures, a, b, gates)
    if law == Law.BATTERY:
        return _battery(mark, figures, a, b)
    formula = _current(law, figures, f"V({a},{b})")
    return [f"B{mark} {a} {b} I = {f'({formula}){_allowed(gates)}' if gates else formula}"]


def _resistor(mark: str, a: str, b: str, siemens: float, gates: Sequence[Gate]) -> list[str]:
    """A resistor; where it acts by gates, a current that goes with the volts and with them."""
    if gates:
        return [f"B{mark} {a} {b} I = V({a},{b})*{siemens:.12g}{_allowed(gates)}"]
    return [f"R{mark} {a} {b} {1.0 / siemens:.12g}"]


def _linear(mark: str, p: tuple[float, ...], a: str, b: str, gates: Sequence[Gate]) -> list[str]:
    if p[0] <= 0.0:
        return []
    if p[1] == 0.0:
        return _resistor(mark, a, b, p[0], gates)
    return [f"V{mark} e{mark} {b} DC {p[1]:.12g}", *_resistor(mark, a, f"e{mark}", p[0], gates)]


def _battery(mark: str, p: tuple[float, ...], a: str, b: str) -> list[str]:
    emf_v, discharge, charge_v, charge, between = p[:5]
    if discharge <= 0.0:
        return []
    return [
        f"V{mark}e e{mark} {b} DC {emf_v:.12g}",
        f"R{mark}b {a} e{mark} {1.0 / between:.12g}",
        f"D{mark}d e{mark} d{mark} ideal",
        f"R{mark}d d{mark} {a} {1.0 / (discharge - between):.12g}",
        f"V{mark}c c{mark} {b} DC {charge_v:.12g}",
        f"D{mark}c {a} x{mark} ideal",
        f"R{mark}c x{mark} c{mark} {1.0 / (charge - between):.12g}",
    ]


def _clamp(mark: str, p: tuple[float, ...], a: str, b: str, gates: Sequence[Gate]) -> list[str]:
    inside, emf_v, min_a, max_a, outside = p[:5]
    end = b
    lines = []
    if emf_v != 0.0:
        end = f"e{mark}"
        lines.append(f"V{mark} {end} {b} DC {emf_v:.12g}")
    if outside > 0.0:
        lines += _resistor(f"{mark}o", a, end, outside, gates)
    share = 1.0 - outside / inside
    lines += _resistor(f"{mark}i", a, f"x{mark}", inside - outside, gates)
    lines += _limit(f"{mark}h", f"x{mark}", f"y{mark}", max_a * share, gates)
    lines += _limit(f"{mark}l", end, f"y{mark}", -min_a * share, gates)
    return lines


def _limit(mark: str, a: str, b: str, most_a: float, gates: Sequence[Gate]) -> list[str]:
    """Lets at most `most_a` through from `a` to `b`, the other way any."""
    diode = f"D{mark} {b} {a} ideal"
    if most_a <= 0.0:
        return [diode]
    if gates:
        return [f"B{mark} {a} {b} I = {most_a:.12g}{_allowed(gates)}", diode]
    return [f"I{mark} {a} {b} DC {most_a:.12g}", diode]


def _allowed(gates: Sequence[Gate]) -> str:
    """A factor that is 1 while every gate lets the element act and 1e-16 while one does not.

    Between, it grows by equal ratios: a step from nothing to something leaves a simulator without a way.
    """
    return "".join(
        f"*exp({_SHUT:g}*(max(0,min(1,{'5*' if gate.on else '3-5*'}V({gate.node}){'-2' if gate.on else ''}))-1))"
        for gate in gates
    )


def _current(law: Law, p: tuple[float, ...], v: str) -> str:
    """Current as a formula of the volts `v`."""
    if law == Law.LAMP:
        crossing = p[0] * exp(log(p[2] * p[1] / p[0]) / (1.0 - LAMP_EXPONENT))
        hot = f"sgn({v})*{p[1]:.12g}*pow(abs({v})/{p[0]:.12g},{LAMP_EXPONENT})"
        return f"abs({v})<={crossing:.12g} ? ({v})/{p[2]:.12g} : {hot}"
    if law == Law.DIODE:
        x = f"(({v}-{p[0]:.12g})/{p[1]:.12g})"
        less = log1p(exp(DIODE_BLOCKED))
        bend = f"(ln(1+exp(min({_LINE:g},max({-_LINE:g},{x}))))-{less:.12g})"
        return f"{x}<={DIODE_BLOCKED:g} ? 0 : {p[2] * p[1]:.12g}*({x}>={_LINE:g} ? {x}-{less:.12g} : {bend})"
    size = f"abs({v})"
    if law == Law.CURRENT:
        above = f"sgn({v})*({p[0]:.12g}+({size}-{p[1]:.12g})*{p[0] * _FLAT:.12g})"
        return f"{size}<={p[1]:.12g} ? ({v})*{p[0] / p[1]:.12g} : {above}"
    if law == Law.POWER:
        return f"{size}<={p[1]:.12g} ? ({v})*{p[0] / p[1] ** 2:.12g} : {p[0]:.12g}/({v})"
    slow = p[0] * _FLAT
    above = f"sgn({v})*({p[1] * slow:.12g}+({size}-{p[1]:.12g})*{p[0]:.12g})"
    return f"{size}<={p[1]:.12g} ? ({v})*{slow:.12g} : {above}"
