"""What does a JSON text say, with nothing guessed, merged or rounded on the way?

Readers of JSON take the last of two equal names, turn figures into binary numbers, take `NaN`, and fall over a
thousand brackets. Here names come in pairs as they stand, a figure keeps its digits, what is no JSON is told with its
line, and how much may be in it is bounded before anything is made of it.

Source:
    RFC 8259, from memory.
"""

from __future__ import annotations

import json
from typing import TypeAlias

from loomwright.refusals import Problem

__all__ = ["MOST_BYTES", "Digits", "NoNumber", "Pairs", "Value", "parsed"]

MOST_BYTES = 64 * 1024 * 1024
"""Most a document may hold. [bytes]"""

_MOST_PIECES = 4_000_000
_LONGEST_TOLD = 40

Value: TypeAlias = "str | bool | list[Value] | Pairs | None"
"""What a piece of the document may be; a number is its `Digits`."""


class Digits(str):
    """A number, as it was typed."""

    __slots__ = ()


class NoNumber(str):
    """`NaN` or `Infinity`, which some programs write for a number and JSON does not have."""

    __slots__ = ()


class Pairs(list[tuple[str, Value]]):
    """The names of an object and what stands behind each, doubled ones too."""

    __slots__ = ()


def parsed(raw: bytes, *, what: str) -> tuple[Value, Problem | None]:
    """What a document says, or what keeps it from being read.

    Args:
        raw: the whole document; a byte order mark is passed over.
        what: what the file is called, for the problem.
    """
    if len(raw) > MOST_BYTES:
        found = f"{what}: {len(raw) // (1024 * 1024)} MB"
        return None, _fault(found, f"at most {MOST_BYTES // (1024 * 1024)} MB", "Keep what is not of this job outside")
    pieces = sum(raw.count(sign) for sign in (b",", b":", b"[", b"{"))
    if pieces > _MOST_PIECES:
        found = f"{what}: {pieces} pieces"
        return None, _fault(found, f"at most {_MOST_PIECES} pieces", "Keep what is not of this job outside")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        start = fault.start + (len(raw) - len(fault.object))
        line = raw.count(b"\n", 0, start) + 1
        found = f"{what}: a byte {raw[start]:#04x} in line {line}"
        return None, _fault(found, "text in UTF-8", "Save the file anew in UTF-8")
    try:
        said: Value = json.loads(
            text, object_pairs_hook=Pairs, parse_int=Digits, parse_float=Digits, parse_constant=NoNumber
        )
    except json.JSONDecodeError as fault:
        there = text[fault.pos : fault.pos + _LONGEST_TOLD].splitlines()
        found = f"{what}, line {fault.lineno}, sign {fault.colno}: {there[0] if there and there[0] else 'its end'}"
        return None, _fault(found, "JSON", "Look there for a bracket, comma or quote too many or too few")
    except RecursionError:
        found = f"{what}: brackets within brackets without end"
        return None, _fault(found, "sheets, rows and cells", "Write the document anew")
    return said, None


def _fault(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
