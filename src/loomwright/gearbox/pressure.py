"""How much line pressure does each gear want at each pedal?

What a clutch holds goes with the pressure on it, less its return spring: a straight line. Of that line the gearbox's
manual prints two points, read at the tapping: idle in D, and stalled with full pedal. At both the torque behind the
converter is known from engine and converter, so for any other torque T

    share = (1.1 T - T_idle) / (T_stall - T_idle), from 0 to 1        p = p_idle + share (p_stall - p_idle)

T is the most that the gear meets at that pedal: standing still in first and reverse, else from where the gear below
would be taken to where the next one comes, converter open. A share is of the way between the two printed pressures;
without them no pressure is made up. Where full pressure comes with no current, the current falls as the share rises.

It is a first table, on the hard side: whatever the controller does not know (torque, gear, temperature) wants full
pressure, since a change that bangs is felt at once and a clutch that slips is burnt before it is. Which clutch carries
what part of that torque is not known here: it is the same in all gears.

Source: the line is physics; a tenth more is common practice, no source; the maker's manual goes before it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.gearbox.box import Box
from loomwright.gearbox.line_record import Lines
from loomwright.gearbox.lines import line_at_kmh
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import Machine, drive_n

__all__ = ["PressureTable", "pressure_csv", "pressure_says", "pressure_table"]

_KMH = 3.6
_SPEEDS = 24  # looked at between two lines
_MORE = 1.1
_PERCENT = 100.0
_REVERSE = "R"


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureTable:
    """A row a gear, reverse first where there is one; a column a pedal.

    gears: as written on the rows.   pedal_frac: of the columns. [0..1]
    share_frac: of the way from the pressure at idle to that at stall. [0..1]
    pressure_kpa: that pressure; none where the two printed ones are not known. [kPa]
    idle_nm, stall_nm: behind the converter, idling in gear and stalled. [Nm]
    """

    programme: str
    gears: tuple[str, ...]
    pedal_frac: tuple[float, ...]
    share_frac: tuple[tuple[float, ...], ...]
    pressure_kpa: tuple[tuple[float, ...], ...]
    idle_nm: float
    stall_nm: float


def pressure_table(box: Box, lines: Lines) -> PressureTable:
    """Line pressure against gear and pedal, for the lines of a programme.

    Example:
        >>> from loomwright.gearbox.box_reading import shipped_box
        >>> from loomwright.gearbox.lines import first_lines
        >>> made = pressure_table(shipped_box(), first_lines(shipped_box(), shipped_box().programmes[0]))
        >>> made.gears, made.share_frac[1][0], made.share_frac[1][-1]
        (('R', '1', '2', '3', '4'), 0.0, 1.0)
    """
    machine = machine_of(box)
    idle, stall = (_behind_nm(machine, 0.0, 1, pedal) for pedal in (0.0, 1.0))
    rows = []
    for gear in range(1, len(box.ratios) + 1):
        most = [_most_nm(machine, lines, gear, pedal) for pedal in lines.pedal_frac]
        rows.append(tuple(min(max((_MORE * nm - idle) / (stall - idle), 0.0), 1.0) for nm in most))
        if gear == 1 and lines.pedal_frac[0] == 0.0:
            rows[0] = (0.0, *rows[0][1:])  # idling in gear is the printed point itself
    names = tuple(str(gear) for gear in range(1, len(box.ratios) + 1))
    if box.reverse is not None:
        rows.insert(0, rows[0])  # the converter stands still in both, and gives both the same
        names = (_REVERSE, *names)
    printed = box.pattern.pressure_kpa if box.pattern is not None else None
    return PressureTable(
        programme=lines.programme,
        gears=names,
        pedal_frac=lines.pedal_frac,
        share_frac=tuple(rows),
        pressure_kpa=()
        if printed is None
        else tuple(tuple(printed[0] + share * (printed[1] - printed[0]) for share in row) for row in rows),
        idle_nm=idle,
        stall_nm=stall,
    )


def pressure_says(box: Box, table: PressureTable) -> tuple[str, ...]:
    """What has to be known beside the figures, in sentences."""
    ends = (
        f"0 % is the pressure at idle in D, {table.idle_nm:.0f} Nm behind the converter, 100 % that at stall, "
        f"{table.stall_nm:.0f} Nm; a tenth of torque is put on top. Full pressure wherever torque, gear or temperature "
        "is not known, and while a gear changes until its own fill is set"
    )
    said = [ends]
    if not table.pressure_kpa:
        said.append(
            "The two pressures are not known: read them at the tapping or in the maker's manual and type them as "
            "solenoids.pressure_kpa = [idle in D, stall], in kPa (in a job gear.solenoids.pressure_kpa, sheet vehicle)"
        )
    if table.gears[0] == _REVERSE:
        said.append("Reverse has the pressure of first; most manuals print more for it: take theirs")
    unplugged = box.pattern.pressure_unplugged if box.pattern is not None else ""
    if unplugged:
        more = "least" if unplugged == "full" else "most"
        said.append(
            f"With no current the pressure is {unplugged}: at 100 % the solenoid has its {more} current. What current "
            "gives which pressure is the solenoid's own curve: read it on the gauge, in five steps up and down"
        )
    else:
        said.append("Nobody knows what the pressure does with no current: find out before any of this is typed in")
    if box.engine.is_estimated or box.converter.is_typical:
        said.append("Engine or converter is estimated or typical here, and the shares with it")
    return tuple(said)


def pressure_csv(table: PressureTable) -> str:
    """The table as CSV: pressures where they are known, else shares in per cent."""
    known = bool(table.pressure_kpa)
    rows = table.pressure_kpa if known else table.share_frac
    lines = [["gear", "kPa" if known else "% of idle to stall", *(f"{_PERCENT * one:g}" for one in table.pedal_frac)]]
    for name, row in zip(table.gears, rows, strict=True):
        lines.append([name, "", *(f"{one if known else _PERCENT * one:.0f}" for one in row)])
    return "".join(",".join(line) + "\n" for line in lines)


def _most_nm(machine: Machine, lines: Lines, gear: int, pedal: float) -> float:
    """The most behind the converter while a gear is in at a pedal. [Nm]"""
    low = 0.0 if gear == 1 else line_at_kmh(lines.pedal_frac, lines.down_kmh[gear - 2], pedal)
    last = gear > len(lines.up_kmh)
    high = low if last else max(low, line_at_kmh(lines.pedal_frac, lines.up_kmh[gear - 1], pedal))
    return max(abs(_behind_nm(machine, speed / _KMH, gear, pedal)) for speed in np.linspace(low, high, _SPEEDS))


def _behind_nm(machine: Machine, v: float, gear: int, pedal: float) -> float:
    """Torque behind the open converter, by the force it makes at the wheels. v: metres a second. [-] [Nm]"""
    force = drive_n(machine, v, gear, pedal, False)[0]
    lever = machine.ratios[gear - 1] * machine.final * 2.0 * np.pi / machine.rolled
    return float(force / lever / machine.kept if force > 0.0 else force / lever * machine.kept)
