"""`loomwright log`: a recorded drive read and judged, and what is left before the dyno."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from loomwright.calibration.fuel import fuel_called
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.locate import located_plain, show_causes
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.cli.telling import telling
from loomwright.exchange.log_file import open_log
from loomwright.exchange.plot_file import keep_drive
from loomwright.findings import says
from loomwright.logs.channels import unit_shown
from loomwright.logs.drive import Drive
from loomwright.logs.dyno import Readiness
from loomwright.logs.fuel_table import table_from_text
from loomwright.logs.in_short import drive_in_short
from loomwright.logs.judged import Judged, Mixture, judged_drive, read_drive
from loomwright.logs.mapping import Mapped, mapped_from, mapped_text
from loomwright.logs.own_limits import mapped_for
from loomwright.logs.plain import cells_csv, judged_plain
from loomwright.pages.drive_papers import drive_files
from loomwright.proving.locate import Located

__all__ = ["HELP", "add_arguments", "run"]

HELP = "a recorded drive (CSV, Parquet, MDF4) read and judged: mixture by cell, starts, idle, oil; ready for the dyno?"

_HANG = "      "
_STEPS = ("reading the drive", "asking the solved car", "judging", "done")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("log", metavar="FILE", help="the recorded drive, .csv, .parquet or .mf4")
    add_job(parser)
    parser.add_argument(
        "--mapping", default="", metavar="FILE", help="which column is what, units, fuel, limits (.toml)"
    )
    parser.add_argument(
        "--table",
        default="",
        metavar="FILE",
        help="the fuel table as CSV: engine speeds along the top, loads down the side",
    )
    parser.add_argument(
        "--why", action="store_true", help="where it disagrees with the solved car: which single fault would explain it"
    )
    parser.add_argument(
        "--out", default="", metavar="FOLDER", help="where mapping, cells, findings and drawings are written"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    mapped = mapped_from(_text(Path(arguments.mapping))) if arguments.mapping else Mapped()
    table = table_from_text(_text(Path(arguments.table))) if arguments.table else None
    path = Path(arguments.log)
    _tell(1)
    recording = open_log(path)
    read, channels = read_drive(recording, mapped)
    _tell(2)
    supply = car.supply_volts
    _tell(3)
    drive = judged_drive(read, channels, recording, mapped_for(mapped, car.job), table or car.fuel_table, supply)
    _tell(4)
    ready = car.dyno(drive, path.name)
    why = car.why_logged(drive, telling("faults")) if arguments.why else None
    if arguments.out:
        _write(Path(arguments.out), path.name, read, drive, mapped)
    if arguments.json:
        as_json(judged_plain(drive, ready) | ({"why": located_plain(why) if why else None} if arguments.why else {}))
    else:
        for line in _lines(drive, ready, mapped, bool(arguments.table) or drive.has_table):
            show_hanging(line, _HANG)
        if arguments.why:
            _show_why(why)
        if arguments.out:
            show(f"wrote {arguments.out}")
    return int(any(finding.severity != "note" for finding in drive.findings))


def _tell(step: int) -> None:
    """Keep one line of progress on the terminal; Ctrl+C stops."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{_STEPS[step - 1]}, {step} of {len(_STEPS)}   " + ("\n" if step == len(_STEPS) else ""))
        sys.stderr.flush()


def _show_why(why: Located | None) -> None:
    if why is None:
        show("Nothing to ask why: what was recorded goes with the solved car, or cannot be told from it.")
        return
    show(f"Which single fault explains it ({why.faults} tried):")
    show_causes(why)
    for one in why.next[:2]:
        show(f"Read next: {one.says}.")
    show("A fault is proved by mending it and reading again, not by odds.")


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(path), "a text file", "Give the path of one that can be read") from fault


def _write(folder: Path, name: str, read: Drive, drive: Judged, mapped: Mapped) -> None:
    write_file(folder / "mapping.toml", mapped_text(mapped, drive.channels).encode())
    write_file(folder / "findings.txt", "".join(f"{says(one)}\n" for one in drive.findings).encode())
    if drive.mixture is not None:
        write_file(folder / "cells.csv", cells_csv(drive.mixture).encode())
    with TemporaryDirectory() as beside:
        drawn = Path(beside) / "drive.parquet"
        keep_drive(read, drawn)
        for file, data in drive_files(name, drive, drawn).items():
            write_file(folder / file, data)


def _lines(drive: Judged, ready: Readiness, mapped: Mapped, has_table: bool) -> Iterator[str]:
    yield from drive_in_short(drive, ready)
    yield f"{drive.rows} rows, a row every {1000.0 * drive.step_s:.3g} ms"
    for channel in drive.channels:
        taken = f" ({channel.says})" if channel.says else ""
        unit = f", {unit_shown(channel.unit)}" if unit_shown(channel.unit) else ""
        yield (
            f"  {channel.quantity.replace('_', ' ')}: {channel.column}{unit}, "
            f"{100.0 * channel.sure_frac:.0f} % sure{taken}"
        )
    if drive.left:
        yield f"  not used: {', '.join(drive.left)}"
    yield from (f"  {line}" for line in drive.says)
    for start in drive.starts:
        went = f"ran {start.ran_s:.0f} s" if start.took else "did not run"
        volts = "" if start.least_v is None else f", lowest {start.least_v:.1f} V"
        yield (
            f"start at {start.at_s:.1f} s: cranked {start.crank_s:.1f} s at {start.crank_rpm:.0f} 1/min{volts}, {went}"
        )
    for one in drive.beside:
        verdict = "DISAGREES" if one.is_off else "agrees"
        yield f"{one.what}: {one.log:.2f} {one.unit}, the solved car has {one.network:.2f} ({one.state}): {verdict}"
    if drive.mixture is not None:
        yield from _mixture(drive.mixture, mapped, has_table)
    yield from (says(finding) for finding in drive.findings)
    yield counted(len(drive.findings), "finding")
    yield (
        "ready for the dyno: "
        f"{ready.certificate or f'no, {len(ready.left)} of {len(ready.criteria)} criteria are open'}"
    )
    for asked in ready.criteria:
        standing = "met" if asked.met else "against" if asked.is_against else "open"
        yield f"  {standing:<7}  {asked.asks}: {asked.record or asked.open_why}"


def _mixture(mixture: Mixture, mapped: Mapped, has_table: bool) -> Iterator[str]:
    delay = mixture.delay
    yield (
        f"delay of the measured mixture: {delay.fixed_ms:.0f} ms + {delay.pipe:.0f} / (g/s a litre), "
        f"probe {delay.probe_ms:.0f} ms: {delay.says}"
    )
    for one in delay.at:
        yield (
            f"  at {one.flow_g_per_s:.1f} g/s a litre: {one.delay_ms:.0f} ± {2.0 * one.spread_ms:.0f} ms, "
            f"{one.windows} moves"
        )
    if mapped.fuel:
        fuel = fuel_called(mapped.fuel)
        yield (
            f"fuel {fuel.name}: {fuel.air_fuel:.2f} parts of air burn all of it; lambda 0.85 is "
            f"{0.85 * fuel.air_fuel:.2f}"
        )
    known = [(cell, new) for cell, new in zip(mixture.cells, mixture.proposal, strict=True) if cell.factor is not None]
    typical = "" if has_table else "; typical breakpoints, give your own with --table"
    yield (
        f"{counted(len(known), 'cell')} of {len(mixture.cells)} told by "
        f"{counted(mixture.visits, 'visit')}; the others stay as they were{typical}"
    )
    for cell, new in known:
        low, high = 100.0 * ((cell.low or 1.0) - 1.0), 100.0 * ((cell.high or 1.0) - 1.0)
        change = 100.0 * ((cell.factor or 1.0) - 1.0)
        yield (
            f"  {cell.rpm:g} 1/min {cell.load:g} kPa: {change:+.1f} % ({low:+.1f} to {high:+.1f}), "
            f"{cell.visits} visits: "
            f"{100.0 * (new.factor - 1.0):+.1f} %, {new.says}"
        )
