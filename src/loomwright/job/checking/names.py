"""Does every id stand once, and is every id that is named there? What the vehicle may be is asked here too."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from loomwright.job.checking.look import Look
from loomwright.job.columns import Column, field_name
from loomwright.job.engine_figures import ENGINE_SPANS, ENGINE_WORDS, FIRING_ORDER, GEAR_WORDS
from loomwright.job.nearest import nearest
from loomwright.job.row import Row
from loomwright.job.rows import VehicleProperty
from loomwright.job.schema import SHEETS, columns, row_key, rows_of
from loomwright.job.vehicle import PROPERTIES, allowed_as, read_property
from loomwright.refusals import OutOfReach, Problem
from loomwright.tables.work_minutes import OPERATIONS

__all__ = ["check_keys", "check_metals", "check_references", "check_vehicle"]

_BUILT_IN_CIRCUITS = ("linkage",)


def check_vehicle(look: Look) -> Iterator[Problem]:
    """The properties of the vehicle: what they may be, and names that are nearly those of one."""
    written = {row.name for row in look.job.vehicle}
    for index, row in enumerate(look.job.vehicle):
        if allowed_as(row.name):
            yield from _wrong_value(look, index, row) if row.value else ()
            continue
        wrong = _wrong_name(row.name, written)
        if wrong is not None:
            allowed, mend = wrong
            yield look.problem("vehicle", index, "name", found=row.name, allowed=allowed, mend=mend)


def _wrong_name(name: str, written: Collection[str]) -> tuple[str, str] | None:
    """What is allowed in place of a name that is no property's, and the mend; None where somebody may mean it."""
    if name.startswith("minutes_"):
        meant = nearest(name, [f"minutes_{each}" for each in OPERATIONS])
        allowed = "minutes_ and an operation: " + " ".join(OPERATIONS)
        return allowed, f"Write {meant}" if meant else "Write one of these, or drop the row"
    if name.startswith("gear."):
        if name.split(".")[1] in GEAR_WORDS:
            return None
        meant = nearest(name.removeprefix("gear."), GEAR_WORDS)
        allowed = "gear. and one of: " + " ".join(GEAR_WORDS)
        return allowed, f"Write gear.{meant}" if meant else "Write one of these, or drop the row"
    if name.startswith("fuel."):  # the fuel table: its engine speeds, and a row for each load
        if name == "fuel.rpm" or name.removeprefix("fuel.").replace(".", "", 1).isdigit():
            return None
        return "fuel.rpm, or fuel. and a load in kPa", "Write it so, or drop the row"
    known = (*PROPERTIES, *ENGINE_SPANS, *ENGINE_WORDS, FIRING_ORDER)
    meant = nearest(name, [each for each in known if each not in written])
    if meant and abs(len(meant) - len(name)) <= 2 and name[:3] == meant[:3]:
        return "the properties " + " ".join(known), f"Write {meant}"
    return None


def _wrong_value(look: Look, index: int, row: VehicleProperty) -> Iterator[Problem]:
    """What a property cannot be, and metals it names that there are not."""
    try:
        value = read_property(row.name, row.value)
    except OutOfReach:
        mend = f"Write {row.name} as one of these, or clear the cell"
        yield look.problem("vehicle", index, "value", found=row.value, allowed=allowed_as(row.name), mend=mend)
        return
    if row.name == FIRING_ORDER and isinstance(value, str):
        yield from _cylinders_fired(look, index, value)
    if row.name == "bolted" and isinstance(value, tuple):
        for metal in dict.fromkeys(metal for pair in value for metal in pair):
            if metal not in look.metals and "metals" not in look.unread:
                yield _unknown_metal(look, "vehicle", index, "value", metal)


def _cylinders_fired(look: Look, index: int, order: str) -> Iterator[Problem]:
    """A firing order that is not of as many cylinders as the engine has."""
    count = next((row.value for row in look.job.vehicle if row.name == "cylinders"), "")
    fired = len(order.split("-"))
    if count.strip().isdecimal() and int(count) != fired:
        allowed = f"each of the {int(count)} cylinders once: the row cylinders says {int(count)}"
        mend = f"Write the order of all {int(count)}, or mend the row cylinders: these are {fired}"
        yield look.problem("vehicle", index, "value", found=order, allowed=allowed, mend=mend)


def check_keys(look: Look) -> Iterator[Problem]:
    """Rows of one sheet that carry the same name."""
    for sheet in SHEETS:
        first: dict[tuple[str, ...], int] = {}
        for index, row in enumerate(rows_of(look.job, sheet)):
            key = row_key(sheet, row)
            if not key or not all(key[:1]) or not key[-1]:
                continue
            if key not in first:
                first[key] = index
                continue
            names = [column.name for column in columns(sheet) if column.key]
            mend = f"Row {look.row(sheet, first[key])} has it too: give one of them another name"
            found = " ".join(word for word in key if word)
            yield look.problem(sheet, index, names[-1], found=found, allowed="each name once in the sheet", mend=mend)
    seen: dict[tuple[str, str], int] = {}
    for index, pin in enumerate(look.job.controller_pins):
        place = (pin.part, pin.terminal)
        if pin.part and pin.terminal and place in seen:
            mend = f"Row {look.row('controller_pins', seen[place])} has it too: keep one of them"
            found = f"{pin.part}.{pin.terminal}"
            yield look.problem(
                "controller_pins",
                index,
                "terminal",
                found=found,
                allowed="each terminal of a controller once",
                mend=mend,
            )
        seen.setdefault(place, index)


def check_metals(look: Look) -> Iterator[Problem]:
    """Parts that carry the name of a metal, so that a wire's end could be either."""
    for index, part in enumerate(look.job.parts):
        if part.id in look.metals:
            allowed = f"a name no metal has ({' '.join(look.metals)})"
            mend = f"Call the part another name, such as {part.id}_1"
            yield look.problem("parts", index, "id", found=part.id, allowed=allowed, mend=mend)


def check_references(look: Look) -> Iterator[Problem]:
    """Ids named in a row that no row of the sheet meant has."""
    for sheet in SHEETS:
        asked = [column for column in columns(sheet) if column.kind in ("ref", "refs")]
        fields = {column.name: field_name(SHEETS[sheet], column.name) for column in asked}
        known = {column.name: _known(look, column) for column in asked}
        for index, row in enumerate(rows_of(look.job, sheet)):
            for column in asked:
                if look.unread.isdisjoint(column.refers):
                    yield from _unknown_ids(look, sheet, index, row, column, fields[column.name], known[column.name])


def _known(look: Look, column: Column) -> dict[str, None]:
    """The ids that may stand in a column."""
    known = dict.fromkeys(name for sheet in column.refers for name in look.ids[sheet])
    if "metals" in column.refers:
        known |= dict.fromkeys(look.metals)
    if "circuits" in column.refers:
        known |= dict.fromkeys(_BUILT_IN_CIRCUITS)
    return known


def _unknown_ids(
    look: Look, sheet: str, index: int, row: Row, column: Column, field: str, known: dict[str, None]
) -> Iterator[Problem]:
    value = getattr(row, field)
    for word in value if isinstance(value, tuple) else (value,):
        if word and word not in known:
            what = " or ".join(column.refers)
            otherwise = f"Add a row {word} to the sheet {column.refers[0]}"
            yield look.unknown(sheet, index, column.name, word=word, words=known, what=what, otherwise=otherwise)


def _unknown_metal(look: Look, sheet: str, index: int, column: str, metal: str) -> Problem:
    otherwise = f"Add a row {metal} to the sheet metals"
    return look.unknown(sheet, index, column, word=metal, words=look.metals, what="metals", otherwise=otherwise)
