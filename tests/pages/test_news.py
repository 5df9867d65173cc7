"""Waiting for the next revision: answered when it is there, let go when the server ends, and no thread for it."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

from loomwright.pages.news_board import NewsBoard
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow
from tests.pages.shelves import SMALL, shelf_in

Told = TypeVar("Told")


def in_a_loop(asked: Coroutine[Any, Any, Told]) -> Told:
    """What is awaited, on a thread of its own: a browser that is open has a loop on this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, asked).result()


def edited(shelf: Shelf, name: str) -> None:
    shelf.edit("small", [AddRow(sheet="places", cells={"id": name})], who="sam")


def test_a_hundred_wait_and_all_are_told_and_no_thread_is_added(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path, small=SMALL)
    board = NewsBoard(shelf)

    async def wait() -> tuple[list[int], int]:
        asked = [asyncio.create_task(board.wait("small", 1, at_most_s=60.0)) for _ in range(100)]
        await asyncio.sleep(0.05)
        threads = threading.active_count()
        await asyncio.to_thread(edited, shelf, "roof")
        return await asyncio.gather(*asked), threads

    before = threading.active_count()
    told, threads = in_a_loop(wait())
    shelf.close()
    assert told == [2] * 100
    assert threads <= before + 1  # that of the loop


def test_nothing_new_is_told_after_the_time_asked_for(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path, small=SMALL)
    begun = time.monotonic()
    assert in_a_loop(NewsBoard(shelf).wait("small", 1, at_most_s=0.2)) == 1
    assert 0.2 <= time.monotonic() - begun < 10.0
    assert in_a_loop(NewsBoard(shelf).wait("small", 0, at_most_s=60.0)) == 1
    shelf.close()


def test_news_of_another_job_leave_it_waiting(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path, small=SMALL, other=SMALL)
    board = NewsBoard(shelf)

    async def wait() -> int:
        asked = asyncio.create_task(board.wait("other", 1, at_most_s=0.5))
        await asyncio.sleep(0.05)
        await asyncio.to_thread(edited, shelf, "roof")
        return await asked

    assert in_a_loop(wait()) == 1
    shelf.close()


def test_closed_it_lets_everybody_go(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path, small=SMALL)
    board = NewsBoard(shelf)

    async def wait() -> int:
        asked = asyncio.create_task(board.wait("small", 1, at_most_s=60.0))
        await asyncio.sleep(0.05)
        board.close()
        return await asyncio.wait_for(asked, 10.0)

    assert in_a_loop(wait()) == 1
    assert in_a_loop(board.wait("small", 1, at_most_s=60.0)) == 1
    shelf.close()


def test_a_loop_that_has_ended_does_not_stop_the_writer(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path, small=SMALL)
    board = NewsBoard(shelf)
    loop = asyncio.new_event_loop()
    board._waiting.add((loop, asyncio.Event()))
    loop.close()
    edited(shelf, "roof")
    edited(shelf, "boot")
    assert shelf.now("small").revision == 3
    shelf.close()
