"""How is a question typed: the job, the state, what is unplugged, pulled, cut, bridged or stuck?

Shared by every command that solves. Words are taken apart here and nowhere else; what is not understood is refused with
what is allowed, and with the nearest word there is.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from loomwright.car import Car
from loomwright.examples.shelf import example_folder, example_names
from loomwright.job.nearest import nearest
from loomwright.job.variables import Variable
from loomwright.network.records import Changes, Short
from loomwright.quantities import ending_of, parse_quantity
from loomwright.refusals import OutOfReach
from loomwright.sheets.one_file import lies_there
from loomwright.sheets.opening import Opened, open_with_kept

__all__ = [
    "Question",
    "add_changes",
    "add_job",
    "add_state",
    "dated",
    "known",
    "known_points",
    "open_car",
    "open_given",
    "question_of",
    "state_of",
]

State = Mapping[str, str | float]

_BEFORE = "before."
_MOST_NAMES = 12
_PULLED = ("fuse", "fusible_link", "circuit_breaker")
_HELD = ("coil", "contact", "switch")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """The state asked about, the one before it (None where it does not matter), and what differs from the sheets."""

    state: State
    before: State | None
    changes: Changes


def dated(text: str) -> str:
    """A date as it was typed behind --date; empty where none was.

    Raises:
        OutOfReach: it is no date.
    Example:
        >>> dated("2024-05-17"), dated("")
        ('2024-05-17', '')
    """
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        raise OutOfReach("--date", text, "year, month and day: 2024-05-17") from None


def add_job(parser: ArgumentParser) -> None:
    """The job and the shape of the answer."""
    parser.add_argument(
        "job",
        metavar="JOB",
        help="a folder of sheets (.csv), .xlsx, .loomjob, .json, or an example: " + ", ".join(example_names()),
    )
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def add_state(parser: ArgumentParser) -> None:
    """The state asked about."""
    parser.add_argument("--state", default="", metavar="STATE", help='such as "key=run, engine=idle"; others at rest')
    parser.add_argument(
        "--before", default="", metavar="STATE", help="the state the car came from, where relays remember"
    )


def add_changes(parser: ArgumentParser) -> None:
    """What differs from the sheets for this question."""
    parser.add_argument(
        "--unplug", nargs="+", default=[], metavar="PLUG", help="connectors (or parts) whose plug is off"
    )
    parser.add_argument("--pull", nargs="+", default=[], metavar="FUSE", help="fuses taken out")
    parser.add_argument("--open", nargs="+", default=[], metavar="WIRE", help="wires cut")
    parser.add_argument("--series", nargs="+", default=[], metavar="WIRE=OHM", help="ohms added in a wire")
    parser.add_argument(
        "--short", nargs="+", default=[], metavar="POINT[=POINT]", help="points bridged, alone: to the body"
    )
    parser.add_argument("--stuck", nargs="+", default=[], metavar="PART", help="relays or switches held closed")


def open_car(job: str) -> Car:
    """The car of a job named on the command line; a path wins over an example of the same name.

    Raises:
        BadDocument: what is there cannot be read as a job.
        OutOfReach: nothing is there, and no example has that name.
    """
    return Car(open_given(job).job)


def open_given(job: str) -> Opened:
    """What a job named on the command line holds, photos and history with it.

    Raises:
        BadDocument: what is there cannot be read as a job.
        OutOfReach: nothing is there, and no example has that name.
    """
    path = Path(job)
    names = example_names()
    if not job or lies_there(path) == "nothing":
        if job not in names:
            like = nearest(job, names)
            files = "a folder of sheets, .xlsx, .loomjob, .json"
            allowed = f"{files}, or an example ({', '.join(names)})" + (f"; nearest: {like}" if like else "")
            raise OutOfReach("job", job, allowed)
        path = example_folder(job)
    return open_with_kept(path)


def state_of(text: str, option: str = "--state") -> dict[str, str]:
    """A state as typed: `variable=value` pairs joined by commas.

    Args:
        option: where it was typed, for the refusal.

    Raises:
        OutOfReach: a piece that is no such pair, or a variable named twice.
    Example:
        >>> state_of("key=run, coolant_c=95")
        {'key': 'run', 'coolant_c': '95'}
    """
    state: dict[str, str] = {}
    for piece in (piece.strip() for piece in text.split(",")):
        if not piece:
            continue
        name, sign, value = (each.strip() for each in piece.partition("="))
        if not sign or not name or not value or set(name) & set("<>!"):
            raise OutOfReach(option, piece, "variable=value pairs joined by commas, such as key=run, engine=idle")
        if name in state:
            raise OutOfReach(option, piece, f"each variable once; {name}={state[name]} stands there already")
        state[name] = value
    return state


def question_of(arguments: Namespace, car: Car) -> Question:
    """What the options ask. A name `before.key` in --state goes to the state before, as findings write it.

    Raises:
        OutOfReach: a variable, value, fuse, wire, plug, part or point the job does not have.
    """
    typed = state_of(arguments.state)
    before = {name.removeprefix(_BEFORE): value for name, value in typed.items() if name.startswith(_BEFORE)}
    before |= state_of(arguments.before, "--before")
    now = {name: value for name, value in typed.items() if not name.startswith(_BEFORE)}
    variables = {variable.name: variable for variable in car.variables}
    return Question(
        state=_checked(now, variables, "--state"),
        before=_checked(before, variables, "--before") or None,
        changes=_changes_of(arguments, car),
    )


def known_points(points: Iterable[str], car: Car, changes: Changes, option: str) -> None:
    """Refuse a point that the car does not have, plugs that are off counted in."""
    compiled = car.compiled_with(changes) if changes.unplugged else car.compiled
    there = {name for name in compiled.node_of if "._" not in name} | set(compiled.network.aliases)
    known(option, points, there)


def known(what: str, names: Iterable[str], there: Collection[str]) -> None:
    """Refuse a name that the job does not have, with the nearest one it has."""
    for name in names:
        if name not in there:
            like = nearest(name, sorted(there))
            listed = " ".join(sorted(there)[:_MOST_NAMES]) + (" …" if len(there) > _MOST_NAMES else "")
            raise OutOfReach(what, name, (listed or "none in this job") + (f"; nearest: {like}" if like else ""))


def _checked(state: Mapping[str, str], variables: Mapping[str, Variable], option: str) -> State:
    """The state with every name and value known to the job."""
    known(option, state, variables)
    return {name: _value(variables[name], value) for name, value in state.items()}


def _value(variable: Variable, typed: str) -> str:
    if variable.numeric:
        return f"{parse_quantity(typed, ending_of(variable.name) or '', name=variable.name):g}"
    if typed not in variable.values:
        raise OutOfReach(variable.name, typed, " ".join(variable.values))
    return typed


def _changes_of(arguments: Namespace, car: Car) -> Changes:
    job = car.job
    parts = {part.id: part.kind for part in job.parts if part.fitted != "removed"}
    wires = {wire.id for wire in job.wires if wire.fitted != "removed"}
    switched = {row.part for row in job.contacts}
    fuses = {part for part, kind in parts.items() if kind in _PULLED}
    held = {part for part, kind in parts.items() if part in switched or _can_be_held(car, kind)}
    series = [_pair(text) for text in arguments.series]
    known("--pull", arguments.pull, fuses)
    known("--unplug", arguments.unplug, {row.id for row in job.connectors} | set(parts))
    known("--open", arguments.open, wires)
    known("--series", [wire for wire, _ in series], wires)
    known("--stuck", arguments.stuck, held)
    changes = Changes(
        unplugged=tuple(arguments.unplug),
        pulled=tuple(arguments.pull),
        opened=tuple(arguments.open),
        series=tuple((wire, _added_ohm(ohm)) for wire, ohm in series),
        stuck=tuple(arguments.stuck),
    )
    return _with_shorts(changes, arguments.short, car)


def _with_shorts(changes: Changes, typed: Iterable[str], car: Car) -> Changes:
    pairs = [(a, b or "body") for a, _, b in (text.partition("=") for text in typed)]
    if not pairs:
        return changes
    known_points([point for pair in pairs for point in pair], car, changes, "--short")
    aliases = car.compiled.network.aliases
    for a, b in pairs:
        if aliases.get(a, a) == aliases.get(b, b):
            raise OutOfReach("--short", f"{a}={b}", "two points")
    return replace(changes, shorts=tuple(Short(a, b) for a, b in pairs))


def _can_be_held(car: Car, kind: str) -> bool:
    found = car.kinds.get(kind)
    if found is None:
        return False
    return found.duty == "controller" or any(element.type in _HELD for element in found.elements)


def _pair(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign:
        raise OutOfReach("--series", text, "WIRE=OHM, such as W12=0.5")
    return name, value


def _added_ohm(text: str) -> float:
    ohm = parse_quantity(text, "ohm", name="--series")
    if ohm < 0.0:
        raise OutOfReach("--series", text, "0 ohm or more")
    return ohm
