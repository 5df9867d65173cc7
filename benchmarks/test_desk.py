"""How fast is an edit on the disk, how fast a page, and how many edits a second do eight people get through?

The server runs in a process of its own, asked over a socket as a browser does. Beside each time stands what the same
disk and the same web library do with nothing of ours in between: a write that is flushed, a page of constant words.
Run by hand (`make bench`): the machine decides.
"""

from __future__ import annotations

import json
import os
import statistics
import threading
import time
from collections.abc import Callable, Iterator
from http.client import HTTPConnection
from pathlib import Path

import httpx
import pytest

from tests.pages.serving import JOB, KilledServer

EDIT_BAR_S, PAGE_BAR_S, PAGE_BAR_BYTES, RATE_BAR = 0.020, 0.060, 300_000, 500.0
ROWS = 300
EDITS = 2000
GROWTH_BAR_MB = 30.0
Say = Callable[[str], None]


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    def told(words: str) -> None:
        with capsys.disabled():
            print(f"\n{words}", end="")

    return told


@pytest.fixture
def server(tmp_path: Path) -> Iterator[KilledServer]:
    made = KilledServer(tmp_path / "shelf")
    made.start()
    yield made
    made.kill()


@pytest.fixture
def client(server: KilledServer) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=60.0) as made:
        rows = [{"do": "add", "sheet": "wires", "cells": _wire(number)} for number in range(ROWS)]
        assert made.post(f"/api/j/{JOB}/edits", json={"edits": rows}).status_code == 200
        yield made


def _wire(number: int) -> dict[str, str]:
    ends = {"from": f"P{number}.1", "to": f"P{number}.2", "size_mm2": "1.5", "colour": "WH/BU"}
    return {"id": f"W{number}", **ends, "length_mm": str(500 + number), "insulation": "B", "notes": "under the dash"}


def _share(times_s: list[float], share: float) -> float:
    return sorted(times_s)[min(len(times_s) - 1, int(share * len(times_s)))]


def _keys(client: httpx.Client) -> list[int]:
    return [row["row"] for row in client.get(f"/api/j/{JOB}/sheet/wires").json()["rows"]]


def test_an_edit_is_on_the_disk(benchmark, client: httpx.Client, tmp_path: Path, say: Say) -> None:  # type: ignore[no-untyped-def]
    keys = _keys(client)
    taken_s: list[float] = []

    def edit() -> None:
        number = len(taken_s)
        cell = {"do": "set", "sheet": "wires", "row": keys[number % ROWS], "column": "notes"}
        old = "under the dash" if number < ROWS else f"n{number - ROWS}"
        begun = time.perf_counter()
        answer = client.post(f"/api/j/{JOB}/edits", json={"edits": [cell | {"old": old, "new": f"n{number}"}]})
        taken_s.append(time.perf_counter() - begun)
        assert answer.status_code == 200, answer.text

    benchmark.pedantic(edit, rounds=EDITS // 2)
    bare_s = _flushed_writes_s(tmp_path / "bare", 200)
    p99, usual = _share(taken_s, 0.99), statistics.median(taken_s)
    say(
        f"edit: {usual * 1e3:.1f} ms usual, {p99 * 1e3:.1f} ms for 99 of 100 (bar {EDIT_BAR_S * 1e3:.0f} ms), "
        f"{usual / statistics.median(bare_s):.1f} times a bare flushed write"
    )
    assert p99 < EDIT_BAR_S


def _flushed_writes_s(file: Path, times: int) -> list[float]:
    taken_s = []
    with file.open("wb") as written:
        for _ in range(times):
            begun = time.perf_counter()
            written.write(b"x" * 4096)
            written.flush()
            os.fsync(written.fileno())
            taken_s.append(time.perf_counter() - begun)
    return taken_s


def test_a_page_of_three_hundred_rows(benchmark, client: httpx.Client, say: Say) -> None:  # type: ignore[no-untyped-def]
    taken_s: list[float] = []
    sizes: list[int] = []

    def look() -> None:
        begun = time.perf_counter()
        answer = client.get(f"/j/{JOB}/sheet/wires", headers={"Accept": "text/html"})
        taken_s.append(time.perf_counter() - begun)
        assert answer.status_code == 200
        sizes.append(len(answer.content))

    benchmark.pedantic(look, rounds=60, warmup_rounds=3)
    bare_s = []
    for _ in range(60):
        begun = time.perf_counter()
        client.get("/static/mark.svg")
        bare_s.append(time.perf_counter() - begun)
    p95 = _share(taken_s[3:], 0.95)
    say(
        f"page of {ROWS} rows: {p95 * 1e3:.0f} ms for 95 of 100 (bar {PAGE_BAR_S * 1e3:.0f} ms), {sizes[-1]:,} bytes "
        f"(bar {PAGE_BAR_BYTES:,}), {statistics.median(taken_s) / statistics.median(bare_s):.0f} times a small file"
    )
    assert p95 < PAGE_BAR_S
    assert sizes[-1] <= PAGE_BAR_BYTES


def test_eight_people_edit_at_once(benchmark, client: httpx.Client, server: KilledServer, say: Say) -> None:  # type: ignore[no-untyped-def]
    """Every edit is one committed and flushed transaction."""
    keys = _keys(client)
    done = [0] * 8  # cells each has typed; the client is the plainest there is, since it shares the machine

    def hand(number: int, until: float) -> None:
        own = HTTPConnection("127.0.0.1", server.port, timeout=60.0)
        while time.perf_counter() < until:
            row, before = keys[number * 30 + done[number] % 30], done[number] - 30
            old = f"h{number}n{before}" if before >= 0 else "under the dash"
            cell = {"do": "set", "sheet": "wires", "row": row, "column": "notes", "old": old}
            body = json.dumps({"edits": [cell | {"new": f"h{number}n{done[number]}"}]})
            own.request("POST", f"/api/j/{JOB}/edits", body, {"Content-Type": "application/json"})
            answer = own.getresponse()
            told = answer.read()
            assert answer.status == 200, told
            done[number] += 1
        own.close()

    def rush() -> None:
        until = time.perf_counter() + 5.0
        hands = [threading.Thread(target=hand, args=(number, until)) for number in range(8)]
        for one in hands:
            one.start()
        for one in hands:
            one.join()

    begun = time.perf_counter()
    benchmark.pedantic(rush, rounds=1)
    rate = sum(done) / (time.perf_counter() - begun)
    say(f"eight at once: {rate:.0f} edits a second (bar {RATE_BAR:.0f})")
    assert rate >= RATE_BAR


def test_two_thousand_edits_leave_memory_as_it_was(  # type: ignore[no-untyped-def]
    benchmark, client: httpx.Client, server: KilledServer, say: Say
) -> None:
    keys = _keys(client)

    def edits(number: int) -> None:
        key = keys[number % ROWS]
        cell = {"do": "set", "sheet": "wires", "row": key, "column": "length_mm", "new": str(1000 + number)}
        old = str(500 + number % ROWS) if number < ROWS else str(1000 + number - ROWS)
        assert client.post(f"/api/j/{JOB}/edits", json={"edits": [cell | {"old": old}]}).status_code == 200

    for number in range(500):
        edits(number)
    before_mb = server.memory_mb()

    def rest() -> None:
        for number in range(500, 500 + EDITS):
            edits(number)

    benchmark.pedantic(rest, rounds=1)
    grown_mb = server.memory_mb() - before_mb
    say(f"memory after {EDITS} edits more: {before_mb:.0f} MB and {grown_mb:+.1f} MB (bar {GROWTH_BAR_MB:.0f} MB)")
    assert grown_mb < GROWTH_BAR_MB
