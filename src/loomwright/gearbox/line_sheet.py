"""How are the lines written as figures, and taken in again after somebody has changed them?

One row a line: `up 1-2`, `down 2-1`, `kick 2-1`, `lock 3`, `unlock 3`; one column a pedal breakpoint, in per cent. A
kick-down row carries its pedal in the first cell and its speed in the last. Given out by road speed, output-shaft speed
or engine speed; taken in by road speed.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

from loomwright.gearbox.box import Box
from loomwright.gearbox.line_record import Lines, line_places, named_lines
from loomwright.gearbox.lines import AXES, speed_on
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = ["lines_from_csv", "lines_to_csv"]

_PERCENT = 100.0
_MOST_KMH = 400.0
_DIGITS = 1
_LEAST_CELLS = 4  # the two words of a heading and two breakpoints
Fault = Callable[[int, str, str, str, str], None]
"""Told of a cell that cannot be used: its row and column, what was found, what is allowed, the mend [-]."""


def lines_to_csv(box: Box, lines: Lines, *, axis: str = "km/h") -> str:
    """The lines as CSV.

    Args:
        axis: `km/h`, `output` (shaft, 1/min) or `engine` (1/min, in the gear the car is in).
    Raises:
        OutOfReach: another axis.
    """
    if axis not in AXES:
        raise OutOfReach("axis", axis, " ".join(AXES))
    rows = [["line", axis, *(f"{_PERCENT * pedal:g}" for pedal in lines.pedal_frac)]]
    for name, _, gear, speeds_kmh in named_lines(lines):
        rows.append([name, "", *(f"{speed_on(box, axis, gear, speed):.{_DIGITS}f}" for speed in speeds_kmh)])
    for pair, speed in enumerate(lines.kick_kmh, start=1):
        blank = [""] * (len(lines.pedal_frac) - 1)
        shown = f"{speed_on(box, axis, pair + 1, speed):.{_DIGITS}f}"
        rows.append([f"kick {pair + 1}-{pair}", f"{_PERCENT * lines.kick_frac:g}", *blank, shown])
    return "".join(",".join(row) + "\n" for row in rows)


def lines_from_csv(box: Box, first: Lines, text: str, *, name: str = "lines") -> Lines:
    """The lines of a CSV, by road speed; a line that is not there stays as it was.

    Args:
        first: whose lines and times stand where the CSV says nothing.
        name: of the file, for what is said of it.
    Raises:
        BadDocument: a cell that cannot be used, all of them, each with its mend.
    """
    mark = ";" if ";" in text.partition("\n")[0] else ","  # a spreadsheet of another language writes it so
    rows = list(csv.reader(text.splitlines(), delimiter=mark))
    problems: list[Problem] = []

    def fault(row: int, column: str, found: str, allowed: str, mend: str) -> None:
        problems.append(Problem(sheet=name, row=row, column=column, found=found, allowed=allowed, mend=mend))

    known = _pedals(rows[0] if rows else [], name)
    tables = {
        "up": list(first.up_kmh),
        "down": list(first.down_kmh),
        "lock": list(first.lock_kmh),
        "unlock": list(first.unlock_kmh),
    }
    kicks, kick_frac = list(first.kick_kmh), first.kick_frac
    places = {row_name: (word, place) for row_name, word, place in line_places(len(box.ratios))}
    if len(known) != len(first.pedal_frac):
        there = {row[0] for row in rows[1:] if row}
        if missing := sorted(one for one in set(places) - there if not one.startswith("kick")):
            fault(1, "", " ".join(missing), "every line", "With other breakpoints all lines must be there")
    for number, row in _each_once(rows, places, fault):
        word, place = places[row[0]]
        speeds = _speeds(
            row[2:], rows[0][2:], lambda *told, n=number, r=row[0]: fault(n, f"{r}{told[0]}", *told[1:]), word
        )
        if word != "kick":
            tables[word][place] = speeds
        elif (pedal := _number("".join(row[1:2]), _PERCENT)) is None:
            fault(number, row[0], "".join(row[1:2]), "pedal in per cent", "Type from which pedal a kick-down counts")
        else:
            kicks[place], kick_frac = speeds[-1], pedal / _PERCENT
    if problems:
        raise BadDocument(tuple(problems))
    return replace(
        first,
        pedal_frac=tuple(known),
        up_kmh=tuple(tables["up"]),
        down_kmh=tuple(tables["down"]),
        lock_kmh=tuple(tables["lock"]),
        unlock_kmh=tuple(tables["unlock"]),
        kick_kmh=tuple(kicks),
        kick_frac=kick_frac,
    )


def _each_once(rows: list[list[str]], places: Collection[str], fault: Fault) -> Iterator[tuple[int, list[str]]]:
    """The rows that name a line of the box, with their numbers, each line once; what the others are is told."""
    seen: dict[str, int] = {}
    for number, row in enumerate(rows[1:], start=2):
        if not any(row):
            continue
        if row[0] not in places:
            fault(number, "line", row[0], ", ".join(places), "Name a line the box has")
        elif row[0] in seen:
            fault(number, "line", row[0], f"each line once: it is in row {seen[row[0]]} too", "Take one of the two out")
        else:
            seen[row[0]] = number
            yield number, row


def _pedals(heading: list[str], name: str) -> list[float]:
    """The pedal breakpoints of a heading, 0 to 1. [-]

    Raises:
        BadDocument: it is none that these lines are written out with.
    """

    def bad(found: str, allowed: str, mend: str) -> BadDocument:
        return BadDocument((Problem(sheet=name, row=1, column="", found=found, allowed=allowed, mend=mend),))

    if len(heading) < _LEAST_CELLS or heading[0] != "line":
        raise bad(",".join(heading), "line,km/h, then pedal breakpoints", "Begin from a set written out")
    if heading[1] != "km/h":
        raise bad(heading[1], "km/h", "Write the lines out by road speed, and change those")
    pedals = [_number(cell, _PERCENT) for cell in heading[2:]]
    known = [-1.0 if pedal is None else pedal / _PERCENT for pedal in pedals]
    if known[0] != 0.0 or known[-1] != 1.0 or sorted(set(known)) != known:
        raise bad(" ".join(heading[2:]), "per cent of pedal, rising, from 0 to 100", "Mend the heading")
    return known


def _speeds(
    cells: list[str], headings: list[str], fault: Callable[[str, str, str, str], None], word: str
) -> tuple[float, ...]:
    """The speeds of a row; of a kick-down row the last cell alone counts."""
    if len(cells) != len(headings):
        fault("", f"{len(cells)} speeds", f"{len(headings)}, one a breakpoint", "Fill the row up")
        return tuple(0.0 for _ in headings)
    found = [_number(cell, _MOST_KMH) for cell in cells]
    for cell, speed, pedal in zip(cells, found, headings, strict=True):
        if speed is None and (word != "kick" or pedal == headings[-1]):
            fault(f" at {pedal} %", cell, f"0 to {_MOST_KMH:g} km/h", "Type the speed again")
    return tuple(speed or 0.0 for speed in found)


def _number(cell: str, most: float) -> float | None:
    try:
        value = float(cell.replace(",", "."))
    except ValueError:
        return None
    return value if 0.0 <= value <= most else None
