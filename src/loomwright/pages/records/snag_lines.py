"""What does the page of snags say? By stage, those that are open first, each tied to the thing it is about."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.rows import Snag
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.entry_form import Ask, EntryForm, Returned, entry_form
from loomwright.pages.records.stage_counts import STAGE_WORDS
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow

__all__ = ["ASKS", "NAMES", "SnagGroup", "SnagLine", "SnagsPage", "snags_page"]

NAMES = ("id", "text", "stage", "about", "status")
"""The columns that the form of a snag asks for."""

ASKS = (
    Ask(name="text", label="What is wrong", shape="lines", wide=True, help="-"),
    Ask(name="stage", label="Stage it stands in the way of", shape="choice", blank="none", help="-"),
    Ask(name="about", label="About", help="ids of wires, parts, circuits, places, apart by spaces"),
    Ask(name="status", label="How far", shape="choice", blank="open", help="-"),
)
_NEW = tuple(ask for ask in ASKS if ask.name != "status")
_DONE = "done"
_NO_STAGE = "No stage named"


@dataclass(frozen=True, slots=True, kw_only=True)
class SnagLine:
    """One snag. status: its word.   is_open: not mended.   was: its status as it stands in the sheet."""

    key: int
    id: str
    text: str
    status: str
    was: str
    is_open: bool
    about: tuple[str, ...]
    photo: str
    form: EntryForm


@dataclass(frozen=True, slots=True, kw_only=True)
class SnagGroup:
    """The snags of one stage. open: how many are. [-]"""

    stage: str
    open: int
    snags: tuple[SnagLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SnagsPage:
    """The snags by stage. open, of: how many, of all. [-]   switch: where a status is sent.   photos: their page."""

    groups: tuple[SnagGroup, ...]
    open: int
    of: int
    new: EntryForm
    switch: str
    links: JobLinks
    photos: str


def snags_page(snapshot: Snapshot, links: JobLinks, back: Returned | None = None) -> SnagsPage:
    """The page of snags.

    Args:
        back: a form that was not taken.
    """
    here = job_path(snapshot.name, "snags")
    rows = [row for row in snapshot.rows.get("snags", ()) if row.cells]
    stages = [*STAGE_WORDS, *dict.fromkeys(row.cells.get("stage", "") for row in rows)]
    groups = []
    for stage in dict.fromkeys(stages):
        lines = [_line(snapshot, row, here, back) for row in rows if row.cells.get("stage", "") == stage]
        lines.sort(key=lambda line: not line.is_open)
        if lines:
            word = STAGE_WORDS.get(stage, stage or _NO_STAGE)
            groups.append(SnagGroup(stage=word, open=sum(line.is_open for line in lines), snags=tuple(lines)))
    return SnagsPage(
        groups=tuple(groups),
        open=sum(group.open for group in groups),
        of=len(rows),
        new=entry_form("snags", _NEW, action=here, page=here, back=back),
        switch=f"{here}/status",
        links=links,
        photos=links.page_named("photos"),
    )


def _line(snapshot: Snapshot, row: StoredRow, here: str, back: Returned | None) -> SnagLine:
    taken = snapshot.taken.get("snags", {}).get(row.key)
    about = taken.typed.about if taken is not None and isinstance(taken.typed, Snag) else ()
    status = row.cells.get("status", "")
    return SnagLine(
        key=row.key,
        id=row.cells.get("id", ""),
        text=row.cells.get("text", ""),
        status="mended" if status == _DONE else status or "open",
        was=status,
        is_open=status != _DONE,
        about=about,
        photo=row.cells.get("photo", ""),
        form=entry_form("snags", ASKS, action=here, page=here, cells=row.cells, row=row.key, back=back),
    )
