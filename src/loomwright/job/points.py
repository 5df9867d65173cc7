"""Which points does the car have, and how is one named?

A point is `part.terminal` (`ECU.A12`, `fan1.+`); the part's id ends at the first point. A metal may stand in its
place, and a part that has one terminal only may be named without it. A part's terminals are those of its kind, those
its rows in `contacts` and `controller_pins` give it, and for a kind whose terminals are counted as many as are used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from loomwright.job.job import Job
from loomwright.job.rows import KindRow
from loomwright.tables.kinds import Kind, kinds_from_rows, terminal_of

__all__ = [
    "Kinds",
    "Terminals",
    "all_terminals",
    "canonical_point",
    "kind_text",
    "kinds_of",
    "split_point",
    "terminals_of",
]

Kinds = Mapping[str, Kind]
Terminals = Mapping[str, tuple[str, ...]]


def split_point(point: str) -> tuple[str, str]:
    """The part (or metal) and the terminal that a point names; the terminal is empty where it is left out.

    Example:
        >>> split_point("ECU.A12"), split_point("fan1.+"), split_point("body")
        (('ECU', 'A12'), ('fan1', '+'), ('body', ''))
    """
    part, _, terminal = point.partition(".")
    return part, terminal


def kinds_of(job: Job, kinds: Kinds) -> Kinds:
    """The kinds of the library and those the job makes for itself; the job's own come first where both have one.

    Raises:
        TableFault: a row of the sheet `kinds` that cannot be used; a job that was read has none.
    """
    if not job.kinds:
        return kinds
    return MappingProxyType({**kinds, **kinds_from_rows(kind_text(row) for row in job.kinds)})


def kind_text(row: KindRow) -> dict[str, str]:
    """A row of the sheet `kinds` as the tables read it: figures with a decimal point, whatever was typed."""
    return {
        "kind": row.kind,
        "element": row.element,
        "type": row.type,
        "terminals": " ".join(row.terminals),
        "settings": "; ".join(f"{name}={value}" for name, value in row.settings.items()),
    }


def all_terminals(job: Job, kinds: Kinds) -> Terminals:
    """The terminals of every part, part -> terminals in order; none for a part whose kind is not known.

    Args:
        kinds: those of the library; the job's own are added.
    """
    known = kinds_of(job, kinds)
    found: dict[str, dict[str, None]] = {}
    counted: dict[str, Kind] = {}
    for part in job.parts:
        kind = known.get(part.kind)
        names = [] if kind is None else [terminal.name for terminal in kind.terminals]
        found[part.id] = dict.fromkeys(name for name in names if not name.startswith("*"))
        if kind is not None and kind.numbered:
            counted[part.id] = kind
    for contact in job.contacts:
        found.setdefault(contact.part, {}).update(dict.fromkeys(name for group in contact.joins for name in group))
    for pin in job.controller_pins:
        found.setdefault(pin.part, {})[pin.terminal] = None
    for part_id, names_used in _used(job, counted).items():
        found[part_id].update(dict.fromkeys(names_used))
    return MappingProxyType({part: tuple(name for name in names if name) for part, names in found.items()})


def terminals_of(job: Job, kinds: Kinds, part: str) -> tuple[str, ...]:
    """The terminals of one part; none where the part or its kind is not known. For many parts ask `all_terminals`."""
    return all_terminals(job, kinds).get(part, ())


def canonical_point(point: str, terminals: Terminals, metals: tuple[str, ...]) -> str:
    """A point in its full form: a one-terminal part gets its terminal, a metal stays as it is.

    Args:
        point: as it stands in the sheet.
        terminals: from `all_terminals`.
        metals: from `vehicle.metals_of`.
    Example:
        >>> canonical_point("earth1", {"earth1": ("1",)}, ("body",)), canonical_point("body", {}, ("body",))
        ('earth1.1', 'body')
    """
    part, terminal = split_point(point)
    if terminal or part in metals:
        return point
    there = terminals.get(part.removeprefix("~"), ())
    return f"{point}.{there[0]}" if len(there) == 1 else point


def _used(job: Job, counted: Mapping[str, Kind]) -> dict[str, list[str]]:
    """The terminals that wires and connectors use of the parts whose terminals are counted, in order of number."""
    used: dict[str, set[str]] = {}
    for part, terminal in _named(job):
        kind = counted.get(part)
        if kind is not None and terminal_of(kind, terminal) is not None:
            used.setdefault(part, set()).add(terminal)
    return {part: sorted(names, key=_by_number) for part, names in used.items()}


def _named(job: Job) -> Iterator[tuple[str, str]]:
    """The (part, terminal) pairs that rows name."""
    for wire in job.wires:
        yield split_point(wire.from_)
        yield split_point(wire.to)
    for connector in job.connectors:
        yield from ((connector.part, name) for name in connector.terminals)


def _by_number(name: str) -> tuple[int, str]:
    digits = name.rstrip("ps")
    return (int(digits) if digits.isdigit() else 0, name)
