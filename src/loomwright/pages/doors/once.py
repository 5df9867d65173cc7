"""A form that is sent twice counts once.

Each form of a page carries a word of its own. What was answered to it is kept for an hour: the same form with the same
content sent again, by a second touch or a browser that tries again, gets the same answer and nothing is done. One that
comes while the first is still worked on waits for it. What was refused is not kept: it was not taken.
A program names its word in the header `Idempotency-Key`.
"""

from __future__ import annotations

import asyncio
import hashlib
import re
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["FIELD", "Once", "new_once"]

FIELD = "once"
"""The field of a form that holds its word."""

_KEPT, _KEPT_S = 512, 3600.0
_LARGEST_ANSWER = 256 * 1024
_REFUSED = 400
_WORD = re.compile(r"[\w-]{12,80}")
_IN_FILES = re.compile(rb'name="once"\r\n(?:[^\r]*\r\n)*\r\n([\w-]{12,80})\r\n')
Key = tuple[str, str, str, bytes]


def new_once() -> str:
    """A word for a form."""
    return secrets.token_urlsafe(12)


@dataclass(slots=True)
class _Answered:
    """What was answered, and when. [s]   done: set once it is known."""

    at_s: float
    messages: list[Message] | None = None
    done: asyncio.Event = field(default_factory=asyncio.Event)


class Once:
    """Keeps what was answered to forms."""

    def __init__(self, app: ASGIApp, count_s: Callable[[], float] = time.monotonic) -> None:
        self._app = app
        self._count_s = count_s
        self._answers: OrderedDict[Key, _Answered] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http" or scope["method"] != "POST":
            await self._app(scope, receive, send)
            return
        key, again = await _asked(scope, receive)
        if key is None:
            await self._app(scope, again, send)
            return
        known = self._answers.get(key)
        if known is not None and self._count_s() - known.at_s < _KEPT_S:
            if known.messages is None:
                await known.done.wait()
            if known.messages is not None:
                for message in known.messages:
                    await send(message)
                return
        await self._answered(key, scope, again, send)

    async def _answered(self, key: Key, scope: Scope, receive: Receive, send: Send) -> None:
        """Have it done, and keep what is answered where it was taken."""
        mine = self._answers[key] = _Answered(at_s=self._count_s())
        self._answers.move_to_end(key)
        while len(self._answers) > _KEPT:
            self._answers.popitem(last=False)
        told: list[Message] = []

        async def both(message: Message) -> None:
            told.append(message)
            await send(message)

        try:
            await self._app(scope, receive, both)
            size = sum(len(one.get("body", b"")) for one in told)
            if told and told[0]["status"] < _REFUSED and size <= _LARGEST_ANSWER:
                mine.messages = told
        finally:
            if mine.messages is None and self._answers.get(key) is mine:
                del self._answers[key]
            mine.done.set()


async def _asked(scope: Scope, receive: Receive) -> tuple[Key | None, Receive]:
    """The word of a request with who sent it where, and the request to be read again."""
    headers = {name: value.decode("latin-1") for name, value in scope["headers"]}
    sort = headers.get(b"content-type", "").partition(";")[0].strip().lower()
    named = headers.get(b"idempotency-key", "").strip('"')
    if _WORD.fullmatch(named):
        return _key(scope, named, headers.get(b"content-length", "").encode()), receive
    if sort == "application/x-www-form-urlencoded":
        pieces = [await receive()]
        while pieces[-1].get("more_body", False):
            pieces.append(await receive())
        body = b"".join(one.get("body", b"") for one in pieces)
        words = parse_qs(body.decode("latin-1"), max_num_fields=None).get(FIELD, [""]) if b"once=" in body else [""]
        key = _key(scope, words[0], hashlib.sha256(body).digest()) if _WORD.fullmatch(words[0]) else None
        return key, _replayed(pieces, receive)
    if sort == "multipart/form-data":
        first = await receive()
        found = _IN_FILES.search(first.get("body", b"")[:4096])
        length = headers.get(b"content-length", "").encode()
        return _key(scope, found[1].decode(), length) if found else None, _replayed([first], receive)
    return None, receive


def _key(scope: Scope, word: str, content: bytes) -> Key:
    visitor = scope.get("state", {}).get("visitor")
    who = "" if visitor is None else visitor.device or "here"
    return who, f"{scope['path']}?{scope['query_string'].decode('latin-1')}", word, content


def _replayed(pieces: list[Message], receive: Receive) -> Receive:
    left = list(reversed(pieces))

    async def next_piece() -> Message:
        return left.pop() if left else await receive()

    return next_piece
