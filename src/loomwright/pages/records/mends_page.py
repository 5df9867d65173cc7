"""What does the page of a finding's mends say: what each edits, what goes and comes with it, and its cost?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.finding_lines import FindingLine, line_of
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Edit, SetCell
from loomwright.trials.edits import AddedRow
from loomwright.trials.edits import Edit as MendEdit
from loomwright.trials.mend import Mend, Mends, cost_words

__all__ = ["EditLine", "MendLine", "MendsPage", "mends_page", "shelf_edits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EditLine:
    """One cell before and after, or a new row. row: its id.   old, new: texts; of a new row the cells in words."""

    sheet: str
    row: str
    column: str
    old: str
    new: str
    is_new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MendLine:
    """One mend that holds. number: what is sent back to make it. [-]   cost: lines for wire and parts with prices.

    gone, came: what is found no more, and what is found then.   stays: what is found before and after in the same
    words, with other figures or places.   unhides: a fault is among those that come, which could not be seen before.
    """

    number: int
    says: str
    edits: tuple[EditLine, ...]
    gone: tuple[FindingLine, ...]
    came: tuple[FindingLine, ...]
    stays: tuple[tuple[FindingLine, FindingLine], ...]
    unhides: bool
    cost: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MendsPage:
    """The page. waiting: it is being worked out.   done, of: ideas tried and to try. [-]   turned: (idea, why not)."""

    finding: FindingLine
    revision: int
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    mends: tuple[MendLine, ...]
    turned: tuple[tuple[str, str], ...]
    stop: str
    again: str
    make: str
    links: JobLinks


def mends_page(
    finding: Finding,
    mends: Mends | None,
    snapshot: Snapshot,
    links: JobLinks,
    mark: str,
    *,
    stopped: bool,
    refused: str,
    done: int,
    of: int,
) -> MendsPage:
    """The page of the mends of a finding.

    Args:
        finding: whose mends.
        mends: None while they are worked out.
        mark: the finding's word in the address.
        done, of: ideas tried and to try. [-]
    """
    offered = mends.offered if mends is not None else ()
    return MendsPage(
        finding=replace(line_of(finding, 1, links), mends=""),
        revision=snapshot.revision,
        waiting=mends is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        mends=tuple(_line(mend, number, links) for number, mend in enumerate(offered)),
        turned=tuple((one.says, one.why) for one in mends.turned) if mends is not None else (),
        stop=job_path(snapshot.name, "mends", mark, "stop"),
        again=job_path(snapshot.name, "mends", mark, "again"),
        make=job_path(snapshot.name, "mends", mark, "make"),
        links=links,
    )


def shelf_edits(mend: Mend, snapshot: Snapshot) -> tuple[Edit, ...]:
    """The edits of a mend as the shelf takes them; a cell somebody changed meanwhile comes back as a conflict."""
    keys: Mapping[tuple[str, str], int] = {
        (sheet, row.cells.get("id", "")): row.key
        for sheet in ("parts", "wires")
        for row in snapshot.rows.get(sheet, ())
    }
    return tuple(_shelf_edit(edit, keys) for edit in mend.edits)


def _shelf_edit(edit: MendEdit, keys: Mapping[tuple[str, str], int]) -> Edit:
    if isinstance(edit, AddedRow):
        return AddRow(sheet=edit.sheet, cells=edit.cells)
    key = keys.get((edit.sheet, edit.row), 0)
    return SetCell(sheet=edit.sheet, row_key=key, column=edit.column, old=edit.old, new=edit.new)


def _line(mend: Mend, number: int, links: JobLinks) -> MendLine:
    gone = [line_of(one, 0, links) for one in mend.gone[1:]]
    came = [line_of(one, 0, links) for one in mend.came]
    stays = []
    for after in tuple(came):
        before = next((one for one in gone if _words(one) == _words(after)), None)
        if before is not None:
            stays.append((before, after))
            gone.remove(before)
            came.remove(after)
    return MendLine(
        number=number,
        says=mend.says,
        edits=tuple(_edit_line(edit) for edit in mend.edits if isinstance(edit, AddedRow) or edit.old != edit.new),
        gone=tuple(gone),
        came=tuple(came),
        stays=tuple(stays),
        unhides=any(one.severity == "fault" for one in came),
        cost=cost_words(mend),
    )


def _words(line: FindingLine) -> tuple[str, str, str, str]:
    return line.severity, line.rule, line.label, line.says


def _edit_line(edit: MendEdit) -> EditLine:
    if isinstance(edit, AddedRow):
        cells = ", ".join(f"{name} {text}" for name, text in edit.cells.items() if name != "id")
        return EditLine(sheet=edit.sheet, row=edit.row, column="", old="", new=cells, is_new=True)
    return EditLine(sheet=edit.sheet, row=edit.row, column=edit.column, old=edit.old, new=edit.new, is_new=False)
