"""How long is a client waited for that says nothing, or says it letter by letter?

A request's head has ten seconds from its first letter, and a new connection as long until there is one; what comes
after is bounded where bodies are read. Without this a handful of idle connections could hold every place there is.
"""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

__all__ = ["HEAD_S", "MOST_AT_ONCE", "PatientProtocol"]

HEAD_S = 10.0
"""How long the head of a request may take. [s]"""
MOST_AT_ONCE = 300
"""Connections and requests at one time; who comes beyond is told to come again. [-]"""


class PatientProtocol(HttpToolsProtocol):
    """One connection that is let go where the head of a request does not come."""

    head_s = HEAD_S
    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """A connection is there."""
        super().connection_made(transport)
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """It is gone."""
        self._come()
        super().connection_lost(exc)

    def on_message_begin(self) -> None:
        """The first letter of a request."""
        super().on_message_begin()
        self._wait()

    def on_headers_complete(self) -> None:
        """Its head is there."""
        self._come()
        super().on_headers_complete()

    def _wait(self) -> None:
        self._come()
        self._late = self.loop.call_later(self.head_s, self._let_go)

    def _come(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _let_go(self) -> None:
        if not self.transport.is_closing():
            self.transport.close()
