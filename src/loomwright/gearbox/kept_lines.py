"""Which lines has somebody drawn and kept with the job, and how are they written into its sheet?

In a file the table `lines.PROGRAMME`, in the sheet `vehicle` rows `gear.lines.PROGRAMME.LINE`: `pedal` holds the
breakpoints in per cent, `kick_at` the pedal of a kick-down, each line its road speeds, one a breakpoint; a kick-down
one. A gear without lock-up may be left out. A programme without such rows goes by a first set.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from loomwright.gearbox.box import Programme
from loomwright.gearbox.figures_read import Faults, figure, figures
from loomwright.gearbox.line_record import Lines, line_places, named_lines

__all__ = ["kept_lines_of", "rows_of_lines"]

_PERCENT = 100.0
_MOST_KMH = 400.0
_LEAST_POINTS = 2
_MARK = "gear.lines"
_DIGITS = 1


def kept_lines_of(
    faults: Faults, entries: Mapping[str, Any], programmes: Sequence[Programme], gears: int
) -> Mapping[str, Lines]:
    """The lines that are kept: programme -> lines.

    Args:
        gears: of the box. [-]
    """
    named = {one.name: one for one in programmes}
    found: dict[str, Lines] = {}
    for name in entries:
        if name not in named:
            faults.add(f"lines.{name}", name, "a programme: " + " ".join(named), "Add the programme, or drop its lines")
            continue
        lines = _lines(faults, named[name], faults.table(entries, name, "lines."), gears)
        if lines is not None:
            found[name] = lines
    return MappingProxyType(found)


def rows_of_lines(lines: Lines) -> tuple[tuple[str, str], ...]:
    """The lines as property and value of the sheet `vehicle`; a gear without lock-up has no row."""
    under = f"{_MARK}.{lines.programme}"
    rows = [
        (f"{under}.pedal", _listed(tuple(_PERCENT * pedal for pedal in lines.pedal_frac))),
        (f"{under}.kick_at", f"{_PERCENT * lines.kick_frac:g}"),
    ]
    rows += [(f"{under}.{one.name}", _listed(one.speeds_kmh)) for one in named_lines(lines) if any(one.speeds_kmh)]
    rows += [(f"{under}.kick {k + 1}-{k}", f"{speed:.{_DIGITS}f}") for k, speed in enumerate(lines.kick_kmh, start=1)]
    return tuple(rows)


def _listed(values: tuple[float, ...]) -> str:
    return "[" + ", ".join(f"{round(value, _DIGITS):g}" for value in values) + "]"


def _lines(faults: Faults, programme: Programme, entries: Mapping[str, Any], gears: int) -> Lines | None:
    under = f"lines.{programme.name}."
    places = tuple(line_places(gears))
    faults.strange(entries, ("pedal", "kick_at", *(name for name, _, _ in places)), under)
    before = len(faults.problems())
    pedal = figures(faults, entries, "pedal", 0.0, _PERCENT, under=under, what="pedal in per cent, as [0, 50, 100]")
    rising = len(pedal) >= _LEAST_POINTS and list(pedal) == sorted(set(pedal))
    if not rising or pedal[0] != 0.0 or pedal[-1] != _PERCENT:
        shown = " ".join(f"{one:g}" for one in pedal)
        faults.add(f"{under}pedal", shown, "per cent of pedal, rising, from 0 to 100", "Type the breakpoints again")
    tables: dict[str, list[tuple[float, ...]]] = {"up": [], "down": [], "lock": [], "unlock": []}
    kicks: list[float] = []
    for name, kind, _ in places:
        if kind == "kick":
            kicks.append(figure(faults, entries, name, 0.0, _MOST_KMH, under=under, needed=f"Type the speed of {name}"))
        elif name not in entries and kind in ("lock", "unlock"):
            tables[kind].append(tuple(0.0 for _ in pedal))
        else:
            tables[kind].append(_speeds(faults, entries, name, under, len(pedal)))
    kick_at = figure(faults, entries, "kick_at", 50.0, _PERCENT, under=under, usual=_PERCENT * programme.kick_frac)
    if len(faults.problems()) > before:
        return None
    return Lines(
        programme=programme.name,
        pedal_frac=tuple(one / _PERCENT for one in pedal),
        up_kmh=tuple(tables["up"]),
        down_kmh=tuple(tables["down"]),
        lock_kmh=tuple(tables["lock"]),
        unlock_kmh=tuple(tables["unlock"]),
        kick_kmh=tuple(kicks),
        kick_frac=kick_at / _PERCENT,
        min_gap_s=programme.min_gap_s,
        min_back_s=programme.min_back_s,
        highest=programme.highest,
    )


def _speeds(faults: Faults, entries: Mapping[str, Any], name: str, under: str, points: int) -> tuple[float, ...]:
    what = f"{points} speeds in km/h in [ ], one a breakpoint"
    speeds = figures(faults, entries, name, 0.0, _MOST_KMH, under=under, what=what)
    if len(speeds) != points:
        faults.add(under + name, f"{len(speeds)} speeds", what, "Fill the line up, or draw a first set anew")
        return tuple(0.0 for _ in range(points))
    return speeds
