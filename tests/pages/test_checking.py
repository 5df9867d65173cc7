"""The check bench: one job after another, the newest revision of each, and nobody held up by another."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import count
from pathlib import Path

import pytest

from loomwright.examples.shelf import example_folder
from loomwright.job.reading import job_from_text
from loomwright.pages.checking import CheckBench, Standing
from loomwright.sheets.csv_folder import open_folder
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow, SetCell
from tests.pages.shelves import SMALL, shelf_in

PATIENCE_S = 120.0
"""For a process that has to be started and a machine that is busy. [s]"""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shelf]:
    made = shelf_in(Path(tmp_path_factory.mktemp("checks")))
    made.add("van", open_folder(example_folder("van")), who="sam")
    yield made
    made.close()


@pytest.fixture(scope="module")
def running() -> Iterator[CheckBench]:
    made = CheckBench()
    yield made
    made.close()


@pytest.fixture
def bench(running: CheckBench, shelf: Shelf) -> Iterator[CheckBench]:
    """The bench with nothing on it, the van not stopped."""
    running.again(shelf.now("van"))
    yield running
    running.stop(shelf.now("van"))


@pytest.fixture
def small(shelf: Shelf) -> str:
    """A small car that nobody has looked at yet."""
    return _another_car(shelf)


@pytest.fixture
def other(shelf: Shelf) -> str:
    """One more."""
    return _another_car(shelf)


_numbers = count(1)


def _another_car(shelf: Shelf) -> str:
    number = next(_numbers)
    name = f"car-{number}"
    places = [{"id": "bay"}, {"id": "cabin", "ambient_c": str(number)}]
    shelf.add(name, job_from_text({**SMALL, "places": places}), who="sam")
    return name


def until(is_so: Callable[[], bool]) -> None:
    begun = time.monotonic()
    while not is_so():
        assert time.monotonic() - begun < PATIENCE_S, "it did not come to pass"
        time.sleep(0.05)


def under_way(bench: CheckBench, shelf: Shelf, name: str) -> Standing:
    """How far a check is, once it is being solved."""
    until(lambda: bench.look(shelf.now(name)).of > 0)
    return bench.look(shelf.now(name))


def another_cell(shelf: Shelf, name: str, text: str) -> None:
    """One edit that counts for the check."""
    snapshot = shelf.now(name)
    row = snapshot.rows["wires"][-1]
    edit = SetCell(sheet="wires", row_key=row.key, column="length_mm", old=row.cells.get("length_mm", ""), new=text)
    edited = shelf.edit(name, [edit], who="sam")
    assert not edited.conflicts


@pytest.mark.long
def test_two_jobs_that_are_looked_at_together_are_both_checked(
    bench: CheckBench, shelf: Shelf, small: str, other: str
) -> None:
    def both_known() -> bool:
        standings = [bench.look(shelf.now(name)) for name in (small, other)]
        return all(one.is_known for one in standings)

    until(both_known)


def test_a_second_job_waits_and_is_told_how_many_are_before_it(
    bench: CheckBench, shelf: Shelf, small: str, other: str
) -> None:
    begun = under_way(bench, shelf, "van")
    waiting = [bench.look(shelf.now(name)) for name in (small, other)]
    assert [one.ahead for one in waiting] == [1, 2]
    assert not any(one.of for one in waiting)
    again = bench.look(shelf.now("van"))
    assert again.done >= begun.done
    assert again.ahead == 0


def test_what_is_stopped_makes_room_for_the_next(bench: CheckBench, shelf: Shelf, small: str) -> None:
    under_way(bench, shelf, "van")
    assert not bench.look(shelf.now(small)).is_known
    bench.stop(shelf.now("van"))
    until(lambda: bench.look(shelf.now(small)).is_known)
    assert bench.look(shelf.now("van")).stopped
    bench.again(shelf.now("van"))
    under_way(bench, shelf, "van")


def test_a_job_that_changes_goes_behind_those_that_wait(bench: CheckBench, shelf: Shelf, small: str) -> None:
    under_way(bench, shelf, "van")
    assert bench.look(shelf.now(small)).ahead == 1
    another_cell(shelf, "van", "1234")
    newer = shelf.now("van")
    assert bench.look(newer).of == 0
    until(lambda: bench.look(shelf.now(small)).is_known)
    until(lambda: bench.look(newer).of > 0)


def test_an_edit_taken_back_gives_its_findings_back_at_once(bench: CheckBench, shelf: Shelf, small: str) -> None:
    until(lambda: bench.look(shelf.now(small)).is_known)
    another_cell(shelf, small, "1100")
    assert not bench.look(shelf.now(small)).is_known
    shelf.undo(small, who="sam")
    assert bench.look(shelf.now(small)).is_known


def test_a_process_that_is_killed_is_replaced(bench: CheckBench, shelf: Shelf) -> None:
    under_way(bench, shelf, "van")
    _kill_workers()
    # until its end is noticed what it had done is told, and the end would count for the next test
    until(lambda: bench.look(shelf.now("van")).of == 0)
    assert under_way(bench, shelf, "van").of > 0


def test_a_job_over_which_the_process_is_killed_twice_is_told_and_left(
    bench: CheckBench, shelf: Shelf, other: str
) -> None:
    for _ in range(2):
        under_way(bench, shelf, "van")
        _kill_workers()
        until(lambda: bench.look(shelf.now("van")).of == 0)
    until(lambda: bool(bench.look(shelf.now("van")).problems))
    assert "ended from outside" in bench.look(shelf.now("van")).problems[0].says
    until(lambda: bench.look(shelf.now(other)).is_known)
    bench.again(shelf.now("van"))
    assert not bench.look(shelf.now("van")).problems


def test_a_check_that_cannot_be_done_is_told_in_words(bench: CheckBench, shelf: Shelf, small: str, other: str) -> None:
    astray = replace(shelf.now(small))
    assert astray.job is not None
    rest = [part for part in astray.job.parts if part.kind != "battery"]
    astray.__dict__["job"] = replace(astray.job, parts=tuple(rest))
    until(lambda: bool(bench.look(astray).problems))
    assert "no part of kind `battery`" in bench.look(astray).problems[0].says
    until(lambda: bench.look(shelf.now(other)).is_known)


def _kill_workers() -> None:
    for child in multiprocessing.active_children():
        if child.pid is not None:
            os.kill(child.pid, signal.SIGKILL)


NEVER_CLOSED = """
from pathlib import Path
from loomwright.job.reading import job_from_text
from loomwright.pages.checking import CheckBench
from loomwright.store.shelf import Shelf

if __name__ == "__main__":
    shelf, bench = Shelf(Path({folder!r}), lambda: "2026-01-01T10:00:00"), CheckBench()
    for warm_c in ("31", "32"):
        places = [{{"id": "bay"}}, {{"id": "cabin", "ambient_c": warm_c}}]
        shelf.add(warm_c, job_from_text({{**{small!r}, "places": places}}), who="sam")
        bench.look(shelf.now(warm_c))
    print("ends with", bench.look(shelf.now("32")).ahead, "before the last in line")
"""


def test_a_program_that_ends_without_closing_the_bench_ends_without_a_word(tmp_path: Path) -> None:
    # the check in hand comes to its end while the pool lets go already: the one in line is not handed over any more
    script = tmp_path / "never_closed.py"
    script.write_text(NEVER_CLOSED.format(folder=str(tmp_path / "shelf"), small=dict(SMALL)), encoding="utf-8")
    ended = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stdout) == (0, "ends with 1 before the last in line\n")
    assert "cannot schedule" not in ended.stderr
    assert "Traceback" not in ended.stderr


def test_an_hour_written_down_starts_no_check(bench: CheckBench, shelf: Shelf, small: str) -> None:
    until(lambda: bench.look(shelf.now(small)).is_known)
    cells = {"stage": "plan", "minutes": "45"}
    shelf.edit(small, [AddRow(sheet="hours", cells=cells)], who="sam")
    assert bench.look(shelf.now(small)).is_known
