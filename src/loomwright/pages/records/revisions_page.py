"""What does the page of a job's revisions say: what was changed, by whom, and what differs between two of them?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import Change
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.stage_counts import plural
from loomwright.pages.records.stage_lines import TypedRows
from loomwright.quantities.printing import for_print
from loomwright.store.history import Difference, Revision, Turns
from loomwright.store.snapshot import Snapshot

__all__ = [
    "DifferenceLine",
    "OldSheet",
    "RevisionLine",
    "RevisionPage",
    "RevisionsPage",
    "revision_page",
    "revisions_page",
]

MOST_SHOWN = 500
"""Most differences that are shown; there may be a whole job of them. [-]"""

_MONEY_DIGITS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionLine:
    """One revision, or several in a row that only recorded something.

    number, first: of it, and of the first of several. [-]   many: how many. [-]   turned_by: the one that turned it
    round, None where it stands. [-]   asked: why and price of the sheet of changes, in words.
    """

    number: int
    first: int
    many: int
    time: str
    who: str
    why: str
    kind: str
    turns: int | None
    turned_by: int | None
    asked: tuple[str, ...]
    what_href: str
    stood_href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceLine:
    """One cell or row that is not the same. says: what became of it, where it is no plain change of a cell."""

    row: str
    href: str
    column: str
    older: str
    newer: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionsPage:
    """The page. older, newer: compared; None where nothing is. [-]   more: differences not shown. [-]

    can_undo, can_redo: the revision the person at this server could turn round; None where there is none. [-]
    """

    lines: tuple[RevisionLine, ...]
    newest: int
    older: int | None
    newer: int | None
    sheets: tuple[tuple[str, tuple[DifferenceLine, ...]], ...]
    count: int
    more: int
    can_undo: int | None
    can_redo: int | None
    who: str
    turn_to: str
    here: str
    earlier_href: str
    refused: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OldSheet:
    """One sheet as it stood. count: its rows. [-]"""

    sheet: str
    count: int
    href: str
    is_shown: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionPage:
    """The job as it stood at one revision, one sheet of it. line: what that revision did."""

    number: int
    newest: int
    line: RevisionLine | None
    sheets: tuple[OldSheet, ...]
    sheet: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    back_href: str
    now_href: str


def revisions_page(
    snapshot: Snapshot,
    found: Sequence[Revision],
    differences: Sequence[Difference],
    turns: Turns,
    links: JobLinks,
    *,
    older: int | None,
    newer: int | None,
    who: str,
    refused: str = "",
) -> RevisionsPage:
    """The page of a job's revisions.

    Args:
        snapshot: the job now.
        found: its newest revisions, newest first.
        differences: between the two that are compared.
        turns: what can be taken back and done again.
        links: addresses of its things.
        older, newer: compared; None where nothing is. [-]
        who: the person at this server.
        refused: why a revision was not turned round, in words.
    """
    lines = lines_of(snapshot, found)
    return RevisionsPage(
        lines=lines,
        newest=snapshot.revision,
        older=older,
        newer=newer,
        sheets=_sheets(differences[:MOST_SHOWN], links),
        count=len(differences),
        more=max(len(differences) - MOST_SHOWN, 0),
        can_undo=turns.target("undo", who),
        can_redo=turns.target("redo", who),
        who=who,
        turn_to=job_path(snapshot.name, "revisions"),
        here=job_path(snapshot.name, "revisions"),
        earlier_href=job_path(snapshot.name, "revisions", query={"before": str(found[-1].number)})
        if found and found[-1].number > 1
        else "",
        refused=refused,
    )


def revision_page(snapshot: Snapshot, newest: int, line: RevisionLine | None, sheet: str) -> RevisionPage:
    """The job as it stood.

    Args:
        snapshot: the job at that revision.
        newest: the number of the newest. [-]
        line: what the revision did.
        sheet: the one to show; the first that has rows where empty or not there.
    """
    there = [name for name, rows in snapshot.rows.items() if rows]
    shown = sheet if sheet in there else next((name for name in ("wires", *there) if name in there), "")
    rows = snapshot.rows.get(shown, ())
    headings = tuple(dict.fromkeys(name for row in rows for name in row.cells))
    number = str(snapshot.revision)
    return RevisionPage(
        number=snapshot.revision,
        newest=newest,
        line=line,
        sheets=tuple(
            OldSheet(
                sheet=name,
                count=len(snapshot.rows[name]),
                href=job_path(snapshot.name, "revisions", number, query={"sheet": name}),
                is_shown=name == shown,
            )
            for name in there
        ),
        sheet=shown,
        headings=headings,
        rows=tuple(tuple(row.cells.get(name, "") for name in headings) for row in rows),
        back_href=job_path(snapshot.name, "revisions"),
        now_href=job_path(snapshot.name, "revisions", query={"from": number, "to": str(newest)}),
    )


def lines_of(snapshot: Snapshot, found: Sequence[Revision]) -> tuple[RevisionLine, ...]:
    """Revisions as lines, newest first; those that only recorded something stand together."""
    turned = {one.turns: one.number for one in reversed(found) if one.turns is not None}
    asked: dict[int, list[str]] = {}
    for change in TypedRows(snapshot).of("changes", Change):
        if change.revision is not None:
            price = f"price {for_print(change.price, digits=_MONEY_DIGITS)}" if change.price is not None else ""
            said = ": ".join(piece for piece in (change.who, change.why) if piece)
            asked.setdefault(change.revision, []).append(", ".join(piece for piece in (said, price) if piece))
    lines: list[RevisionLine] = []
    for together in _together(found, asked):
        one, last = together[0], together[-1]
        lines.append(
            RevisionLine(
                number=one.number,
                first=last.number,
                many=len(together),
                time=one.time,
                who=", ".join(dict.fromkeys(each.who for each in together)),
                why=one.why if len(together) == 1 else f"{plural(len(together), 'step')} and readings recorded",
                kind=one.kind,
                turns=one.turns,
                turned_by=turned.get(one.number),
                asked=tuple(asked.get(one.number, ())),
                what_href=job_path(
                    snapshot.name, "revisions", query={"from": str(last.number - 1), "to": str(one.number)}
                )
                if last.number > 1
                else "",
                stood_href=job_path(snapshot.name, "revisions", str(one.number)),
            )
        )
    return tuple(lines)


def _together(found: Iterable[Revision], asked: Mapping[int, object]) -> list[list[Revision]]:
    groups: list[list[Revision]] = []
    for one in found:
        if groups and one.kind == "record" == groups[-1][-1].kind and one.number not in asked:
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _sheets(differences: Sequence[Difference], links: JobLinks) -> tuple[tuple[str, tuple[DifferenceLine, ...]], ...]:
    """Differences by sheet; a decision that was taken into its cell is told as that."""
    dropped = {
        (cells.get("sheet"), cells.get("row"), cells.get("column")): cells.get("value")
        for one in differences
        if one.op == "drop" and one.sheet == "decisions"
        for cells in (dict(pair.split("=", 1) for pair in one.older.split("; ") if "=" in pair),)
    }
    found: dict[str, list[DifferenceLine]] = {}
    for one in differences:
        says = {"add": "row added", "drop": "row taken out"}.get(one.op, "")
        if one.op == "set" and dropped.get((one.sheet, one.row, one.column)) == one.newer:
            says = "adopted: decided by the tool, taken into the sheet"
        found.setdefault(one.sheet, []).append(
            DifferenceLine(
                row=one.row,
                href=links.cell(one.sheet, one.row_key, one.column) if one.op != "drop" else "",
                column=one.column,
                older=one.older,
                newer=one.newer,
                says=says,
            )
        )
    return tuple((sheet, tuple(lines)) for sheet, lines in found.items())
