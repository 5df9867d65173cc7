"""When does a process that works for the server end? With the server, however that ends.

A process that waits for work hears nothing of a server that was killed: it holds an end of its own queue open, and
would wait for ever. One that reckons would go on until it has something to tell. So each watches for its server beside
its work, and leaves on the spot; whatever it does is worked out anew when it is asked for.

Ctrl+C on a terminal goes to every process of it. Whoever was asked hears it and ends the others; those that hear it
too, most of them while they still load, print where they stood: `deaf_to_hand`.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection, wait
from threading import Thread

__all__ = ["deaf_to_hand", "end_with_server"]


@contextmanager
def deaf_to_hand() -> Iterator[None]:
    """A process that is started meanwhile by this thread never hears Ctrl+C.

    What comes to the thread itself meanwhile is heard at the end of it.
    """
    if not hasattr(signal, "pthread_sigmask"):  # no such system: they print where they stood
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def end_with_server(line: Connection | None = None) -> None:
    """Let this process end as soon as the one that started it does.

    Args:
        line: ends it too, once the far end of it is closed.
    """
    server = multiprocessing.parent_process()
    if server is None:  # asked in the server itself
        return
    watched: list[int | Connection] = [server.sentinel] if line is None else [server.sentinel, line]

    def leave() -> None:
        wait(watched)
        os._exit(0)

    Thread(target=leave, daemon=True, name="ends with the server").start()
