"""What every answer tells the browser: load from here only, run nothing that stands inline, be framed by nobody."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from loomwright.pages.doors.doorway import Doorway

__all__ = ["SAFE_HEADERS", "SafeHeaders"]

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
SAFE_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # forms of our own pages say where they come from, which the door asks of them; nobody else is told
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    # pictures are taken by the tablet's own camera, and nobody is listened to or looked for
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_KEPT_PATHS = ("/static/", "/fonts/")
_DATA_PATH = "/api/"
_TLS_ALWAYS = "max-age=31536000"
_TLS_HEADER = "Strict-Transport-Security"


class SafeHeaders:
    """Puts the headers on every answer that does not set its own. It does no more, since every edit goes through it."""

    def __init__(self, app: ASGIApp, doorway: Doorway) -> None:
        self._app = app
        # never of a certificate made here: a browser would shut out whoever has not taken it yet
        self._has_own_name = doorway.lan is not None and doorway.lan.has_own_name

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        path: str = scope["path"]

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SAFE_HEADERS.items():
                    headers.setdefault(name, value)
                if path.startswith(_DATA_PATH):
                    headers.setdefault("Content-Disposition", 'attachment; filename="answer.json"')
                if not path.startswith(_KEPT_PATHS) and _is_elsewhere(scope):
                    headers.setdefault("Cache-Control", "no-store")
                if self._has_own_name:
                    headers.setdefault(_TLS_HEADER, _TLS_ALWAYS)
            await send(message)

        await self._app(scope, receive, with_headers)


def _is_elsewhere(scope: Scope) -> bool:
    """Whether a device asks, which is not to keep what it was shown once it is let go."""
    visitor = scope.get("state", {}).get("visitor")
    return visitor is None or bool(visitor.device)
