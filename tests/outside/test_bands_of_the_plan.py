"""The bands of the test plan beside the limits of drop, isolation and crimps that others print (`plan_limits.csv`)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from loomwright.proving.bands import LEADS_OHM, OPEN_OHM, earth_band, ohms_band, volts_band
from loomwright.tables.joints import joint_limit_ohm, joint_ohm
from loomwright.tables.limits import segment_limit_v

PAGE = Path(__file__).with_name("plan_limits.csv")
ROWS = {row["limit"]: row for row in csv.DictReader(PAGE.read_text(encoding="utf-8").splitlines())}
FED_V = 12.4
SHARES = {"mV/A": 1e-3, "Mohm": 1e6, "mohm": 1e-3}


def printed(limit: str) -> float:
    """The limit as printed, in volts, ohms or ohms an ampere."""
    row = ROWS[limit]
    return float(row["printed"]) * SHARES.get(row["unit"], 1.0)


def may_lose_v(expected_v: float) -> float:
    """What the band of a live point lets be lost below the figure, the battery measured."""
    return expected_v - volts_band(expected_v, measured=True)[0]


def test_every_limit_says_where_it_is_printed_and_how_it_was_read() -> None:
    assert len(ROWS) >= 12
    for row in ROWS.values():
        assert row["source"]
        assert row["place"]
        assert row["grade"] in ("read", "recalled")
        assert row["grade"] == "read" or row["source"] in ("common practice", "from memory")


@pytest.mark.parametrize("expected_v", [0.0, 0.02, 0.05, 0.066])
def test_an_earth_may_lose_what_is_printed_and_no_more(expected_v: float) -> None:
    assert earth_band(expected_v)[1] == pytest.approx(min(printed("earth"), printed("earth_manual")))


@pytest.mark.parametrize(("limit", "expected_v"), [("alternator_earth", 0.13), ("starter_minus", 0.2)])
def test_a_long_earth_may_lose_more_than_a_short_one_and_less_than_is_printed_for_it(
    limit: str, expected_v: float
) -> None:
    assert printed("earth_manual") < earth_band(expected_v)[1] <= printed(limit)


def test_a_live_point_may_lose_no_more_than_a_wire_and_a_switch_are_printed_to_lose() -> None:
    assert may_lose_v(FED_V) <= printed("wire") + printed("switch")
    assert may_lose_v(FED_V) <= min(printed("feed_whole"), printed("fuel_pump"))


def test_one_connection_at_the_printed_most_lies_outside_the_band() -> None:
    assert printed("any_connection") > may_lose_v(FED_V)


@pytest.mark.parametrize(("amps", "is_seen"), [(10.0, False), (18.0, True)])
def test_a_relay_contact_at_its_limit_is_seen_at_eighteen_amps_and_not_at_ten(amps: float, is_seen: bool) -> None:
    # what the solved car already counts for the contact is in the expected figure
    lost_v = amps * (printed("relay_contact") - joint_ohm("relay_contact"))
    assert (lost_v > may_lose_v(FED_V)) is is_seen
    assert segment_limit_v("relay_contact", amps) == pytest.approx(amps * printed("relay_contact"))


def test_open_is_what_practice_calls_isolated() -> None:
    assert ohms_band(None) == (printed("isolation"), None)
    assert printed("isolation") == OPEN_OHM


def test_no_ohm_reading_proves_a_crimp_and_an_earth_under_load_does() -> None:
    assert joint_limit_ohm("wire_end") == pytest.approx(printed("crimp"))
    # four crimps as bad as one broken-down joint lie within the leads of the meter: ohms pass them
    low, high = ohms_band(0.05)
    assert high is not None
    assert low < 0.05 + 4.0 * printed("strand") < high
    assert 4.0 * printed("crimp") < printed("strand") < LEADS_OHM
    # the same joint in an earth that carries ten amps does not pass
    assert 0.02 + 10.0 * printed("strand") > earth_band(0.02)[1]
