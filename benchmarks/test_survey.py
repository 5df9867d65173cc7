"""How fast are the odds of 60 old wires over 45 functions, the next reading, and the full joint one?

Run by hand (`make bench`): the machine decides. The car is made up here: 60 wires with four readings each, our
functions and a job's own to make 45.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from random import Random

import pytest

from loomwright.job.conditions import parse_condition
from loomwright.job.job import Job
from loomwright.job.rows import OldWire, Reading
from loomwright.survey.next_reading import Trouble, fast_next, full_next
from loomwright.survey.weighing import Weighed, weighed
from loomwright.tables.old_wires import OWN_SHEET, wire_functions

WIRES = 60
FUNCTIONS = 45
ODDS_S = 0.05
NEXT_S = 0.05
FULL_S = 2.0
SHOWN = ("live", "floating")
LOOKS = (
    "key=off",
    "key=run",
    "key=start, selector=P",
    "key=run, light=side",
    "key=run, turn=left",
    "key=run, brake=on",
)


def old_car(seed: int) -> Job:
    """60 wires of every colour, four readings each."""
    dice = Random(seed)
    own = tuple(
        {
            "function": f"own_{number}",
            "share": "1",
            "most": "2",
            "off": dice.choice(("live", "floating")),
            "run": "live",
        }
        for number in range(FUNCTIONS - len(wire_functions()))
    )
    wires = tuple(
        OldWire(id=f"O{number}", colour=dice.choice(("BN", "GN/RD", "WH", "BK", "RD"))) for number in range(WIRES)
    )
    readings = tuple(
        Reading(
            old_wire=wire.id, when=parse_condition(look), measure="volts", value=dice.choice((0.0, 0.1, 12.2)), unit="V"
        )
        for wire in wires
        for look in dice.sample(LOOKS, 4)
    )
    return Job(old_wires=wires, readings=readings, extra_sheets={OWN_SHEET: own})


def best_s(work: Callable[[], object], rounds: int) -> float:
    """The quickest of some rounds, in seconds of CPU: others may be at work on the machine. [s]"""
    took_s = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        took_s.append(time.process_time() - begun)
    return min(took_s)


@pytest.fixture(scope="module")
def known() -> Weighed:
    """The car weighed once."""
    return weighed(old_car(seed=3))


def test_the_odds_of_sixty_wires(known: Weighed, capsys: pytest.CaptureFixture[str]) -> None:
    job = old_car(seed=3)
    took_s = best_s(lambda: weighed(job), 7)
    with capsys.disabled():
        print(f"\n60 wires over {len(known.functions)} functions: odds in {1000 * took_s:.0f} ms (bar 50 ms)")
    assert (len(known.wires), len(known.functions)) == (WIRES, FUNCTIONS)
    assert took_s < ODDS_S


def test_the_next_reading(known: Weighed, capsys: pytest.CaptureFixture[str]) -> None:
    took_s = best_s(lambda: fast_next(known, Trouble()), 7)
    with capsys.disabled():
        print(f"\nnext reading, each wire by itself: {1000 * took_s:.0f} ms (bar 50 ms)")
    assert fast_next(known, Trouble())
    assert took_s < NEXT_S


def test_the_next_reading_of_all_together(known: Weighed, capsys: pytest.CaptureFixture[str]) -> None:
    took_s = best_s(lambda: full_next(known, Trouble()), 2)
    with capsys.disabled():
        print(f"\nnext reading, all wires together: {took_s:.2f} s (bar 2 s)")
    assert full_next(known, Trouble())
    assert took_s < FULL_S
