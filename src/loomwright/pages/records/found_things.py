"""What in a job answers to some words? Ids, names, colours, places, circuits, kinds and terminals are looked at.

    rank: the id itself, an id that begins so, a word of the name, any other cell, a piece of a word

Every word that is typed must be found in the row. Rows come by rank, then by id as people count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from loomwright.findings import id_order
from loomwright.pages.addresses import JobLinks
from loomwright.store.snapshot import Snapshot

__all__ = ["Found", "Group", "found_in"]

_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "wires": ("id", "colour", "from", "to", "circuit", "cable", "twist", "via", "notes"),
    "parts": ("id", "name", "kind", "place", "circuit", "role", "notes"),
    "circuits": ("id", "name", "class", "feed", "notes"),
    "connectors": ("id", "part", "family", "mates", "notes"),
    "places": ("id", "name", "zone", "notes"),
    "runs": ("id", "from", "to", "notes"),
    "controller_pins": ("id", "part", "terminal", "abilities", "notes"),
    "needs": ("id", "does", "part", "terminal", "ability", "notes"),
    "contacts": ("part", "gang", "position", "joins", "notes"),
    "old_wires": ("id", "colour", "where", "plug", "fate", "joins_to", "notes"),
    "snags": ("id", "text", "stage", "status"),
    "questions": ("id", "text", "stage", "answer"),
}
_POINTS = ("from", "to", "joins_to")
_BETWEEN: Mapping[str, str] = {"wires": " – ", "runs": " – "}
_UNTOLD = ("colour", "notes", "role")
_MOST = 24
_LONGEST_QUERY = 200
_RANK_ID, _RANK_BEGINS, _RANK_NAME, _RANK_CELL, _RANK_PIECE = range(5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One row that answers. says: what it is, in words.   colour: of a wire.   href: its page, else its row."""

    sheet: str
    name: str
    says: str
    colour: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """What was found in one sheet. more: rows that are left out. [-]"""

    sheet: str
    rows: tuple[Found, ...]
    more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    """A row as it is looked through. pieces: every word of it, lower case."""

    sheet: str
    key: int
    name: str
    says: str
    colour: str
    title: tuple[str, ...]
    pieces: frozenset[str]
    all: str


def found_in(snapshot: Snapshot, sought: str, links: JobLinks, *, most: int = _MOST) -> tuple[Group, ...]:
    """What answers to some words, by sheet; the sheet with the best answer first.

    Args:
        sought: what was typed.
        most: rows of one sheet that are told. [-]
    """
    words = sought[:_LONGEST_QUERY].lower().split()
    if not words:
        return ()
    ranked: dict[str, list[tuple[int, _Entry]]] = {}
    for entry in _entries(snapshot):
        ranks = [_rank(entry, word) for word in words]
        if None not in ranks:
            ranked.setdefault(entry.sheet, []).append((max(rank for rank in ranks if rank is not None), entry))
    groups = []
    for sheet, rows in ranked.items():
        rows.sort(key=lambda one: (one[0], id_order(one[1].name)))
        shown = tuple(_found(entry, links) for _, entry in rows[:most])
        groups.append((rows[0][0], Group(sheet=sheet, rows=shown, more=max(len(rows) - most, 0))))
    return tuple(group for _, group in sorted(groups, key=lambda one: one[0]))


def _found(entry: _Entry, links: JobLinks) -> Found:
    there = links.things.get(entry.name)
    is_named = there is not None and there.sheet == entry.sheet
    href = links.thing(entry.name) if is_named else links.cell(entry.sheet, entry.key)
    return Found(sheet=entry.sheet, name=entry.name, says=entry.says, colour=entry.colour, href=href)


def _rank(entry: _Entry, word: str) -> int | None:
    name = entry.name.lower()
    if name == word:
        return _RANK_ID
    if name.startswith(word):
        return _RANK_BEGINS
    if any(piece.startswith(word) for piece in entry.title):
        return _RANK_NAME
    if word in entry.pieces:
        return _RANK_CELL
    return _RANK_PIECE if word in entry.all else None


@lru_cache(maxsize=8)
def _entries(snapshot: Snapshot) -> Sequence[_Entry]:
    return tuple(_all(snapshot))


def _all(snapshot: Snapshot) -> Iterator[_Entry]:
    for sheet, names in _COLUMNS.items():
        for row in snapshot.rows.get(sheet, ()):
            cells = {name: row.cells.get(name, "") for name in names}
            if not any(cells.values()):
                continue
            first = names[0]
            text = " ".join(value for value in cells.values() if value).lower()
            pieces = set(text.split())
            for point in _POINTS:
                # a terminal can be looked for by itself: 87 finds every wire at an 87
                part, _, terminal = cells.get(point, "").lower().partition(".")
                pieces |= {part, terminal} - {""}
            yield _Entry(
                sheet=sheet,
                key=row.key,
                name=cells[first],
                says=_says(sheet, cells, first),
                colour=cells.get("colour", ""),
                title=tuple(cells.get("name", "").lower().split()),
                pieces=frozenset(pieces),
                all=text,
            )


def _says(sheet: str, cells: Mapping[str, str], first: str) -> str:
    if sheet in _BETWEEN:
        return _BETWEEN[sheet].join(cells[end] or "free end" for end in ("from", "to"))
    told = (text.replace("_", " ") for name, text in cells.items() if text and name not in (first, *_UNTOLD))
    return ", ".join(dict.fromkeys(told))
