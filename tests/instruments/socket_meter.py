"""A meter on a real socket of this machine: it answers what it is told to, and then hangs or hangs up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from socket import create_server, socket
from threading import Thread


@contextmanager
def meter_on_a_socket(figures: Sequence[str], then: str) -> Iterator[str]:
    """The address of a meter that tells these figures and then `hangs`, or `hangs up`."""
    server = create_server(("127.0.0.1", 0))
    kept: list[socket] = []
    Thread(target=_serve, args=(server, list(figures), then, kept), daemon=True).start()
    try:
        yield f"TCPIP::127.0.0.1::{server.getsockname()[1]}::SOCKET"
    finally:
        server.close()
        for one in kept:
            one.close()


def _serve(server: socket, figures: list[str], then: str, kept: list[socket]) -> None:
    line, _ = server.accept()
    kept.append(line)
    for asked in line.makefile("r", encoding="ascii", newline="\n"):
        word = asked.strip()
        if word == "*IDN?":
            line.sendall(b"Bench,six digits,0,4\n")
        elif word == "READ?" and figures:
            line.sendall(f"{figures.pop(0)}\n".encode())
        elif word == "READ?" and then == "hangs up":
            server.close()  # its lead is off: nothing answers at the address any more
            line.shutdown(2)
            return
