"""`loomwright draw`: the circuits as SVG or DXF; the way a finding's current takes, on them or by itself."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.printing import as_json, counted, show, told, write_file
from loomwright.cli.telling import telling
from loomwright.drawings.circuit_drawing import painted_circuit
from loomwright.drawings.symbols.items import Drawing
from loomwright.findings import Finding, says
from loomwright.pages.finding_ways import FindingWay, way_drawings, way_of
from loomwright.pages.records.way_page import way_plain
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.trials.mend import every_finding
from loomwright.writers.dxf import circuit_dxf
from loomwright.writers.svg import svg_text

__all__ = ["HELP", "add_arguments", "run"]

HELP = "circuit drawings as SVG or DXF; with --finding the way its current takes, step by step"

_MOST_NAMES = 12
_NO_CIRCUIT = "no-circuit"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("out", metavar="FOLDER", help="where the drawings go, one file a sheet")
    parser.add_argument("--circuit", default="", metavar="CIRCUIT", help="this circuit alone")
    parser.add_argument("--dxf", action="store_true", help="as DXF with layers, in millimetres, instead of SVG")
    parser.add_argument(
        "--finding",
        default="",
        metavar="RULE:PLACE",
        help="the way of this finding's current: SNK-1, or SNK-1:W12 where there are several; with --circuit on that "
        "circuit's drawing, else by itself",
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    folder = Path(arguments.out)
    if folder.is_file():
        raise told(f"{folder}: a file of that name is there", "a folder", "Name another folder")
    car = open_car(arguments.job)
    circuits = {row.id: row.id for row in car.job.circuits}
    if arguments.circuit:
        known("--circuit", [arguments.circuit], circuits)
    way: FindingWay | None = None
    if arguments.finding:
        way = way_of(car, _finding(car, arguments.finding))
        drawings = way_drawings(car, way, arguments.circuit or None)
    else:
        chosen = [arguments.circuit] if arguments.circuit else list(car.laid.sheets)
        drawings = tuple(one for circuit in chosen for one in painted_circuit(car.laid, circuit))
    if not drawings:
        raise NoAnswer("a drawing", ("No wire is in it.",))
    written = []
    for one in drawings:
        path = folder / _file_name(one, way, ".dxf" if arguments.dxf else ".svg")
        write_file(path, (circuit_dxf(one) if arguments.dxf else svg_text(one)).encode())
        written.append(path)
    _tell(written, way, as_plain_data=arguments.json)
    return 0


def _finding(car: Car, asked: str) -> Finding:
    """The one finding with a path that was named.

    Raises:
        OutOfReach: none, or more than one.
    """
    checked = car.check(telling())
    drawn = [one for one in every_finding(checked.findings) if one.path]
    rule, _, place = asked.partition(":")
    fits = [one for one in drawn if one.rule == rule and (not place or place in one.at)]
    if len(fits) == 1:
        return fits[0]
    among = fits or drawn
    names = list(dict.fromkeys(f"{one.rule}:{':'.join(one.at[:1])}" for one in among))
    if fits and len(set(names)) == 1:
        return fits[0]
    listed = " ".join(names[:_MOST_NAMES]) + (" …" if len(names) > _MOST_NAMES else "")
    raise OutOfReach("--finding", asked, listed or "nothing: no finding of this job has a path")


def _file_name(one: Drawing, way: FindingWay | None, ending: str) -> str:
    more = f"-{one.sheet}" if one.sheet > 1 else ""
    name = one.id or _NO_CIRCUIT
    if way is not None:
        name = "-".join(word for word in (way.finding.rule, *way.finding.at[:1], name) if word)
    return f"{name.replace('/', '_')}{more}{ending}"


def _tell(written: Sequence[Path], way: FindingWay | None, *, as_plain_data: bool) -> None:
    steps = way.steps if way is not None else ()
    if as_plain_data:
        answer: dict[str, object] = {"written": [str(path) for path in written]}
        if way is not None:
            answer |= way_plain(way)
        as_json(answer)
        return
    if way is not None:
        show(says(way.finding))
        for step in steps:
            arrow = "→" if step.is_directed else "–"
            show(f"{step.number:4}  {step.wire:8} {step.leaves} {arrow} {step.enters}")
    show(f"wrote {counted(len(written), 'drawing')} to {written[0].parent}")
