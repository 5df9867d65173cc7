"""`loomwright serve`: the shelf in the browser, on this machine alone."""

from __future__ import annotations

import signal
import socket
import sys
from argparse import ArgumentParser, Namespace
from getpass import getuser
from types import FrameType
from typing import NoReturn

from loomwright.cli.printing import as_json, show, told
from loomwright.cli.shelf_folder import add_shelf, folder_of, open_shelf
from loomwright.store.shelf import Shelf

__all__ = ["HELP", "add_arguments", "add_serving", "run", "serve_shelf"]

HELP = "show the shelf of jobs in the browser, at an address of this machine alone"

_HERE = "127.0.0.1"
_PORT = 8140
_WAITING_MOST = 128
_MOST_PORT = 65535


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_shelf(parser)
    add_serving(parser)


def add_serving(parser: ArgumentParser) -> None:
    """Where to serve, and in whose name."""
    parser.add_argument("--port", type=int, default=_PORT, metavar="N", help=f"the port ({_PORT}); 0: any that is free")
    parser.add_argument("--who", default="", metavar="NAME", help="whose edits they are; your login left out")
    parser.add_argument("--json", action="store_true", help="the address as JSON instead of a sentence")


def run(arguments: Namespace) -> int:
    """Run it until it is stopped; gives the exit code."""
    shelf = open_shelf(arguments)
    try:
        return serve_shelf(
            shelf, arguments.port, arguments.who, says=f"the shelf in {folder_of(arguments)}", plain=arguments.json
        )
    finally:
        shelf.close()


def serve_shelf(shelf: Shelf, port: int, who: str, *, says: str, plain: bool = False) -> int:
    """Serve a shelf until somebody stops it.

    Args:
        port: where to listen; 0 for any that is free. [-]
        who: whose edits they are.
        says: what is served, for the line that tells the address.
        plain: tell the address as JSON.
    Raises:
        BadDocument: something else listens there.
    """
    import uvicorn

    from loomwright.pages.app import make_app

    listening = _listening(port)
    address = f"http://{_HERE}:{listening.getsockname()[1]}/"
    app = make_app(shelf, who=who or _login())
    if plain:
        as_json({"address": address})
    else:
        show(f"{says}: {address}   (Ctrl+C stops it)")
    sys.stdout.flush()
    # told to end, it closes what it holds first
    signal.signal(signal.SIGTERM, _leave)

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            app.state.desk.news.close()  # pages that wait for news are let go, or they would be waited for
            super().handle_exit(sig, frame)

    config = uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=2)
    Server(config).run(sockets=[listening])
    return 0


def _leave(_number: int, _frame: object) -> NoReturn:
    raise SystemExit(0)


def _listening(port: int) -> socket.socket:
    if not 0 <= port <= _MOST_PORT:
        raise told(f"port {port}", f"0 to {_MOST_PORT}", "Name another port, or 0 for any that is free")
    # named TCP in so many words: else answers wait for one another, some 40 ms each
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((_HERE, port))
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
