"""What was read, as the network knows it, and how well what a fault would have shown goes with it.

A reading is two nodes or one wire, a state of the car, and what was off meanwhile. How well a predicted figure goes
with what was read is a matter of the meter's error and of how far the car's figures stray, with a share of readings
that are simply wrong. Volts against the battery's post carry the battery's own straying; volts between two points,
such as a drop along a wire, do not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from loomwright.job.conditions import Condition
from loomwright.job.rows import Reading
from loomwright.network.arrays import type_i
from loomwright.network.solve import values_of
from loomwright.proving.put_off import LAMP, put_off
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.states.asking.scene import Scene

__all__ = [
    "HALF_WAY",
    "UNIT_OF",
    "WRONG_FRAC",
    "Probe",
    "ReadAs",
    "decades",
    "fits",
    "ohms_of_decades",
    "probes_of",
    "spread",
    "strays",
    "usual_error",
]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
Clamped = tuple[int, bool, float]
"""A wire in the clamp: its element, whether at its second end, and which way round."""
ReadAs = tuple[tuple[str, ...], tuple[int, ...], tuple[int, int], tuple[Clamped, ...], float]
"""What was off, the state, the two nodes, what the clamp was round, and how far along it a wire touches."""
UNIT_OF = {"volts": "V", "ohms": "ohm", "clamp": "A"}
"""What each instrument shows its figure in; a lamp shows none."""
WRONG_FRAC = 0.004
"""The share of readings that are simply wrong: typical [0..1]."""
_SPAN_V, _SPAN_A, _SPAN_DECADES = 15.0, 50.0, 8.0
_STRAY_FRAC = 0.03
_STRAY_V, _STRAY_A = 0.08, 0.05
_DROP_V, _DROP_FRAC = 0.03, 0.08
"""A drop between two points: the meter's, and what wires and loads stray; typical [V, 0..1]."""
_LAMP_V, _LAMP_FRAC = 0.0004, 0.25
"""The same in the millivolt range, the battery through a lamp: three digits of 0.1 mV, and 0.15 milliohm of a bolted
joint that nobody wrote down, at 1.8 A, squares added; the lamp's ohms are those it has hot: from memory [V, 0..1]."""
HALF_WAY = 0.5
"""A wire that touches is taken to do so here along it, where nothing tells better [0..1]."""
_SPREADS = {
    "volts": (_STRAY_V, _STRAY_FRAC),
    "drop": (_DROP_V, _DROP_FRAC),
    "clamp": (_STRAY_A, 2 * _STRAY_FRAC),
    f"volts {LAMP}": (_STRAY_V, _LAMP_FRAC),
    f"drop {LAMP}": (_LAMP_V, _LAMP_FRAC),
    f"clamp {LAMP}": (_STRAY_A, _LAMP_FRAC),
    "ohms": (0.1, 0.0),
}
_LEADS_OHM, _OPEN_OHM = 0.3, 2e7
"""Ohms are held against each other by their logarithm: as far from nought as a meter's leads and tips are, and at most
where it shows open; a tenth of a decade is 0.07 ohm near nought and a quarter above a few: common practice [ohm]."""
_GLOWS = ((8.4, "full"), (2.0, "dim"))
"""Volts at which a lamp is at least so bright: 70 %, and where it begins to glow; typical [V]."""
_OTHER_GLOW = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """One reading. a, b: the nodes it lies between. [-]   values: of its state, as indices. [-]

    clamped: the wires a clamp is round: the element, whether at its second end, and which way round; none where it is
    no clamp.   off: what was off meanwhile.
    """

    reading: Reading
    a: int
    b: int
    state: Mapping[str, str]
    values: type_i
    clamped: tuple[Clamped, ...] = ()
    off: tuple[str, ...] = ()

    @property
    def read_as(self) -> ReadAs:
        """What two readings have in common that show the same."""
        state = tuple(int(k) for k in self.values)
        off = (*sorted(self.off), *(("ohms",) if self.is_ohms else ()))
        return off, state, (self.a, self.b), self.clamped, HALF_WAY

    @property
    def is_ohms(self) -> bool:
        """Whether it was read with an ohmmeter, the battery off."""
        return self.reading.measure == "ohms"

    @property
    def manner(self) -> str:
        """How it was read: `volts` against the post, `drop` between two points, `clamp`, each with `lamp` where the
        battery is through one; or `ohms`.
        """
        if self.is_ohms:
            return "ohms"
        plain = "clamp" if self.clamped else "drop" if self.reading.to else "volts"
        return f"{plain} {LAMP}" if LAMP in self.off else plain


def probes_of(scene: Scene, readings: Sequence[Reading]) -> list[Probe]:
    """The readings as the network knows them.

    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    problems: list[Problem] = []
    found = []
    for number, reading in enumerate(readings, start=2):
        try:
            found.append(_probe(scene, reading))
        except OutOfReach as fault:
            problems.append(
                Problem(
                    sheet="readings",
                    row=number,
                    column=fault.name,
                    found=str(fault.found),
                    allowed=fault.allowed,
                    mend="Name the point as the sheets do, and the car as it stood",
                )
            )
    if problems:
        raise BadDocument(tuple(problems))
    return found


def _probe(scene: Scene, reading: Reading) -> Probe:
    if reading.measure not in ("volts", "ohms", "clamp", "lamp"):
        raise OutOfReach("measure", reading.measure, "volts, ohms, clamp, lamp")
    if reading.value is None:
        raise OutOfReach("value", "", "what was read")
    if reading.measure == "ohms":
        _can_be_ohms(scene, reading)
    clamped: tuple[Clamped, ...] = ()
    if reading.measure == "clamp":
        a = b = 0
        clamped = _clamped(scene, reading)
    else:
        a, b = _node(scene, reading.point), _node(scene, reading.to) if reading.to else _post(scene)
    state = _state(reading.when)
    values = values_of(scene.compiled, state)
    put_off(scene, reading.off)
    return Probe(reading=reading, a=a, b=b, state=state, values=values, clamped=clamped, off=reading.off)


def _can_be_ohms(scene: Scene, reading: Reading) -> None:
    """Refuses what no ohmmeter shows, and ohms of a car that is live."""
    if not isinstance(reading.value, int | float):
        if reading.value != "open":
            raise OutOfReach("value", str(reading.value), "the ohms, or open")
    elif reading.value < 0.0 or reading.unit not in ("", "ohm"):
        raise OutOfReach("value", f"{reading.value:g} {reading.unit}".strip(), "ohms, nought or more, or open")
    if LAMP in reading.off and LAMP not in scene.parts:
        raise OutOfReach("off", LAMP, "fuses, plugs, wires: for ohms the battery is off altogether")
    state = _state(reading.when)
    if state.get("engine", "stopped") in ("cranking", "idle", "running"):
        raise OutOfReach("when", reading.when.text, "the engine standing: ohms are read with the battery off")


def decades(ohm: Figures | float) -> Figures:
    """Ohms as they are held against each other; see `_LEADS_OHM`. [log10 ohm]"""
    return np.asarray(np.log10(np.minimum(ohm, _OPEN_OHM) + _LEADS_OHM))


def ohms_of_decades(shown: float) -> float:
    """The ohms of what `decades` makes of them; infinite from where a meter shows open. [ohm]

    Args:
        shown: log10 ohm. [-]
    Example:
        >>> round(ohms_of_decades(float(decades(4.7))), 6), ohms_of_decades(float(decades(3e7)))
        (4.7, inf)
    """
    ohm = 10.0**shown - _LEADS_OHM
    return inf if ohm > 0.999 * _OPEN_OHM else max(ohm, 0.0)


def _clamped(scene: Scene, reading: Reading) -> tuple[Clamped, ...]:
    """The wire a clamp is round, at its first end or the one that is named; or all wires of a terminal."""
    known, point = scene.compiled.elements_of, scene.point(reading.point)
    wire = scene.wires.get(reading.point)
    if wire is not None and wire.id in known:
        ends = [scene.point(wire.from_), scene.point(wire.to)]
        if reading.to and scene.point(reading.to) not in ends:
            raise OutOfReach("to", reading.to, f"the end of {wire.id} the clamp was at: {' or '.join(ends)}")
        return ((known[wire.id][0], bool(reading.to) and scene.point(reading.to) != ends[0], 1.0),)
    wires = [one for one in scene.wires_at.get(point, ()) if one.id in known]
    if not wires:
        raise OutOfReach(
            "point", reading.point, "the wire the clamp was round, or the terminal whose wires were all in it"
        )
    return tuple((known[one.id][0], *((True, 1.0) if scene.point(one.to) == point else (False, -1.0))) for one in wires)


def _node(scene: Scene, point: str) -> int:
    name = scene.point(point)
    if name not in scene.compiled.node_of:
        raise OutOfReach("point", point, "a point of the job: part.terminal, or a metal")
    return scene.compiled.node_of[name]


def _post(scene: Scene) -> int:
    return scene.compiled.arrays.nodes


def _state(when: Condition) -> dict[str, str]:
    """The state a reading was taken in: each variable at the one value its condition names."""
    found: dict[str, str] = {}
    for term in when.terms:
        if len(term.values) != 1 or term.op != "=":
            raise OutOfReach("when", when.text, "one value for each variable: key=run, light=head")
        found[term.variable] = term.values[0]
    return found


def fits(probe: Probe, shown: Figures) -> Figures:
    """How well predicted figures go with what was read: the logarithm of how likely that reading was. [-]

    Args:
        shown: what the instrument would show, with each fault. [V]
    """
    if probe.reading.measure == "lamp":
        volts = np.abs(shown)
        glow = np.select([volts > least for least, _ in _GLOWS], [word for _, word in _GLOWS], "dark")
        right = np.where(glow == probe.reading.value, 1.0, _OTHER_GLOW)
        return np.asarray(np.log(WRONG_FRAC + (1.0 - WRONG_FRAC) * right))
    away, sigma = _away(probe, shown)
    density = np.exp(-0.5 * np.minimum(away**2, 200.0)) / (sigma * np.sqrt(2.0 * np.pi))
    span = _SPAN_A if probe.clamped else _SPAN_DECADES if probe.is_ohms else _SPAN_V
    return np.asarray(np.log(WRONG_FRAC / span + (1.0 - WRONG_FRAC) * density))


def strays(probe: Probe, shown: Figures) -> Figures:
    """By how many times its usual error a reading lies away from predicted figures; a lamp is right or five away. [-]

    Args:
        shown: what the instrument would show, with each fault. [V]
    """
    if probe.reading.measure == "lamp":
        return np.where(fits(probe, shown) > log(2.0 * _OTHER_GLOW), 0.0, 5.0)
    return np.abs(_away(probe, shown)[0])


def _away(probe: Probe, shown: Figures) -> tuple[Figures, Figures]:
    read = float(probe.reading.value) if isinstance(probe.reading.value, int | float) else 0.0
    if probe.is_ohms:
        read = float(decades(_OPEN_OHM if probe.reading.value == "open" else read))
    sigma = spread(probe.manner, shown)
    if probe.clamped:
        return (abs(read) - np.abs(shown)) / sigma, sigma
    return (read - shown) / sigma, sigma


def spread(manner: str, shown: Figures) -> Figures:
    """The usual error of a reading, the meter's and the straying of the car together. [V, A]

    Args:
        manner: `Probe.manner`.
        shown: what the instrument would show. [V, A]
    """
    least, frac = _SPREADS[manner]
    return np.asarray(least + frac * np.abs(shown))


def usual_error(manner: str) -> tuple[float, float]:
    """The usual error of a reading that shows nothing, and the share of what it shows that comes on top. [V, A; 0..1]

    Args:
        manner: `Probe.manner`.
    """
    return _SPREADS[manner]
