"""What does a page of photos say: all of a job by sheet and row, or those of one row with a place for another?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.job.fixed_map import FixedMap
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.refusals import Problem
from loomwright.store.photo_sizes import SMALL_PX
from loomwright.store.photos import Photo
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow

__all__ = ["PhotoLine", "PhotoRow", "PhotosPage", "RowChoice", "photo_row_name", "photos_page", "row_keys"]

_MOST_CHOICES = 400
_NONE_BEFORE: Mapping[tuple[str, str], int] = FixedMap()
_FACTS = ("name", "kind", "place", "circuit", "from", "to", "colour", "text", "notes")
_MOST_FACTS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLine:
    """One photo. width_px, height_px: of the small one. [-]"""

    id: int
    src: str
    href: str
    note: str
    who: str
    time: str
    width_px: int
    height_px: int
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRow:
    """The photos of one row. add_href: where another is added; empty where the row is gone."""

    sheet: str
    row: str
    href: str
    add_href: str
    photos: tuple[PhotoLine, ...]
    is_gone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RowChoice:
    """A row that a photo may be added to."""

    href: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotosPage:
    """The page. of: sheet and name of the one row it is about; empty: all.   facts: of that row.

    add_to: where a photo is sent.   most_mb: what it may hold. [-]
    """

    of: tuple[str, str]
    facts: tuple[tuple[str, str], ...]
    row_href: str
    add_to: str
    most_mb: int
    rows: tuple[PhotoRow, ...]
    count: int
    sheets: tuple[tuple[str, int, str], ...]
    sheet: str
    choices: tuple[RowChoice, ...]
    all_href: str
    note: str
    problems: tuple[Problem, ...]


def photo_row_name(row: StoredRow) -> str:
    """What a row is called where photos are kept: its id or name, else its own number.

    Example:
        >>> from loomwright.job.fixed_map import FixedMap
        >>> photo_row_name(StoredRow(key=7, cells=FixedMap({"id": "S2"})))
        'S2'
        >>> photo_row_name(StoredRow(key=7, cells=FixedMap({"what": "lay it"})))
        'row 7'
    """
    return row.cells.get("id", "") or row.cells.get("name", "") or f"row {row.key}"


def photos_page(
    snapshot: Snapshot,
    photos: Iterable[Photo],
    links: JobLinks,
    *,
    most_mb: int,
    sheet: str = "",
    row: StoredRow | None = None,
    note: str = "",
    problems: tuple[Problem, ...] = (),
    before: Mapping[tuple[str, str], int] = _NONE_BEFORE,
) -> PhotosPage:
    """The page of photos.

    Args:
        snapshot: the job now.
        photos: those to show, oldest first.
        links: addresses of its things.
        most_mb: what a photo may hold. [-]
        sheet: only of this sheet, where given; its rows can be picked to add one.
        row: the one the page is about.
        note: what was typed with a photo that was not taken.
        problems: why it was not.
        before: sheet and old name -> the row's own number, for rows that are called otherwise now. [-]
    """
    named = {row.key: photo_row_name(row) for rows in snapshot.rows.values() for row in rows}
    keys = row_keys(snapshot, before)
    groups: dict[tuple[str, str], list[Photo]] = {}
    for photo in photos:
        key = keys.get((photo.sheet, photo.row))
        groups.setdefault((photo.sheet, photo.row if key is None else named[key]), []).append(photo)
    of = (sheet, photo_row_name(row)) if row is not None else ("", "")
    counts: dict[str, int] = {}
    for (name, _), group in groups.items():
        counts[name] = counts.get(name, 0) + len(group)
    listed = tuple(name for name, rows in snapshot.rows.items() if rows)
    return PhotosPage(
        of=of,
        facts=() if row is None else tuple((k, row.cells[k]) for k in _FACTS if row.cells.get(k))[:_MOST_FACTS],
        row_href=links.cell(sheet, row.key) if row is not None else "",
        add_to=job_path(snapshot.name, "photos", sheet, str(row.key)) if row is not None else "",
        most_mb=most_mb,
        rows=tuple(_row(snapshot, place, group, keys.get(place), links) for place, group in groups.items()),
        count=sum(counts.values()),
        sheets=tuple(
            (name, counts.get(name, 0), job_path(snapshot.name, "photos", query={"sheet": name})) for name in listed
        ),
        sheet=sheet,
        choices=_choices(snapshot, sheet) if row is None and sheet else (),
        all_href=job_path(snapshot.name, "photos"),
        note=note,
        problems=problems,
    )


def row_keys(snapshot: Snapshot, before: Mapping[tuple[str, str], int]) -> Mapping[tuple[str, str], int]:
    """The number of the row that a photo's sheet and row name; a row called so now goes before one that was. [-]

    Args:
        snapshot: the job now.
        before: sheet and old name -> the row's own number. [-]
    """
    there = {row.key for rows in snapshot.rows.values() for row in rows}
    now = {(name, photo_row_name(one)): one.key for name, rows in snapshot.rows.items() for one in rows if one.cells}
    return {place: key for place, key in {**before, **now}.items() if key in there}


def _row(snapshot: Snapshot, place: tuple[str, str], photos: list[Photo], key: int | None, links: JobLinks) -> PhotoRow:
    sheet, name = place
    return PhotoRow(
        sheet=sheet,
        row=name,
        href=(links.thing(name) or links.cell(sheet, key)) if key is not None else "",
        add_href=job_path(snapshot.name, "photos", sheet, str(key)) if key is not None else "",
        photos=tuple(_line(snapshot, one) for one in photos),
        is_gone=key is None,
    )


def _line(snapshot: Snapshot, photo: Photo) -> PhotoLine:
    small = min(1.0, SMALL_PX / max(photo.width_px, photo.height_px, 1))
    there = job_path(snapshot.name, "photo", str(photo.id))
    return PhotoLine(
        id=photo.id,
        src=f"{there}?size=small",
        href=there,
        note=photo.note,
        who=photo.who,
        time=photo.time,
        width_px=max(round(photo.width_px * small), 1),
        height_px=max(round(photo.height_px * small), 1),
        says=photo.note or f"Photo of {photo.row} in {photo.sheet}",
    )


def _choices(snapshot: Snapshot, sheet: str) -> tuple[RowChoice, ...]:
    rows = snapshot.rows.get(sheet, ())[:_MOST_CHOICES]
    return tuple(
        RowChoice(
            href=job_path(snapshot.name, "photos", sheet, str(row.key)),
            says=" ".join(
                dict.fromkeys((photo_row_name(row), *(row.cells[k] for k in _FACTS[:4] if row.cells.get(k))))
            ),
        )
        for row in rows
        if row.cells
    )
