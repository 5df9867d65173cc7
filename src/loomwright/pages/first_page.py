"""The first page costs a second of making addresses and templates ready: we ask for it before anybody else does."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Scope

__all__ = ["ask_first_page"]

_PAGE = "/next/shell"


async def ask_first_page(app: ASGIApp) -> None:
    """Ask an application for the page that a tablet opens; what comes of it is not looked at.

    Args:
        app: behind its door.
    """
    scope: Scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": _PAGE,
        "raw_path": _PAGE.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"127.0.0.1"), (b"accept", b"text/html")],
        "client": ("127.0.0.1", 0),
        "server": ("127.0.0.1", 0),
    }

    async def nothing() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def unread(_: Message) -> None:
        return None

    await app(scope, nothing, unread)
