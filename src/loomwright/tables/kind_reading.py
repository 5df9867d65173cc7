"""Is this entry of the kinds library a part kind that the network can build?

A TOML entry (or the rows of a job's sheet `kinds` brought into the same shape) goes in, a `Kind` comes out, or a
`TableFault` that names the kind and the cell. Checked: words of the entry, duty, terminals and inner nodes of each
element, figures its type needs and takes, settings that are named and not declared, conditions on settings that do not
exist.

Three settings come by themselves: `bolted_to` where the kind has a case, `variable` and `momentary` where it has
positions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import cast

from loomwright.refusals import TableFault
from loomwright.tables.element_types import COMMON, LISTS, TYPES
from loomwright.tables.kind_records import DUTIES, Kind, KindElement, KindSetting, KindTerminal, Param

__all__ = ["kind_from_entry"]

Entry = Mapping[str, object]

_KIND_WORDS = {
    "title",
    "group",
    "duty",
    "terminals",
    "settings",
    "elements",
    "variable",
    "positions",
    "positions_by",
    "rest",
    "momentary",
    "case",
    "numbered",
    "needs_one_of",
    "note",
}
_TERMINAL_WORDS = {"required", "max_wires", "polarity"}
_SETTING_WORDS = {"default", "unit", "number", "allowed", "signed", "typical", "scale", "source", "help"}
_ELEMENT_WORDS = {"name", "type", "between", "only_if"}


def kind_from_entry(kind_id: str, entry: Entry, *, table: str = "kinds") -> Kind:
    """The kind that an entry describes.

    Args:
        kind_id: its id.
        entry: the entry as read.
        table: where it stands, for the refusal.
    Raises:
        TableFault: anything in it that cannot be used.
    """
    _only(table, kind_id, entry, _KIND_WORDS)
    duty = str(entry.get("duty", ""))
    if duty not in DUTIES:
        raise TableFault(table, kind_id, "duty", duty)
    terminals = tuple(_terminal(table, kind_id, name, value) for name, value in _table(entry, "terminals").items())
    case = str(entry.get("case", ""))
    positions = _words(entry.get("positions", ()))
    momentary = _words(entry.get("momentary", ()))
    variable = str(entry.get("variable", ""))
    declared = [_setting(table, kind_id, name, value) for name, value in _table(entry, "settings").items()]
    elements = tuple(_element(table, kind_id, value) for value in cast(Sequence[Entry], entry.get("elements", ())))
    kind = Kind(
        id=kind_id,
        title=str(entry.get("title", kind_id)),
        group=str(entry.get("group", "")),
        duty=duty,
        terminals=terminals,
        settings=(*declared, *_settings_that_come(declared, case, positions, variable, momentary)),
        elements=elements,
        variable=variable,
        positions=positions,
        rest=str(entry.get("rest", positions[0] if positions else "")),
        momentary=momentary,
        positions_by=_positions_by(entry),
        case=case,
        numbered=entry.get("numbered") is True,
        needs_one_of=tuple(_words(group) for group in cast(Sequence[object], entry.get("needs_one_of", ()))),
        note=str(entry.get("note", "")),
    )
    _check(table, kind)
    return kind


def _terminal(table: str, kind_id: str, name: str, value: object) -> KindTerminal:
    entry = cast(Entry, value)
    _only(table, f"{kind_id}.{name}", entry, _TERMINAL_WORDS)
    wires = entry.get("max_wires")
    polarity = entry.get("polarity", 0)
    if polarity not in (-1, 0, 1):
        raise TableFault(table, f"{kind_id}.{name}", "polarity", polarity)
    return KindTerminal(
        name=name,
        required=entry.get("required") is True,
        max_wires=None if wires is None else cast(int, wires),
        polarity=polarity,
    )


def _setting(table: str, kind_id: str, name: str, value: object) -> KindSetting:
    entry = cast(Entry, value)
    _only(table, f"{kind_id}.{name}", entry, _SETTING_WORDS)
    default = entry.get("default")
    if default is not None and not isinstance(default, str):
        default = float(cast(float, default))
    unit = str(entry.get("unit", ""))
    if not entry.get("help"):
        raise TableFault(table, f"{kind_id}.{name}", "help", "")
    return KindSetting(
        name=name,
        default=default,
        unit=unit,
        number=bool(unit) or isinstance(default, float) or entry.get("number") is True,
        allowed=_words(entry.get("allowed", ())),
        signed=entry.get("signed") is True,
        typical=entry.get("typical") is True,
        scale=int(cast(int, entry.get("scale", 0))),
        source=str(entry.get("source", "")),
        help=str(entry["help"]),
    )


def _settings_that_come(
    declared: Sequence[KindSetting], case: str, positions: tuple[str, ...], variable: str, momentary: tuple[str, ...]
) -> list[KindSetting]:
    """The settings every kind with a case, or with positions, has without saying so."""
    there = {setting.name for setting in declared}
    come: list[KindSetting] = []
    if case and not case.startswith("$"):
        line = "the metal its case is bolted to; none leaves it free"
        come.append(KindSetting(name="bolted_to", default=case, help=line))
    if positions:
        line = "the state variable its position is; left out: the part's own id"
        come.append(KindSetting(name="variable", default=variable, help=line))
        line = "positions that spring back when let go"
        come.append(KindSetting(name="momentary", default=" ".join(momentary), help=line))
    return [setting for setting in come if setting.name not in there]


def _element(table: str, kind_id: str, entry: Entry) -> KindElement:
    name = str(entry.get("name", ""))
    kind_of = str(entry.get("type", ""))
    if not name or kind_of not in TYPES:
        raise TableFault(table, f"{kind_id}.{name or 'element'}", "type", kind_of)
    params = {word: _param(word, value) for word, value in entry.items() if word not in _ELEMENT_WORDS}
    conditions = {word: _words(value) for word, value in _table(entry, "only_if").items()}
    return KindElement(
        name=name,
        type=kind_of,
        between=_words(entry.get("between", ())),
        params=MappingProxyType(params),
        only_if=MappingProxyType(conditions),
    )


def _positions_by(entry: Entry) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    tables = _table(entry, "positions_by")
    choices = {
        name: {word: _words(value) for word, value in cast(Entry, table).items()} for name, table in tables.items()
    }
    return MappingProxyType({name: MappingProxyType(choice) for name, choice in choices.items()})


def _check(table: str, kind: Kind) -> None:
    """Everything in the kind refers to something that is there."""
    settings = {setting.name for setting in kind.settings}
    terminals = {terminal.name for terminal in kind.terminals}
    names = [element.name for element in kind.elements]
    if len(names) != len(set(names)):
        raise TableFault(table, kind.id, "elements", "the same name twice")
    for group in kind.needs_one_of:
        for name in group:
            _known(table, kind.id, "needs_one_of", name, terminals)
    for setting in kind.settings:
        if isinstance(setting.default, str) and setting.default.startswith("$"):
            _known(table, f"{kind.id}.{setting.name}", "default", setting.default[1:], settings)
    for element in kind.elements:
        _check_element(table, kind, element, terminals, settings)


def _check_element(table: str, kind: Kind, element: KindElement, terminals: set[str], settings: set[str]) -> None:
    where = f"{kind.id}.{element.name}"
    shape = TYPES[element.type]
    fewest, most = shape.ends
    if not fewest <= len(element.between) <= most:
        raise TableFault(table, where, "between", " ".join(element.between))
    for node in element.between:
        if node in ("case", "_case") and not kind.case:
            raise TableFault(table, where, "between", f"{node}, and the kind says no case")
        if not node.startswith(("_", "@")):
            _known(table, where, "between", node, terminals)
    known = {word for group in shape.needs for word in group} | set(shape.takes) | set(COMMON)
    for word, value in element.params.items():
        _known(table, where, "figure", word, known)
        if isinstance(value, str) and value.startswith("$"):
            _known(table, where, word, value[1:], settings)
    if not any(all(word in element.params for word in group) for group in shape.needs):
        raise TableFault(table, where, "figures", "not all that the type needs")
    for word in element.only_if:
        _known(table, where, "only_if", word, settings | terminals)
    coil = element.params.get("coil")
    if coil is not None:
        _known(table, where, "coil", str(coil), {other.name for other in kind.elements if other.type == "coil"})


def _known(table: str, row: str, column: str, found: str, allowed: set[str]) -> None:
    if found not in allowed:
        raise TableFault(table, row, column, found)


def _only(table: str, row: str, entry: Entry, allowed: set[str]) -> None:
    for word in entry:
        _known(table, row, "word", word, allowed)


def _table(entry: Entry, word: str) -> Entry:
    return cast(Entry, entry.get(word, {}))


def _words(value: object) -> tuple[str, ...]:
    if isinstance(value, str):
        return tuple(value.split())
    return tuple(str(item) for item in cast(Sequence[object], value))


def _param(word: str, value: object) -> Param:
    if word in LISTS and not (isinstance(value, str) and value.startswith("$")):
        return _words(value)
    if isinstance(value, bool | str):
        return value
    if isinstance(value, int | float):
        return float(value)
    return _words(value)
