"""What are the figures of the network in one car out of many, each a little off?

Every wire, joint and part has *draws*: a row of `tolerances.csv` for one thing (or for the whole car, where it is
shared). A resistance is a sum of pieces, each with draws of its own: copper by length and temperature, its crimps, its
cavities. Other figures are multiplied. Nothing is rolled: the share of a draw is worked out from seed, car and draw
alone, so that the same car comes out on any machine, whatever was drawn before it.

In: a compiled network and its job. Out: `Draws`, and the table of figures of car number n.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.job.job import Job
from loomwright.network.arrays import type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Law
from loomwright.network.wiring import wire_contacts
from loomwright.tables.joints import joint_ohm
from loomwright.tables.kinds import Kind
from loomwright.tables.tolerances import factors_at, tolerances

__all__ = ["Draws", "draws_of", "factors_of", "figures_with", "shares_of"]

_FIRST = np.uint64(0x9E3779B97F4A7C15)
_MIXES = (np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB))
_SHIFTS = (np.uint64(30), np.uint64(27), np.uint64(31))
_TO_SHARE = np.uint64(11)
_STEPS = float(1 << 53)

Name = tuple[str, str]
"""A row of the table, and the thing (empty where the whole car shares it)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Everything that is drawn.

    names: row of the table and thing of each draw.   figures: as they stand.
    piece_row, piece_ohm, piece_draws: of each piece of a resistance, the row of figures it belongs to, its resistance,
    and its draws (-1 = none). [ohm]   share_row, share_column, share_draw, share_power: figures that are multiplied.
    """

    names: tuple[Name, ...]
    figures: type_f
    piece_row: type_i
    piece_ohm: type_f
    piece_draws: type_i
    share_row: type_i
    share_column: type_i
    share_draw: type_i
    share_power: type_f


class _Sheet:
    """Draws while they are gathered."""

    def __init__(self) -> None:
        self.names: dict[Name, int] = {}
        self.pieces: list[tuple[int, float, tuple[int, ...]]] = []
        self.shares: list[tuple[int, int, int, float]] = []

    def draw(self, row: str, thing: str) -> int:
        name = (row, "" if tolerances()[row].is_shared else thing)
        return self.names.setdefault(name, len(self.names))


_OF_RESISTANCE: Mapping[str, str] = {
    "bolted": "bolted_earth",
    "bond": "bond",
    "joint": "splice",
    "case": "case_bolt",
    "contact": "relay_contact",
    "switch": "switch_contact",
    "coil": "coil_resistance",
    "field": "coil_resistance",
    "resistor": "resistor",
    "ntc": "resistor",
    "law_resistor": "resistor",
    "pin": "pin_resistance",
}
_EARTH = "earth_point"
_FUSES = ("fuse", "breaker", "link")
_SHARES: Mapping[tuple[str, Law], tuple[tuple[str, int, float], ...]] = {
    ("lamp", Law.LAMP): (("lamp_current", 1, 1.0), ("lamp_current", 2, -1.0)),
    ("motor", Law.MOTOR): (("motor_current", 0, 1.0),),
    ("motor", Law.LINEAR): (("motor_current", 0, 1.0),),
    ("starter_motor", Law.CURRENT): (("starter_current", 0, 1.0), ("starter_current", 1, 1.0)),
    ("starter_motor", Law.LINEAR): (("starter_current", 0, 1.0),),
    ("constant_current", Law.CURRENT): (("electronics_current", 0, 1.0),),
    ("constant_power", Law.POWER): (("electronics_current", 0, 1.0),),
    ("pin", Law.CURRENT): (("electronics_current", 0, 1.0),),
    ("pin", Law.CLAMP): (("driver_resistance", 0, -1.0), ("supply_volts", 1, 1.0)),
    ("pin", Law.DIODE): (("diode_volts", 0, 1.0),),
    ("diode", Law.DIODE): (("diode_volts", 0, 1.0),),
    ("battery", Law.BATTERY): (
        ("battery_emf", 0, 1.0), ("battery_emf", 2, 1.0),
        ("battery_resistance", 1, -1.0), ("battery_resistance", 3, -1.0),
    ),
    ("alternator", Law.CLAMP): (("alternator_setpoint", 1, 1.0), ("alternator_limit", 2, 1.0)),
    ("source", Law.CLAMP): (("supply_volts", 1, 1.0),),
    ("source", Law.LINEAR): (("supply_volts", 1, 1.0),),
}  # fmt: skip
"""Law of an element type -> (row of the table, which figure, power)."""


def draws_of(compiled: Compiled, job: Job, kinds: Mapping[str, Kind]) -> Draws:
    """Everything that is drawn in a car.

    Args:
        job: what the network was built from.
    """
    sheet = _Sheet()
    contacts_of = wire_contacts(job, kinds)
    measured = {wire.id for wire in job.wires if wire.ohm_per_m is not None}
    known = frozenset(
        (*_known_joints(job), *(f"{bond.from_}-{bond.to}" for bond in job.bonds if bond.mohm is not None))
    )
    earths = frozenset(part.id for part in job.parts if part.kind == _EARTH)
    for index, element in enumerate(compiled.network.elements):
        first = int(compiled.arrays.row[index])
        rows = range(first, first + len(element.figures))
        if element.is_wire:
            _wire(sheet, rows, element, contacts_of.get(element.name, 0), element.name in measured)
        elif element.type in _FUSES and element.law == Law.LINEAR:
            _fuse(sheet, rows, element)
        elif (element.type, element.law) in _SHARES:
            for name, column, power in _SHARES[(element.type, element.law)]:
                draw = sheet.draw(name, element.name)
                sheet.shares += [(row, column, draw, power) for row in rows]
        elif element.law == Law.LINEAR and element.type in _OF_RESISTANCE:
            name = _OF_RESISTANCE[element.type]
            if element.part in earths:
                name = "bolted_earth"
            draw = sheet.draw("joint_measured" if element.name in known else name, element.name)
            sheet.shares += [(row, 0, draw, -1.0) for row in rows]
    return _gathered(sheet, compiled.arrays.figures)


def _known_joints(job: Job) -> Iterator[str]:
    """Joints of earth points whose resistance is written in the sheets."""
    return (f"{part.id}.joint" for part in job.parts if part.kind == _EARTH and part.settings.get("joint_mohm"))


def _wire(sheet: _Sheet, rows: range, element: Element, contacts: int, is_measured: bool) -> None:
    copper = sheet.draw("wire_measured" if is_measured else "wire_copper", element.name)
    length, warmth = sheet.draw("wire_length", element.name), sheet.draw("wire_temperature", "")
    ends_ohm, cavities_ohm = 2 * joint_ohm("wire_end"), contacts * joint_ohm("connector_contact")
    for row, (siemens, _) in zip(rows, element.figures, strict=True):
        if siemens <= 0.0:
            continue
        copper_ohm = 1.0 / siemens - ends_ohm - cavities_ohm
        sheet.pieces.append((row, copper_ohm, (copper, length, warmth)))
        sheet.pieces.append((row, ends_ohm, (sheet.draw("wire_end", element.name),)))
        if contacts:
            sheet.pieces.append((row, cavities_ohm, (sheet.draw("connector_contact", element.name),)))


def _fuse(sheet: _Sheet, rows: range, element: Element) -> None:
    for row, (siemens, _) in zip(rows, element.figures, strict=True):
        if siemens > 0.0:
            clips_ohm = min(joint_ohm("fuse_clip"), 1.0 / siemens)
            sheet.pieces.append((row, clips_ohm, (sheet.draw("fuse_clip", element.name),)))
            sheet.pieces.append((row, 1.0 / siemens - clips_ohm, (sheet.draw("fuse_element", element.name),)))


def _gathered(sheet: _Sheet, figures: type_f) -> Draws:
    widest = 3
    return Draws(
        names=tuple(sheet.names),
        figures=figures,
        piece_row=np.array([row for row, _, _ in sheet.pieces], np.int64),
        piece_ohm=np.array([ohm for _, ohm, _ in sheet.pieces], float),
        piece_draws=np.array(
            [[*draws, *[-1] * (widest - len(draws))] for _, _, draws in sheet.pieces], np.int64
        ).reshape(-1, widest),
        share_row=np.array([row for row, _, _, _ in sheet.shares], np.int64),
        share_column=np.array([column for _, column, _, _ in sheet.shares], np.int64),
        share_draw=np.array([draw for _, _, draw, _ in sheet.shares], np.int64),
        share_power=np.array([power for _, _, _, power in sheet.shares], float),
    )


def shares_of(seed: int, car: int, draws: Iterable[int]) -> NDArray[np.float64]:
    """The share of all cars below each draw of one car: even between nought and one, and the same for ever. [-]

    Args:
        seed: of the whole run. [-]
        car: its number. [-]
        draws: their numbers.
    Source:
        worked-out: the finishing step of the SplitMix64 generator, taken on a count of seed, car and draw.
    Example:
        >>> shares_of(1, 0, range(3)).round(4).tolist() == shares_of(1, 0, range(5))[:3].round(4).tolist()
        True
    """
    with np.errstate(over="ignore"):
        mixed = _mixed(np.array([seed], np.uint64))
        mixed = _mixed(mixed + np.uint64(car))
        mixed = _mixed(mixed + np.array(list(draws), np.uint64))
    return np.asarray((mixed >> _TO_SHARE).astype(float) / _STEPS)


def _mixed(count: NDArray[np.uint64]) -> NDArray[np.uint64]:
    mixed = count * _FIRST + _FIRST
    for shift, mix in zip(_SHIFTS, _MIXES, strict=False):
        mixed = (mixed ^ (mixed >> shift)) * mix
    return np.asarray(mixed ^ (mixed >> _SHIFTS[-1]))


def factors_of(draws: Draws, shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """The factor of each draw at its share. [-]"""
    found = np.ones(len(draws.names))
    table = tolerances()
    of_row: dict[str, list[int]] = {}
    for number, (name, _) in enumerate(draws.names):
        of_row.setdefault(name, []).append(number)
    for name, numbers in of_row.items():
        found[numbers] = factors_at(table[name], shares[numbers])
    return found


def figures_with(draws: Draws, factors: NDArray[np.float64]) -> type_f:
    """The table of figures of a car whose draws have those factors."""
    figures = draws.figures.copy()
    if len(draws.piece_row):
        one = np.append(factors, 1.0)
        ohm = draws.piece_ohm * one[draws.piece_draws].prod(axis=1)
        whole = np.zeros(len(figures))
        np.add.at(whole, draws.piece_row, ohm)
        rows = np.unique(draws.piece_row)
        figures[rows, 0] = 1.0 / whole[rows]
    if len(draws.share_row):
        share = factors[draws.share_draw] ** draws.share_power
        # a figure may have several draws, so one after the other
        np.multiply.at(figures, (draws.share_row, draws.share_column), share)
    return figures
