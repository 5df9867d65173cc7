"""Ctrl+C on a terminal reaches every process of it; those that only reckon for another never hear it."""

from __future__ import annotations

import signal
import subprocess
import sys
from concurrent.futures import Future, wait
from multiprocessing import Pipe, active_children
from multiprocessing.connection import Connection

import pytest

from loomwright.pages.ending import deaf_to_hand
from loomwright.pages.several import several_apart
from loomwright.refusals import Stopped

CTRL_C = "import signal; signal.raise_signal(signal.SIGINT); print('went on')"


def _started() -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", CTRL_C], capture_output=True, text=True, check=False)


def test_a_process_that_is_started_meanwhile_never_hears_ctrl_c() -> None:
    with deaf_to_hand():
        deaf = _started()
    heard = _started()
    assert (deaf.returncode, deaf.stdout, deaf.stderr) == (0, "went on\n", "")
    assert heard.returncode != 0
    assert "KeyboardInterrupt" in heard.stderr


def test_who_starts_it_hears_as_before() -> None:
    before = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    with deaf_to_hand():
        assert signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ())
    assert signal.pthread_sigmask(signal.SIG_BLOCK, ()) == before


def test_processes_of_many_pieces_never_hear_it_and_what_stops_them_is_passed_on() -> None:
    pieces: list[Future[bool]] = []
    with pytest.raises(Stopped):
        _stopped_among(pieces)
    assert [piece.result() for piece in pieces] == [True] * len(pieces)


def _stopped_among(pieces: list[Future[bool]]) -> None:
    with several_apart() as processes:
        pieces += [processes.submit(_is_deaf) for _ in range(8)]
        wait(pieces)
        raise Stopped(0, len(pieces))


def test_what_stops_them_ends_the_piece_in_hand_too() -> None:
    before = set(active_children())
    with pytest.raises(Stopped):
        _stopped_in_a_piece_without_end()
    # it did not wait for the piece, which has no end; and nobody is left at work
    assert set(active_children()) <= before


def _stopped_in_a_piece_without_end() -> None:
    here, there = Pipe(duplex=False)
    with several_apart() as processes:
        processes.submit(_without_end, there)
        here.recv()
        raise Stopped(0, 1)


def _without_end(begun: Connection) -> None:
    begun.send("begun")
    while True:
        signal.pause()


def _is_deaf() -> bool:
    return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ())
