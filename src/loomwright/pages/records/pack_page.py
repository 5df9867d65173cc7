"""What does the page of papers say: which there are, of which revision, and how far they are being made?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.drawings.board.board_sheets import PAPERS
from loomwright.handover.sections import SECTIONS
from loomwright.pages.addresses import job_path
from loomwright.pages.paper_bench import PaperStanding
from loomwright.pages.paper_files import JOB_FILES, PAPER_FILES
from loomwright.store.snapshot import Snapshot

__all__ = ["FileLine", "PackPage", "pack_page"]

_KB = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class FileLine:
    """One file to have. size: as printed; empty where it is made when it is asked for."""

    name: str
    says: str
    href: str
    size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackPage:
    """The page.

    made_of: the revision the papers are of; None where there are none. [-]   making_of: being made; None: none are. [-]
    making: what is made.   done, of: of it. [-]   ahead: other jobs' papers made before. [-]
    can_make: the rows fit each other, and there is something to make.   asked: how those that are there were wanted.
    sections: of the pack, name and heading.   page_sizes: of paper.   hrefs: where board, drawings, drive are seen.
    """

    papers: tuple[FileLine, ...]
    jobs: tuple[FileLine, ...]
    made_of: int | None
    made: str
    is_stale: bool
    making_of: int | None
    making: str
    done: int
    of: int
    ahead: int
    refused: str
    fits: bool
    can_make: bool
    newest: int
    make_to: str
    stop_to: str
    what_href: str
    asked: str
    sections: tuple[tuple[str, str], ...]
    page_sizes: tuple[str, ...]
    board_href: str
    drawings_href: str
    drive_href: str
    lacks_drive: str


def pack_page(snapshot: Snapshot, standing: PaperStanding, *, has_revisions: bool, drive: str = "") -> PackPage:
    """The page of papers.

    Args:
        snapshot: the job now.
        standing: how far its papers are.
        has_revisions: there is a page that tells what changed.
        drive: name of the newest recorded drive that is kept with the job; blank where there is none.
    """
    kept = standing.kept
    fits = snapshot.job is not None
    name = snapshot.name
    lacks_drive = bool(kept is not None and drive and f"with the drive {drive}" not in kept.asked)
    since = {"from": str(kept.revision), "to": str(snapshot.revision)} if kept is not None else {}
    return PackPage(
        papers=tuple(
            FileLine(name=file, says=says, href=job_path(name, "pack", "file", file), size=_size(kept.sizes[file]))
            for file, says in PAPER_FILES.items()
            if file in kept.sizes
        )
        if kept is not None
        else tuple(FileLine(name=file, says=says, href="", size="") for file, says in PAPER_FILES.items()),
        jobs=tuple(
            FileLine(name=f".{ending}", says=says, href=job_path(name, "pack", "job", ending), size="")
            for ending, says in JOB_FILES.items()
        ),
        made_of=kept.revision if kept is not None else None,
        made=kept.made if kept is not None else "",
        is_stale=standing.is_stale,
        making_of=standing.revision,
        making=standing.making,
        done=standing.done,
        of=standing.of,
        ahead=standing.ahead,
        refused=standing.refused,
        fits=fits,
        can_make=fits and standing.revision is None and (kept is None or standing.is_stale or lacks_drive),
        newest=snapshot.revision,
        make_to=job_path(name, "pack", "make"),
        stop_to=job_path(name, "pack", "stop"),
        what_href=job_path(name, "revisions", query=since) if has_revisions and since else "",
        asked=kept.asked if kept is not None else "",
        sections=tuple(SECTIONS.items()),
        page_sizes=tuple(PAPERS),
        board_href=job_path(name, "board"),
        drawings_href=job_path(name, "drawings"),
        drive_href=job_path(name, "dyno", "paper") if drive else "",
        lacks_drive=drive if lacks_drive else "",
    )


def _size(count: int) -> str:
    return f"{max(round(count / _KB), 1)} kB" if count < _KB * _KB else f"{count / _KB / _KB:.1f} MB"
