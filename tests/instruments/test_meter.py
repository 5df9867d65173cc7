"""A meter is read over VISA: on the simulator, and on a real socket where it hangs or is unplugged mid-reading."""

from __future__ import annotations

import sys
from math import isinf
from pathlib import Path

import pytest

from loomwright.instruments.hold import hold
from loomwright.instruments.meter import meter_at
from loomwright.refusals import NoAnswer
from loomwright.sheets.opening import open_job
from tests.cli.conftest import ask, job  # noqa: F401
from tests.instruments.socket_meter import meter_on_a_socket

SIMULATOR = f"{Path(__file__).with_name('bench.yaml')}@sim"
STEADY, OPEN, HUNG = (f"TCPIP::192.0.2.{k}::5025::SOCKET" for k in (1, 2, 3))
SHEETS = {
    "parts": [{"id": "BAT", "kind": "battery"}, {"id": "LB", "kind": "lamp"}],
    "old_wires": [{"id": "7", "colour": "GN"}],
    "wires": [{"id": "W1", "from": "BAT.+", "to": "LB.1", "size_mm2": "1", "length_mm": "1000"}],
}


def lost(address: str, visa: str = "@py", patience_s: float = 0.3) -> str:
    """What is told of a meter that goes away while it is read."""
    with pytest.raises(NoAnswer) as caught, meter_at(address, "volts", visa=visa, patience_s=patience_s) as meter:
        hold(meter.ask, meter.unit, clock=lambda: 0.0, wait=lambda _: None)
    return str(caught.value)


def test_a_figure_is_read_and_the_meter_says_who_it_is() -> None:
    with meter_at(STEADY, "volts", visa=SIMULATOR) as meter:
        assert (meter.name, meter.unit, meter.ask()) == ("Bench six digits", "V", 12.41)


def test_over_range_is_open() -> None:
    with meter_at(OPEN, "ohms", visa=SIMULATOR) as meter:
        assert isinf(meter.ask())


def test_a_meter_that_hangs_is_told() -> None:
    assert "stopped answering" in lost(HUNG, SIMULATOR)


@pytest.mark.parametrize("then", ["hangs", "hangs up"])
def test_a_meter_lost_mid_reading_on_a_real_line_is_told_with_what_it_last_showed(then: str) -> None:
    with meter_on_a_socket(["12.30", "12.31"], then) as address:
        told = lost(address)
    assert "stopped answering: hung, or its lead came off" in told
    assert "It last showed 12.31 V" in told
    assert "typed instead" in told


def test_what_is_no_figure_is_told() -> None:
    with meter_on_a_socket(["HELLO"], "hangs") as address:
        assert "is it a multimeter?" in lost(address)


@pytest.mark.parametrize("address", ["TCPIP::127.0.0.1::1::SOCKET", "nowhere", "GPIB0::7::INSTR"])
def test_no_meter_there_is_told(address: str) -> None:
    assert "no answer" in lost(address)


def test_without_its_library_a_reading_can_still_be_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyvisa", None)
    assert "can be typed instead" in lost(STEADY)


def test_a_held_reading_is_written_into_the_job(ask, job) -> None:  # noqa: F811
    folder = job(SHEETS)
    told = ask("read", folder, "LB.1", "--from", STEADY, "--visa", SIMULATOR, "--state", "")
    assert told.code == 0
    assert "12.41 V, as the Bench six digits held it" in told.out
    assert told.out.startswith("! No probe into an airbag")
    last = open_job(folder).readings[-1]
    assert (last.point, last.measure, last.value, last.unit, last.instrument) == (
        *("LB.1", "volts", 12.41, "V"),
        "Bench six digits",
    )


def test_open_ohms_of_an_old_wire_are_written_too(ask, job) -> None:  # noqa: F811
    folder = job(SHEETS)
    words = ("--measure", "ohms", "--from", OPEN, "--visa", SIMULATOR, "--stub", "load", "--json")
    assert ask("read", folder, "7", *words).code == 0
    last = open_job(folder).readings[-1]
    assert (last.old_wire, last.measure, last.value) == ("7", "ohms", "open")


def test_what_an_old_wire_calls_for_is_told_before_the_meter_is_read(ask, job) -> None:  # noqa: F811
    folder = job({**SHEETS, "old_wires": [{"id": "7", "colour": "GN/BK", "notes": "to the tank sender"}]})
    told = ask("read", folder, "7", "--from", STEADY, "--visa", SIMULATOR, "--state", "key=run")
    assert told.out.startswith("! may run to the sender in the tank")


def test_a_meter_that_goes_away_leaves_the_job_as_it_was(ask, job) -> None:  # noqa: F811
    folder = job(SHEETS)
    ask("read", folder, "LB.1", "12.2 V")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with meter_on_a_socket(["12.30"], "hangs up") as address:
        told = ask("read", folder, "LB.1", "--from", address)
    assert told.code == 2
    assert "12.3 V" in told.err
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("words", [(), ("12 V", "--from", STEADY), ("--from", STEADY, "--measure", "lamp")])
def test_a_typed_figure_or_a_meter_and_not_both(ask, job, words) -> None:  # noqa: F811
    folder = job(SHEETS)
    assert ask("read", folder, "LB.1", *words).code == 2
    assert open_job(folder).readings == ()
