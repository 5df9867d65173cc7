"""What is a part, once its settings are known?

A kind and what a part's row says go in; figures come out: defaults filled, text read with its unit, words checked, and
the elements with every `$name` replaced. Defaults marked with a scale are for a 12 V part and go with the part's rated
volts. A setting with no default and nothing written is *unknown*: it is left out, and so is any figure that names it,
so that nothing is judged by a number nobody gave.

    resistor from watts     ohm = volt * (volt - less_v) / watt
    share of a track        ohm = ohm * frac,  or ohm * (1 - rest_frac)
    held by its driver      constant current limit_a above limit_a * ohm volts, ohms below
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import cast

from loomwright.quantities import parse_quantity
from loomwright.refusals import OutOfReach
from loomwright.tables.element_types import LISTS
from loomwright.tables.kind_records import Kind, KindElement, KindSetting, KindTerminal, Param, empty

__all__ = ["case_of", "design_a", "elements_of", "positions_of", "resolve_settings", "terminal_of"]

Values = Mapping[str, float | str]

LIBRARY_V = 12.0
"""Volts the library's defaults are for [V]."""

_MORE_THAN_NOTHING = ("ohm", "mohm", "V", "W", "mm2")
_LIKE_RESISTORS = ("resistor", "coil", "field")


def resolve_settings(kind: Kind, written: Mapping[str, str], rated_v: float = LIBRARY_V) -> Values:
    """The settings of a part: what is written, else the kind's default; unknown ones are left out.

    Args:
        kind: its kind.
        written: setting -> text, as in the part's row; blank = default.
        rated_v: volts the part is made for; the defaults follow it. [V]
    Raises:
        OutOfReach: a setting the kind does not have, a figure that is none, or a word that may not stand there.
    Example:
        >>> from loomwright.tables.kinds import load_kinds
        >>> resolve_settings(load_kinds()["fan"], {"running_a": "18"})["running_a"]
        18.0
    """
    known = {setting.name: setting for setting in kind.settings}
    for name in written:
        if name not in known:
            raise OutOfReach(f"setting {name} of kind {kind.id}", name, " ".join(sorted(known)) or "no settings")
    values: dict[str, float | str] = {}
    for name, setting in known.items():
        text = written.get(name, "").strip()
        value = _read(kind, setting, text) if text else _default(setting, rated_v)
        if value is not None:
            values[name] = value
    return MappingProxyType(_followed(values))


def elements_of(kind: Kind, values: Values, wired: Collection[str] | None = None) -> tuple[KindElement, ...]:
    """The elements a part has, with figures in place of `$names`; conditions settled.

    Args:
        kind: its kind.
        values: from `resolve_settings`.
        wired: its terminals that have a wire; None = take them all as wired.
    """
    units = {setting.name: setting.unit for setting in kind.settings}
    return tuple(
        _filled(element, units, values) for element in kind.elements if _is_there(element, units, values, wired)
    )


def positions_of(kind: Kind, values: Values) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The positions of a part in their order, and those that spring back; the rest position is the first."""
    positions = kind.positions
    for name, choices in kind.positions_by.items():
        positions = choices.get(str(values.get(name, "")), positions)
    return positions, tuple(str(values.get("momentary", "")).split())


def case_of(kind: Kind, values: Values) -> str:
    """The metal a part's case is bolted to; empty where it has none or hangs free."""
    metal = str(values.get("bolted_to", kind.case)) if kind.case else ""
    return "" if metal == "none" else metal


def terminal_of(kind: Kind, name: str) -> KindTerminal | None:
    """The terminal of that name, patterns of numbered kinds understood; None where the kind has no such terminal.

    Example:
        >>> from loomwright.tables.kinds import load_kinds
        >>> terminal_of(load_kinds()["inline_connector"], "7p").max_wires
        1
    """
    for terminal in kind.terminals:
        if terminal.name == name:
            return terminal
        if kind.numbered and terminal.name.startswith("*"):
            number = name.removesuffix(terminal.name[1:])
            if (
                number.isascii()
                and number.isdigit()
                and not number.startswith("0")
                and number + terminal.name[1:] == name
            ):
                return replace(terminal, name=name)
    return None


def design_a(element: KindElement, at_v: float) -> float | None:
    """The current an element is made for at the given volts, where its figures say. [A]

    Args:
        element: from `elements_of`.
        at_v: volts across it, the system's as a rule. [V]
    """
    params = element.params
    if "rated_a" in params:
        return _figure(params, "rated_a")
    if element.type == "lamp":
        return _figure(params, "watt") / _figure(params, "volt")
    if element.type in _LIKE_RESISTORS:
        return at_v / _figure(params, "ohm")
    if element.type == "motor":
        return _figure(params, "running_a")
    if element.type == "constant_current":
        amps = _figure(params, "amps")
        return min(amps, at_v / _figure(params, "ohm")) if "ohm" in params else amps
    if element.type == "constant_power":
        return _figure(params, "watt") / at_v
    return None


def _figure(params: Mapping[str, Param], name: str) -> float:
    return cast(float, params[name])


def _default(setting: KindSetting, rated_v: float) -> float | str | None:
    if isinstance(setting.default, float):
        return setting.default * (rated_v / LIBRARY_V) ** setting.scale
    return setting.default


def _read(kind: Kind, setting: KindSetting, text: str) -> float | str:
    name = f"setting {setting.name} of kind {kind.id}"
    if not setting.number:
        if setting.allowed and text not in setting.allowed:
            raise OutOfReach(name, text, " ".join(setting.allowed))
        return text
    value = parse_quantity(text, setting.unit, name=name)
    if value < 0 and not setting.signed:
        raise OutOfReach(name, text, "nothing or more")
    if value == 0 and setting.unit in _MORE_THAN_NOTHING:
        raise OutOfReach(name, text, "more than nothing")
    if setting.unit == "frac" and not 0 < value < 1:
        raise OutOfReach(name, text, "more than 0 and less than 1")
    return value


def _followed(values: dict[str, float | str]) -> dict[str, float | str]:
    """The same values with `$other` replaced by what that setting has; left out where that is unknown."""
    followed: dict[str, float | str] = {}
    for name, value in values.items():
        seen = {name}
        end: float | str | None = value
        while isinstance(end, str) and end.startswith("$") and end[1:] not in seen:
            seen.add(end[1:])
            end = values.get(end[1:])
        if end is not None:
            followed[name] = end
    return followed


def _is_there(element: KindElement, units: Mapping[str, str], values: Values, wired: Collection[str] | None) -> bool:
    """Whether all conditions of an element hold; a name that is no setting (`units` has them all) is a terminal."""
    for name, words in element.only_if.items():
        if name not in units:
            state = "wired" if wired is None or name in wired else "open"
        elif words[0] in ("given", "missing"):
            state = "given" if values.get(name, "") != "" else "missing"
        else:
            state = str(values.get(name, ""))
        if state not in words:
            return False
    return True


def _filled(element: KindElement, units: Mapping[str, str], values: Values) -> KindElement:
    params: dict[str, Param] = {}
    for word, value in element.params.items():
        filled = _value(word, value, values, units)
        if filled is not None:
            params[word] = filled
    law = element.type
    if law == "resistor":
        params = _in_ohms(params)
        if "limit_a" in params:
            law, params = "constant_current", _held(params)
    between = tuple(_node(node, values) for node in element.between)
    return KindElement(name=element.name, type=law, between=between, params=MappingProxyType(params), only_if=empty())


def _value(word: str, value: Param, values: Values, units: Mapping[str, str]) -> Param | None:
    """One figure with its `$name` replaced; None where that setting is unknown."""
    if not isinstance(value, str) or not value.startswith("$"):
        return value
    found = values.get(value[1:])
    if found is None or found == "":
        return None
    if word in LISTS:
        return tuple(str(found).split())
    if isinstance(found, float) and units[value[1:]] == "mohm" and not word.endswith("_mohm"):
        return found / 1000.0
    return found


def _node(node: str, values: Values) -> str:
    return f"@{values[node[2:]]}" if node.startswith("@$") else node


def _in_ohms(params: dict[str, Param]) -> dict[str, Param]:
    """A resistor's figures brought down to ohms, whichever way they were given."""
    rest = {
        word: value for word, value in params.items() if word not in ("watt", "volt", "less_v", "frac", "rest_frac")
    }
    if "ohm" not in params:
        volt = _figure(params, "volt")
        rest.setdefault("rated_a", _figure(params, "watt") / volt)
        less_v = _figure(params, "less_v") if "less_v" in params else 0.0
        rest["ohm"] = volt * (volt - less_v) / _figure(params, "watt")
    if "frac" in params:
        rest["ohm"] = cast(float, rest["ohm"]) * _figure(params, "frac")
    if "rest_frac" in params:
        rest["ohm"] = cast(float, rest["ohm"]) * (1.0 - _figure(params, "rest_frac"))
    return rest


def _held(params: Mapping[str, Param]) -> dict[str, Param]:
    """A winding whose driver holds its current: ohms up to that current, the current above."""
    amps = _figure(params, "limit_a")
    held = {word: value for word, value in params.items() if word not in ("limit_a", "copper")}
    return {**held, "amps": amps, "low_v": amps * _figure(params, "ohm")}
