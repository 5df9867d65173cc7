"""What in the sheets keeps pins from being given at all? Every row in a sentence of its own, before anything is solved.

A need without a part or an ability; a pin without a terminal, or in none of its controller's plugs; a need fixed to a
pin that cannot do it; two needs fixed to one pin; needs that must be together and apart at once; an option of which
nothing is left. None of these is a shortage: something is written that cannot be meant. An ability that no pin has is
one, told with its ways out.
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from loomwright.allocation.able import why_not
from loomwright.allocation.ground import AskedNeed, Ground, pins_named
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, Problem

__all__ = ["faults_of", "refuse_faults"]

_MOST_NAMES = 8
_FIRST_ROW = 2


def refuse_faults(ground: Ground) -> None:
    """Stops where the sheets cannot be meant.

    Raises:
        BadDocument: all that is in the way.
    """
    found = tuple(faults_of(ground))
    if found:
        raise BadDocument(found)


def faults_of(ground: Ground) -> Iterator[Problem]:
    """All that keeps pins from being given."""
    yield from _of_pins(ground)
    yield from _of_needs(ground)
    yield from _fixed_twice(ground)
    yield from _of_sides(ground)
    yield from _of_options(ground)


def _of_pins(ground: Ground) -> Iterator[Problem]:
    plugged = {row.part for row in ground.job.connectors if row.terminals}
    if not ground.pins and ground.needs:
        allowed = "the pins of a controller, a row each"
        yield _told("controller_pins", None, "", "", allowed, "Write the controller's pins, or take the needs out")
    for pin in ground.pins.values():
        row = _row(ground.job, "controller_pins", pin.id)
        if not pin.terminal:
            mend = f"Write the terminal of {pin.id} as it is printed on the plug"
            yield _told("controller_pins", row, "terminal", "", "the terminal, as printed on the plug", mend)
        elif pin.part in plugged and not ground.plug[pin.id]:
            plugs = " ".join(one.id for one in ground.job.connectors if one.part == pin.part)
            mend = f"Add {pin.terminal} to the terminals of the plug that holds it in the sheet connectors"
            yield _told("controller_pins", row, "terminal", pin.terminal, f"a terminal of {plugs}", mend)


def _of_needs(ground: Ground) -> Iterator[Problem]:
    for name, need in ground.needs.items():
        row, place = need.row, _row(ground.job, "needs", name)
        if not row.part and not row.pin:
            mend = f"Name the part that {name} drives or senses, type its pin, or take the row out"
            yield _told("needs", place, "part", "", "the part it drives or senses, or its pin", mend)
        if not row.ability:
            mend = f"Write what the pin of {name} must be able to do"
            yield _told("needs", place, "ability", "", "what the pin must be able to do", mend)
        if row.pin and not pins_named(row.pin, ground.pins):
            mend = "Name a pin of a controller that is fitted, or leave it blank to have it decided"
            yield _told("needs", place, "pin", row.pin, _some(list(ground.pins)), mend)
        elif row.pin and len(pins_named(row.pin, ground.pins)) > 1:
            several = " ".join(pins_named(row.pin, ground.pins))
            yield _told(
                "needs", place, "pin", row.pin, several, "Write the pin's own name: several pins have that terminal"
            )
        elif need.fixed is not None and row.ability:
            why = why_not(need, ground.pins[need.fixed])
            if why:
                where = "pin" if need.by == "typed" else "id"
                able = [pin for pin in ground.pins if not why_not(need, ground.pins[pin])]
                allowed = f"a pin that can do it: {_some(able)}" if able else "a pin that can do it, and there is none"
                drawn = "" if need.by == "typed" else f", where wire {need.by} is drawn to,"
                mend = f"{need.fixed}{drawn} {why}: name another, or leave it blank to have it decided"
                yield _told("needs", place, where, need.fixed if where == "pin" else name, allowed, mend)


def _fixed_twice(ground: Ground) -> Iterator[Problem]:
    first: dict[str, AskedNeed] = {}
    for need in ground.needs.values():
        if need.fixed is None or not _meet(need, first.get(need.fixed)):
            first.setdefault(need.fixed or "", need)
            continue
        other = first[need.fixed]
        rows = f"{other.row.id} in row {_row(ground.job, 'needs', other.row.id)}"
        how = "has that pin too" if other.by == "typed" else f"has it too, by wire {other.by}"
        place = _row(ground.job, "needs", need.row.id)
        mend = f"{rows} {how}, and a pin serves one need: leave one of the two blank"
        if need.by == "typed":
            yield _told("needs", place, "pin", need.row.pin, "a pin of its own", mend)
        else:
            yield _told(
                "needs", place, "id", need.row.id, f"a pin of its own; wire {need.by} is drawn to {need.fixed}", mend
            )


def _meet(need: AskedNeed, other: AskedNeed | None) -> bool:
    """Whether two needs can be built at once: not two alternatives of one option."""
    if other is None:
        return False
    group, _, name = need.row.option.partition("/")
    same, _, rival = other.row.option.partition("/")
    return not (group and group.strip() == same.strip() and name.strip() != rival.strip())


def _of_sides(ground: Ground) -> Iterator[Problem]:
    joined: nx.Graph[str] = nx.Graph()
    for name, need in ground.needs.items():
        for column, others in (("together", need.row.together), ("apart", need.row.apart)):
            if name in others:
                mend = f"Take {name} out of its own row"
                yield _told("needs", _row(ground.job, "needs", name), column, name, "other needs", mend)
        joined.add_edges_from((name, other) for other in need.row.together if other in ground.needs and other != name)
    for name, need in ground.needs.items():
        for other in need.row.apart:
            if other in joined and name in joined and other != name and nx.has_path(joined, name, other):
                way = nx.shortest_path(joined, name, other)
                rows = ", ".join(f"{one} (row {_row(ground.job, 'needs', one)})" for one in way)
                allowed = "needs that are not also to be together"
                mend = f"They are to be together as well, by {rows}: take one of the two out"
                yield _told("needs", _row(ground.job, "needs", name), "apart", other, allowed, mend)


def _of_options(ground: Ground) -> Iterator[Problem]:
    left = {need.row.option.partition("/")[0].strip() for need in ground.needs.values() if need.row.option}
    gone: dict[str, list[str]] = {}
    for row in ground.job.needs:
        group = row.option.partition("/")[0].strip()
        if group and group not in left:
            gone.setdefault(group, []).append(row.id)
    for group, names in gone.items():
        first = _row(ground.job, "needs", names[0])
        parts = ", ".join(dict.fromkeys(row.part for row in ground.job.needs if row.id in names))
        mend = f"Of the option {group} nothing is left to build, {parts} being removed: fit one, or take its rows out"
        yield _told(
            "needs", first, "option", f"{group}: {' '.join(names)}", "an alternative whose parts are there", mend
        )


def _row(job: Job, sheet: str, name: str) -> int | None:
    names = [row.id for row in job.needs] if sheet == "needs" else [row.id for row in job.controller_pins]
    return names.index(name) + _FIRST_ROW if name in names else None


def _some(names: list[str]) -> str:
    return " ".join(names[:_MOST_NAMES]) + (" …" if len(names) > _MOST_NAMES else "")


def _told(sheet: str, row: int | None, column: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=row, column=column, found=found, allowed=allowed, mend=mend)
