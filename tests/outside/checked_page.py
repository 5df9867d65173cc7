"""The page of outside checks: one row a case, with what is left of its tolerance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Checked", "all_folders", "written_page"]

HERE = Path(__file__).parent
_HEAD = """# Checked against other people's answers

Written by the tests in `tests/outside/`, not by hand. Each row is a case: the figures it holds, the worst of them, and
how much of that figure's tolerance is left. The tolerance and its reason stand with the case.
"""
_OWN = "## Printed and hand-worked figures"
_OTHER = "## Another program on the same netlist"
_COLUMNS = "| case | source | figures | worst difference | margin left |\n|---|---|---|---|---|"


@dataclass(frozen=True)
class Checked:
    """One case that was checked. folder: its folder under `tests/outside`, empty for another program's answers."""

    folder: str
    case: str
    source: str
    figures: int
    worst: str
    left: float


def all_folders() -> tuple[str, ...]:
    """Every folder of a case, as the page names it."""
    return tuple(sorted(path.parent.relative_to(HERE).as_posix() for path in HERE.rglob("case.toml")))


def written_page(rows: Sequence[Checked], old: str) -> str:
    """The page; what another program said is kept as it stood where the program did not run."""
    own = [_line(row) for row in sorted(rows, key=lambda row: row.folder) if row.folder]
    other = [_line(row) for row in sorted(rows, key=lambda row: row.case) if not row.folder]
    if not other and _OTHER in old:
        other = [line for line in old.split(_OTHER)[1].splitlines()[4:] if line.startswith("|")]
    parts = [_HEAD, _OWN, "", _COLUMNS, *own, "", _OTHER, "", _COLUMNS, *other]
    return "\n".join(parts) + "\n"


def _line(row: Checked) -> str:
    return f"| {row.case} | {row.source} | {row.figures} | {row.worst} | {row.left:.0%} |"
