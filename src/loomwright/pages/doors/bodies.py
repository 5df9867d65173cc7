"""How much may be sent to an address, of what sort, and how slowly?

A request says how long it is, or is counted while it comes; one that keeps us waiting is let go.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping

from starlette.exceptions import HTTPException
from starlette.types import Message, Receive

__all__ = ["LONGEST_WAIT_S", "bounded", "is_known_sort", "most_bytes"]

_KB, _MB = 1024, 1024 * 1024
_OF_FILES = 65 * _MB
"""A whole job with its photos, and the rest of its form: what the addresses that take files look at closer. [bytes]"""
_OF_LOGS = 1025 * _MB
"""A recorded drive, and the rest of its form. [bytes]"""
_OF_EDITS = 32 * _MB
_OF_FORMS = 256 * _KB
LONGEST_WAIT_S = 20.0
"""How long the next piece of a request is waited for. [s]"""

_JSON, _FORM, _FILES = "application/json", "application/x-www-form-urlencoded", "multipart/form-data"
_MOST: Mapping[str, int] = {_JSON: _OF_EDITS, _FILES: _OF_FILES, _FORM: _OF_FORMS}
_TOO_SLOW, _TOO_LARGE = 408, 413


def is_known_sort(sort: str, path: str) -> bool:
    """Whether an address takes what is sent: a program sends JSON or files, a page forms or files.

    Example:
        >>> is_known_sort("application/json; charset=utf-8", "/api/j/van/edits"), is_known_sort("text/xml", "/brief")
        (True, False)
    """
    return _plain(sort) in ((_JSON, _FILES) if path.startswith("/api/") else (_FORM, _FILES))


def most_bytes(sort: str, path: str = "") -> int:
    """The most that is taken of a sort at an address. [bytes]

    Example:
        >>> most_bytes("multipart/form-data", "/j/van/logs") > most_bytes("multipart/form-data", "/j/van/photos")
        True
    """
    if _plain(sort) == _FILES and path.startswith("/j/") and path.endswith("/logs"):
        return _OF_LOGS
    return _MOST.get(_plain(sort), _OF_FORMS)


def bounded(receive: Receive, most: int, *, wait_s: float = LONGEST_WAIT_S) -> Receive:
    """What comes of a request, counted and not waited for too long.

    Args:
        most: that may come. [bytes]
        wait_s: for each piece. [s]
    """
    taken = 0
    is_whole = False

    async def next_piece() -> Message:
        nonlocal taken, is_whole
        if is_whole:
            return await receive()  # what comes now is only that somebody left
        try:
            async with asyncio.timeout(wait_s):
                message = await receive()
        except TimeoutError:
            raise HTTPException(_TOO_SLOW, "what was sent came too slowly, and is not waited for") from None
        taken += len(message.get("body", b""))
        if taken > most:
            raise HTTPException(_TOO_LARGE, f"more was sent than the {words_of(most)} that are taken here")
        is_whole = message["type"] != "http.request" or not message.get("more_body", False)
        return message

    return next_piece


def words_of(most: int) -> str:
    """A size in words. most: [bytes]"""
    return f"{most // _MB} MB" if most >= _MB else f"{most // _KB} KB"


def _plain(sort: str) -> str:
    return sort.partition(";")[0].strip().lower()
