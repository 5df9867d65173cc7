"""What the sheet `vehicle` says about the car as a whole.

Volts of the system, which side of the battery is earth, the ambients everything is judged at, and which metals are
bolted together. A property that is not there has its usual value: 12 V, negative earth, 40 degC in the design, -10
degC for cranking, the engine bolted to the gearbox; for lengths there are typical figures (`constants.csv`). Properties
the contract does not know are kept in the sheet and not looked at.

Source: the usual values are common practice, no source; any job may set its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, cast

from loomwright.job.engine_figures import engine_allowed, read_engine
from loomwright.job.figures import plain_figure
from loomwright.job.fuse_holes import HOLES_ALLOWED, is_holes_name, read_holes
from loomwright.job.job import Job
from loomwright.job.shop_terms import MINUTES_ALLOWED, SHOP_PROPERTIES, is_minutes_name, read_shop_property
from loomwright.refusals import OutOfReach

__all__ = [
    "BUILT_IN_METALS",
    "LENGTHS",
    "PROPERTIES",
    "Vehicle",
    "allowed_as",
    "metals_of",
    "read_property",
    "vehicle_of",
]

BUILT_IN_METALS = ("body", "engine", "gearbox", "axle")
"""Metals that are there without a row."""

SYSTEM_VOLTAGES_V = (6.0, 12.0, 24.0)
"""Systems there are [V]."""

PROPERTIES: Mapping[str, str] = MappingProxyType(
    {
        "title": "what the job is called",
        "system_voltage": "6, 12 or 24",
        "earth": "negative or positive",
        "earth_found": "negative or positive",
        "design_ambient_c": "-60 to 90 °C",
        "cranking_ambient_c": "-60 to 90 °C",
        "bolted": "pairs of metals, engine-gearbox, apart by spaces, or none",
        "end_allowance_mm": "0 to 2000 mm",
        "within_place_mm": "0 to 2000 mm",
        "earth_stud_mm": "0 to 2000 mm",
        "length_step_mm": "1 to 1000 mm",
        "notes": "anything worth knowing",
    }
    | dict(SHOP_PROPERTIES)
)
"""Property -> what it may be: those of the car, then those of the shop's terms."""

LENGTHS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "end_allowance_mm": (0.0, 2000.0),
        "within_place_mm": (0.0, 2000.0),
        "earth_stud_mm": (0.0, 2000.0),
        "length_step_mm": (1.0, 1000.0),
    }
)
"""Properties that lengths of wires are worked out with -> the least and the most they may be [mm]."""

_AMBIENT_C = (-60.0, 90.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """The car as a whole.

    system_v: nominal volts. [V]   earth: the battery's earthed side.
    earth_found: the side it was as the car came in, where that is another; its old wires were read so.
    design_ambient_c, cranking_ambient_c: air around the car when judged hot, and when started cold. [degC]
    bolted: pairs of metals that are bolted together.
    end_allowance_mm, within_place_mm, earth_stud_mm, length_step_mm: what a wire takes beyond its place at each end,
    between two ends at one place, to a bolt near by, and what its length is rounded up to; None: a typical one. [mm]
    """

    title: str = ""
    system_v: float = 12.0
    earth: Literal["negative", "positive"] = "negative"
    earth_found: Literal["negative", "positive", ""] = ""
    design_ambient_c: float = 40.0
    cranking_ambient_c: float = -10.0
    bolted: tuple[tuple[str, str], ...] = (("engine", "gearbox"),)
    end_allowance_mm: float | None = None
    within_place_mm: float | None = None
    earth_stud_mm: float | None = None
    length_step_mm: float | None = None
    notes: str = ""

    @property
    def live_post(self) -> str:
        """The battery's post that is not earthed: `+` or `-`."""
        return "-" if self.earth == "positive" else "+"

    @property
    def earthed_post(self) -> str:
        """The battery's post that is earthed."""
        return "+" if self.earth == "positive" else "-"

    @property
    def live_sign(self) -> int:
        """1 where what is live lies above earth and current flows from there, -1 where below. [-]"""
        return -1 if self.earth == "positive" else 1


def vehicle_of(job: Job) -> Vehicle:
    """The vehicle that the sheet describes, the usual values where it says nothing.

    Raises:
        OutOfReach: a property that cannot be what it says; a job that was read has none.
    """
    found: dict[str, object] = {}
    for row in job.vehicle:
        if row.name in PROPERTIES and row.name not in SHOP_PROPERTIES and row.value:
            field = "system_v" if row.name == "system_voltage" else row.name
            found[field] = read_property(row.name, row.value)
    return Vehicle(**cast(dict[str, str], found))  # type: ignore[arg-type]  # each was read as what its field holds


def read_property(name: str, text: str) -> object:
    """The value of one property of the vehicle.

    Raises:
        OutOfReach: it cannot be that; it says what it may be.
    Example:
        >>> read_property("system_voltage", "12 V"), read_property("bolted", "engine-gearbox")
        (12.0, (('engine', 'gearbox'),))
    """
    if name in SHOP_PROPERTIES or is_minutes_name(name):
        return read_shop_property(name, text)
    if is_holes_name(name):
        return read_holes(name, text)
    if engine_allowed(name):
        return read_engine(name, text)
    if name == "system_voltage":
        volts = plain_figure(text, "v", name=name)
        if volts not in SYSTEM_VOLTAGES_V:
            raise OutOfReach(name, text, PROPERTIES[name])
        return volts
    if name in ("earth", "earth_found"):
        if text.lower() not in ("negative", "positive"):
            raise OutOfReach(name, text, PROPERTIES[name])
        return text.lower()
    if name.endswith("_ambient_c"):
        ambient_c = plain_figure(text, "c", name=name)
        if not _AMBIENT_C[0] <= ambient_c <= _AMBIENT_C[1]:
            raise OutOfReach(name, text, PROPERTIES[name])
        return ambient_c
    if name in LENGTHS:
        length_mm, (least_mm, most_mm) = plain_figure(text, "mm", name=name), LENGTHS[name]
        if not least_mm <= length_mm <= most_mm:
            raise OutOfReach(name, text, PROPERTIES[name])
        return length_mm
    return _bolted(text) if name == "bolted" else text


def allowed_as(name: str) -> str:
    """What a property may be, in words; empty for one the contract does not know.

    Example:
        >>> allowed_as("system_voltage"), allowed_as("minutes_wire_cut"), allowed_as("colour")
        ('6, 12 or 24', 'minutes, 3, or from the least to the most, 2 to 5', '')
    """
    if is_holes_name(name):
        return HOLES_ALLOWED
    if is_minutes_name(name):
        return MINUTES_ALLOWED
    return PROPERTIES.get(name, "") or engine_allowed(name)


def metals_of(job: Job) -> tuple[str, ...]:
    """The metals of the car: those that are always there, then those of the sheet `metals`."""
    return tuple(dict.fromkeys((*BUILT_IN_METALS, *(row.id for row in job.metals if row.id))))


def _bolted(text: str) -> tuple[tuple[str, str], ...]:
    """Pairs of metals from `engine-gearbox gearbox-axle`."""
    if text.lower() == "none":
        return ()
    pairs = []
    for piece in text.split():
        one, dash, other = piece.partition("-")
        if not dash or not one or not other or one == other:
            raise OutOfReach("bolted", text, PROPERTIES["bolted"])
        pairs.append((one, other))
    return tuple(pairs)
