"""Is every point there that a row names? Wires, cables, readings, requirements, old wires."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.job.checking.look import Look, told
from loomwright.job.columns import field_name
from loomwright.job.points import split_point
from loomwright.job.row import Row
from loomwright.job.rows import Reading
from loomwright.job.schema import SHEETS, columns, rows_of
from loomwright.refusals import Problem
from loomwright.tables.kinds import terminal_of

__all__ = ["check_point_columns", "check_requirements", "check_wires", "has_point", "point_problem"]

_BY_PLUG_TOO = ("readings",)


def check_wires(look: Look) -> Iterator[Problem]:
    """Wire ends that name a part, a terminal or a metal that is not there."""
    for index, wire in enumerate(look.job.wires):
        for column, end in (("from", wire.from_), ("to", wire.to)):
            if end:
                yield from point_problem(look, "wires", index, column, end)


def check_point_columns(look: Look) -> Iterator[Problem]:
    """The same for every other column that holds a point."""
    for sheet in SHEETS:
        if sheet == "wires":
            continue
        names = {
            column.name: field_name(SHEETS[sheet], column.name) for column in columns(sheet) if column.kind == "point"
        }
        if not names:
            continue
        for index, row in enumerate(rows_of(look.job, sheet)):
            for column, field in names.items():
                point = getattr(row, field)
                if point and not _is_clamped(look, row, point):
                    yield from point_problem(look, sheet, index, column, point, by_plug=sheet in _BY_PLUG_TOO)


def check_requirements(look: Look) -> Iterator[Problem]:
    """Requirements on a point that is not there; a wire has amps and no volts of its own."""
    for index, requirement in enumerate(look.job.requirements):
        point = requirement.point
        if not point:
            continue
        if point in look.ids["wires"] and point not in look.terminals:
            if requirement.must.unit != "A" and requirement.must.text:
                wire = look.job.wires[look.ids["wires"][point]]
                mend = f"Name one end of the wire, {wire.from_ or wire.to}" if wire.from_ or wire.to else "Name a point"
                allowed = "a point, since a wire as a whole has amps only"
                yield look.problem("requirements", index, "point", found=point, allowed=allowed, mend=mend)
            continue
        named = point.removeprefix("~").partition(".")[0]
        if named not in look.ids["parts"] and "wires" in look.unread:
            continue
        if requirement.must.unit == "A" and point == named and not _is_named(look, named):
            words = (*look.ids["wires"], *look.ids["parts"])
            otherwise = "Name the wire, or the terminal whose wires are counted together"
            yield look.unknown(
                "requirements", index, "point", word=point, words=words, what="wires or parts", otherwise=otherwise
            )
            continue
        yield from point_problem(look, "requirements", index, "point", point, by_plug=True)


def _is_clamped(look: Look, row: Row, point: str) -> bool:
    """A clamp goes round a wire, not onto a point."""
    return isinstance(row, Reading) and row.measure == "clamp" and point in look.ids["wires"]


def has_point(look: Look, point: str) -> bool:
    """Whether the car has a point, or it cannot be told since part of the sheets could not be read."""
    part, terminal = split_point(point)
    if part in look.metals:
        return not terminal
    if part not in look.ids["parts"]:
        return False
    if not _is_known(look, part):
        return True
    return len(look.terminals[part]) == 1 if not terminal else _has_terminal(look, part, terminal)


def point_problem(
    look: Look, sheet: str, index: int, column: str, point: str, *, by_plug: bool = False
) -> Iterator[Problem]:
    """What is wrong with one point, if anything.

    Args:
        by_plug: a connector's id may stand for its part (`X3.4`), and `~` for the pin's side of a plug that is off.
    """
    if "parts" in look.unread or "metals" in look.unread:
        return
    part, terminal = split_point(point.removeprefix("~") if by_plug else point)
    connector = look.ids["connectors"].get(part)
    if connector is not None and part not in look.ids["parts"]:
        real = look.job.connectors[connector].part
        if not by_plug:
            allowed = "part.terminal; a connector is not a part"
            yield look.problem(
                sheet, index, column, found=point, allowed=allowed, mend=f"Write {real}.{terminal or '1'}"
            )
            return
        part = real
    if part in look.metals:
        if terminal:
            allowed = "the metal alone; a metal has no terminals"
            yield look.problem(sheet, index, column, found=point, allowed=allowed, mend=f"Write {part}")
        return
    if part not in look.ids["parts"]:
        if not (by_plug and "connectors" in look.unread):
            yield _unknown_part(look, sheet, index, column, part, point)
        return
    if _is_known(look, part):
        yield from _terminal_problem(look, sheet, index, column, part, terminal)


def _unknown_part(look: Look, sheet: str, index: int, column: str, part: str, point: str) -> Problem:
    words = (*look.ids["parts"], *look.metals)
    meant = look.nearest("parts or metals", part, words)
    _, dot, terminal = point.partition(".")
    better = meant if meant in look.metals else f"{meant}{dot}{terminal}"
    add = f"add a row {part} to the sheet parts"
    mend = f"Write {better}, or {add}" if meant else f"A{add[1:]}"
    return look.problem(sheet, index, column, found=point, allowed=told("parts or metals", words), mend=mend)


def _terminal_problem(look: Look, sheet: str, index: int, column: str, part: str, terminal: str) -> Iterator[Problem]:
    there = look.terminals[part]
    what = f"terminals of {part}"
    if not terminal:
        if len(there) != 1 or _is_counted(look, part):
            mend = f"Write {part}.{there[0]} or another of them" if there else _mend_none(look, part)
            yield look.problem(sheet, index, column, found=part, allowed=_allowed(look, part), mend=mend)
        return
    if _has_terminal(look, part, terminal):
        return
    meant = look.nearest(what, terminal, there)
    mend = f"Write {part}.{meant}" if meant else f"Name one of its terminals, {part}.{there[0]}" if there else ""
    mend = mend or _mend_none(look, part)
    yield look.problem(sheet, index, column, found=f"{part}.{terminal}", allowed=_allowed(look, part), mend=mend)


def _allowed(look: Look, part: str) -> str:
    patterns = [terminal.name for terminal in look.kinds[_kind_id(look, part)].terminals if "*" in terminal.name]
    if patterns:
        endings = [pattern.removeprefix("*") for pattern in patterns]
        return (
            f"terminals of {part}: "
            + " ".join(f"{number}{ending}" for ending in endings for number in (1, 2, 3))
            + " ..."
        )
    return told(f"terminals of {part}", look.terminals[part])


def _mend_none(look: Look, part: str) -> str:
    duty = look.kinds[_kind_id(look, part)].duty
    sheet = "controller_pins" if duty == "controller" else "contacts"
    return f"Give {part} its terminals in the sheet {sheet}"


def _is_named(look: Look, name: str) -> bool:
    """Whether something that has points carries that name."""
    return name in look.ids["parts"] or name in look.metals or name in look.ids["connectors"]


def _is_known(look: Look, part: str) -> bool:
    """Whether the terminals of a part can be known: its kind is, and the sheets that add to them were read."""
    kind = look.kinds.get(_kind_id(look, part))
    if kind is None:
        return False
    return not ({"contacts", "controller_pins"} & look.unread)


def _kind_id(look: Look, part: str) -> str:
    return look.job.parts[look.ids["parts"][part]].kind


def _is_counted(look: Look, part: str) -> bool:
    return look.kinds[_kind_id(look, part)].numbered


def _has_terminal(look: Look, part: str, terminal: str) -> bool:
    kind = look.kinds[_kind_id(look, part)]
    if terminal in look.terminals[part]:
        return True
    return kind.numbered and terminal_of(kind, terminal) is not None
