"""What does a switch join, in which position, and how does it lie at rest?

From the sheet `contacts`, or from the kind where the part has no rows there. A switch falls into pieces: terminals
that never meet in any position are drawn apart, like the coil and the contact of a relay. `Wiring` in, `SwitchPiece`
out.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from loomwright.drawings.content.wiring import Wiring
from loomwright.job.conditions import holds, parse_condition
from loomwright.tables.kinds import positions_of, resolve_settings

__all__ = ["Position", "SwitchPiece", "is_closed_at_rest", "switch_pieces"]

State = Mapping[str, str | float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One position: the groups of terminals that meet there. rest: it is where the switch lies when nobody touches it.

    verified: somebody has tested it, or it follows from the kind.
    """

    name: str
    joins: tuple[tuple[str, ...], ...]
    rest: bool
    verified: bool = True
    gang: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPiece:
    """Terminals of a switch that meet in some position, and its positions."""

    terminals: tuple[str, ...]
    positions: tuple[Position, ...]


def switch_pieces(wiring: Wiring, part: str, shown: Collection[str]) -> tuple[SwitchPiece, ...]:
    """The pieces of a switch, each with the shown terminals only; one terminal alone is a piece too.

    Args:
        part: its id.
        shown: the terminals that the drawing is about.
    """
    found: list[SwitchPiece] = []
    left = dict.fromkeys(shown)
    for positions in _gangs(wiring, part):
        kept = [_kept(position, shown) for position in positions]
        for group in _together(kept):
            found.append(
                SwitchPiece(
                    terminals=tuple(name for name in shown if name in group),
                    positions=tuple(_kept(position, group) for position in kept),
                )
            )
            for name in group:
                left.pop(name, None)
    return (*_merged(found), *(SwitchPiece(terminals=(name,), positions=()) for name in left))


def is_closed_at_rest(wiring: Wiring, part: str, one: str, other: str) -> bool:
    """Whether a contact is closed with everything at rest: relays released, engine stopped, cold."""
    row, kind = wiring.parts[part], wiring.kind(part)
    for element in kind.elements:
        if set(element.between) not in ({one, other}, {one, "_case"}, {one, "_feed"}):
            continue
        if element.type == "contact":
            return element.params.get("closed_when") == "released"
        if element.type == "switch":
            settings = resolve_settings(kind, row.settings)
            text = str(element.params.get("closes_when", ""))
            text = str(settings.get(text[1:], "") or "") if text.startswith("$") else text
            if text:
                return holds(parse_condition(text), wiring.rest)
            positions, _ = positions_of(kind, settings)
            own = str(settings.get("variable") or kind.variable or part)
            rest = str(wiring.rest.get(own, positions[0] if positions else ""))
            return rest in _places(element.params.get("closed_at"), settings)
    return False


def _merged(pieces: list[SwitchPiece]) -> list[SwitchPiece]:
    """Pieces of two gangs that share a terminal are one: its wire comes in once."""
    merged: list[SwitchPiece] = []
    for piece in pieces:
        sharing = [one for one in merged if set(one.terminals) & set(piece.terminals)]
        terminals = tuple(dict.fromkeys(name for one in (*sharing, piece) for name in one.terminals))
        positions = tuple(position for one in (*sharing, piece) for position in one.positions)
        merged = [*(one for one in merged if one not in sharing), SwitchPiece(terminals=terminals, positions=positions)]
    return [
        SwitchPiece(terminals=one.terminals, positions=tuple(_said(position, one) for position in one.positions))
        for one in merged
    ]


def _said(position: Position, piece: SwitchPiece) -> Position:
    """The position with its gang's name before it, where the piece has several gangs."""
    gangs = {one.gang for one in piece.positions}
    return replace(position, name=f"{position.gang} {position.name}") if len(gangs) > 1 else position


def _gangs(wiring: Wiring, part: str) -> list[tuple[Position, ...]]:
    """The positions of each gang, in the order they follow each other."""
    rows = wiring.contacts.get(part, ())
    if not rows:
        return [_of_kind(wiring, part)]
    gangs: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for count, row in enumerate(rows):
        gangs.setdefault((row.gang, row.variable), []).append((row.order if row.order is not None else count, count))
    kind = wiring.kind(part)
    own = wiring.parts[part].settings.get("variable", "") or kind.variable or part
    several = len({gang for gang, variable in gangs if not variable}) > 1
    found = []
    for (gang, variable), places in gangs.items():
        listed = [rows[count] for _, count in sorted(places)]
        rest = wiring.rest.get(variable or (f"{part}.{gang}" if several else own), listed[0].position)
        found.append(
            tuple(
                Position(
                    name=row.position,
                    joins=row.joins,
                    rest=row.position == rest,
                    verified=row.verified is not False,
                    gang=row.gang or row.variable,
                )
                for row in listed
            )
        )
    return found


def _of_kind(wiring: Wiring, part: str) -> tuple[Position, ...]:
    kind = wiring.kind(part)
    settings = resolve_settings(kind, wiring.parts[part].settings)
    positions, _ = positions_of(kind, settings)
    own = str(settings.get("variable") or kind.variable or part)
    rest = wiring.rest.get(own, positions[0] if positions else "")
    contacts = [element for element in kind.elements if element.type == "switch"]
    start_dead = str(settings.get("drops_in_start", "")).split()
    found = []
    for name in positions:
        pairs = [
            (element.between[0], element.between[1])
            for element in contacts
            if name in _places(element.params.get("closed_at"), settings)
            and not (name == "start" and "dropped_by" in element.params and element.between[1] in start_dead)
        ]
        found.append(Position(name=name, joins=_groups(pairs), rest=name == rest))
    return tuple(found)


def _places(value: object, settings: Mapping[str, float | str]) -> tuple[str, ...]:
    if isinstance(value, str):
        return tuple(str(settings.get(value[1:], "")).split()) if value.startswith("$") else tuple(value.split())
    return tuple(str(word) for word in value) if isinstance(value, tuple | list) else ()


def _groups(pairs: list[tuple[str, str]]) -> tuple[tuple[str, ...], ...]:
    """Pairs that share a terminal, put together."""
    groups: list[list[str]] = []
    for one, other in pairs:
        touching = [group for group in groups if one in group or other in group]
        merged = list(dict.fromkeys(name for group in (*touching, [one, other]) for name in group))
        groups = [*(group for group in groups if group not in touching), merged]
    return tuple(tuple(group) for group in groups)


def _kept(position: Position, shown: Collection[str]) -> Position:
    joins = tuple(kept for group in position.joins if len(kept := tuple(one for one in group if one in shown)) > 1)
    return replace(position, joins=joins)


def _together(positions: list[Position]) -> tuple[tuple[str, ...], ...]:
    """The terminals that meet in some position, in groups."""
    return _groups([(group[0], name) for position in positions for group in position.joins for name in group[1:]])
