"""What does the job look like with what was decided filled in, and does a decision still stand?

A need's pin that was decided stands in its row, and a wire with one end at a need's point and the other blank gets that
need's pin, typed or decided.
A decision stands for a cell that is blank. It is *frozen* once its wire is cut: what was built is not decided anew.
Otherwise it is *stale* when the rows it rests on have changed, which a digest of them tells. What was really cut
(`built_length_mm`) stands before what was decided.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from operator import is_
from typing import Any, TypeVar

from loomwright.job.cells_read import all_looked_at
from loomwright.job.columns import field_name
from loomwright.job.edits import set_setting
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.rows import Decision, Need, Part, Reason, Wire
from loomwright.job.schema import SHEETS, column_of, rows_of
from loomwright.job.writing import texts_of_rows
from loomwright.refusals import OutOfReach

__all__ = [
    "SETTINGS",
    "adopted",
    "cut_wires",
    "decision_at",
    "digest_of",
    "ends_led",
    "is_at_need",
    "is_blank_cell",
    "reasons_at",
    "still_blank",
    "with_decided",
    "with_decisions",
    "with_pins_wired",
    "without_decisions",
]

Named = TypeVar("Named", Need, Part, Wire)

SETTINGS = "settings."
"""What the column of a decision begins with where it is one setting of a part."""

_WORDS_ONLY = frozenset(("name", "notes", "why"))
_FIGURES = ("size_mm2", "length_mm")
_DIGEST_LETTERS = 16


def is_blank_cell(job: Job, decision: Decision) -> bool:
    """Whether the cell a decision is about is still blank; False where its row is gone."""
    return bool(still_blank(job, (decision,)))


def still_blank(job: Job, decisions: Iterable[Decision]) -> tuple[Decision, ...]:
    """The decisions whose cell is still blank; those whose row is gone are left out.

    Raises:
        OutOfReach: a decision about a cell that nobody decides.
    """
    needs, parts, wires = _by_id(job.needs), _by_id(job.parts), _by_id(job.wires)

    def is_blank(one: Decision) -> bool:
        if one.sheet == "needs":
            return one.row in needs and not needs[one.row].pin
        if one.sheet == "parts":
            name = one.column.removeprefix(SETTINGS)
            return one.row in parts and name != one.column and not parts[one.row].settings.get(name, "")
        if one.sheet == "wires":
            name = field_name(SHEETS["wires"], column_of("wires", one.column).name)
            return one.row in wires and getattr(wires[one.row], name) is None
        raise OutOfReach("sheet of a decision", one.sheet, "wires parts needs")

    return tuple(one for one in decisions if is_blank(one))


def _by_id(rows: Sequence[Named]) -> dict[str, Named]:
    """The first row of each id."""
    seen = all_looked_at(rows, ("id",))
    return {plain.id: row for row, plain in zip(reversed(rows), reversed(seen), strict=True)}


def with_decided(job: Job) -> Job:
    """The job with every kept decision written into its blank cell, and what was built before what was decided.

    Stale decisions are written too: until they are worked out anew they are the best that is known. A job that has
    them written already is given back as it is.
    """
    chosen = {(one.row, one.column): one.value for one in job.decisions if one.sheet == "wires"}
    wires = tuple(_filled(wire, chosen) for wire in job.wires)
    needs = _with_pins(job)
    same = all(map(is_, wires, job.wires)) and all(map(is_, needs, job.needs))
    filled = with_pins_wired(job if same else replace(job, wires=wires, needs=needs))
    chosen_settings = [one for one in job.decisions if one.sheet == "parts" and one.column.startswith(SETTINGS)]
    for one in still_blank(job, chosen_settings) if chosen_settings else ():
        filled = set_setting(filled, one.row, one.column.removeprefix(SETTINGS), one.value)
    return filled


def with_pins_wired(job: Job) -> Job:
    """The job with the blank end of a wire at a need's point led to that need's pin, a wire a need, the first by row.

    Example:
        >>> from loomwright.job.rows import ControllerPin, Need
        >>> pins = (ControllerPin(id="A7", part="ECU", terminal="7"),)
        >>> needs = (Need(id="pump", part="K1", terminal="85", pin="A7"),)
        >>> wires = (Wire(id="W1", from_="K1.85"),)
        >>> with_pins_wired(Job(controller_pins=pins, needs=needs, wires=wires)).wires[0].to
        'ECU.7'
    """
    wires = list(job.wires)
    led = False
    for index, _, point in ends_led(job):
        wire = wires[index]
        wires[index] = replace(wire, to=point) if wire.from_ else replace(wire, from_=point)
        led = True
    return replace(job, wires=tuple(wires)) if led else job


def ends_led(job: Job) -> Iterator[tuple[int, Need, str]]:
    """The wires whose blank end a need's pin leads: place of the wire among its job's, the need, the pin as a point."""
    pinned = [need for need in job.needs if need.pin and need.part]
    waiting = [
        (index, wire.from_ or wire.to) for index, wire in enumerate(job.wires) if bool(wire.from_) != bool(wire.to)
    ]
    if not pinned or not waiting:
        return
    points = {pin.terminal: f"{pin.part}.{pin.terminal}" for pin in job.controller_pins}
    points |= {pin.id: f"{pin.part}.{pin.terminal}" for pin in job.controller_pins}
    for need in pinned:
        mine = next((each for each in waiting if is_at_need(need, each[1])), None)
        if mine is not None:
            waiting.remove(mine)
            yield mine[0], need, points.get(need.pin, need.pin)


def is_at_need(need: Need, end: str) -> bool:
    """Whether a wire's end is at a need's point; a part with one terminal may be named without it."""
    part, _, terminal = end.partition(".")
    if part != need.part or not part:
        return False
    return terminal == need.terminal or (terminal != "case" and not (terminal and need.terminal))


def with_decisions(job: Job, decisions: Iterable[Decision], reasons: Iterable[Reason]) -> Job:
    """The job keeping these decisions, each in place of what was kept for its cell."""
    new = tuple(decisions)
    cells = {_cell(one) for one in new}
    kept = tuple(one for one in job.decisions if _cell(one) not in cells)
    said = tuple(one for one in job.reasons if (one.sheet, one.row, one.column) not in cells)
    return replace(job, decisions=kept + new, reasons=said + tuple(reasons))


def without_decisions(job: Job, cells: Iterable[tuple[str, str, str]]) -> Job:
    """The job no longer keeping the decisions about these cells (sheet, row, column)."""
    gone = set(cells)
    return replace(
        job,
        decisions=tuple(one for one in job.decisions if _cell(one) not in gone),
        reasons=tuple(one for one in job.reasons if (one.sheet, one.row, one.column) not in gone),
    )


def adopted(job: Job, decisions: Iterable[Decision]) -> Job:
    """The job with decisions written into their sheets as if typed, and dropped."""
    taken = tuple(decisions)
    figures: dict[str, dict[str, Any]] = {}
    pins: dict[str, str] = {}
    for one in taken:
        if one.sheet == "wires" and one.column in _FIGURES:
            figures.setdefault(one.row, {})[one.column] = float(one.value)
        elif one.column.startswith(SETTINGS):
            job = set_setting(job, one.row, one.column.removeprefix(SETTINGS), one.value)
        elif (one.sheet, one.column) == ("needs", "pin"):
            pins[one.row] = one.value
        else:
            raise OutOfReach("column of a decision", one.column, " ".join((*_FIGURES, SETTINGS + "rating_a", "pin")))
    needs = tuple(replace(need, pin=pins[need.id]) if need.id in pins else need for need in job.needs)
    wires = tuple(_typed(wire, figures[wire.id]) if wire.id in figures else wire for wire in job.wires)
    return without_decisions(replace(job, wires=wires, needs=needs), map(_cell, taken))


def decision_at(job: Job, sheet: str, row: str, column: str) -> Decision | None:
    """The kept decision about a cell, if there is one."""
    return next((one for one in job.decisions if _cell(one) == (sheet, row, column)), None)


def reasons_at(job: Job, sheet: str, row: str, column: str) -> tuple[Reason, ...]:
    """The kept reasons of a decision, in order."""
    return tuple(one for one in job.reasons if (one.sheet, one.row, one.column) == (sheet, row, column))


def cut_wires(job: Job) -> frozenset[str]:
    """Wires that have progress: what was decided for them is frozen."""
    return frozenset(row.wire for row in job.progress)


def digest_of(
    job: Job,
    sheets: Iterable[str],
    rows: Mapping[str, Iterable[str]] | None = None,
    but: Mapping[str, Iterable[str]] | None = None,
) -> str:
    """A short text that changes when what stands in some sheets changes; names and notes do not count.

    Args:
        sheets: those that count as a whole.
        rows: sheet -> ids of single rows that count.
        but: sheet -> columns that do not count either.
    """
    told = sha256()
    unread = {sheet: frozenset((*_WORDS_ONLY, *columns)) for sheet, columns in (but or {}).items()}
    single = {sheet: frozenset(ids) for sheet, ids in (rows or {}).items()}
    for sheet in (*sheets, *single):
        told.update(f"\n[{sheet}]".encode())
        counts = rows_of(job, sheet)
        if sheet in single:
            counts = tuple(row for row in counts if getattr(row, "id", None) in single[sheet])
        for cells in texts_of_rows(sheet, counts, unread.get(sheet, _WORDS_ONLY)):
            counted = [f"{name}={text}" for name, text in cells.items() if text]
            told.update(("\n" + "\x1f".join(counted)).encode())
    return told.hexdigest()[:_DIGEST_LETTERS]


def _with_pins(job: Job) -> tuple[Need, ...]:
    """The needs with the pins that are decided for blank cells."""
    pins = {one.row: one.value for one in job.decisions if (one.sheet, one.column) == ("needs", "pin")}
    if not pins:
        return job.needs
    return tuple(replace(need, pin=pins[need.id]) if not need.pin and need.id in pins else need for need in job.needs)


def _typed(wire: Wire, figures: Mapping[str, Any]) -> Wire:
    written = {name: text for name, text in wire.written.items() if name not in figures}
    return replace(wire, written=FixedMap(written), **figures)


def _filled(wire: Wire, chosen: Mapping[tuple[str, str], str]) -> Wire:
    found: dict[str, Any] = {}
    for name in _FIGURES:
        text = chosen.get((wire.id, name))
        if getattr(wire, name) is None and text is not None:
            found[name] = float(text)
    if wire.built_length_mm is not None and wire.built_length_mm != wire.length_mm:
        found["length_mm"] = wire.built_length_mm
    return replace(wire, **found) if found else wire


def _cell(one: Decision) -> tuple[str, str, str]:
    return one.sheet, one.row, one.column
