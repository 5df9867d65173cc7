"""`loomwright locate`: which single fault explains what was read, where it is, and what to read next."""

from __future__ import annotations

import csv
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from math import isinf
from pathlib import Path

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, show, show_hanging, told
from loomwright.cli.telling import telling
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.proving.fitting import UNIT_OF
from loomwright.proving.locate import Located, NextPoint
from loomwright.proving.ohms_next import OHMS_RANGE
from loomwright.proving.put_off import LAMP
from loomwright.proving.typed import figure_read, is_over_range, unit_typed

__all__ = ["HELP", "add_arguments", "located_plain", "run", "show_causes"]

HELP = "which single fault explains what was read, where it is, and what to read next"
_MOST = 5
_LEAST = 0.005


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--readings", metavar="FILE", help="a CSV file with the columns of the sheet readings; else the job's own"
    )
    parser.add_argument(
        "--read",
        action="append",
        default=[],
        metavar="POINT=VALUE",
        help='one reading: volts "FAN1.+=0.1"; a drop "KFAN1.87:FAN1.+=0.2"; ohms with the battery off '
        '"FF1.2:FAN1.+=0.2ohm" or "=open"; a clamp "W12=3.4A", at the other end "W12:ER.1=3.4A", round all wires of a '
        'terminal "ER.1=3.4A"; with things off "BUSM.1/FINJ lamp=12.1", a wire off at its other end '
        '"BAT.+/W12:ER.1 lamp=9"; its state follows with --state',
    )
    parser.add_argument(
        "--state", action="append", default=[], metavar="STATE", help="the car as it stood, one for each --read"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    readings = [one for one in car.job.readings if one.point]
    if arguments.readings:
        readings = list(_from_file(Path(arguments.readings)))
    if arguments.read:
        readings = [*readings, *_typed(arguments.read, arguments.state)]
    located = car.located(readings, telling("faults"))
    if arguments.json:
        as_json(located_plain(located))
    else:
        _show(located, len(readings))
    return 0


def located_plain(located: Located, sound: str = "") -> dict[str, object]:
    """The answer as plain lists and words.

    Args:
        sound: what the car without a fault is called; in the fault finder's own words where empty.
    """
    return {
        "suspects": [
            {
                "fault": sound if sound and group.is_sound else group.says,
                "at": list(dict.fromkeys(name for one in group.suspects for name in one.at))[:12],
                "place": group.place,
                "probability": round(group.odds, 4),
            }
            for group in located.groups[:20]
        ],
        "next": None if not located.next else _next_plain(located.next[0]),
        "then": [_next_plain(one) for one in located.next[1:]],
        "asked_again": [{"point": one.point, "when": one.when.text, "value": one.value} for one in located.asked_again],
        "faults_tried": located.faults,
        "pairs_tried": located.pairs,
    }


def _next_plain(one: NextPoint) -> dict[str, object]:
    return {
        "point": one.point,
        "to": one.to,
        "measure": one.measure,
        "when": one.when,
        "off": list(one.off),
        "does": one.says,
        "bits": round(one.bits, 3),
        "expected": "open" if isinf(one.expected) else round(one.expected, 4),
        "unit": one.unit,
    }


def _from_file(path: Path) -> Sequence[Reading]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [{name: text for name, text in row.items() if name and text} for row in csv.DictReader(file)]
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(path), "a CSV file of readings", "Its headings: point when measure to off value unit") from fault
    job = Job()
    for row in rows:
        job = add_row(job, "readings", row)
    return job.readings


def _typed(read: Sequence[str], states: Sequence[str]) -> Sequence[Reading]:
    if len(states) not in (0, 1, len(read)):
        raise told(f"{len(states)} states for {len(read)} readings", "none, one, or one each", "Say --state for each")
    job = Job()
    for number, word in enumerate(read):
        at, equals, value = word.partition("=")
        if not equals:
            raise told(word, "POINT=VALUE", "Write the point, an equals sign and what was read: FAN1.+=0.1")
        at, _, off = at.partition("/")
        point, _, to = at.partition(":")
        measure = _measured(value)
        cells = {
            "point": point.strip(),
            "to": to.strip(),
            "off": off.strip(),
            "when": states[number] if len(states) == len(read) else states[0] if states else "",
            "measure": measure,
            "value": _figure(value, measure),
            "unit": UNIT_OF[measure],
        }
        job = add_row(job, "readings", {name: text for name, text in cells.items() if text})
    return job.readings


def _measured(value: str) -> str:
    """What was measured, by the unit of the figure; volts where it is bare."""
    of_unit = {unit: measure for measure, unit in UNIT_OF.items()}
    return "ohms" if is_over_range(value) or value.startswith(">") else of_unit.get(unit_typed(value), "volts")


def _figure(value: str, measure: str) -> str:
    """The figure of a reading, bare of its unit."""
    figure = figure_read(value, UNIT_OF[measure])
    return "open" if isinf(figure) else f"{figure:g}"


def show_causes(located: Located, sound: str = "") -> None:
    """The likeliest groups of faults, each with its odds and place.

    Args:
        sound: what the car without a fault is called; in the fault finder's own words where empty.
    """
    for group in located.groups[:_MOST]:
        if group.odds >= _LEAST:
            place = f" - {group.place}" if group.place else ""
            says = sound if sound and group.is_sound else group.says
            show_hanging(f"{100 * group.odds:5.1f} %  {says}{place}", " " * 9)


def _show(located: Located, count: int) -> None:
    pairs = f", and {located.pairs} pairs since none explains them well" if located.pairs else ""
    show(f"{located.faults} single faults tried against {count} reading{'' if count == 1 else 's'}{pairs}.")
    if not count:
        show("Begin at what does not work: the volts there, with --state as it stood when that was seen.")
    show_causes(located)
    for again in located.asked_again:
        show(f"Take again: {again.point} at {again.when.text or 'rest'}, {again.value}: no single fault gives that.")
    for number, one in enumerate(located.next[:3]):
        lead = "Read next: " if number == 0 else "       or: "
        show_hanging(f"{lead}{one.says}.", " " * 11)
    if any(LAMP in one.off for one in located.next[:3]):
        show("The lamp goes in first: a short ahead of the fuses burns its wire when the car is made live without it.")
    if any(one.measure == "ohms" for one in located.next[:3]):
        show(f"Meter: {OHMS_RANGE}")
    show("A fault is proved by mending it and reading again, not by odds.")
