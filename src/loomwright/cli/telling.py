"""How far is a command that takes seconds? One line of the terminal, written over; nothing where nobody looks on."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial

__all__ = ["telling"]

_LINES = 40
"""So many counts are shown of a long way, so that telling takes no time of its own [-]."""


def telling(counted: str = "states") -> Callable[[int, int], None] | None:
    """What tells on the terminal what is done of what; None where the standard error is no terminal.

    Args:
        counted: what is counted, many of them.
    """
    return partial(_tell, counted) if sys.stderr.isatty() else None


def _tell(counted: str, done: int, of: int) -> None:
    if done >= of or done % max(1, of // _LINES) < max(1, of // (2 * _LINES)):
        sys.stderr.write(f"\r{done} of {of} {counted}" + ("\n" if done >= of else ""))
        sys.stderr.flush()
