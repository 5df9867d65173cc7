"""`loomwright numbers`: the numbers an engine starts with, each with its formula, source and range; tables as CSV."""

from __future__ import annotations

import csv
import io
import tomllib
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path

from loomwright.calibration.engine import ENGINE, engine_of
from loomwright.calibration.start_records import StartNumber, StartTable
from loomwright.calibration.starting import StartNumbers, Supply, starting_numbers
from loomwright.car import Car
from loomwright.cli.asking import open_car
from loomwright.cli.printing import as_json, show, show_hanging, told, write_file
from loomwright.job.job import Job
from loomwright.quantities.printing import for_print
from loomwright.startup.solved_volts import volts_from

__all__ = ["HELP", "add_arguments", "numbers_of", "run", "said_of"]

HELP = "the numbers an engine starts with: formula, source and range of each; all are a careful start, not a tune"
_ALSO = ("fuel", "regulator", "coils", "rpm", "kpa", "volts", "coolant", "delays")
_STATES = (
    {"key": "start", "engine": "cranking"},
    {"key": "run", "engine": "idle"},
    {"key": "run", "engine": "running"},
)
_COILS = {"coil_plain": "15", "coil_twin": "15"}


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
    said = said_of(car.job) | (_from_file(Path(arguments.engine)) if arguments.engine else {})
    made = numbers_of(car, said)
    written = _written(made, Path(arguments.out)) if arguments.out else ()
    if arguments.json:
        as_json(_plain(made))
    else:
        _show(made)
        for name in written:
            show(f"written: {name}")
    return 1 if made.warns else 0


def numbers_of(car: Car, said: Mapping[str, object]) -> StartNumbers:
    """The numbers of a job: its engine, and the volts its network gives.

    Args:
        car: the job.
        said: what is known of the engine.
    """
    return starting_numbers(engine_of(said), _supplies(car))


def said_of(job: Job) -> dict[str, object]:
    """What the sheets say of the engine: properties of `vehicle`, and settings of the coils and injectors."""
    said: dict[str, object] = {
        row.name: row.value for row in job.vehicle if (row.name in ENGINE or row.name in _ALSO) and row.value
    }
    injectors = [part for part in job.parts if part.kind == "injector" and part.fitted != "removed"]
    if injectors:
        said.setdefault("injectors", len(injectors))
        said.setdefault("cylinders", len(injectors))
        if injectors[0].settings.get("ohm"):
            said.setdefault("injector_ohm", injectors[0].settings["ohm"])
    for part in job.parts:
        if part.kind in _COILS and part.fitted != "removed":
            for setting, name in (("mh", "coil_mh"), ("ohm", "coil_ohm"), ("peak_a", "coil_a")):
                if part.settings.get(setting):
                    said.setdefault(name, part.settings[setting])
    return said


def _supplies(car: Car) -> tuple[Supply, ...]:
    job = car.filled
    coil = next((part for part in job.parts if part.kind in _COILS and part.fitted != "removed"), None)
    pin = next(
        (
            f"{pin.part}.{pin.terminal}"
            for pin in job.controller_pins
            if "supply" in pin.abilities and _is_wired(job, pin)
        ),
        "",
    )
    if coil is None or not pin:
        return ()
    volts = volts_from(car.solve, frozenset(variable.name for variable in car.variables))
    found = []
    for state in _STATES:
        at = volts(pin, "", state), volts(f"{coil.id}.{_COILS[coil.kind]}", "", state)
        if at[0] is not None and at[1] is not None:
            words = ", ".join(f"{name}={value}" for name, value in state.items())
            found.append(Supply(state=words, controller_v=abs(at[0]), coil_v=abs(at[1])))
    return tuple(found)


def _is_wired(job: Job, pin: object) -> bool:
    name = f"{getattr(pin, 'part', '')}.{getattr(pin, 'terminal', '')}"
    return any(name in (wire.from_, wire.to) for wire in job.wires)


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
        write_file(path, _as_csv(table).encode())
        names.append(str(path))
    return tuple(names)


def _as_csv(table: StartTable) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows([["" if cell is None else f"{cell:g}" for cell in row] for row in table.rows])
    return text.getvalue()


def _plain(made: StartNumbers) -> dict[str, object]:
    return {
        "starting_point": True,
        "numbers": [{name: getattr(one, name) for name in StartNumber.__dataclass_fields__} for one in made.numbers],
        "tables": [{name: getattr(one, name) for name in StartTable.__dataclass_fields__} for one in made.tables],
        "asks": list(made.asks),
        "warns": list(made.warns),
    }


def _show(made: StartNumbers) -> None:
    show("A careful start, not a tune: rather rich, rather late, rather cool. Measure before load.")
    for one in made.numbers:
        span = "" if one.least is None or one.most is None else f" ({for_print(one.least)} to {for_print(one.most)})"
        show_hanging(
            f"{one.name}: {for_print(one.value)} {one.unit}{span} - {one.says}; {one.formula} [{one.source}]", "    "
        )
    for table in made.tables:
        show()
        show_hanging(
            f"{table.name} [{table.unit}]: {table.says}; {table.formula} [{table.source}]; {table.standing}", "    "
        )
        cells = [table.columns, *(["" if cell is None else f"{cell:g}" for cell in row] for row in table.rows)]
        widths = [max(len(row[n]) for row in cells) for n in range(len(table.columns))]
        for row in cells:
            show("  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)))
    for ask in made.asks:
        show_hanging(f"Not known: {ask}.", "    ")
    for warn in made.warns:
        show_hanging(f"WARNING {warn}.", "    ")
