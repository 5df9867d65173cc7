"""What does this recorded drive say, all together?

In: a recording, what was typed, a table's breakpoints, the network's own volts at the controller. Out: the channels,
the delay, the cells, the proposal, the starts and idles, and every finding of the family LOG.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.findings import Finding, in_order
from loomwright.logs.beside import Beside, SupplyVolts, beside_findings, beside_of
from loomwright.logs.cells import Cell, Grid, cells_of
from loomwright.logs.channels import Channel, recognised
from loomwright.logs.delay import Delay, delay_of
from loomwright.logs.drive import Drive, Recording, drive_of
from loomwright.logs.driving import driving_findings
from loomwright.logs.fuel_table import FuelTable
from loomwright.logs.fuelling import fuelling_findings
from loomwright.logs.idling import Idle, cooling_findings, fan_cycles, idle_findings, idles_of
from loomwright.logs.limits import limit_source, limits_with
from loomwright.logs.mapping import Mapped
from loomwright.logs.probe import asleep, leak_findings, probe_findings, stands_still
from loomwright.logs.proposal import Proposed, proposed
from loomwright.logs.sensors import sensor_findings, without_changed_over
from loomwright.logs.starts import Start, start_findings, starts_of
from loomwright.logs.steady import Visits, is_running, steady_rows, visits_of
from loomwright.logs.trigger import trigger_findings

__all__ = [
    "USUAL_GRID",
    "Judged",
    "Mixture",
    "judged",
    "judged_drive",
    "mixture_of",
    "read_drive",
]

USUAL_GRID = Grid(
    rpm=tuple(float(rpm) for rpm in range(500, 7001, 500)), load=tuple(float(kpa) for kpa in range(20, 111, 10))
)
"""Breakpoints where the user gave none and no boost was driven: typical, our choice."""
_BOOST_STEP_KPA, _BOOST_MOST_KPA = 20.0, 400.0

_MIXTURE_NEEDS = ("mixture", "engine_speed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """What the mixture says. steady_rows: rows that counted.   visits: how many.

    silent: why no cell is told; empty where one is.
    """

    delay: Delay
    cells: tuple[Cell, ...]
    proposal: tuple[Proposed, ...]
    steady_rows: int
    visits: int
    findings: tuple[Finding, ...]
    silent: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What a drive says. rows: of the log.   lasts_s: recorded. [s]   loaded_s: of it, running under load. [s]
    says: what was found on opening and reading.   has_table: the cells are those of a table that was given.
    beside: its figures beside those of the job's network, where it was asked."""

    channels: tuple[Channel, ...]
    left: tuple[str, ...]
    rows: int
    lasts_s: float
    loaded_s: float
    step_s: float
    says: tuple[str, ...]
    starts: tuple[Start, ...]
    idles: tuple[Idle, ...]
    fan_cycles: int
    mixture: Mixture | None
    findings: tuple[Finding, ...]
    has_table: bool = False
    beside: tuple[Beside, ...] = ()


def judged(
    recording: Recording, mapped: Mapped, table: FuelTable | None = None, supply: SupplyVolts | None = None
) -> Judged:
    """Everything a drive says.

    Args:
        recording: as opened.
        mapped: what was typed; an empty one where nothing was.
        table: what stands in the controller now; typical breakpoints where left out.
        supply: what the job's network has; None where it was not asked.
    Raises:
        NoAnswer: nothing in it can be read.
        OutOfReach: something typed that there is not.
    """
    return judged_drive(*read_drive(recording, mapped), recording, mapped, table, supply)


def read_drive(recording: Recording, mapped: Mapped) -> tuple[Drive, tuple[Channel, ...]]:
    """The drive of a recording, and which column is what; what is kept of columns that it has not is told."""
    there = {column.name for column in recording.columns}
    absent = sorted(name for name, word in mapped.columns.items() if word and name not in there)
    typed = {name: word for name, word in mapped.columns.items() if name in there}
    units = {name: unit for name, unit in mapped.units.items() if name in there}
    channels = recognised(recording.columns, typed, units, mapped.gauge)
    drive = drive_of(recording, channels)
    if absent:
        drive = replace(drive, says=(*drive.says, f"kept for this controller and not in this log: {', '.join(absent)}"))
    return drive, tuple(one for one in channels if one.quantity == "time" or one.quantity in drive.of)


def judged_drive(
    drive: Drive,
    channels: Sequence[Channel],
    recording: Recording,
    mapped: Mapped,
    table: FuelTable | None = None,
    supply: SupplyVolts | None = None,
) -> Judged:
    """Everything a drive says that is read already; as `judged`."""
    grid = _usual_grid(drive) if table is None else table.grid
    limits = limits_with(mapped.limits)
    mixture = mixture_of(drive, mapped, grid, None if table is None else table.figures)
    delay_s = mixture.delay.most_s if mixture is not None else 0.0
    starts = starts_of(drive, limits)
    idles = idles_of(drive, limits)
    beside = beside_of(drive, limits, supply, starts, idles)
    at = (supply.point,) if supply is not None and supply.point else ()
    findings = (
        *start_findings(starts, limits, supply.crank_v if supply is not None else None, at),
        *idle_findings(drive, limits, idles),
        *cooling_findings(drive, limits),
        *trigger_findings(drive, limits),
        *fuelling_findings(drive, limits),
        *driving_findings(drive, limits, starts, delay_s, supply.idle_v if supply is not None else None, at),
        *sensor_findings(drive, limits),
        *beside_findings(beside),
        *(mixture.findings if mixture is not None else ()),
    )
    named = {channel.column for channel in channels}
    return Judged(
        channels=tuple(channels),
        left=tuple(column.name for column in recording.columns if column.name not in named),
        rows=drive.time_s.size,
        lasts_s=drive.lasts_s,
        loaded_s=_loaded_s(drive, limits),
        step_s=drive.step_s,
        says=(*recording.says, *drive.says),
        starts=starts,
        idles=idles,
        fan_cycles=len(fan_cycles(drive)),
        mixture=mixture,
        findings=in_order(without_changed_over(findings)),
        has_table=table is not None,
        beside=beside,
    )


def mixture_of(
    drive: Drive,
    mapped: Mapped,
    grid: Grid = USUAL_GRID,
    table: Sequence[Sequence[float]] | None = None,
    target: float = 1.0,
) -> Mixture | None:
    """What the mixture says, or None where it was not recorded.

    Args:
        drive: read with the quantities of the mixture.
        mapped: what was typed.
        grid: the table's breakpoints.
        table: what stands in it now. [-]
        target: mixture aimed for where the log has no target. [-]
    """
    if not drive.has(*_MIXTURE_NEEDS):
        return None
    limits = limits_with(mapped.limits)
    delay = delay_of(drive, limits)
    keep = steady_rows(drive, limits, delay.most_s)
    still = stands_still(drive, limits)
    keep &= ~asleep(drive, limits, still)
    visits = visits_of(drive, limits, keep, delay.seconds, target)
    leaks, believed = leak_findings(visits, limits)
    visits = visits.only(believed)
    cells = cells_of(visits, grid, limits)
    return Mixture(
        delay=delay,
        cells=cells,
        proposal=proposed(cells, grid, limits, table),
        steady_rows=int(np.count_nonzero(keep)),
        visits=visits.rpm.size,
        findings=(*probe_findings(drive, limits, still), *leaks, *_odd(cells, visits, limits["odd_change"])),
        silent="" if any(one.factor is not None for one in cells) else _silent(drive, limits, visits.rpm.size),
    )


def _silent(drive: Drive, limits: Mapping[str, float], visits: int) -> str:
    """Why no cell is told, in words."""
    if visits:
        return f"no cell was visited {limits['visits_needed']:g} times"
    hottest = float(np.nanmax(drive.of["coolant"])) if drive.has("coolant") else np.inf
    if hottest < limits["warm_c"]:
        return f"the coolant came to {hottest:.0f} °C at most, and cells count from {limits['warm_c']:g} °C on"
    return f"it was never driven steadily for {limits['steady_window_s']:g} s with a probe that can be believed"


def _usual_grid(drive: Drive) -> Grid:
    """Typical breakpoints, with more of them for the boost that was driven."""
    if not drive.has("manifold_pressure"):
        return USUAL_GRID
    most = min(float(np.nanpercentile(drive.of["manifold_pressure"], 99.5)), _BOOST_MOST_KPA)
    load = list(USUAL_GRID.load)
    while load[-1] + _BOOST_STEP_KPA / 2.0 < most:
        load.append(load[-1] + _BOOST_STEP_KPA)
    return Grid(rpm=USUAL_GRID.rpm, load=tuple(load))


def _loaded_s(drive: Drive, limits: Mapping[str, float]) -> float:
    if not drive.has("manifold_pressure"):
        return 0.0
    loaded = is_running(drive, limits) & (drive.of["manifold_pressure"] >= limits["lean_load_kpa"])
    return float(loaded.sum()) * drive.step_s


def _odd(cells: Sequence[Cell], visits: Visits, most: float) -> tuple[Finding, ...]:
    """LOG-22: a cell wants more than any table should be out by."""
    sure = [cell for cell in cells if cell.factor is not None and cell.low is not None and cell.high is not None]
    far = [cell for cell in sure if (cell.low or 1.0) > 1.0 + most or (cell.high or 1.0) < 1.0 - most]
    if not far:
        return ()
    worst = max(far, key=lambda cell: abs((cell.factor or 1.0) - 1.0))
    return (
        Finding(
            rule="LOG-22",
            severity="warning",
            label=f"cell {worst.rpm:g} 1/min, {worst.load:g} kPa",
            wrong=(
                f"wants its fuel changed by {100.0 * ((worst.factor or 1.0) - 1.0):+.0f} %; {len(far)} "
                f"cells of {len(sure)} want as much"
            ),
            found=100.0 * abs((worst.factor or 1.0) - 1.0),
            allowed=100.0 * most,
            unit="%",
            source=limit_source("odd_change"),
            mend="Check injector flow, fuel pressure and the air's way in first; change the table afterwards",
        ),
    )
