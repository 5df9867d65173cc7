"""A server killed at any moment under load: what a page was told is taken is there, and nothing is there by half."""

from __future__ import annotations

import random
import threading
import time
from itertools import count
from pathlib import Path

import httpx
import pytest

from loomwright.store.backup import file_faults
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import FILE_NAME
from tests.pages.serving import JOB, KilledServer

HANDS = 8


def edited_until_killed(server: KilledServer, round_: int, wait_s: float) -> tuple[list[str], list[str]]:
    """Eight pages edit, then the server is killed: what was acknowledged, and what had no answer."""
    told: list[str] = []
    unanswered: list[str] = []
    first = threading.Event()

    def edit(hand: int) -> None:
        with httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=30.0) as client:
            for number in count():
                name = f"r{round_}h{hand}n{number}"
                pair = [{"do": "add", "sheet": "wires", "cells": {"id": name + end}} for end in "ab"]
                try:
                    answer = client.post(f"/api/j/{JOB}/edits", json={"edits": pair, "token": name})
                except httpx.HTTPError:
                    unanswered.append(name)
                    return
                assert answer.status_code == 200, answer.text
                told.append(name)
                first.set()

    hands = [threading.Thread(target=edit, args=(hand,), daemon=True) for hand in range(HANDS)]
    for one in hands:
        one.start()
    assert first.wait(60.0)
    time.sleep(wait_s)
    server.kill()
    for one in hands:
        one.join(60.0)
    return told, unanswered


def names_on(folder: Path) -> set[str]:
    """The wires that are on the shelf, its file whole."""
    assert file_faults(folder / FILE_NAME) == ()
    shelf = Shelf(folder, lambda: "later")
    snapshot = shelf.now(JOB)
    shelf.close()
    ids = [row.cells["id"] for row in snapshot.rows.get("wires", ())]
    assert len(ids) == len(set(ids)) == 2 * (snapshot.revision - 1)
    return set(ids)


def kill_often(folder: Path, times: int, seed: int) -> None:
    waits = random.Random(seed)
    server = KilledServer(folder)
    told: list[str] = []
    unanswered: list[str] = []
    for round_ in range(times):
        server.start()
        again = _sent_again(server, unanswered)
        more, unanswered = edited_until_killed(server, round_, waits.uniform(0.0, 0.2))
        told += [*again, *more]
        there = names_on(folder)
        assert [name for name in told if not {name + "a", name + "b"} <= there] == []
        assert [name for name in there if (name[:-1] + "a" in there) != (name[:-1] + "b" in there)] == []
    assert len(told) >= 3 * times


def _sent_again(server: KilledServer, names: list[str]) -> list[str]:
    """What had no answer is sent once more under the same token, as a page does: it is taken once, not twice."""
    with httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=60.0) as client:
        for name in names:
            pair = [{"do": "add", "sheet": "wires", "cells": {"id": name + end}} for end in "ab"]
            assert client.post(f"/api/j/{JOB}/edits", json={"edits": pair, "token": name}).status_code == 200
    return names


def test_killed_six_times_under_load_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    kill_often(tmp_path / "shelf", 6, seed=20261125)


@pytest.mark.long
def test_killed_two_hundred_times_under_load_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    kill_often(tmp_path / "shelf", 200, seed=20261126)
