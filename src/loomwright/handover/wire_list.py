"""What does the wire list say of each wire, and what of it did the tool decide?

In: the sheets as typed, and the same with what was decided filled in. Out: one line a wire, in order of id, those taken
out too; and the notes: one a limit that ruled, numbered as they are met, with every cell that the tool decided under
it. A cell that somebody typed since has no note, and what was really cut stands before both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.handover.records import WireLine, WireMark
from loomwright.handover.wire_ends import size_text
from loomwright.job.decided import SETTINGS, is_blank_cell, reasons_at
from loomwright.job.job import Job
from loomwright.job.rows import Decision, Wire
from loomwright.quantities import for_print

__all__ = ["DecidedCell", "Note", "notes_of", "number_of", "wire_lines"]

_UNITS = {"size_mm2": "mm²", "length_mm": "mm", f"{SETTINGS}rating_a": "A"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidedCell:
    """One cell the tool decided. cell: as `loomwright why` takes it. value: with its unit. says: the limit in words."""

    cell: str
    value: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One limit that ruled, with the cells it ruled. number: as it stands beside them. [-]   what: the column."""

    number: int
    what: str
    limit: str
    cells: tuple[DecidedCell, ...]


def notes_of(sheets: Job) -> tuple[Note, ...]:
    """The notes about what was decided in blank cells.

    Args:
        sheets: the job as it was typed, with its decisions beside it.
    """
    found: dict[tuple[str, str], list[Decision]] = {}
    for one in sorted(sheets.decisions, key=lambda one: (one.sheet != "wires", one.column, id_order(one.row))):
        if is_blank_cell(sheets, one):
            found.setdefault((one.column, one.decided_by), []).append(one)
    return tuple(
        Note(
            number=number,
            what=column.removeprefix(SETTINGS),
            limit=limit or "not said",
            cells=tuple(_cell(sheets, one) for one in decisions),
        )
        for number, ((column, limit), decisions) in enumerate(found.items(), start=1)
    )


def number_of(notes: tuple[Note, ...]) -> Mapping[str, int]:
    """Cell, as `loomwright why` takes it -> the number of its note. [-]"""
    return {cell.cell: note.number for note in notes for cell in note.cells}


def wire_lines(job: Job, notes: tuple[Note, ...] = ()) -> tuple[WireLine, ...]:
    """Every wire of the sheets, by id; one taken out says so.

    Args:
        job: with what was decided filled in.
        notes: what was decided.
    """
    numbers = number_of(notes)
    return tuple(_line(wire, numbers) for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)))


def _cell(sheets: Job, one: Decision) -> DecidedCell:
    said = [
        reason.says for reason in reasons_at(sheets, one.sheet, one.row, one.column) if reason.limit == one.decided_by
    ]
    return DecidedCell(
        cell=f"{one.row}.{one.column.removeprefix(SETTINGS)}",
        value=f"{one.value} {_UNITS.get(one.column, '')}".strip(),
        says=said[0] if said else "",
    )


def _line(wire: Wire, numbers: Mapping[str, int]) -> WireLine:
    built = wire.built_length_mm is not None
    said = ["" if wire.fitted == "new" else wire.fitted, "length as cut" if built else "", wire.condition, wire.notes]
    group = [f"cable {wire.cable}" if wire.cable else "", f"screen {wire.screen}" if wire.screen else ""]
    group += [f"twist {wire.twist}" if wire.twist else ""]
    return WireLine(
        mark=WireMark(id=wire.id, colour=wire.colour),
        circuit=wire.circuit,
        size=size_text(wire),
        start=wire.from_,
        end=wire.to,
        length="" if wire.length_mm is None else for_print(wire.length_mm, digits=6),
        notes="; ".join(piece for piece in said if piece),
        insulation=wire.insulation,
        group=", ".join(piece for piece in group if piece),
        crimps=_crimps(wire),
        size_note=numbers.get(f"{wire.id}.size_mm2", 0),
        length_note=0 if built else numbers.get(f"{wire.id}.length_mm", 0),
    )


def _crimps(wire: Wire) -> str:
    """Terminal and seal at the start, then at the end; a stroke where an end has none."""
    ends = [
        " + ".join(word for word in pair if word)
        for pair in ((wire.terminal_from, wire.seal_from), (wire.terminal_to, wire.seal_to))
    ]
    return " / ".join(end or "–" for end in ends) if any(ends) else ""
