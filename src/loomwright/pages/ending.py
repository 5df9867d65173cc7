"""When does a process that works for the server end? With the server, however that ends.

A process that waits for work hears nothing of a server that was killed: it holds an end of its own queue open, and
would wait for ever. One that reckons would go on until it has something to tell. So each watches for its server beside
its work, and leaves on the spot; whatever it does is worked out anew when it is asked for.
"""

from __future__ import annotations

import multiprocessing
import os
from multiprocessing.connection import Connection, wait
from threading import Thread

__all__ = ["end_with_server"]


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
