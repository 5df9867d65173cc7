"""What does the page of a sheet say before any script runs: which sheets there are, and the rows as a plain table?

Three hundred rows stand on a page; the others are a link away. With scripts the table becomes a grid of all rows.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import quote

from loomwright.job.decided import SETTINGS
from loomwright.job.taking import FIRST_ROW
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.sheet_columns import GROWS_ONLY, WORKED_OUT, GridColumn, columns_in, help_of, rows_in
from loomwright.pages.records.sheet_news import decided_in
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow
from loomwright.writers.paper_paint import PAINT

__all__ = ["GROUPS", "KEYS", "ROWS_SHOWN", "GridPage", "PlainCell", "PlainRow", "SheetGroup", "SheetWord", "grid_page"]

ROWS_SHOWN = 300
"""Rows of the plain table that stand on one page. [-]"""

GROUPS: Mapping[str, tuple[str, ...]] = {
    "the car": ("vehicle", "places", "runs", "metals", "bonds", "wishes"),
    "circuits": ("circuits", "parts", "contacts", "wires", "cables", "connectors", "kinds", "variables"),
    "controller": ("controller_pins", "needs", "drives", "requirements", "waived"),
    "found on the car": ("old_wires", "readings", "snags", "questions"),
    "the shop": ("stock", "crimps", "hours"),
    "on record": (
        *("progress", "proofs", "gates", "attempts", "light_readings", "sensor_points"),
        *("changes", "decisions", "reasons"),
    ),
}
"""The sheets of the contract as they stand on the page, by what they are about."""

KEYS = (
    (("F2",), "type within the cell"),
    (("Enter", "Tab"), "to the next row, the next cell"),
    (("Alt ↓",), "while typing: through the words that may stand there"),
    (("Ctrl Enter",), "while typing: into all that is picked; else adopt what is decided"),
    (("Alt Enter",), "while typing: a new line in the cell"),
    (("Shift ↓",), "pick a block, with Ctrl to the edge of what is written"),
    (("Ctrl D",), "fill down"),
    (("Del",), "clear"),
    (("Ctrl Z", "Ctrl Y"), "take back, do again"),
    (("Ctrl F",), "only rows with some words; heading=text for one column"),
    (("Ins", "Ctrl Del"), "row before, take rows out"),
    (("Alt Shift ↓",), "move rows down, with ↑ up"),
    (("Shift Blank", "Ctrl Blank"), "pick the row, the column"),
    (("Alt PgDn",), "to the next sheet, with PgUp back"),
    (("Esc Tab",), "leave the sheet"),
)
"""Keys of the grid beside those of every page, and what each does."""

_OWN_GROUP = "of this job alone"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWord:
    """One sheet that can be opened. count: its rows. [-]"""

    name: str
    count: int
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetGroup:
    """Sheets that are about the same thing."""

    word: str
    sheets: tuple[SheetWord, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainCell:
    """A cell of the plain table. decided: what the tool chose for it.   colour: name of its paint, of insulation.

    is_figure, is_code: how it is set; else in words.
    """

    text: str
    decided: str = ""
    colour: str = ""
    is_figure: bool = False
    is_code: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainRow:
    """A row of the plain table. number: its place in the sheet. [-]   key: its own number. [-]

    cells: None where blank.
    """

    number: int
    key: int
    is_picked: bool
    cells: tuple[PlainCell | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GridPage:
    """The page of a sheet.

    total: rows there are. [-]   earlier, later: addresses of the rows before and after those shown, empty where none.
    api: where a script has the rows.   script: an older revision is only read.
    paint: colour code -> shades, as JSON for a script.
    why, pages, photos: where reasons, the things of the rows and photos of rows have their pages, what they are asked
    of to follow; empty where they have none.   before, behind: the sheets on either side.
    colours: of insulation, as far as they are known.   keys: of the keyboard, and what each does.
    stays: its rows stay as they were recorded.   takes: rows can be added by hand.
    """

    sheet: str
    help: str
    groups: tuple[SheetGroup, ...]
    columns: tuple[GridColumn, ...]
    rows: tuple[PlainRow, ...]
    total: int
    earlier: str
    later: str
    api: str
    findings: str
    why: str
    pages: str
    photos: str
    before: str
    behind: str
    script: bool
    stays: bool
    takes: bool
    colours: tuple[str, ...]
    keys: tuple[tuple[tuple[str, ...], str], ...]
    paint: str
    links: JobLinks


_SETTINGS = SETTINGS.rstrip(".")


def grid_page(
    snapshot: Snapshot, sheet: str, links: JobLinks, *, row: int | None = None, start: int = 1, is_newest: bool = True
) -> GridPage:
    """The page of a sheet.

    Args:
        row: the own number of a row to show. [-]
        start: the place of the first row shown, where no row is asked for. [-]
        is_newest: no later revision is there.
    Raises:
        OutOfReach: neither the contract nor the job has such a sheet.
    """
    rows = rows_in(snapshot, sheet)
    groups = _groups(snapshot, sheet, links)
    names = [one for group in groups for one in group.sheets if one.count or one.is_here]
    here = next((place for place, one in enumerate(names) if one.is_here), 0)
    columns = columns_in(sheet, rows)
    first = _first(rows, row, start)
    address = links.sheet(sheet)
    return GridPage(
        sheet=sheet,
        help=help_of(sheet),
        groups=groups,
        columns=columns,
        rows=_plain_rows(snapshot, sheet, columns, rows, first, row),
        total=len(rows),
        earlier=f"{address}?start={max(first - ROWS_SHOWN, 1)}" if first > 1 else "",
        later=f"{address}?start={first + ROWS_SHOWN}" if first + ROWS_SHOWN <= len(rows) else "",
        api="/api" + job_path(snapshot.name, "sheet", sheet),
        findings=links.findings(),
        why=f"/why/{quote(snapshot.name, safe='')}/" if "/why/{}/{}" in links.offered else "",
        pages=links.pages_of(sheet),
        photos=links.photos(sheet, 0).removesuffix("0"),
        before=names[here - 1].href if here > 0 else "",
        behind=names[here + 1].href if here + 1 < len(names) else "",
        script=is_newest,
        stays=sheet in GROWS_ONLY,
        takes=sheet not in WORKED_OUT,
        colours=tuple(dict.fromkeys(_known_colours(columns, rows[first - 1 : first - 1 + ROWS_SHOWN]))),
        keys=KEYS,
        paint=json.dumps(dict(PAINT)),
        links=links,
    )


def _first(rows: Sequence[StoredRow], row: int | None, start: int) -> int:
    """The place of the first row shown: of the page that the asked row is on. [-]"""
    place = next((place for place, one in enumerate(rows, start=1) if one.key == row), None) if row else None
    asked = place if place is not None else min(start, max(len(rows), 1))
    return (asked - 1) // ROWS_SHOWN * ROWS_SHOWN + 1


def _groups(snapshot: Snapshot, sheet: str, links: JobLinks) -> tuple[SheetGroup, ...]:
    known = {name for names in GROUPS.values() for name in names}
    own = tuple(name for name in snapshot.rows if name not in known)
    listed = {**GROUPS, **({_OWN_GROUP: own} if own else {})}
    return tuple(
        SheetGroup(
            word=word,
            sheets=tuple(
                SheetWord(
                    name=name, count=len(snapshot.rows.get(name, ())), href=links.sheet(name), is_here=name == sheet
                )
                for name in names
            ),
        )
        for word, names in listed.items()
    )


def _plain_rows(
    snapshot: Snapshot,
    sheet: str,
    columns: Sequence[GridColumn],
    rows: Sequence[StoredRow],
    first: int,
    picked: int | None,
) -> tuple[PlainRow, ...]:
    places = {column.name: (place, column) for place, column in enumerate(columns)}
    decided: dict[str, dict[str, str]] = {}
    for one in decided_in(snapshot, sheet):
        decided.setdefault(one.row, {})[one.column] = one.value
    shown = rows[first - 1 : first - 1 + ROWS_SHOWN]
    return tuple(
        PlainRow(
            number=number,
            key=row.key,
            is_picked=row.key == picked,
            cells=_cells(row, places, decided.get(row.cells.get("id", ""), {})),
        )
        for number, row in enumerate(shown, start=FIRST_ROW + first - 1)
    )


def _cells(
    row: StoredRow, places: Mapping[str, tuple[int, GridColumn]], decided: Mapping[str, str]
) -> tuple[PlainCell | None, ...]:
    """The cells of a row in order; None for blank ones, which most are."""
    found: list[PlainCell | None] = [None] * len(places)
    for name, text in row.cells.items():
        place, column = places[name]
        found[place] = _cell(column, text, "")
    for name, chosen in _decided_cells(row, decided).items():
        if name in places:
            place, column = places[name]
            found[place] = _cell(column, row.cells.get(name, ""), chosen)
    return tuple(found)


def _decided_cells(row: StoredRow, decided: Mapping[str, str]) -> dict[str, str]:
    """What was decided for blank cells of a row, and for settings of it that are not typed: heading -> text."""
    found: dict[str, str] = {}
    typed = {piece.partition("=")[0].strip() for piece in row.cells.get(_SETTINGS, "").split(";")}
    for name, value in decided.items():
        if not name.startswith(SETTINGS):
            if not row.cells.get(name):
                found[name] = value
        elif name.removeprefix(SETTINGS) not in typed:
            told = f"{name.removeprefix(SETTINGS)}={value}"
            found[_SETTINGS] = f"{found[_SETTINGS]}; {told}" if _SETTINGS in found else told
    return found


def _cell(column: GridColumn, text: str, decided: str) -> PlainCell:
    is_paint = column.kind == "colour" and _is_painted(text)
    return PlainCell(
        text=text,
        decided=decided,
        colour=f"paint-{text.replace('/', '-')}" if is_paint else "",
        is_figure=column.set_as == "figure",
        is_code=column.set_as == "code",
    )


def _known_colours(columns: Sequence[GridColumn], rows: Iterable[StoredRow]) -> Iterator[str]:
    names = [column.name for column in columns if column.kind == "colour"]
    yield from (text for row in rows for name in names if _is_painted(text := row.cells.get(name, "")))


def _is_painted(colour: str) -> bool:
    base, _, tracer = colour.partition("/")
    return base in PAINT and (not tracer or tracer in PAINT)
