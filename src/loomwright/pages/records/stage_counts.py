"""What is done in each stage of a job, and what is left?

In: the rows of a snapshot, whether or not they fit each other, and how far its check is. Out: the nine stages with
honest counts: nothing is counted that no row says. What is left of a stage is what its rows ask for and do not have; a
stage of which no row speaks is not begun, and says how its first thing gets there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.rows import HoursEntry
from loomwright.pages.addresses import JobLinks
from loomwright.pages.checking import Standing
from loomwright.pages.records.finding_stages import stage_of_rule
from loomwright.pages.records.page_words import PAGE_WORDS, STAGE_PAGES
from loomwright.pages.records.stage_lines import Line, TypedRows, lines_of
from loomwright.store.snapshot import Snapshot

__all__ = ["STAGE_WORDS", "StageCount", "plural", "stages_of"]

STAGE_WORDS: Mapping[str, str] = {
    "arrival": "Arrival",
    "survey": "Survey",
    "plan": "Plan",
    "loom": "Loom",
    "prove": "Prove",
    "first start": "First start",
    "calibrate": "Calibrate",
    "gearbox": "Gearbox",
    "handover": "Handover",
}
"""Stage, as the sheets write it -> its word on a page, in the job's own order."""

_TEACHES: Mapping[str, str] = {
    "arrival": "Give the vehicle a title and its system's volts, and write down what the owner has to say.",
    "survey": "Write down each old wire that the job meets: its colour, where it was found. Then read it.",
    "plan": "Write down the parts with their kinds, then the wires from terminal to terminal.",
    "loom": "Wires that are planned are counted here as they are cut, crimped and seated.",
    "prove": "Wires that are planned are counted here as they are proved, and every test with what it read.",
    "first start": "A go or no-go list is made for this job: pass each item with what was read, write each try down.",
    "calibrate": "The numbers the engine starts with, its sensors, recorded drives, and what is left before the dyno.",
    "gearbox": "A first set of gear changes, looked over and driven in the model before the car is.",
    "handover": "Snags and the owner's questions are counted here until they are done.",
}

_PAGE_OF = {"first start": "start", "calibrate": "numbers", "gearbox": "gears"}
"""Stages that lead to a page of another name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageCount:
    """One stage.

    standing: `empty` where no row speaks of it, `open` where something is left, `done` where nothing is.
    left: the first thing that is left, in words.   next: the line it comes from.   minutes: spent on it. [min]
    teaches: how its first thing gets there.   begin: the address where that is done.
    pages: (word, address) of the pages that belong to it, in the order in which they are used.
    """

    key: str
    word: str
    number: int
    lines: tuple[Line, ...]
    standing: str
    left: str
    next: Line | None
    minutes: float
    teaches: str
    begin: str
    href: str
    pages: tuple[tuple[str, str], ...]

    @property
    def anchor(self) -> str:
        """Where it stands on the page of stages."""
        return self.key.replace(" ", "-")


def plural(number: int, noun: str) -> str:
    """A count in words.

    Example:
        >>> plural(1, "wire"), plural(3, "fault"), plural(2, "crimp to make")
        ('1 wire', '3 faults', '2 crimps to make')
    """
    first, space, rest = noun.partition(" ")
    return f"{number} {first if number == 1 else first + 's'}{space}{rest}"


def stages_of(snapshot: Snapshot, standing: Standing | None, links: JobLinks) -> tuple[StageCount, ...]:
    """The nine stages of a job with what is done and what is left.

    Args:
        standing: how far its check is; None leaves findings out.
    """
    rows = TypedRows(snapshot)
    return tuple(_stage(key, number, rows, standing, links) for number, key in enumerate(STAGE_WORDS, start=1))


def _stage(key: str, number: int, rows: TypedRows, standing: Standing | None, links: JobLinks) -> StageCount:
    lines = lines_of(key, rows, links)
    if standing is not None:
        lines += _found_in(key, standing, links, any(line.number or line.of for line in lines))
    lines.sort(key=lambda line: (line.left == 0, not line.is_grave))
    nearest = next((line for line in lines if line.left), None)
    is_known = any(line.number or line.of for line in lines)
    checking = key == "plan" and standing is not None and not standing.is_known and not standing.problems
    if nearest is not None:
        left = plural(nearest.left, nearest.noun)
    elif checking and is_known:
        left = "not checked" if standing is not None and standing.stopped else "checking"
    else:
        left = "nothing left" if is_known else "not begun"
    open_ = nearest is not None or (checking and is_known)
    return StageCount(
        key=key,
        word=STAGE_WORDS[key],
        number=number,
        lines=tuple(line for line in lines if line.number or line.of),
        standing="open" if open_ else "done" if is_known else "empty",
        left=left,
        next=nearest,
        minutes=sum(row.minutes or 0.0 for row in rows.of("hours", HoursEntry) if row.stage == key),
        teaches=_TEACHES[key],
        begin=_begin(key, links),
        href=_home(key, links),
        pages=tuple((PAGE_WORDS[piece], there) for piece in STAGE_PAGES[key] if (there := _page(piece, links))),
    )


_BEGINS: Mapping[str, str] = {
    "arrival": "arrival",
    "survey": "survey",
    "first start": "start",
    "calibrate": "numbers",
    "gearbox": "gears",
    "handover": "snags",
}
"""Stage -> the page on which its first thing is written down."""

_FIRST_SHEET: Mapping[str, str] = {
    "arrival": "vehicle",
    "survey": "old_wires",
    "plan": "parts",
    "loom": "wires",
    "prove": "wires",
    "first start": "gates",
    "calibrate": "gates",
    "gearbox": "gates",
    "handover": "snags",
}


def _begin(key: str, links: JobLinks) -> str:
    """Where the first thing of a stage gets there: its page where it has one that takes it, else its sheet."""
    word = _BEGINS.get(key, "")
    return (links.page_named(word) if word else "") or links.sheet(_FIRST_SHEET[key])


def _page(piece: str, links: JobLinks) -> str:
    """The address of a page by its piece; empty where there is none."""
    first, _, rest = piece.partition("/")
    return links.sheet(rest) if first == "sheet" else links.page_named(piece)


def _home(key: str, links: JobLinks) -> str:
    """The stage's own page where there is one, else its place on the page of all stages."""
    piece = key.replace(" ", "-")
    return links.page_named(_PAGE_OF.get(key, piece)) or links.stages(piece)


def _found_in(stage: str, standing: Standing, links: JobLinks, has_parts: bool) -> list[Line]:
    """Findings of the stage by weight; only faults and warnings are left to mend.

    Args:
        has_parts: something is written down that could fit or not.
    """
    lines = []
    if stage == "plan" and standing.problems and has_parts:
        there = links.findings()
        lines.append(
            Line(
                what="cells that do not fit each other",
                number=len(standing.problems),
                noun="cell to mend",
                counts_as_left=True,
                is_grave=True,
                href=there,
            )
        )
    if standing.checked is not None:
        mine = [one.severity for one in standing.checked.findings if stage_of_rule(one.rule) == stage]
        for severity in ("fault", "warning", "note"):
            number = mine.count(severity)
            if number:
                lines.append(
                    Line(
                        what=f"{severity}s found",
                        number=number,
                        noun="" if severity == "note" else f"{severity} to mend",
                        counts_as_left=True,
                        is_grave=severity == "fault",
                        href=links.findings(stage=stage, severity=severity),
                    )
                )
    return lines
