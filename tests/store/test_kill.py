"""Killed at any moment: what was acknowledged is there, and no edit is there by half."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from loomwright.store.backup import file_faults
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import FILE_NAME

ROOT = Path(__file__).parents[2]


def killed(folder: Path, wait_s: float) -> list[tuple[int, str]]:
    """Let hands edit for a while after the first answer, kill them, and give what was acknowledged."""
    words = [sys.executable, "-m", "tests.store.busy_shelf", str(folder)]
    busy = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    first = busy.stdout.readline()
    time.sleep(wait_s)
    busy.send_signal(signal.SIGKILL)
    rest, _ = busy.communicate()
    lines = [first, *rest.splitlines(keepends=True)]
    return [(int(line.split()[0]), line.split()[1]) for line in lines if line.endswith("\n")]


def look(folder: Path, acknowledged: list[tuple[int, str]]) -> None:
    assert file_faults(folder / FILE_NAME) == ()
    shelf = Shelf(folder, lambda: "later")
    ids = [row.cells["id"] for row in shelf.now("car").rows["wires"]]
    there = set(ids)
    assert len(ids) == len(there)
    lost = [name for _, name in acknowledged if not {name + "a", name + "b"} <= there]
    assert lost == []
    half = [name for name in there if (name[:-1] + "a" in there) != (name[:-1] + "b" in there)]
    assert half == []
    assert shelf.now("car").revision >= max(number for number, _ in acknowledged)
    assert len(there) == 2 * (shelf.now("car").revision - 1)
    shelf.close()


def kill_often(folder: Path, times: int, seed: int) -> None:
    waits = random.Random(seed)
    acknowledged: list[tuple[int, str]] = []
    for _ in range(times):
        acknowledged += killed(folder, waits.uniform(0.0, 0.12))
        look(folder, acknowledged)
    assert len(acknowledged) >= 3 * times


@pytest.mark.long
def test_killed_thirty_times_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    kill_often(tmp_path / "shelf", 30, seed=20261125)


@pytest.mark.long
def test_killed_two_hundred_times_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    kill_often(tmp_path / "shelf", 200, seed=int(os.environ.get("KILL_SEED", "7")))
