"""What stands on a drawing before anybody knows where: units, their ports, and the links between them.

A *unit* is one symbol: a part or one piece of it, a supply line, an earth, an arrow to another drawing. A *port* is
one of its terminals. A *link* is a wire, or a lead without a wire of its own: a case to its metal, a stub to a supply
line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from loomwright.drawings.content.switches import Position
from loomwright.drawings.content.symbol_table import Form

__all__ = ["SIDES", "Band", "End", "Link", "Port", "Ref", "Side", "Sketch", "Style", "Unit", "UnitForm", "Words"]

Side = Literal["upper", "lower"]
"""Which side of a unit: towards the supply, towards earth."""

SIDES: tuple[Side, Side] = ("upper", "lower")
"""Both sides."""

Band = Literal["supply", "early", "late", "earth"]
"""Where on the page: the supply line, as high as it can be, as low as it can be, the earth line."""

UnitForm = Form | Literal["line", "arrow", "post", "free"]
"""The forms of pieces, and a supply line, an arrow, a terminal on the earth line, a free end."""

Style = Literal["number", "id", "name", "figure", "note"]
"""How words are printed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """A place on some drawing that is not known yet.

    target: a wire's id, or a point.   circuit: where it will be.
    otherwise: what is meant where the target is not drawn there.
    """

    target: str
    circuit: str
    otherwise: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One run of words beside a unit; refs become circuit and track once all drawings are laid out."""

    style: Style
    pieces: tuple[str | Ref, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """One terminal of a unit. terminal: as it is printed, empty = not.   point: part.terminal or a metal.

    plug: the connector it sits in.   does: what a controller's pin does.
    """

    terminal: str
    point: str
    side: Side
    plug: str = ""
    does: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One symbol.

    about: id of the row it shows.   common: of a comb, the port all elements share.   [-]
    closed: of contacts, port by port, whether it is closed at rest.   positions: of a switch's table.
    turned: the piece's usual upper terminal is below.   foreign: it is whole on another drawing.
    """

    form: UnitForm
    symbol: str
    about: str
    ports: tuple[Port, ...]
    words: tuple[Words, ...]
    band: Band
    common: int = 0
    closed: tuple[bool, ...] = ()
    positions: tuple[Position, ...] = ()
    turned: bool = False
    foreign: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a link: which unit, which of its ports, on which side. [-]"""

    unit: int
    port: int
    side: Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A wire, or a lead where `wire` is empty."""

    wire: str
    ends: tuple[End, End]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """One circuit before it is laid out."""

    circuit: str
    units: tuple[Unit, ...]
    links: tuple[Link, ...]

    def refs(self) -> Iterator[Ref]:
        """Every place the words of its units name."""
        for unit in self.units:
            for words in unit.words:
                yield from (piece for piece in words.pieces if isinstance(piece, Ref))
