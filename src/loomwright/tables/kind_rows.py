"""Which part kinds did this job make for itself?

The sheet `kinds` has the columns `kind element type terminals settings`. A row with an `element` is one element: its
type, the terminals it lies between, its figures (`ohm=$ohm; load=yes`). A row whose `element` is empty declares: what,
is said by its `type`:

  (empty)               terminals, and settings with their defaults (`ohm=85 ohm`; `=` and nothing: unknown)
  required              terminals that a sound car never leaves open
  plus, minus           terminals that go to that side
  positions             its positions in order, in the column `terminals`
  a duty (load …)       what it is for; settings `title case variable` say the rest

Terminals that an element names need no declaration. Inner nodes start with `_`. A kind is a load unless a row says
otherwise, and where none of its elements says `load=yes`, those that light, turn or draw are what it is for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from loomwright.quantities import ENDINGS, ending_of, parse_quantity
from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.element_types import CONDITIONS, LISTS
from loomwright.tables.kind_reading import kind_from_entry
from loomwright.tables.kind_records import DUTIES, Kind

__all__ = ["kind_from_rows", "kinds_from_rows"]

Row = Mapping[str, str]

_TABLE = "kinds"
_MARKS = {"required": ("required", True), "plus": ("polarity", 1), "minus": ("polarity", -1)}
_KIND_SETTINGS = ("title", "case", "variable", "note", "rest")
_SIGNS = {"v": "V", "a": "A", "w": "W", "ohm": "ohm", "mohm": "mohm", "ma": "mA", "mm2": "mm2", "k": "K", "s": "s"}
_LOAD_TYPES = ("lamp", "motor", "constant_current", "constant_power", "starter_motor")
_FIGURE_ENDINGS = {"watt": "w", "volt": "v", "volts": "v", "amps": "a"}
_TRUE = {"yes": True, "no": False}


def kinds_from_rows(rows: Iterable[Row]) -> Mapping[str, Kind]:
    """The kinds that the rows of the sheet `kinds` make, id -> kind, in order of first row."""
    by_kind: dict[str, list[Row]] = {}
    for row in rows:
        by_kind.setdefault(row.get("kind", "").strip(), []).append(row)
    return MappingProxyType({kind_id: kind_from_rows(group) for kind_id, group in by_kind.items()})


def kind_from_rows(rows: Iterable[Row]) -> Kind:
    """The kind that its rows of the sheet `kinds` make.

    Args:
        rows: all rows of one kind, heading -> text.
    Raises:
        TableFault: a type, a figure or a terminal that cannot be used; `row` is `kind.element`.
        OutOfReach: a figure that is none in its unit.
    Example:
        >>> row = {"kind": "glow_plug", "element": "heater", "type": "resistor", "terminals": "1 _case",
        ...        "settings": "ohm=1.2; load=yes"}
        >>> plug = {"kind": "glow_plug", "element": "", "type": "load", "terminals": "", "settings": "case=engine"}
        >>> kind_from_rows([plug, row]).terminals[0].name
        '1'
    """
    listed = list(rows)
    kind_id = listed[0].get("kind", "").strip() if listed else ""
    if not kind_id:
        raise TableFault(_TABLE, "", "kind", "")
    entry: dict[str, object] = {"title": kind_id, "group": "made for this job", "duty": "load"}
    terminals: dict[str, dict[str, object]] = {}
    settings: dict[str, dict[str, object]] = {}
    elements: list[dict[str, object]] = []
    for row in listed:
        name = row.get("element", "").strip()
        if name:
            elements.append(_element(kind_id, name, row))
        else:
            _declare(kind_id, row, entry, terminals, settings)
    _mark_loads(entry, elements)
    for element in elements:
        for node in str(element["between"]).split():
            if not node.startswith(("_", "@")):
                terminals.setdefault(node, {})
    if "case" in terminals and "case" not in entry:
        entry["case"] = "body"
    return kind_from_entry(kind_id, {**entry, "terminals": terminals, "settings": settings, "elements": elements})


def _mark_loads(entry: Mapping[str, object], elements: list[dict[str, object]]) -> None:
    """Where a load does not say which element it is for, those that light, turn or draw are taken."""
    if entry["duty"] != "load" or any("load" in element for element in elements):
        return
    meant = [element for element in elements if element["type"] in _LOAD_TYPES]
    for element in meant or [element for element in elements if element["type"] == "resistor"]:
        element["load"] = True


def _declare(
    kind_id: str,
    row: Row,
    entry: dict[str, object],
    terminals: dict[str, dict[str, object]],
    settings: dict[str, dict[str, object]],
) -> None:
    """What a row without an element adds to the kind."""
    word = row.get("type", "").strip()
    names = row.get("terminals", "").split()
    figures = _pairs(kind_id, row)
    if word == "positions":
        entry["positions"] = names
    elif word in _MARKS:
        mark, value = _MARKS[word]
        for name in names:
            terminals.setdefault(name, {})[mark] = value
    elif word in DUTIES:
        entry["duty"] = word
        entry.update({name: figures.pop(name) for name in _KIND_SETTINGS if name in figures})
    elif word:
        raise TableFault(_TABLE, kind_id, "type", word)
    if word not in ("positions", *_MARKS):
        for name in names:
            terminals.setdefault(name, {})
    for name, text in figures.items():
        settings[name] = _setting(name, text)


def _setting(name: str, text: str) -> dict[str, object]:
    """A setting declared as `name=85 ohm`: its default and, from its name's ending or the unit's word, its unit."""
    line: dict[str, object] = {"help": f"{name}, as this job's sheet kinds declares it"}
    ending = _FIGURE_ENDINGS.get(name) or ending_of(name) or _ending_of_word(text)
    if not text:
        return {**line, "unit": _sign(ending), "number": ending is not None}
    if ending is not None and not text.startswith("$"):
        return {**line, "default": parse_quantity(text, ending, name=name), "unit": _sign(ending), "number": True}
    try:
        return {**line, "default": float(text), "number": True}
    except ValueError:
        return {**line, "default": text, "unit": _sign(ending)}


def _ending_of_word(text: str) -> str | None:
    """The unit a figure carries in words where its name carries none; None for a plain number or a word."""
    figure, _, word = text.partition(" ")
    try:
        float(figure)
    except ValueError:
        return None
    for ending in ENDINGS if word else ():
        try:
            parse_quantity(text, ending)
        except OutOfReach:
            continue
        return ending
    return None


def _sign(ending: str | None) -> str:
    """The unit as the library writes it; a share of a whole stays `frac`, so that it is kept between 0 and 1."""
    return "" if ending is None else _SIGNS.get(ending, ending)


def _element(kind_id: str, name: str, row: Row) -> dict[str, object]:
    element: dict[str, object] = {
        "name": name,
        "type": row.get("type", "").strip(),
        "between": row.get("terminals", "").strip(),
    }
    for word, text in _pairs(kind_id, row).items():
        element[word] = _figure(word, text)
    return element


def _figure(word: str, text: str) -> object:
    """A figure as a number in its unit, yes and no as such, anything else as it stands."""
    if text in _TRUE:
        return _TRUE[text]
    if text.startswith("$") or word in LISTS or word in CONDITIONS:
        return text
    ending = _FIGURE_ENDINGS.get(word) or ending_of(word)
    if ending is not None:
        return parse_quantity(text, ending, name=word)
    try:
        return float(text)
    except ValueError:
        return text


def _pairs(kind_id: str, row: Row) -> dict[str, str]:
    """The cell `settings` as name -> text, split at the first `=` of each piece."""
    pairs: dict[str, str] = {}
    for piece in row.get("settings", "").split(";"):
        if not piece.strip():
            continue
        name, sign, text = piece.partition("=")
        if not sign or name.strip() in pairs:
            raise TableFault(_TABLE, kind_id, "settings", piece.strip())
        pairs[name.strip()] = text.strip()
    return pairs
