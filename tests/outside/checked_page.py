"""The page of outside checks: one row a case, with what is left of its tolerance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Checked", "all_folders", "written_page"]

HERE = Path(__file__).parent
_HEAD = """# Checked against other people's answers

Written by the tests in `tests/outside/`, not by hand. Each row is a case: the figures it holds, the worst of them, and
how much of that figure's tolerance is left. The tolerance and its reason stand with the case. `read`: somebody read it
in the source; `recalled`: typed from memory; `worked`: worked out by hand, the working beside it. A figure kept out is
one that is printed somewhere and wrong, or that another source prints: ours may not come near it.
"""
_OWN = "## Printed and hand-worked figures"
_OTHER = "## Another program on the same netlist"
_OWN_COLUMNS = (
    "| case | source | grade | figures | kept out | worst difference | margin left |\n|---|---|---|---|---|---|---|"
)
_OTHER_COLUMNS = "| case | source | figures | worst difference | margin left |\n|---|---|---|---|---|"


@dataclass(frozen=True)
class Checked:
    """One case that was checked.

    folder: its folder under `tests/outside`, empty for another program's answers.   grade: how sure its figures are.
    kept_out: figures known to be wrong, or another source's, that did not come out. [-]
    """

    folder: str
    case: str
    source: str
    figures: int
    worst: str
    left: float
    grade: str = ""
    kept_out: int = 0


def all_folders() -> tuple[str, ...]:
    """Every folder of a case, as the page names it."""
    return tuple(sorted(path.parent.relative_to(HERE).as_posix() for path in HERE.rglob("case.toml")))


def written_page(rows: Sequence[Checked], old: str) -> str:
    """The page; what another program said is kept as it stood where the program did not run."""
    own = [_own_line(row) for row in sorted(rows, key=lambda row: row.folder) if row.folder]
    other = [_line(row) for row in sorted(rows, key=lambda row: row.case) if not row.folder]
    if not other and _OTHER in old:
        other = [line for line in old.split(_OTHER)[1].splitlines()[4:] if line.startswith("|")]
    parts = [_HEAD, _OWN, "", _OWN_COLUMNS, *own, "", _OTHER, "", _OTHER_COLUMNS, *other]
    return "\n".join(parts) + "\n"


def _line(row: Checked) -> str:
    return f"| {row.case} | {row.source} | {row.figures} | {row.worst} | {row.left:.0%} |"


def _own_line(row: Checked) -> str:
    start = f"| {row.case} | {row.source} | {row.grade} | {row.figures} | {row.kept_out or ''} |"
    return f"{start} {row.worst} | {row.left:.0%} |"
