"""How does an answer leave the command line: sentences or JSON, to which file, and with which exit code?

0 nothing or notes only, 1 a fault or warning, 2 broken input. One place turns refusals into sentences, and a file that
cannot be written into a refusal. Answers go to the standard output, refusals in words to the standard error.
"""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from pathlib import Path
from typing import Any

from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem, Refusal, as_plain
from loomwright.sheets.one_file import write_whole

__all__ = ["as_json", "counted", "refuse", "show", "show_hanging", "told", "write_file"]

_LEAST_COLUMNS, _MOST_COLUMNS = 60, 110


def show(text: str = "") -> None:
    """Print a line."""
    sys.stdout.write(text + "\n")


def show_hanging(text: str, hang: str) -> None:
    """Print a long line: on a terminal broken at words, further lines under `hang`; elsewhere whole."""
    if not sys.stdout.isatty():
        show(text)
        return
    width = max(_LEAST_COLUMNS, min(_MOST_COLUMNS, shutil.get_terminal_size().columns))
    lead = len(text) - len(text.lstrip())
    broken = textwrap.wrap(
        text.lstrip(), width, initial_indent=" " * lead, subsequent_indent=hang, break_on_hyphens=False
    )
    show("\n".join(broken))


def as_json(answer: Any) -> None:
    """Print an answer as JSON."""
    show(json.dumps(answer, indent=1, ensure_ascii=False, allow_nan=False))


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    Example:
        >>> counted(1, "fault"), counted(0, "fault")
        ('1 fault', '0 faults')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def write_file(path: Path, data: bytes) -> None:
    """Write a file, or leave everything as it is; folders that are missing on the way are made.

    Raises:
        BadDocument: it cannot be written there.
    """
    write_whole(path, data)


def told(found: str, allowed: str, mend: str) -> BadDocument:
    """A refusal about something outside the sheets."""
    return BadDocument((Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend),))


def refuse(refusal: Refusal, wants_json: bool) -> int:
    """Tell a refusal; gives exit code 2."""
    if wants_json:
        as_json(as_plain(BadDocument(_problems(refusal))))
        return 2
    sys.stderr.write(f"{refusal}\n")
    if isinstance(refusal, BadDocument) and len(refusal.problems) > 1:
        sys.stderr.write(f"{len(refusal.problems)} places to mend; nothing was taken in.\n")
    return 2


def _problems(refusal: Refusal) -> tuple[Problem, ...]:
    if isinstance(refusal, BadDocument):
        return refusal.problems
    found, allowed, mend, column = str(refusal), "", "", ""
    if isinstance(refusal, OutOfReach):
        found, allowed, column = str(refusal.found), refusal.allowed, refusal.name
        mend = "Give what is allowed there"
    elif isinstance(refusal, NoAnswer):
        found, mend = refusal.question, " ".join(refusal.reasons)
    return (Problem(sheet="", row=None, column=column, found=found, allowed=allowed, mend=mend),)
