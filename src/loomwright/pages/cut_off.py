"""What is told where the server is stopped before an answer is worked out?

In words that it was, and nothing in the terminal: what was asked only looked, or is not done until it is answered, so
it is asked again once the server is up. An answer of which a part was sent already breaks off.
"""

from __future__ import annotations

import asyncio
import json

from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["CutOff"]

_SAYS = "The server was stopped before this was worked out. Ask again once it is up."
_AWAY = 503


class CutOff:
    """Answers for whoever still waits when the server is told to end."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        is_begun = False

        async def seen(message: Message) -> None:
            nonlocal is_begun
            is_begun = True
            await send(message)

        try:
            await self._app(scope, receive, seen)
        except asyncio.CancelledError:
            if scope["type"] != "http" or is_begun:
                raise
            await _answer(scope, send)


async def _answer(scope: Scope, send: Send) -> None:
    told = {"found": _SAYS, "allowed": "", "mend": "Ask again"}
    is_data = str(scope["path"]).startswith("/api/")
    body = json.dumps({"refused": [told]}).encode() if is_data else _SAYS.encode()
    kind = b"application/json" if is_data else b"text/plain; charset=utf-8"
    headers = [
        (b"content-type", kind),
        (b"content-length", str(len(body)).encode()),
        (b"retry-after", b"5"),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": _AWAY, "headers": headers})
    await send({"type": "http.response.body", "body": body, "more_body": False})
