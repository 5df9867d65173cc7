"""What stands on the papers of the first start: the page for the wall, the list, the numbers, the tables?

Plain words and printed figures only, so that setting them works nothing out. The wall has each item as a line with its
limit; the list behind it says what must be seen and what to do when it is not.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.calibration.start_records import HEADINGS, StartTable, shown_rows
from loomwright.calibration.starting import StartNumbers
from loomwright.handover.kept_sheet import KeptSheet, kept_sheet
from loomwright.handover.pack_records import SheetNumber
from loomwright.quantities.printing import for_print
from loomwright.startup.first_start import FirstStart, StartItem, StartStage
from loomwright.startup.plain import limit_words

__all__ = ["SheetItem", "SheetNumber", "SheetStage", "SheetTable", "StartSheet", "sheet_numbers", "start_sheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetItem:
    """One item. mark: passed, failed, waived, or blank for an empty box.   limit: in words."""

    does: str
    sees: str
    fails: str
    caution: str
    limit: str
    mark: str
    read: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStage:
    """One stage."""

    number: int
    title: str
    cautions: tuple[str, ...]
    items: tuple[SheetItem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable:
    """One table, printed. chart: name of its drawing."""

    title: str
    says: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    formula: str
    source: str
    standing: str
    chart: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StartSheet:
    """The papers. lacking: why there are no numbers, in words; blank where there are.   kept: readings on record."""

    title: str
    emergency: str
    facts: tuple[str, ...]
    stages: tuple[SheetStage, ...]
    numbers: tuple[SheetNumber, ...]
    tables: tuple[SheetTable, ...]
    asks: tuple[str, ...]
    warns: tuple[str, ...]
    lacking: str
    kept: KeptSheet


def start_sheet(
    title: str, made: FirstStart, numbers: StartNumbers | None, lacking: str = "", kept: KeptSheet | None = None
) -> StartSheet:
    """The papers of a job's first start.

    Args:
        title: of the job.
        made: its list.
        numbers: of its engine; None where too little is known.
        lacking: what is missing then.
        kept: readings of the timing light and of sensors; none where left out.
    """
    return StartSheet(
        title=title,
        emergency=made.emergency,
        facts=made.facts,
        stages=tuple(_stage(stage) for stage in made.stages),
        numbers=() if numbers is None else sheet_numbers(numbers),
        tables=() if numbers is None else tuple(_table(one) for one in numbers.tables),
        asks=() if numbers is None else numbers.asks,
        warns=() if numbers is None else numbers.warns,
        lacking=lacking,
        kept=kept or kept_sheet(None, None),
    )


def sheet_numbers(made: StartNumbers) -> tuple[SheetNumber, ...]:
    """The numbers as they are printed."""
    return tuple(
        SheetNumber(
            says=one.says,
            value=f"{for_print(one.value)} {one.unit}".strip(),
            span="" if one.least is None or one.most is None else f"{for_print(one.least)} to {for_print(one.most)}",
            formula=one.formula,
            source=one.source,
            standing=one.standing,
        )
        for one in made.numbers
    )


def _stage(stage: StartStage) -> SheetStage:
    items = tuple(_item(item) for item in stage.items)
    return SheetStage(number=stage.number, title=stage.title, cautions=stage.cautions, items=items)


def _item(item: StartItem) -> SheetItem:
    return SheetItem(
        does=item.does,
        sees=item.sees,
        fails=item.fails,
        caution=item.caution,
        limit="" if item.limit is None else limit_words(item.limit),
        mark=item.verdict,
        read=item.value,
    )


def _table(one: StartTable) -> SheetTable:
    return SheetTable(
        title=one.name.replace("_", " "),
        says=one.says,
        columns=tuple(HEADINGS.get(name, name) for name in one.columns),
        rows=shown_rows(one),
        formula=one.formula,
        source=one.source,
        standing=one.standing,
        chart=one.name,
    )
