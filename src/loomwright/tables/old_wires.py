"""What may an old wire be, and what would a meter show on it?

Functions, looks (the states a wire is looked at in), colours, cautions and the figures of the survey, each from its
table. What a function shows is a word: `live`, `part` (of the battery's volts), `pulsing`, `floating`, `earthed`;
blank where anything may be read. A job may bring functions of its own, as rows of text with the same headings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from types import MappingProxyType

from loomwright.refusals import TableFault
from loomwright.tables.load import read_rows

__all__ = [
    "GLOWS",
    "NONE_OF_THESE",
    "OWN_SHEET",
    "SEEN",
    "SHOWS",
    "WireCaution",
    "WireColour",
    "WireFunction",
    "WireLook",
    "functions_with",
    "survey_figure",
    "wire_cautions",
    "wire_colours",
    "wire_functions",
    "wire_looks",
]

SHOWS = ("live", "part", "pulsing", "floating", "earthed")
"""What a voltmeter may show, in the order of the bands."""
GLOWS = ("full", "dim", "dark", "earthed")
"""What a test lamp may show; earthed: it lights from the battery's plus."""
SEEN = ("nothing", "charge lamp", "oil lamp", "handbrake lamp", "interior lamp", "needle", "horn")
"""What may light, move or sound while a wire is earthed through the test lamp."""
NONE_OF_THESE = "none_of_these"
"""The function of a wire that is in no row."""
OWN_SHEET = "old_wire_functions"
"""The sheet a job brings functions of its own in, and our table of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WireFunction:
    """One function an old wire may have.

    share: how many of it a car usually has. [-]   most: the most it can have; None: no bound.
    shows: look -> what a voltmeter shows on the source stub.   lamp: what a test lamp shows in run.
    seen: what else happens when the wire is earthed through that lamp.
    least_ohm, most_ohm: load stub to the body, battery off; None: not known. [ohm]
    source_kind, load_kind: the part that stands for the end of the old car.   live_when: of a source, where known.
    source_ohm: resistance of what feeds it, where it is more than wire. [ohm]
    control: the look that proves it.   fate, reason: what usually becomes of it.   near: words of places.
    """

    key: str
    words: str
    share: float
    most: int | None
    shows: Mapping[str, str] = field(hash=False)
    lamp: str
    seen: str
    least_ohm: float | None
    most_ohm: float | None
    source_kind: str
    load_kind: str
    live_when: str
    source_ohm: float | None
    control: str
    fate: str
    reason: str
    near: tuple[str, ...]
    source: str

    @property
    def is_known(self) -> bool:
        """Whether the table says what is read on it."""
        return bool(self.shows)


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLook:
    """One state a wire is looked at in. minutes: what it takes. [min]

    position: the key's position; empty where any.   control, at: variables that set it, and their values.
    """

    key: str
    words: str
    position: str
    control: tuple[str, ...]
    at: tuple[str, ...]
    minutes: float
    warning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WireColour:
    """What a colour stood for in one national habit."""

    convention: str
    colour: str
    function: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WireCaution:
    """What to know before a probe touches a wire.

    colours, places: both must fit where both are named.   called: words that alone call for it.
    functions: that call for it where they are likely.
    """

    key: str
    colours: tuple[str, ...]
    called: tuple[str, ...]
    places: tuple[str, ...]
    functions: tuple[str, ...]
    says: str
    source: str


@cache
def wire_functions() -> tuple[WireFunction, ...]:
    """The functions of the table, none-of-these last.

    Source:
        per row of `old_wire_functions.csv`: common practice, no source.
    Example:
        >>> wire_functions()[0].key, wire_functions()[-1].key
        ('permanent_unfused', 'none_of_these')
    """
    return functions_with(())


def functions_with(own: Iterable[Mapping[str, str]]) -> tuple[WireFunction, ...]:
    """Our functions and a job's own; a row of the same name stands in place of ours.

    Args:
        own: rows of text with the table's headings; headings that are not there count as blank.
    Raises:
        TableFault: a row that cannot be read.
    """
    return _functions(tuple(tuple(row.items()) for row in own))


@lru_cache(maxsize=8)
def _functions(own: tuple[tuple[tuple[str, str], ...], ...]) -> tuple[WireFunction, ...]:
    rows: dict[str, Mapping[str, str]] = {row["function"]: row for row in read_rows(OWN_SHEET)}
    for number, row in enumerate(map(dict, own), start=2):
        key = row.get("function", "").strip()
        if not key:
            raise TableFault(OWN_SHEET, number, "function", "blank; give it a name")
        rows[key] = row
    last = rows.pop(NONE_OF_THESE)
    return tuple(_function(number, row) for number, row in enumerate([*rows.values(), last], start=2))


@cache
def wire_looks() -> tuple[WireLook, ...]:
    """The looks, cheapest of the key first.

    Source:
        per row of `old_wire_looks.csv`: common practice, no source.
    """
    return tuple(
        WireLook(
            key=row["look"],
            words=row["words"],
            position=row["key"],
            control=tuple(row["control"].split()),
            at=tuple(row["at"].split()),
            minutes=float(row["minutes"]),
            warning=row["warning"],
        )
        for row in read_rows("old_wire_looks")
    )


@cache
def wire_colours() -> tuple[WireColour, ...]:
    """What colours stood for.

    Source:
        per row of `old_wire_colours.csv`: common practice, no source.
    """
    return tuple(
        WireColour(convention=row["convention"], colour=row["colour"], function=row["function"])
        for row in read_rows("old_wire_colours")
    )


@cache
def wire_cautions() -> tuple[WireCaution, ...]:
    """What to know before a probe.

    Source:
        per row of `old_wire_cautions.csv`: common practice, no source.
    """
    return tuple(
        WireCaution(
            key=row["caution"],
            colours=tuple(row["colours"].split()),
            called=_phrases(row["called"]),
            places=_phrases(row["places"]),
            functions=tuple(row["functions"].split()),
            says=row["says"],
            source=row["source"],
        )
        for row in read_rows("old_wire_cautions")
    )


def survey_figure(name: str) -> float:
    """A figure of the survey, in the unit its row says. [-]

    Args:
        name: its row in `old_wire_figures.csv`.
    Raises:
        TableFault: no such row.
    Source:
        per row: typical judgement, none measured.
    Example:
        >>> survey_figure("dead_frac")
        0.12
    """
    found = _figures().get(name)
    if found is None:
        raise TableFault("old_wire_figures", 1, name, "no such row")
    return found


@cache
def _figures() -> Mapping[str, float]:
    return MappingProxyType({row["name"]: float(row["value"]) for row in read_rows("old_wire_figures")})


def _phrases(text: str) -> tuple[str, ...]:
    return tuple(word.replace("_", " ") for word in text.split())


def _function(number: int, row: Mapping[str, str]) -> WireFunction:
    volts = {look.key: _word(number, row, look.key, SHOWS) for look in wire_looks() if look.key not in _OTHER}
    known = {look: word for look, word in volts.items() if word}
    count = _number(number, row, "most")
    return WireFunction(
        key=row["function"].strip(),
        words=row.get("words", "") or row["function"].strip(),
        share=_number(number, row, "share") or 1.0,
        most=None if count is None else max(1, int(count)),
        shows=MappingProxyType(known),
        lamp=_word(number, row, "lamp", GLOWS),
        seen=_word(number, row, "seen", SEEN),
        least_ohm=_number(number, row, "least_ohm"),
        most_ohm=_number(number, row, "most_ohm"),
        source_kind=row.get("source_kind", ""),
        load_kind=row.get("load_kind", ""),
        live_when=row.get("live_when", ""),
        source_ohm=_number(number, row, "source_ohm"),
        control=row.get("control", ""),
        fate=row.get("fate", "") or "leave",
        reason=row.get("reason", ""),
        near=tuple(row.get("near", "").split()),
        source=row.get("source", ""),
    )


_OTHER = ("lamp", "seen", "ohms")


def _word(number: int, row: Mapping[str, str], column: str, allowed: tuple[str, ...]) -> str:
    text = row.get(column, "").strip()
    if text and text not in allowed:
        raise TableFault(OWN_SHEET, number, column, f"{text} is none of {' '.join(allowed)}")
    return text


def _number(number: int, row: Mapping[str, str], column: str) -> float | None:
    text = row.get(column, "").strip()
    if not text:
        return None
    try:
        found = float(text)
    except ValueError:
        raise TableFault(OWN_SHEET, number, column, f"{text} is no figure") from None
    if not 0.0 <= found < float("inf"):
        raise TableFault(OWN_SHEET, number, column, f"{text} is below nought or without bound")
    return found
