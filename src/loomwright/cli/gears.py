"""`loomwright gears`: a first set of gear-change lines, checked and driven in the model before anybody drives it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from loomwright.cli.asking import open_given
from loomwright.cli.gear_asks import ratios_plain, road_of, road_plain, show_fewest, show_road, tell_sets, trade_plain
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.findings import Finding, as_plain, in_order, says
from loomwright.gearbox.box import Box
from loomwright.gearbox.box_checking import box_findings, gear_unplugged
from loomwright.gearbox.box_reading import box_from_rows, box_from_text, shipped_box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.fewest import TradeOff, fewest_changes
from loomwright.gearbox.hunting import hunting
from loomwright.gearbox.judged import RUNS, Judged, judged, run_called
from loomwright.gearbox.line_sheet import lines_from_csv, lines_to_csv
from loomwright.gearbox.lines import AXES, Lines, lines_of, programme_called, resampled
from loomwright.gearbox.pressure import pressure_csv, pressure_says, pressure_table
from loomwright.gearbox.procedure import set_up_steps
from loomwright.gearbox.road_log import RoadChange
from loomwright.refusals import OutOfReach
from loomwright.writers.gear_chart import hunting_chart, lines_chart

__all__ = ["HELP", "add_arguments", "run"]

HELP = "gear-change lines of an automatic gearbox: a first set, checked, driven in the model, written out"

_PERCENT = 100.0
_RUNS = ("udds", "european", "hill", "long_hill", "full_throttle", "tip_in")
_MOST_BYTES = 1_000_000
_HEADINGS = ("programme", "run", "km", "changes", "per km", "undone", "time in each gear", "locked", "top", "fluid")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", nargs="?", default="", metavar="JOB", help="a job with rows gear.* in its sheet vehicle")
    parser.add_argument("--box", default="", metavar="FILE", help="the gearbox as TOML; the made-up one where left out")
    parser.add_argument("--programme", default="", metavar="NAME", help="one programme; all of them where left out")
    parser.add_argument("--lines", default="", metavar="FILE.csv", help="lines changed by hand, for that programme")
    parser.add_argument("--drive", action="store_true", help="drive it in the model, programmes side by side")
    parser.add_argument("--cycle", choices=RUNS, default="", help="this drive alone; needs --drive")
    parser.add_argument("--check", action="store_true", help="tell what is wrong with box and lines")
    parser.add_argument(
        "--fewest", action="store_true", help="look for the fewest changes for the fuel, as a curve; one programme"
    )
    parser.add_argument("--pick", type=int, default=0, metavar="N", help="write set N of that curve with --out")
    parser.add_argument("--log", default="", metavar="FILE", help="a recorded drive, its changes laid over the lines")
    parser.add_argument("--steps", action="store_true", help="the set-up on the car, step by step, with its cautions")
    parser.add_argument(
        "--pressure", action="store_true", help="line pressure each gear wants at each pedal, from its torque"
    )
    parser.add_argument("--axis", choices=tuple(AXES), default="km/h", help="what the lines are written in")
    parser.add_argument(
        "--breakpoints", default="", metavar="0,10,...,100", help="pedal in per cent, as the controller's table has it"
    )
    parser.add_argument("--out", default="", metavar="FOLDER", help="write lines as CSV and charts as SVG there")
    parser.add_argument("--json", action="store_true", help="the answer as JSON")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    box = _box(arguments)
    names = [arguments.programme] if arguments.programme else [one.name for one in box.programmes]
    sets = [_lines(arguments, box, name) for name in names]
    if arguments.lines and not arguments.programme:
        raise OutOfReach("--lines", arguments.lines, "--lines FILE.csv together with --programme NAME")
    if arguments.cycle and not arguments.drive:
        raise OutOfReach("--cycle", arguments.cycle, "--cycle together with --drive")
    if (arguments.fewest or arguments.log) and len(sets) > 1:
        asked = "--fewest" if arguments.fewest else "--log"
        raise OutOfReach(asked, "", f"{asked} together with --programme, one of {' '.join(names)}")
    trade = fewest_changes(box, programme_called(box, names[0]), tell=tell_sets) if arguments.fewest else None
    road, ratios = road_of(arguments.log, box, sets[0]) if arguments.log else ((), ())
    if arguments.pick:
        sets = [_picked(trade, arguments.pick)]
    findings = _findings(box, sets) if arguments.check else ()
    drives = _drives(box, sets, arguments.cycle) if arguments.drive else ()
    if arguments.out:
        _write(Path(arguments.out), box, sets, arguments.axis, road)
    if arguments.json:
        told = {"fewest": trade_plain(trade)} if trade is not None else {}
        more = {"road": road_plain(road), "ratios": ratios_plain(ratios)} if arguments.log else {}
        as_json(_plain(arguments, box, sets, findings, drives) | told | more)
    else:
        _show(arguments, box, sets, findings, drives)
        if trade is not None:
            show_fewest(trade)
        if arguments.log:
            show_road(road, ratios)
    return 1 if any(one.severity != "note" for one in findings) else 0


def _picked(trade: TradeOff | None, place: int) -> Lines:
    count = len(trade.curve) if trade is not None else 0
    if trade is None or not 1 <= place <= count:
        raise OutOfReach("--pick", str(place), f"1 to {count}, together with --fewest" if count else "with --fewest")
    return trade.curve[place - 1].lines


def _box(arguments: Namespace) -> Box:
    if arguments.box:
        return box_from_text(_text(arguments.box), name=Path(arguments.box).name)
    if arguments.job:
        job = open_given(arguments.job).job
        box = box_from_rows((row.name, row.value) for row in job.vehicle)
        if box is None:
            raise told(
                "no row gear.*",
                "rows gear.ratios, gear.final_drive, gear.tyre, gear.engine.torque and so on",
                "Type gear.ratios into the sheet vehicle, such as [2.80, 1.54, 1.00], and it says what else it wants",
            )
        return box
    return shipped_box()


def _text(file: str) -> str:
    path = Path(file)
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise told(file, "a small text file", "Name the file of the gearbox")
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise told(file, "a text file that can be read", "Name a file that is there") from fault


def _lines(arguments: Namespace, box: Box, name: str) -> Lines:
    lines = lines_of(box, programme_called(box, name))
    if arguments.lines:
        lines = lines_from_csv(box, lines, _text(arguments.lines), name=Path(arguments.lines).name)
    return resampled(lines, _breakpoints(arguments.breakpoints)) if arguments.breakpoints else lines


def _breakpoints(text: str) -> tuple[float, ...]:
    try:
        return tuple(float(cell) / _PERCENT for cell in text.replace(";", ",").split(","))
    except ValueError as fault:
        raise OutOfReach("--breakpoints", text, "per cent of pedal, rising, from 0 to 100, commas between") from fault


def _findings(box: Box, sets: Sequence[Lines]) -> tuple[Finding, ...]:
    return in_order([*box_findings(box), *(one for lines in sets for one in line_findings(box, lines))])


def _drives(box: Box, sets: Sequence[Lines], cycle: str) -> tuple[Judged, ...]:
    return tuple(
        judged(run_called(box, lines, name), programme=lines.programme, run=name, gears=len(box.ratios))
        for name in ((cycle,) if cycle else _RUNS)
        for lines in sets
    )


def _write(folder: Path, box: Box, sets: Sequence[Lines], axis: str, road: Sequence[RoadChange] = ()) -> None:
    for lines in sets:
        write_file(folder / f"lines_{lines.programme}.csv", lines_to_csv(box, lines, axis=axis).encode())
        write_file(folder / f"pressure_{lines.programme}.csv", pressure_csv(pressure_table(box, lines)).encode())
        write_file(folder / f"lines_{lines.programme}.svg", lines_chart(lines, road).encode())
        chart = hunting_chart(hunting(box, lines), programme=lines.programme)
        write_file(folder / f"hunting_{lines.programme}.svg", chart.encode())


def _plain(
    arguments: Namespace, box: Box, sets: Sequence[Lines], findings: Sequence[Finding], drives: Sequence[Judged]
) -> dict[str, object]:
    return {
        "box": box.title,
        "extent": list(box.extent),
        "unplugged_gear": gear_unplugged(box),
        "programmes": {
            lines.programme: {
                "pedal_frac": list(lines.pedal_frac),
                "up_kmh": [list(line) for line in lines.up_kmh],
                "down_kmh": [list(line) for line in lines.down_kmh],
                "lock_kmh": [list(line) for line in lines.lock_kmh],
                "unlock_kmh": [list(line) for line in lines.unlock_kmh],
                "kick_kmh": list(lines.kick_kmh),
                "kick_frac": lines.kick_frac,
            }
            for lines in sets
        },
        "pressure": [_pressure_plain(box, lines) for lines in sets] if arguments.pressure else [],
        "findings": [as_plain(one) for one in findings],
        "drives": [_drive_plain(one) for one in drives],
        "steps": [
            {"number": one.number, "title": one.title, "caution": one.caution, "does": one.does, "seen": one.seen}
            for one in (set_up_steps(box) if arguments.steps else ())
        ],
    }


def _pressure_plain(box: Box, lines: Lines) -> dict[str, object]:
    made = pressure_table(box, lines)
    return {
        "programme": made.programme,
        "gears": list(made.gears),
        "pedal_frac": list(made.pedal_frac),
        "share_frac": [[round(share, 4) for share in row] for row in made.share_frac],
        "pressure_kpa": [[round(one, 1) for one in row] for row in made.pressure_kpa],
        "idle_nm": round(made.idle_nm, 1),
        "stall_nm": round(made.stall_nm, 1),
        "says": list(pressure_says(box, made)),
    }


def _show_pressures(box: Box, sets: Sequence[Lines]) -> None:
    tables = [pressure_table(box, lines) for lines in sets]
    for table in tables:
        show(f"\nline pressure, {table.programme}")
        show(pressure_csv(table).rstrip())
    for said in pressure_says(box, tables[0]):
        show_hanging(f"{said}.", "    ")


def _drive_plain(one: Judged) -> dict[str, object]:
    return {
        "programme": one.programme,
        "run": one.run,
        "distance_m": round(one.distance_m, 1),
        "changes": one.changes,
        "changes_per_km": round(one.per_km, 3),
        "undone": one.undone,
        "kicked": one.kicked,
        "gear_frac": [round(share, 4) for share in one.gear_frac],
        "locked_frac": round(one.locked_frac, 4),
        "rpm_frac": [round(share, 4) for share in one.rpm_frac],
        "top_rpm": round(one.top_rpm),
        "behind_s": round(one.behind_s, 1),
        "fluid_c": round(one.fluid_c, 1),
        "to_100_s": one.to_100_s,
    }


def _show(
    arguments: Namespace, box: Box, sets: Sequence[Lines], findings: Sequence[Finding], drives: Sequence[Judged]
) -> None:
    show(box.title or "gearbox")
    if box.extent:
        show("; ".join(box.extent) + ".")
    if not any(getattr(arguments, word) for word in ("check", "drive", "steps", "fewest", "log", "pressure")):
        for lines in sets:
            show(f"\n{lines.programme}")
            show(lines_to_csv(box, lines, axis=arguments.axis).rstrip())
    for one in findings:
        show_hanging(f"{one.severity.upper():8}{says(one)}", " " * 8)
    if arguments.check:
        show(f"{counted(sum(one.severity != 'note' for one in findings), 'thing')} to mend.")
    if drives:
        show()
        _show_rows([_HEADINGS, *map(_row, drives)])
    if arguments.pressure:
        _show_pressures(box, sets)
    if arguments.steps:
        _show_steps(box)
    if arguments.out:
        show(f"wrote {arguments.out}")


def _row(one: Judged) -> tuple[str, ...]:
    gears = " ".join(f"{k}:{_PERCENT * share:.0f} %" for k, share in enumerate(one.gear_frac, start=1))
    return (
        one.programme,
        one.run,
        f"{one.distance_m / 1000.0:.1f}",
        str(one.changes),
        f"{one.per_km:.2f}",
        str(one.undone),
        gears,
        f"{_PERCENT * one.locked_frac:.0f} %",
        f"{one.top_rpm:.0f}",
        f"{one.fluid_c:.0f} °C",
    )


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _show_steps(box: Box) -> None:
    for step in set_up_steps(box):
        show(f"\n{step.number}. {step.title}")
        if step.caution:
            show_hanging(f"   CAUTION  {step.caution}", " " * 12)
        show_hanging(f"   do       {step.does}", " " * 12)
        show_hanging(f"   seen     {step.seen}", " " * 12)
