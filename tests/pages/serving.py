"""A server in a process of its own that can be killed, made by forking one that has everything loaded already."""

from __future__ import annotations

import multiprocessing
import os
import signal
import socket
from multiprocessing.context import ForkServerContext
from multiprocessing.process import BaseProcess
from pathlib import Path

from loomwright.job.job import Job
from loomwright.store.shelf import Shelf

JOB = "car"


class KilledServer:
    """A shelf that is served, killed and served again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = 0
        self._process: BaseProcess | None = None
        self._context: ForkServerContext = multiprocessing.get_context("forkserver")
        self._context.set_forkserver_preload(["loomwright.pages.app", "uvicorn"])

    def start(self) -> None:
        """Serve; whoever comes before all is ready waits."""
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", 0))
        listening.listen(64)
        self.port = listening.getsockname()[1]
        self._process = self._context.Process(target=_serve, args=(self.folder, listening))
        self._process.start()
        listening.close()

    def memory_mb(self) -> float:
        """What it holds in memory now. [MB]"""
        assert self._process is not None
        told = Path(f"/proc/{self._process.pid}/status").read_text(encoding="utf-8")
        line = next(line for line in told.splitlines() if line.startswith("VmRSS"))
        return float(line.split()[1]) / 1024.0

    def kill(self) -> None:
        """End it as a power cut of its process would."""
        assert self._process is not None
        assert self._process.pid is not None
        os.kill(self._process.pid, signal.SIGKILL)
        self._process.join()


def _serve(folder: Path, listening: socket.socket) -> None:
    import uvicorn

    from loomwright.pages.app import make_app
    from loomwright.pages.checking import CheckBench

    CheckBench.warm = lambda _: None  # type: ignore[method-assign]  # nothing is checked here
    shelf = Shelf(folder, lambda: "now")
    if not shelf.jobs():
        shelf.add(JOB, Job(), who="start")
    config = uvicorn.Config(make_app(shelf, who="hand"), log_level="critical", access_log=False)
    uvicorn.Server(config).run(sockets=[listening])
