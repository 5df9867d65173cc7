"""`loomwright sensor`: a sensor's table at the controller's breakpoints, and whether all agree before the crank."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import asdict
from pathlib import Path

from loomwright.calibration.sensor_curves import SensorCurve, earth_lift, points_curve, thermistor_curve
from loomwright.calibration.sensor_laws import meant_by
from loomwright.calibration.sensor_words import before_of, compared_of, named_words, pairs_of, probe_of, read_by_law
from loomwright.calibration.sensors import ProbeScale, before_crank, probe_scale
from loomwright.cli.asking import open_given
from loomwright.cli.printing import as_json, show, show_hanging, write_file
from loomwright.cli.shelf_folder import clock
from loomwright.cli.start import write_records
from loomwright.job.edits import add_row
from loomwright.quantities.printing import for_print
from loomwright.refusals import OutOfReach
from loomwright.startup.job_sensors import USUAL_PULL_UP_OHM, pull_up_of
from loomwright.startup.kept_readings import curve_text, kept_sensors, sensor_cells
from loomwright.startup.plain import probe_plain, sensor_plain
from loomwright.writers.start_tables import table_csv, table_texts

__all__ = ["HELP", "add_arguments", "run"]

HELP = "a sensor's table from its points, at the breakpoints a controller takes; what does not agree before the crank"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--thermistor", default="", metavar="PAIRS", help='two or three of degrees:ohms, "0:5975 50:806.9 100:175.7"'
    )
    parser.add_argument("--points", default="", metavar="PAIRS", help='volts:reading of another sensor, "0.5:0 4.5:10"')
    parser.add_argument(
        "--pull-up",
        type=float,
        default=None,
        metavar="OHM",
        help="of the controller; the job's where it says, else 2490",
    )
    parser.add_argument("--reference", type=float, default=5.0, metavar="VOLTS", help="behind it, as measured; 5 else")
    parser.add_argument("--coldest", type=float, default=-40.0, metavar="C", help="of the table; -40 where left out")
    parser.add_argument("--hottest", type=float, default=120.0, metavar="C", help="of the table; 120 where left out")
    parser.add_argument("--breakpoints", type=int, default=16, metavar="COUNT", help="the controller takes; 16 else")
    parser.add_argument("--unit", default="", metavar="WORD", help="of the reading: bar, kPa")
    parser.add_argument(
        "--before", default="", metavar="WORDS", help='read before the crank: "hours=12; air_c=18; coolant_sensor_c=19"'
    )
    parser.add_argument(
        "--earth", default="", metavar="WORDS", help='volts expected and read: "coolant=2.51/2.56; air=2.40/2.46"'
    )
    parser.add_argument(
        "--probe",
        default="",
        metavar="PAIRS",
        help='lambda shown and logged, two mixtures or more: "0.9/0.92 1.1/1.12@6"',
    )
    parser.add_argument(
        "--means",
        default="",
        metavar="WORDS",
        help='what one reading means, of platinum, type K or a flexible-fuel sensor: "type_k_mv=28; junction_c=30"',
    )
    parser.add_argument("--out", default="", metavar="FILE", help="write the table there as CSV")
    parser.add_argument("--job", default="", metavar="JOB", help="keep it with a job; alone: what is kept of all")
    parser.add_argument("--sensor", default="", metavar="NAME", help="the sensor, or its part, points are kept under")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something does not agree."""
    to_keep = bool(arguments.thermistor or arguments.points or arguments.before or arguments.earth)
    asked = to_keep or bool(arguments.probe or arguments.means)
    if arguments.job and not asked:
        return _kept(arguments)
    if not asked:
        raise OutOfReach(
            "sensor",
            "nothing",
            "--thermistor or --points for a table, --before, --earth or --probe for sanity, --means for one reading",
        )
    is_typical = arguments.pull_up is None and bool(arguments.thermistor)
    if arguments.pull_up is None:
        own = pull_up_of(open_given(arguments.job).job, arguments.sensor) if arguments.job else None
        arguments.pull_up, is_typical = own or USUAL_PULL_UP_OHM, is_typical and own is None
    made = _curve(arguments)
    said = before_crank(before_of(named_words(arguments.before))) if arguments.before else ()
    lift = (
        earth_lift(compared_of(arguments.earth, reference_v=arguments.reference), reference_v=arguments.reference)
        if arguments.earth
        else ()
    )
    probe = probe_scale(probe_of(arguments.probe)) if arguments.probe else None
    means = meant_by(read_by_law(arguments.means)) if arguments.means else ()
    off = bool(said or lift) or (probe is not None and probe.verdict != "same")
    if arguments.job and to_keep:
        _keep(arguments)
    if arguments.out and made is not None:
        write_file(Path(arguments.out), table_csv(made.table).encode())
    if arguments.json:
        told: dict[str, object] = {"curve": None if made is None else sensor_plain(made)}
        told |= {"before": list(said), "earth": list(lift), "probe": None if probe is None else probe_plain(probe)}
        if means:
            told["means"] = [asdict(one) for one in means]
        as_json(told)
        return 1 if off else 0
    for one in means:
        show(f"{one.what[:1].upper()}{one.what[1:]}: {for_print(one.value, digits=4)} {one.unit}")
    if made is not None:
        _show(made)
    if is_typical:
        show_hanging(f"{USUAL_PULL_UP_OHM:g} Ω is typical: give the controller's own, --pull-up.", "    ")
    for says in (*said, *lift):
        show_hanging(f"{says}.", "    ")
    if (arguments.before or arguments.earth) and not (said or lift):
        show("All of them agree.")
    if probe is not None:
        _show_probe(probe)
    return 1 if off else 0


def _show_probe(probe: ProbeScale) -> None:
    for pair, why in probe.apart:
        show_hanging(f"Left out: {pair.shown:g} shown, {pair.logged:g} logged: {why}.", "    ")
    show_hanging(probe.says, "    ")


def _keep(arguments: Namespace) -> None:
    """Write what was read into the job."""
    given = {
        "sensor": arguments.sensor,
        "thermistor": arguments.thermistor,
        "points": arguments.points,
        "unit": arguments.unit,
        "earth": arguments.earth,
        "pull_up": f"{arguments.pull_up:g}",
        **named_words(arguments.before),
    }
    rows = sensor_cells({name: text for name, text in given.items() if text})
    opened = open_given(arguments.job)
    job = opened.job
    for cells in rows:
        job = add_row(job, "sensor_points", {**cells, "time": clock()})
    write_records(opened, job, arguments.job, "")


def _kept(arguments: Namespace) -> int:
    """What is kept with a job: every sensor's points and curve, and what did not agree."""
    kept = kept_sensors(open_given(arguments.job).job)
    curves = () if kept is None else kept.curves
    says = () if kept is None else kept.says
    if arguments.json:
        told = [
            {
                "sensor": one.sensor,
                "points": curve_text(one.points),
                "why": one.why,
                "curve": None if one.curve is None else sensor_plain(one.curve),
            }
            for one in curves
        ]
        as_json({"sensors": told, "says": list(says)})
    else:
        for one in curves:
            show(f"{one.sensor}: {curve_text(one.points)}{f' ({one.why})' if one.why else ''}")
            if one.curve is not None:
                _show(one.curve)
        for word in says:
            show_hanging(f"{word}.", "    ")
        if kept is None:
            show("No readings of sensors are kept with this job.")
    return 1 if says or any(one.curve is None for one in curves) else 0


def _curve(arguments: Namespace) -> SensorCurve | None:
    if arguments.thermistor:
        return thermistor_curve(
            pairs_of(arguments.thermistor, what="--thermistor"),
            pull_up_ohm=arguments.pull_up,
            reference_v=arguments.reference,
            least_c=arguments.coldest,
            most_c=arguments.hottest,
            count=arguments.breakpoints,
        )
    if arguments.points:
        return points_curve(
            pairs_of(arguments.points, what="--points"), count=arguments.breakpoints, unit=arguments.unit
        )
    return None


def _show(made: SensorCurve) -> None:
    if made.curve is not None:
        law = "beta" if made.curve.beta_k is not None else "Steinhart-Hart"
        show(f"{law}: A {made.curve.a:.9e}  B {made.curve.b:.9e}  C {made.curve.c:.9e}")
    if made.pull_up is not None:
        suits = made.pull_up
        show_hanging(
            f"Pull-up: {for_print(suits.widest_ohm)} Ω spans most volts; {for_print(suits.finest_ohm)} Ω tells best "
            f"where it is worst, {for_print(suits.finest_mv_per_k)} mV/K, {for_print(suits.heat_mw)} mW at most in it.",
            "    ",
        )
    show_hanging(
        f"At these breakpoints the worst is {for_print(made.worst)} {made.unit} from the curve; evenly spread "
        f"{for_print(made.even)}.",
        "    ",
    )
    show_hanging(f"{made.table.says[:1].upper()}{made.table.says[1:]}:", "    ")
    cells = [made.table.columns, *table_texts(made.table)]
    widths = [max(len(row[n]) for row in cells) for n in range(len(made.table.columns))]
    for row in cells:
        show("  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)))
    for says in made.says:
        show_hanging(f"{says}.", "    ")
