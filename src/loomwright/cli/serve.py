"""`loomwright serve`: the shelf in the browser, on this machine alone or for devices of the shop."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import socket
import ssl
import sys
import threading
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from getpass import getuser
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

from loomwright.cli.printing import as_json, show, told
from loomwright.cli.serve_lan import Opening, add_lan, opening_of, show_opening
from loomwright.cli.shelf_folder import add_shelf, folder_of, open_shelf
from loomwright.store.shelf import Shelf

if TYPE_CHECKING:
    import uvicorn

__all__ = ["HELP", "add_arguments", "add_serving", "at_once", "run", "serve_shelf"]

HELP = "show the shelf of jobs in the browser, on this machine alone or, with --lan, to devices of the shop"

_HERE, _EVERYWHERE = "127.0.0.1", "0.0.0.0"  # the second with --lan alone, behind the door
_PORT = 8140
_WAITING_MOST = 128
_MOST_PORT = 65535
_STOPPED = 130


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_shelf(parser)
    add_serving(parser)


def add_serving(parser: ArgumentParser) -> None:
    """Where to serve, and in whose name."""
    parser.add_argument("--port", type=int, default=_PORT, metavar="N", help=f"the port ({_PORT}); 0: any that is free")
    parser.add_argument("--who", default="", metavar="NAME", help="whose edits they are; your login left out")
    add_lan(parser)
    parser.add_argument("--json", action="store_true", help="the address as JSON instead of a sentence")


def run(arguments: Namespace) -> int:
    """Run it until it is stopped; gives the exit code."""
    with at_once():
        shelf = open_shelf(arguments)
        try:
            return serve_shelf(shelf, arguments, says=f"the shelf in {folder_of(arguments)}")
        finally:
            shelf.close()


@contextmanager
def at_once() -> Iterator[None]:
    """Where it is told to end, what is still worked out for somebody does not hold it up; what is kept is closed."""
    try:
        yield
    except (SystemExit, KeyboardInterrupt) as told_to:
        if not any(not one.daemon for one in threading.enumerate() if one is not threading.main_thread()):
            raise
        is_by_hand = isinstance(told_to, KeyboardInterrupt)
        if is_by_hand:
            sys.stderr.write("stopped.\n")
        code = _STOPPED if is_by_hand else 0
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def serve_shelf(shelf: Shelf, arguments: Namespace, *, says: str) -> int:
    """Serve a shelf until somebody stops it.

    Args:
        arguments: of `add_serving`.
        says: what is served, for the line that tells the address.
    Raises:
        BadDocument: something else listens there, or a certificate cannot be used.
    """
    listening = _listening(arguments.port, _EVERYWHERE if arguments.lan else _HERE)
    try:
        opening = opening_of(arguments, shelf.folder, listening.getsockname()[1], arguments.who or _login())
        try:
            return _served(shelf, opening, listening, says, plain=arguments.json)
        finally:
            opening.close()
    finally:
        listening.close()


def _served(shelf: Shelf, opening: Opening, listening: socket.socket, says: str, *, plain: bool) -> int:
    import uvicorn

    from loomwright.pages.app import make_app
    from loomwright.pages.doors.patience import MOST_AT_ONCE, PatientProtocol

    app = make_app(shelf, who=opening.doorway.who, doorway=opening.doorway)
    config = uvicorn.Config(
        app,
        http=PatientProtocol,
        ws="none",
        log_level="warning",
        access_log=False,  # an address may name a job, and nobody reads it
        server_header=False,
        proxy_headers=False,  # what a go-between says of a client is not believed
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=10,
        timeout_graceful_shutdown=2,
        ssl_certfile=None if opening.certificate is None else opening.certificate.certificate,
        ssl_keyfile=None if opening.certificate is None else opening.certificate.key,
    )
    _load(config)
    uvicorn.server.logger.addFilter(_in_our_words)
    if plain:
        as_json(opening.as_plain())
    else:
        show(f"{says}: {opening.address}   (Ctrl+C stops it)")
        show_opening(opening)
    sys.stdout.flush()
    # told to end, it closes what it holds first
    signal.signal(signal.SIGTERM, _leave)

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            app.state.desk.news.close()  # pages that wait for news are let go, or they would be waited for
            super().handle_exit(sig, frame)

    Server(config).run(sockets=[listening])
    return 0


def _load(config: uvicorn.Config) -> None:
    """Bring a server's settings in before anything is told.

    Raises:
        BadDocument: its certificate and key do not go together.
    """
    try:
        config.load()
    except (ssl.SSLError, OSError) as fault:
        raise told(
            f"{config.ssl_certfile} with {config.ssl_keyfile}: {fault}", "a certificate and its key", "Name both"
        ) from fault


def _in_our_words(record: logging.LogRecord) -> bool:
    """What the server says of an end that cuts something off; each that was cut off is told so itself."""
    if record.exc_info and record.exc_info[0] is asyncio.CancelledError:
        return False
    if record.getMessage().rstrip().endswith(asyncio.CancelledError.__name__):  # told to end a second time
        return False
    if record.getMessage().startswith("Cancel "):
        record.levelno, record.levelname = logging.WARNING, "WARNING"
        record.msg = "%s asked for an answer that was not worked out yet, and were told so"
        record.__dict__.pop("color_message", None)
    return True


def _leave(_number: int, _frame: object) -> NoReturn:
    raise SystemExit(0)


def _listening(port: int, at: str) -> socket.socket:
    if not 0 <= port <= _MOST_PORT:
        raise told(f"port {port}", f"0 to {_MOST_PORT}", "Name another port, or 0 for any that is free")
    # named TCP in so many words: else answers wait for one another, some 40 ms each
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((at, port))
        found.listen(_WAITING_MOST)  # who comes before all is ready waits a moment instead of being turned away
    except OSError as fault:
        found.close()
        mend = "Stop what listens there, or name another with --port"
        raise told(f"port {port}: {fault.strerror}", "a port that is free", mend) from fault
    return found


def _login() -> str:
    try:
        return getuser()
    except (KeyError, OSError):
        return "bench"
