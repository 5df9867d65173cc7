"""Told to end, the server ends; who waits for an answer is told so in words, and nothing breaks in its terminal."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import subprocess
import sys
from concurrent.futures import CancelledError as CutApart
from concurrent.futures import ThreadPoolExecutor

import pytest

from loomwright.cli.serve import _in_our_words
from loomwright.pages.cut_off import CutOff

ENDED_S = 30.0
STILL_WORKING = """
import signal, threading, time
from loomwright.cli.serve import _leave, at_once
with at_once():
    signal.signal(signal.SIGTERM, _leave)
    threading.Thread(target=time.sleep, args=(600,)).start()
    try:
        print("at work", flush=True)
        while True:
            time.sleep(60)
    finally:
        print("closed", flush=True)
"""


def answers(path: str, *, begun: bool) -> list[dict[str, object]]:
    """What is sent to somebody whose answer is cut off."""
    sent: list[dict[str, object]] = []

    async def send(message) -> None:
        sent.append(message)

    async def works(_scope, _receive, send) -> None:
        if begun:
            await send({"type": "http.response.start", "status": 200, "headers": []})
        await asyncio.sleep(600)

    async def cut() -> None:
        scope = {"type": "http", "path": path}
        asked = asyncio.create_task(CutOff(works)(scope, None, send))  # type: ignore[arg-type]
        await asyncio.sleep(0)
        asked.cancel()
        await asked

    with ThreadPoolExecutor(1) as apart:  # a browser may have a loop of its own here
        apart.submit(asyncio.run, cut()).result()
    return sent


@pytest.mark.parametrize(
    ("path", "kind"), [("/j/van", b"text/plain; charset=utf-8"), ("/api/jobs", b"application/json")]
)
def test_who_waits_is_told_in_words_that_the_server_was_stopped(path, kind):
    begin, body = answers(path, begun=False)
    assert begin["status"] == 503
    assert (b"content-type", kind) in begin["headers"]  # type: ignore[operator]
    assert b"The server was stopped before this was worked out" in body["body"]  # type: ignore[operator]


def test_an_answer_that_was_begun_breaks_off_and_is_not_taken_for_whole():
    with pytest.raises((asyncio.CancelledError, CutApart)):
        answers("/j/van", begun=True)


def test_the_terminal_says_how_many_were_cut_off():
    record = logging.LogRecord("uvicorn.error", logging.ERROR, "", 0, "Cancel %s running task(s)", (2,), None)
    assert _in_our_words(record)
    assert (record.levelname, record.getMessage().partition(" asked")[0]) == ("WARNING", "2")


@pytest.mark.parametrize(("fault", "is_told"), [(asyncio.CancelledError(), False), (RuntimeError(), True)])
def test_an_answer_that_breaks_off_is_no_fault_and_a_fault_is_told(fault, is_told):
    told = (type(fault), fault, None)
    record = logging.LogRecord("uvicorn.error", logging.ERROR, "", 0, "Exception in ASGI application", (), told)
    assert _in_our_words(record) is is_told


@pytest.mark.parametrize(("told", "code", "says"), [(signal.SIGTERM, 0, ""), (signal.SIGINT, 130, "stopped.\n")])
def test_what_is_still_worked_out_does_not_hold_the_end_up(told, code, says):
    command = [sys.executable, "-c", STILL_WORKING]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=os.environ) as server:
        assert server.stdout is not None
        assert server.stdout.readline() == "at work\n"
        server.send_signal(told)
        out, faults = server.communicate(timeout=ENDED_S)
    assert (out, faults, server.returncode) == ("closed\n", says, code)
