"""Which kinds of part are there, and what is each made of?

The library's kinds are TOML files in `kinds/`, one a chapter of the trade; a job adds its own in its sheet `kinds`
(`kind_rows`). Both give the same records. Controller abilities stand beside them in `kinds/abilities.toml`.
What a part of a kind is once its settings are known is in `kind_settings`; all of it can be had from here.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import cast

from loomwright.refusals import TableFault
from loomwright.tables.element_types import COMMON, CONDITIONS, LISTS, TYPES, ElementType
from loomwright.tables.kind_reading import kind_from_entry
from loomwright.tables.kind_records import DUTIES, Ability, Kind, KindElement, KindSetting, KindTerminal, Param
from loomwright.tables.kind_rows import kind_from_rows, kinds_from_rows
from loomwright.tables.kind_settings import (
    case_of,
    design_a,
    elements_of,
    positions_of,
    resolve_settings,
    terminal_of,
)
from loomwright.tables.load import read_toml, table_names

__all__ = [
    "COMMON",
    "CONDITIONS",
    "DIRECTIONS",
    "DUTIES",
    "LISTS",
    "TYPES",
    "Ability",
    "ElementType",
    "Kind",
    "KindElement",
    "KindSetting",
    "KindTerminal",
    "Param",
    "case_of",
    "design_a",
    "elements_of",
    "kind_from_rows",
    "kinds_from_rows",
    "load_abilities",
    "load_kinds",
    "positions_of",
    "resolve_settings",
    "terminal_of",
]

DIRECTIONS = ("in", "out", "power", "earth", "bus")
"""Which way an ability works, seen from the controller."""

_ABILITIES = "abilities"
_ABILITY_WORDS = {
    "title",
    "direction",
    "description",
    "on_ohm",
    "limit_factor",
    "input_ohm",
    "source_v",
    "source_ohm",
    "source",
}


@cache
def load_kinds() -> Mapping[str, Kind]:
    """The library of part kinds, id -> kind, in order of id.

    Raises:
        TableFault: an entry that cannot be used, or an id that stands in two files.
    Example:
        >>> load_kinds()["fan"].title
        'cooling fan, one speed'
    """
    kinds: dict[str, Kind] = {}
    for name in table_names("kinds", "toml"):
        if name == _ABILITIES:
            continue
        for kind_id, entry in read_toml("kinds", name).items():
            if kind_id in kinds:
                raise TableFault(f"kinds/{name}", kind_id, "id", "stands in another file too")
            filled = {"group": name, **cast(Mapping[str, object], entry)}
            kinds[kind_id] = kind_from_entry(kind_id, filled, table=f"kinds/{name}")
    return MappingProxyType(dict(sorted(kinds.items())))


@cache
def load_abilities() -> Mapping[str, Ability]:
    """What a controller pin can be, ability -> what it is electrically, in the file's order.

    Raises:
        TableFault: an entry that cannot be used.
    Example:
        >>> load_abilities()["temperature_input"].direction
        'in'
    """
    table = f"kinds/{_ABILITIES}"
    abilities: dict[str, Ability] = {}
    for name, value in read_toml("kinds", _ABILITIES).items():
        entry = cast(Mapping[str, object], value)
        for word in entry:
            if word not in _ABILITY_WORDS:
                raise TableFault(table, name, "word", word)
        if entry.get("direction") not in DIRECTIONS:
            raise TableFault(table, name, "direction", entry.get("direction"))
        figures = {word: float(cast(float, entry[word])) for word in _FIGURES if word in entry}
        abilities[name] = Ability(
            id=name,
            title=str(entry["title"]),
            direction=str(entry["direction"]),
            description=str(entry["description"]),
            source=str(entry.get("source", "common-practice")),
            **figures,
        )
    return MappingProxyType(abilities)


_FIGURES = ("on_ohm", "limit_factor", "input_ohm", "source_v", "source_ohm")
