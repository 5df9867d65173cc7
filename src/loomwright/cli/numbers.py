"""`loomwright numbers`: the numbers an engine starts with, each with its formula, source and range; tables as CSV."""

from __future__ import annotations

import tomllib
from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.calibration.start_records import shown_rows
from loomwright.calibration.starting import StartNumbers
from loomwright.cli.asking import open_car
from loomwright.cli.printing import as_json, show, show_hanging, told, write_file
from loomwright.quantities.printing import for_print
from loomwright.startup.plain import numbers_plain
from loomwright.writers.start_tables import table_csv

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the numbers an engine starts with: formula, source and range of each; all are a careful start, not a tune"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "job", metavar="JOB", help="a job; its sheet vehicle may hold the engine, its network gives volts"
    )
    parser.add_argument(
        "--engine", default="", metavar="FILE", help="a TOML file: displacement_cc, cylinders, fuel, ..."
    )
    parser.add_argument("--out", default="", metavar="FOLDER", help="write the tables there, one CSV file each")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something looks wrong."""
    car = open_car(arguments.job)
    made = car.numbers(_from_file(Path(arguments.engine)) if arguments.engine else None)
    written = _written(made, Path(arguments.out)) if arguments.out else ()
    if arguments.json:
        as_json(numbers_plain(made))
    else:
        _show(made)
        for name in written:
            show(f"written: {name}")
    return 1 if made.warns else 0


def _from_file(path: Path) -> dict[str, object]:
    try:
        return dict(tomllib.loads(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError) as fault:
        raise told(
            str(path), "a TOML file of the engine", "Name the file; its words: displacement_cc = 1998"
        ) from fault
    except tomllib.TOMLDecodeError as fault:
        raise told(f"{path}: {fault}", "TOML, name = value a line", "Mend that line") from fault


def _written(made: StartNumbers, folder: Path) -> tuple[str, ...]:
    names = []
    for table in made.tables:
        path = folder / f"{table.name}.csv"
        folder.mkdir(parents=True, exist_ok=True)
        write_file(path, table_csv(table).encode())
        names.append(str(path))
    return tuple(names)


def _show(made: StartNumbers) -> None:
    show("A careful start, not a tune: rather rich, rather late, rather cool. Measure before load.")
    for warn in made.warns:
        show_hanging(f"WARNING {warn}.", "    ")
    for one in made.numbers:
        span = "" if one.least is None or one.most is None else f" ({for_print(one.least)} to {for_print(one.most)})"
        show_hanging(
            f"{one.name}: {' '.join((for_print(one.value), one.unit)).strip()}{span} - {one.says}; {one.formula} "
            f"[{one.source}]",
            "    ",
        )
    for table in made.tables:
        show()
        show_hanging(
            f"{table.name} [{table.unit}]: {table.says}; {table.formula} [{table.source}]; {table.standing}", "    "
        )
        cells = [table.columns, *shown_rows(table)]
        widths = [max(len(row[n]) for row in cells) for n in range(len(table.columns))]
        for row in cells:
            show("  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)))
    for ask in made.asks:
        show_hanging(f"Not known: {ask}.", "    ")
