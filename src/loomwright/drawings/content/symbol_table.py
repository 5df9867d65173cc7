"""Which symbol does a kind of part have on a circuit drawing, and which of its terminals are on top?

Data, `tables/symbols/kinds_drawn.toml`: one or several pieces a kind, each with the form it takes on the page, the
name of its symbol, the terminals towards the supply and those towards earth, and the settings printed beside it. A
job's own kind has no line there: one load or one contact between two terminals takes the symbol of its element,
anything else is a plain box.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal, cast

from loomwright.refusals import TableFault
from loomwright.tables.kinds import Kind
from loomwright.tables.load import read_toml

__all__ = ["FORMS", "DrawnPiece", "Form", "drawn_pieces", "load_drawn"]

Form = Literal["inline", "comb", "bridge", "box", "table", "bar", "battery", "earth", "feed", "controller", "ways"]

FORMS: tuple[Form, ...] = (
    "inline",
    "comb",
    "bridge",
    "box",
    "table",
    "bar",
    "battery",
    "earth",
    "feed",
    "controller",
    "ways",
)
"""The forms a piece can take: one way through; a common terminal and one element to each other; both legs on one side;
a box; a table of positions; a bar; the battery; earth; a supply by itself; a controller; ways of a connector."""

_BY_ELEMENT: Mapping[str, str] = MappingProxyType(
    {
        "lamp": "lamp",
        "motor": "motor",
        "resistor": "resistor",
        "coil": "relay_coil",
        "fuse": "fuse",
        "link": "link",
        "breaker": "breaker",
        "diode": "diode",
        "capacitor": "capacitor",
        "ntc": "ntc",
        "law_resistor": "variable",
    }
)
_WORDS = {"name", "form", "symbol", "upper", "lower", "turns", "shows"}
_TABLE = "symbols/kinds_drawn"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPiece:
    """One piece of a kind as it is drawn.

    name: which piece, empty where there is one.   upper, lower: terminals towards supply, towards earth.
    turns: either end may be on top.   shows: settings printed beside it where they are given.
    """

    name: str = ""
    form: Form = "inline"
    symbol: str
    upper: tuple[str, ...] = ()
    lower: tuple[str, ...] = ()
    turns: bool = False
    shows: tuple[str, ...] = ()


@cache
def load_drawn() -> Mapping[str, tuple[DrawnPiece, ...]]:
    """The pieces of every kind of the library, kind -> pieces.

    Raises:
        TableFault: a line that cannot be used.
    Example:
        >>> [piece.name for piece in load_drawn()["relay"]]
        ['coil', 'contact']
    """
    found: dict[str, tuple[DrawnPiece, ...]] = {}
    for kind, value in read_toml("symbols", "kinds_drawn").items():
        entry = cast(Mapping[str, object], value)
        if not entry.get("source") or not entry.get("mark"):
            raise TableFault(_TABLE, kind, "source", "no source or mark")
        found[kind] = tuple(_piece(kind, row) for row in cast(Sequence[Mapping[str, object]], entry["pieces"]))
    return MappingProxyType(found)


def drawn_pieces(kind: Kind) -> tuple[DrawnPiece, ...]:
    """The pieces of a kind; of a job's own kind, what its elements make likely.

    Example:
        >>> from loomwright.tables.kinds import load_kinds
        >>> drawn_pieces(load_kinds()["fan"])[0].symbol
        'fan'
    """
    known = load_drawn().get(kind.id)
    if known is not None:
        return known
    names = tuple(terminal.name for terminal in kind.terminals if not terminal.name.startswith("*"))
    if kind.duty == "join":
        return (DrawnPiece(form="bar", symbol="busbar"),)
    types = {element.type for element in kind.elements}
    if len(names) == 2 and len(types) == 1 and (symbol := _BY_ELEMENT.get(next(iter(types)))):
        return (DrawnPiece(symbol=symbol, upper=names[:1], lower=names[1:], turns=True),)
    if kind.duty == "controller":
        return (DrawnPiece(form="controller", symbol="controller"),)
    if kind.positions:
        return (DrawnPiece(form="table", symbol="contact_hand"),)
    lower = tuple(terminal.name for terminal in kind.terminals if terminal.polarity < 0 or terminal.name == "case")
    upper = tuple(name for name in names if name not in lower)
    if kind.case and "case" not in names:
        lower = (*lower, "case")
    return (DrawnPiece(form="box", symbol="plain", upper=upper, lower=lower),)


def _piece(kind: str, row: Mapping[str, object]) -> DrawnPiece:
    if not set(row) <= _WORDS or row.get("form", "inline") not in FORMS:
        raise TableFault(_TABLE, kind, "pieces", str(row))
    return DrawnPiece(
        name=str(row.get("name", "")),
        form=cast(Form, row.get("form", "inline")),
        symbol=str(row["symbol"]),
        upper=_names(row, "upper"),
        lower=_names(row, "lower"),
        turns=bool(row.get("turns", False)),
        shows=_names(row, "shows"),
    )


def _names(row: Mapping[str, object], word: str) -> tuple[str, ...]:
    return tuple(cast(Sequence[str], row.get(word, ())))
