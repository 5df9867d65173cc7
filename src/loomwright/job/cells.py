"""What does one cell hold, and how is it written back?

Text in, value out, by the kind of the column; a cell that cannot be read says what was found, what may stand there
and what would mend it. The other way round a value has one usual form; where the typed text differs from it, reading
keeps both.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from loomwright.job.colours import likely_colour, parse_colour
from loomwright.job.columns import Column
from loomwright.job.conditions import Condition, Must, parse_condition, parse_must
from loomwright.job.figures import is_open_comma, plain_figure, text_of_figure
from loomwright.job.fixed_map import FixedMap
from loomwright.job.nearest import nearest
from loomwright.job.vocabulary import allowed_words
from loomwright.quantities import unit_word
from loomwright.refusals import OutOfReach
from loomwright.tables.limits import COLOURS

__all__ = ["CellFault", "figure_with_point", "is_name", "read_cell", "write_cell"]

_NAME = re.compile(r"[\w-]+")
_POINT = re.compile(r"~?[\w-]+(?:\.\S+)?")
_COMMA_FIGURE = re.compile(r"[+-]?[0-9][0-9.,]*,[0-9.,]*[0-9]\s*[^\s0-9,;=]*")
_COUNT = re.compile(r"[+-]?[0-9]{1,15}(?:\.0*)?")
_YES_NO = {"yes": True, "no": False, "y": True, "n": False, "true": True, "false": False}
_SHOWN = {
    "full": "full",
    "dim": "dim",
    "dark": "dark",
    "open": "open",
    "ol": "open",
    "floating": "floating",
    "pulsing": "pulsing",
    "pulses": "pulsing",
    "blinks": "pulsing",
}
_LONGEST_CELL = 32_767


class CellFault(OutOfReach):
    """A cell that cannot be read. mend: what would mend it, in words."""

    def __init__(self, name: str, found: object, allowed: str, mend: str = "") -> None:
        super().__init__(name, found, allowed)
        self.args = (name, found, allowed, mend)
        self.mend = mend


def is_name(text: str) -> bool:
    """Whether a text can be an id: letters, figures, `-` and `_` only."""
    return _NAME.fullmatch(text) is not None


def read_cell(column: Column, text: str) -> Any:
    """The value a cell holds.

    Args:
        column: what may stand there.
        text: what stands there, not blank.
    Raises:
        CellFault: it cannot be read as what the column holds.
    Limits:
        Whether an id that is named exists is asked of the whole job, in `checking`.
    """
    plain = text.strip()
    if len(plain) > _LONGEST_CELL:
        raise CellFault(column.name, plain[:40] + " ...", f"at most {_LONGEST_CELL} letters", "Shorten the text")
    return _READERS[column.kind](column, plain)


def write_cell(column: Column, value: Any) -> str:
    """The usual form of a value in a cell; empty for a blank one, and for what a blank cell means anyway."""
    if value is None or value == "" or value == column.blank:
        return ""
    writer = _WRITERS.get(column.kind)
    return (value if type(value) is str else str(value)) if writer is None else writer(value)


def _text(_column: Column, text: str) -> str:
    return text


def _id(column: Column, text: str) -> str:
    if is_name(text):
        return text
    better = re.sub(r"[^\w-]+", "_", text).strip("_")
    raise CellFault(column.name, text, "letters, figures, - and _", f"Write {better}" if better else "Give it a name")


def _word(column: Column, text: str) -> str:
    return _one_of(column, text, allowed_words(column))


def _words(column: Column, text: str) -> tuple[str, ...]:
    allowed = allowed_words(column)
    return tuple(_one_of(column, word, allowed) for word in _list(column, text))


def _one_of(column: Column, text: str, allowed: tuple[str, ...]) -> str:
    if text in allowed:
        return text
    plain = _plain_word(text)
    for word in allowed:
        if _plain_word(word) == plain:
            return word
    meant = nearest(text, allowed)
    raise CellFault(column.name, text, " ".join(allowed), f"Write {meant}" if meant else "Write one of these words")


def _plain_word(text: str) -> str:
    return text.lower().replace(" ", "_").replace("-", "_")


def _number(column: Column, text: str) -> float:
    try:
        value = plain_figure(text, column.unit, name=column.name)
    except OutOfReach as refusal:
        raise CellFault(column.name, text, refusal.allowed, _mend_figure(text)) from None
    if (column.least is not None and value < column.least) or (column.most is not None and value > column.most):
        mend = "Put it right, or leave the cell blank to have it decided" if not column.required else "Put it right"
        raise CellFault(column.name, text, _range(column), mend)
    return value


def _mend_figure(text: str) -> str:
    if is_open_comma(text):
        figure = re.match(r"[+-]?[0-9.,]+", text)
        digits = (figure.group(0) if figure else text).replace(".", "")
        if digits.count(",") == 1:
            return f"Write {digits.replace(',', '.')} or {digits.replace(',', '')}, whichever is meant"
        return "Write it with a decimal point and nothing between thousands"
    return "Write the figure, with its unit where that is another one"


def _range(column: Column) -> str:
    unit = f" {unit_word(column.unit)}".rstrip() if column.unit else ""
    least = "" if column.least is None else text_of_figure(column.least)
    most = "" if column.most is None else text_of_figure(column.most)
    if least and most:
        return f"{least} to {most}{unit}"
    return f"{least} or more{unit}" if least else f"{most} or less{unit}"


def _count(column: Column, text: str) -> int:
    if _COUNT.fullmatch(text) is None:
        raise CellFault(column.name, text, f"a whole number, {_range(column)}", "Write a whole number")
    value = int(text.split(".")[0])
    if (column.least is not None and value < column.least) or (column.most is not None and value > column.most):
        raise CellFault(column.name, text, f"a whole number, {_range(column)}", "Put it right, or leave the cell blank")
    return value


def _yes_no(column: Column, text: str) -> bool:
    found = _YES_NO.get(text.lower())
    if found is None:
        raise CellFault(column.name, text, "yes or no", "Write yes or no")
    return found


def _colour(column: Column, text: str) -> str:
    found = parse_colour(text)
    if found is not None:
        return found
    meant = likely_colour(text)
    allowed = f"IEC 60757 codes, base/tracer: {' '.join(COLOURS)}"
    raise CellFault(
        column.name, text, allowed, f"Write {meant}, if that is the colour" if meant else "Write WH/BU or the like"
    )


def _point(column: Column, text: str) -> str:
    if _POINT.fullmatch(text) is None:
        raise CellFault(
            column.name, text, "part.terminal, such as fan1.+, or a metal", "Write the part, a point, the terminal"
        )
    return text


def _list(column: Column, text: str) -> tuple[str, ...]:
    if "," in text or ";" in text:
        spaced = " ".join(text.replace(",", " ").replace(";", " ").split())
        raise CellFault(column.name, text, "words apart by spaces", f"Write {spaced}")
    return tuple(text.split())


def _joins(column: Column, text: str) -> tuple[tuple[str, ...], ...]:
    groups = tuple(tuple(group.split("+")) for group in text.split())
    for group in groups:
        if len(group) < 2 or "" in group or len(set(group)) != len(group):
            allowed = "terminals with + between them, groups apart by spaces: 30+58 56+57"
            raise CellFault(
                column.name, text, allowed, "Name at least two terminals that meet, or leave the cell blank"
            )
    return groups


def _settings(column: Column, text: str) -> FixedMap[str, str]:
    found: dict[str, str] = {}
    for piece in text.split(";"):
        if not piece.strip():
            continue
        name, sign, value = (each.strip() for each in piece.partition("="))
        if not sign or not name:
            raise CellFault(column.name, piece.strip(), "name=value; name=value", "Write the name, = and the value")
        if name in found:
            raise CellFault(column.name, name, "each setting once", f"Keep one {name}")
        found[name] = value
    return FixedMap(found)


def figure_with_point(name: str, value: str) -> str:
    """A figure that is kept as text, with its decimal comma as a point; any other text as it stands.

    Raises:
        CellFault: a comma that may stand between thousands.
    Example:
        >>> figure_with_point("running_a", "1,5 A"), figure_with_point("closes_when", "engine=idle")
        ('1.5 A', 'engine=idle')
    """
    if _COMMA_FIGURE.fullmatch(value) is None:
        return value
    if is_open_comma(value):
        allowed = "a number with a decimal point and nothing between thousands"
        raise CellFault(name, value, allowed, _mend_figure(value))
    return value.replace(",", ".")


def _condition(column: Column, text: str) -> Condition:
    try:
        return parse_condition(text)
    except OutOfReach as refusal:
        raise CellFault(column.name, text, refusal.allowed, "Write it like key=start, selector=P|N") from None


def _must(column: Column, text: str) -> Must:
    try:
        return parse_must(text)
    except OutOfReach as refusal:
        raise CellFault(column.name, text, refusal.allowed, "Write one of these, with V or A behind a figure") from None


def _value(column: Column, text: str) -> float | str:
    shown = _SHOWN.get(text.lower())
    if shown is not None:
        return shown
    try:
        return plain_figure(text, "", name=column.name)
    except OutOfReach:
        words = " ".join(dict.fromkeys(_SHOWN.values()))
        mend = _mend_figure(text) if is_open_comma(text) else "Write the figure alone; its unit has a column of its own"
        raise CellFault(column.name, text, f"a figure, or {words}", mend) from None


def _joined_words(words: tuple[str, ...]) -> str:
    return " ".join(words)


def _text_of_settings(settings: Mapping[str, str]) -> str:
    return "; ".join(f"{name}={value}" for name, value in settings.items())


def _text_of_joins(groups: tuple[tuple[str, ...], ...]) -> str:
    return " ".join("+".join(group) for group in groups)


def _text_of_value(value: float | str) -> str:
    return value if isinstance(value, str) else text_of_figure(value)


def _own_text(value: Condition | Must) -> str:
    return value.text


_READERS: dict[str, Callable[[Column, str], Any]] = {
    "text": _text,
    "id": _id,
    "ref": _text,
    "refs": _list,
    "word": _word,
    "words": _words,
    "number": _number,
    "count": _count,
    "yes_no": _yes_no,
    "colour": _colour,
    "point": _point,
    "list": _list,
    "settings": _settings,
    "joins": _joins,
    "condition": _condition,
    "must": _must,
    "value": _value,
}

_WRITERS: dict[str, Callable[[Any], str]] = {
    "refs": _joined_words,
    "words": _joined_words,
    "list": _joined_words,
    "number": text_of_figure,
    "count": str,
    "yes_no": lambda value: "yes" if value else "no",
    "settings": _text_of_settings,
    "joins": _text_of_joins,
    "condition": _own_text,
    "must": _own_text,
    "value": _text_of_value,
}
