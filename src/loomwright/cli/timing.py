"""`loomwright timing`: readings of a timing light against what was commanded: offset, delay, and the usual mistakes."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import asdict
from pathlib import Path

from loomwright.calibration.wheel import wheel_signal
from loomwright.cli.asking import open_given
from loomwright.cli.printing import as_json, show, show_hanging
from loomwright.cli.shelf_folder import clock
from loomwright.cli.start import write_records
from loomwright.cli.table_file import rows_of_file
from loomwright.job.edits import add_row
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.startup.kept_readings import kept_timing, light_cells
from loomwright.startup.plain import timing_plain
from loomwright.startup.timing import Timing, TimingReading, teeth_of, timing_of

__all__ = ["HELP", "add_arguments", "run"]

HELP = "readings of a timing light against what the controller commands: which to correct, how much, which way"
_AT_RPM = (200.0, 6000.0)
_NEEDED = ("rpm", "commanded_deg", "seen_deg")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--readings",
        default="",
        metavar="FILE",
        help="a CSV file: rpm, commanded_deg, seen_deg, and where known cylinder, stroke; else those kept with JOB",
    )
    parser.add_argument("--job", default="", metavar="JOB", help="the job the readings are of; they are kept with it")
    parser.add_argument(
        "--changed", default="", metavar="WORDS", help="what was corrected before them: earlier ones count no more"
    )
    parser.add_argument("--out", default="", metavar="JOB", help="write the job there instead")
    parser.add_argument("--cylinders", type=int, default=4, metavar="COUNT", help="of the engine; 4 where left out")
    parser.add_argument("--teeth", default="", metavar="WHEEL", help="the crank wheel: 60-2, 36-1")
    parser.add_argument("--wasted-spark", action="store_true", help="coils fire two cylinders at once")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something is to be corrected."""
    found = _of_job(arguments) if arguments.job else _of_file(arguments)
    signals = tuple(wheel_signal(arguments.teeth, rpm) for rpm in _AT_RPM) if "-" in arguments.teeth else ()
    if arguments.json:
        as_json({**timing_plain(found), "wheel": [asdict(one) for one in signals]})
        return 0 if found.is_true else 1
    for signal in signals:
        show(f"{signal.says}.")
    show("Fan and belt look still under the light. They turn: hands, leads and sleeves away.")
    for name, one in (("offset", found.offset), ("delay", found.delay)):
        if one is not None:
            show(
                f"{name}: {one.value:+.2f} {one.unit} (95 %: {one.low:+.2f} to {one.high:+.2f}), {found.used} readings"
            )
    for apart in found.apart:
        show_hanging(f"Reading {apart.number}, {apart.reading.rpm:g}/min, set apart: {apart.why}.", "    ")
    for says in found.says:
        show_hanging(says, "    ")
    return 0 if found.is_true else 1


def _of_file(arguments: Namespace) -> Timing:
    if not arguments.readings:
        raise OutOfReach("--readings", "", "--readings FILE, or --job JOB whose readings are kept")
    return timing_of(
        readings_from(Path(arguments.readings)),
        cylinders=arguments.cylinders,
        teeth=teeth_of(arguments.teeth),
        wasted_spark=arguments.wasted_spark,
    )


def _of_job(arguments: Namespace) -> Timing:
    """What the readings kept with a job say, those of the file written into it first."""
    opened = open_given(arguments.job)
    job = opened.job
    if arguments.readings:
        rows = light_cells(readings_from(Path(arguments.readings)), wheel=arguments.teeth, changed=arguments.changed)
        for cells in rows:
            job = add_row(job, "light_readings", {**cells, "time": clock()})
        write_records(opened, job, arguments.job, arguments.out)
    kept = kept_timing(job)
    if kept is None:
        raise NoAnswer("the base timing", ("No readings of a light are kept with this job.", "Give --readings FILE."))
    if kept.found is None:
        raise NoAnswer("the base timing", (kept.why,))
    return kept.found


def readings_from(path: Path) -> tuple[TimingReading, ...]:
    """The readings of a file.

    Raises:
        BadDocument: it cannot be read, a heading is missing, or a cell is no figure.
    """
    rows = rows_of_file(path, "a CSV file of readings", _NEEDED)
    problems: list[Problem] = []
    made: list[TimingReading] = []
    for number, row in enumerate(rows, start=2):
        if not row:
            continue
        figures: dict[str, float] = {}
        for name in _NEEDED:
            try:
                figures[name] = float(row[name].replace(",", "."))
            except ValueError:
                problems.append(
                    Problem(
                        sheet=path.name,
                        row=number,
                        column=name,
                        found=row[name],
                        allowed="a figure",
                        mend="Read it again",
                    )
                )
        if len(figures) == len(_NEEDED):
            words = {name: row.get(name, "").strip() for name in ("cylinder", "stroke")}
            made.append(TimingReading(**figures, **words))  # type: ignore[arg-type]  # figures and words by their names
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(made)
