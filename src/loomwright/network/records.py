"""What is the car's network made of, before anything is solved?

A *network* is nodes joined by *elements*; some elements act only while a state variable has a certain value (a guard)
or while a *device* (relay, controller, motor, fuse) is on. Records only: `build_*` modules fill them, `compiled` turns
them into arrays, `writers.netlist` writes them out for another program.

Currents are positive from the element's first node to its second; volts are against `reference`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum

from loomwright.job.variables import Variable

__all__ = ["FIGURES", "Changes", "Device", "Element", "Guard", "Law", "Network", "Selector", "Sense", "Short"]

FIGURES = 6
"""Figures kept for each element law [-]."""


class Law(IntEnum):
    """How the current through an element follows from the volts across it; figures in brackets (see `laws`)."""

    LINEAR = 0  # (siemens, emf_v)
    LAMP = 1  # (design_v, design_a, cold_ohm)
    DIODE = 2  # (forward_v, knee_v, siemens)
    CLAMP = 3  # (siemens, emf_v, min_a, max_a, outside_siemens)
    BATTERY = 4  # (emf_v, discharge_siemens, charge_v, charge_siemens, between_siemens)
    CURRENT = 5  # (amps, low_v)
    POWER = 6  # (watt, low_v)
    MOTOR = 7  # (siemens, free_v)


@dataclass(frozen=True, slots=True)
class Guard:
    """All of these must hold: variable index -> the value indices at which it holds."""

    holds: tuple[tuple[int, frozenset[int]], ...]


@dataclass(frozen=True, slots=True)
class Selector:
    """Which row of figures an element uses: by the value of one or two variables.

    `rows[i][j]` is the row for value i of the first variable and j of the second (one column where there is no second).
    """

    first: int
    second: int
    rows: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One two-terminal element.

    figures: one row a choice of `selector` (one row where there is none); meaning by `law`.
    guards: active while any holds; none = always. needs: devices that must be on (True) or off (False).
    rated_a: design current of a load. [A]  rating_a, motor_a, lamp_a, make_a: what a contact or
    driver may carry: steady, motors, lamps, when switched on. [A]
    duty_frac: share of the time it is on. [-]
    """

    name: str
    a: int
    b: int
    law: Law
    figures: tuple[tuple[float, ...], ...]
    selector: int = -1
    guards: tuple[Guard, ...] = ()
    needs: tuple[tuple[int, bool], ...] = ()
    part: str = ""
    type: str = ""
    rated_a: float | None = None
    rating_a: float | None = None
    motor_a: float | None = None
    lamp_a: float | None = None
    make_a: float | None = None
    polar: bool = False
    load: bool = False
    duty_frac: float = 1.0

    @property
    def is_wire(self) -> bool:
        """True where the element is a wire of the sheets."""
        return self.type == "wire"


@dataclass(frozen=True, slots=True)
class Sense:
    """What a device looks at: amps through `element`, or volts between two nodes; on at `on`, off below `off`.

    beside: volts are judged as a share of the volts from this node to `b` (-1: as they are).
    """

    element: int
    a: int
    b: int
    on: float
    off: float
    beside: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A thing with two states and memory: relay, controller alive, motor turning, alternator excited, fuse blown.

    what: relay / alive / key_input / motor / excited / signal / fuse. All senses must agree; `guards` must hold too.
    at_rest: its state before anything is known. stuck: held in this state (a stuck relay), None = free.
    """

    name: str
    what: str
    senses: tuple[Sense, ...]
    guards: tuple[Guard, ...] = ()
    at_rest: bool = False
    stuck: bool | None = None


@dataclass(frozen=True, slots=True)
class Short:
    """A bridge put between two points for a test. [ohm]"""

    a: str
    b: str
    ohm: float = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What differs from the sheets for this question: things unplugged, pulled, cut, bridged or stuck.

    unplugged: connectors, parts, or points that one lead is off of.   series: wire id and the ohms added in it. [ohm]
    whole: fuses that open at no current.
    """

    unplugged: tuple[str, ...] = ()
    pulled: tuple[str, ...] = ()
    opened: tuple[str, ...] = ()
    series: tuple[tuple[str, float], ...] = ()
    shorts: tuple[Short, ...] = ()
    stuck: tuple[str, ...] = ()
    lamps: tuple[tuple[str, str, float], ...] = ()
    removed: tuple[str, ...] = ()
    without_battery: bool = False
    whole: tuple[str, ...] = ()
    tested: tuple[tuple[str, str, float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """The whole car: nodes by index, elements, devices, the variables that set them, and the node volts are against."""

    nodes: tuple[str, ...]
    elements: tuple[Element, ...]
    devices: tuple[Device, ...]
    selectors: tuple[Selector, ...]
    variables: tuple[Variable, ...]
    reference: int
    thermal: int
    notes: tuple[str, ...] = ()
    aliases: Mapping[str, str] = field(default_factory=dict)

    def node(self, point: str) -> int:
        """The index of a point, aliases (a one-terminal part named without its terminal) understood.

        Raises:
            KeyError: there is no such point.
        """
        return self.nodes.index(self.aliases.get(point, point))
