"""`loomwright read`: one more reading of an old wire or at a point, typed or taken from a meter, written down."""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace
from dataclasses import replace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import open_given
from loomwright.cli.export import known_ending, write_out
from loomwright.cli.printing import as_json, show, show_hanging
from loomwright.cli.read_meter import add_meter, cautions_before, held_at
from loomwright.cli.shelf_folder import clock
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.quantities import parse_quantity
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.sheets.one_file import lies_there
from loomwright.survey.plain import survey_plain
from loomwright.survey.plan_rows import with_reading
from loomwright.survey.records import Caution

__all__ = ["HELP", "add_arguments", "reading_cells", "run"]

HELP = "write down one more reading of an old wire or at a point, typed or taken from a meter"

_FIGURE = re.compile(r"([+-]?[0-9]*[.]?[0-9]+)\s*(.*)")
_MEASURES = {"volts": "v", "ohms": "ohm", "amps": "a"}


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("job", metavar="JOB", help="a folder of sheets, .xlsx, .loomjob or .json; it is written anew")
    parser.add_argument("wire", metavar="POINT", help="the old wire, or the point of the loom, that is measured")
    parser.add_argument(
        "value",
        metavar="VALUE",
        nargs="?",
        default="",
        help='the figure with its unit, "12.1 V", or full dim dark open pulsing; left out with --from',
    )
    add_meter(parser)
    parser.add_argument("--state", default="", metavar="STATE", help='the car as it stood: "key=run, brake=on"')
    parser.add_argument(
        "--measure", default="", metavar="WORD", help="volts, ohms, lamp, where the unit does not say it"
    )
    parser.add_argument("--seen", default="", metavar="WORD", help='what lit or moved through the lamp: "charge lamp"')
    parser.add_argument("--stub", default="", metavar="STUB", help="which cut end: source or load")
    parser.add_argument("--to", default="", metavar="POINT", help="the second probe; else the body")
    parser.add_argument("--battery", default="", metavar="VOLTS", help="volts at the battery meanwhile")
    parser.add_argument("--visit", default="", metavar="TEXT", help="which visit to the car")
    parser.add_argument("--out", default="", metavar="JOB", help="write the job there instead")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where the reading is asked about."""
    if not arguments.out and lies_there(Path(arguments.job)) == "nothing":
        open_given(arguments.job)  # what is no job at all is refused in its own words
        raise OutOfReach("--out", "", "--out JOB: an example is not written over")
    if bool(arguments.value) == bool(arguments.address):
        raise OutOfReach("VALUE", arguments.value, "what the meter shows, typed, or --from ADDRESS and nothing typed")
    opened = open_given(arguments.job)
    path = Path(arguments.out or arguments.job)
    known_ending(path)
    job = with_reading(opened.job, reading_cells(arguments, opened.job) | {"time": clock()})
    _asked_after(job)
    own = [each.says for each in _cautions(opened.job, arguments.wire)] if arguments.address else []
    cautions = cautions_before(arguments, own) if arguments.address else ()
    if arguments.address:
        for caution in () if arguments.json else cautions:
            show_hanging(f"! {caution}", "  ")
        cells = reading_cells(arguments, opened.job) | held_at(arguments) | {"time": clock()}
        job = with_reading(opened.job, cells)
        _asked_after(job)
    write_out(replace(opened, job=job), path, is_over=not arguments.out)
    row = len(job.readings) + 1
    if job.readings[-1].point:
        return _told_of_point(arguments, job, path, row, cautions)
    survey = Car(job).survey(is_full=False)
    asked = [query for query in survey.queries if query.row == row]
    if arguments.json:
        plain = survey_plain(survey)
        said = plain["said"][arguments.wire]
        as_json({"written": str(path), "row": row, "wire": said, "asks": [q for q in plain["asks"] if q["row"] == row]})
    else:
        wire = next(each for each in survey.wires if each.id == arguments.wire)
        show(f"row {row} of readings written to {path}{_shown(arguments, job)}")
        show(f"{wire.id}: {wire.best.words}, {wire.how_sure}")
        for query in asked:
            show_hanging(f"{query.says}.", "  ")
        if wire.change_mind:
            show(f"would tell most: {wire.change_mind.words}")
    return int(bool(asked))


def _cautions(job: Job, wire: str) -> tuple[Caution, ...]:
    """What an old wire calls for before a probe touches it, by its row and what is held of it so far."""
    if wire not in {each.id for each in job.old_wires}:
        return ()
    return next(each.cautions for each in Car(job).survey(is_full=False).wires if each.id == wire)


def _asked_after(job: Job) -> None:
    problems = problems_of(job)
    if problems:
        raise BadDocument(tuple(problems))


def _told_of_point(arguments: Namespace, job: Job, path: Path, row: int, cautions: tuple[str, ...]) -> int:
    last = job.readings[-1]
    if arguments.json:
        cells: dict[str, object] = {"point": last.point, "to": last.to, "when": last.when.text, "measure": last.measure}
        cells |= {"value": last.value, "unit": last.unit, "instrument": last.instrument}
        as_json({"written": str(path), "row": row, **cells, "cautions": list(cautions)})
        return 0
    show(f"row {row} of readings written to {path}{_shown(arguments, job)}")
    show(f"What explains it: loomwright locate {path}")
    return 0


def _shown(arguments: Namespace, job: Job) -> str:
    last = job.readings[-1]
    return f": {last.value} {last.unit}, as the {last.instrument} held it" if arguments.address else ""


def reading_cells(arguments: Namespace, job: Job) -> dict[str, str]:
    """The cells of the reading as typed.

    Args:
        job: says whether it is an old wire or a point of the loom.
    Raises:
        OutOfReach: the value is neither a figure nor a word of a test lamp.
    """
    typed = arguments.value.strip()
    match = _FIGURE.fullmatch(typed)
    value, unit = (match.group(1), match.group(2)) if match else (typed, "")
    measure = arguments.measure or ("lamp" if typed and not match and typed != "open" else _measure_of(unit))
    cells = {
        _what_is(arguments.wire, job): arguments.wire,
        "when": arguments.state,
        "measure": measure,
        "value": value,
        "unit": unit,
        "seen": arguments.seen,
        "stub": arguments.stub,
        "to": arguments.to,
        "battery_v": arguments.battery,
        "visit": arguments.visit,
    }
    return {heading: text for heading, text in cells.items() if text}


def _what_is(name: str, job: Job) -> str:
    """The column a name stands in: an old wire's own row comes first, then a point of a part or a wire of the loom."""
    if name in {wire.id for wire in job.old_wires}:
        return "old_wire"
    is_point = name.split(".")[0] in {part.id for part in job.parts} or name in {wire.id for wire in job.wires}
    return "point" if is_point else "old_wire"


def _measure_of(unit: str) -> str:
    for measure, ending in _MEASURES.items():
        try:
            parse_quantity(f"1 {unit}", ending)
        except OutOfReach:
            continue
        return measure
    return ""
