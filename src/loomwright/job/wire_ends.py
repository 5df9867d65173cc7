"""Which of a wire's two ends is meant, and what stands in its row for it?

An end goes by the column of its point: `from` is the start, `to` the end.
"""

from __future__ import annotations

from loomwright.job.rows import Wire

__all__ = ["ENDS", "END_WORDS", "other_end", "point_at", "seal_at", "terminal_at"]

ENDS = ("from", "to")
"""The ends of a wire, as progress names them."""

END_WORDS = {"from": "start", "to": "end"}
"""End -> what a person calls it."""


def other_end(end: str) -> str:
    """The end that a wire has beside this one.

    Example:
        >>> other_end("from"), other_end("to")
        ('to', 'from')
    """
    return "to" if end == "from" else "from"


def point_at(wire: Wire, end: str) -> str:
    """The point an end is at; empty where it is free.

    Example:
        >>> wire = Wire(id="W1", from_="F1.2", to="LA1.1", terminal_to="blade 6.3")
        >>> point_at(wire, "from"), point_at(wire, "to"), terminal_at(wire, "to"), seal_at(wire, "to")
        ('F1.2', 'LA1.1', 'blade 6.3', '')
    """
    return wire.from_ if end == "from" else wire.to


def terminal_at(wire: Wire, end: str) -> str:
    """The crimp terminal at an end; empty where none is given."""
    return wire.terminal_from if end == "from" else wire.terminal_to


def seal_at(wire: Wire, end: str) -> str:
    """The wire seal at an end; empty where none is given."""
    return wire.seal_from if end == "from" else wire.seal_to
