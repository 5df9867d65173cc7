"""The demonstration in the browser: one command, an address, the van in both states; what is done to it stays."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from loomwright.job.job import Job
from loomwright.store.shelf import Shelf

PATIENCE_S = 60.0


def parents() -> dict[int, int]:
    """Every process that is at work, and the one that started it."""
    found = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):  # ended while it was looked at
            state, parent = stat.read_text(encoding="utf-8").rpartition(")")[2].split()[:2]
            if state != "Z":
                found[int(stat.parent.name)] = int(parent)
    return found


@contextmanager
def running(shelf: Path, *, killed: bool = False) -> Iterator[str]:
    """The demonstration on that shelf; gives its address. However it ends, what works for it ends with it."""
    words = [sys.executable, "-m", "loomwright", "demo", "--shelf", str(shelf), "--port", "0", "--who", "sam", "--json"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        yield json.loads("".join(iter(process.stdout.readline, "}\n")) + "}")["address"]
        at_work = {pid for pid, parent in parents().items() if parent == process.pid}
        assert at_work
    finally:
        if killed:
            process.kill()
        else:
            process.terminate()
        assert process.wait(PATIENCE_S) == (-signal.SIGKILL if killed else 0)
    until = time.monotonic() + PATIENCE_S
    while at_work & parents().keys():
        assert time.monotonic() < until, f"{at_work} outlive their server"
        time.sleep(0.05)


def asked(address: str, path: str, edits: list[dict[str, Any]] | None = None) -> Any:
    data = None if edits is None else json.dumps({"edits": edits, "token": "once"}).encode()
    request = urllib.request.Request(address + path, data, {"Content-Type": "application/json"})
    with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
        return json.load(answer)


def test_both_vans_are_there_and_an_edit_outlives_the_server(tmp_path: Path) -> None:
    shelf = tmp_path / "demo"
    with running(shelf) as address:
        assert [one["name"] for one in asked(address, "api/jobs")] == ["van", "van-as-drawn"]
        wires = asked(address, "api/j/van/sheet/wires")["rows"]
        assert len(wires) > 150
        first = wires[0]
        cell = {"do": "set", "sheet": "wires", "row": first["row"], "column": "notes"}
        told = asked(address, "api/j/van/edits", [cell | {"old": first["cells"].get("notes", ""), "new": "looked at"}])
        assert told["revision"] == 2
    with running(shelf, killed=True) as address:
        again = asked(address, "api/j/van/sheet/wires")
        assert again["revision"] == 2
        assert again["rows"][0]["cells"]["notes"] == "looked at"


@pytest.mark.long
def test_told_to_end_it_lets_waiting_pages_go_and_says_nothing(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "loomwright", "serve", "--shelf", str(tmp_path / "shelf"), "--port", "0", "--json"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    address = json.loads("".join(iter(process.stdout.readline, "}\n")) + "}")["address"]
    shelf = Shelf(tmp_path / "shelf", lambda: "now")
    shelf.add("car", Job(), who="sam")
    shelf.close()
    told: list[Any] = []
    waiting = threading.Thread(target=lambda: told.append(asked(address, "api/j/car/news?after=1&wait_s=25")))
    waiting.start()
    asked(address, "api/jobs")
    time.sleep(0.5)
    begun = time.monotonic()
    held = socket.create_connection(("127.0.0.1", int(address.rstrip("/").rpartition(":")[2])))
    process.terminate()
    _, complaints = process.communicate(timeout=PATIENCE_S)
    waiting.join(PATIENCE_S)
    assert told == [{"revision": 1}]
    held.close()
    assert time.monotonic() - begun < 20.0
    assert complaints == ""
    assert process.returncode == 0


def test_a_command_loads_only_what_it_works_with() -> None:
    asks = "import sys; from loomwright.cli.main import main; main(['{}']); print([x for x in {} if x in sys.modules])"
    heavy = ["numba", "sqlalchemy", "fastapi", "typst", "numpy"]
    told = subprocess.run(
        [sys.executable, "-c", asks.format("frobnicate", heavy)], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"
