"""SUP-5: relay coils on D+ of the alternator."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import wire


def told(feed="15", circuit="cooling", a5="KEY.15", a6="body"):
    """A fan behind a relay with the ends of its coil at two points."""
    job = engine_car(
        parts=[
            {"id": "FF", "kind": "fuse", "settings": "rating_a=30"},
            {"id": "KF", "kind": "relay"},
            {"id": "FAN", "kind": "fan", "circuit": "cool"},
        ],
        circuits=[{"id": "cool", "class": circuit, "feed": feed}],
        wires=[
            wire("A1", "BAT.+", "FF.1", "6", "300"),
            wire("A2", "FF.2", "KF.30", "4"),
            wire("A3", "KF.87", "FAN.+", "4", circuit="cool"),
            wire("A4", "FAN.-", "body", "4", circuit="cool"),
            wire("A5", a5, "KF.86"),
            wire("A6", "KF.85", a6),
        ],
    )
    return [one for one in Car(job).findings() if one.rule == "SUP-5"]


# SUP-5


def test_a_fan_relay_on_d_plus_is_told_at_its_wire_where_the_fan_belongs_to_another_feed():
    (one,) = told(a5="ALT.D+")
    assert (one.rule, one.severity, one.at) == ("SUP-5", "fault", ("KF", "A5"))
    assert "FAN works only while the alternator charges" in one.wrong
    assert one.mend.startswith("Move A5 from D+ to terminal 15")
    # it works with the key off while the engine still turns, and that comes of it
    assert [(inner.rule, inner.at[0]) for inner in one.folded] == [("LIV-1", "FAN")]


def test_on_the_key_it_is_silent():
    assert told() == []


@pytest.mark.parametrize(
    ("feed", "circuit"),
    [("ALT.D+", "cooling"), ("DCH.k", "cooling"), ("", "accessories"), ("", "charging"), ("", "warning")],
)
def test_what_may_work_only_while_it_charges_is_silent(feed, circuit):
    # SUP-5 takes the sheet at its word
    assert told(feed=feed, circuit=circuit, a5="ALT.D+") == []


def test_where_no_feed_is_named_it_is_a_warning():
    assert [(one.severity, one.at[0]) for one in told(feed="", a5="ALT.D+")] == [("warning", "KF")]


@pytest.mark.parametrize("end", ["ALT.D+", "DCH.a"])
def test_a_coil_against_the_field_pulls_in_while_nothing_charges(end):
    (one,) = told(feed="", a6=end)
    assert (one.severity, one.at) == ("fault", ("KF", "A6"))
    assert "lies against the field" in one.wrong
    # without the lamp's diode current comes back through the coil as well
    assert ({"KEY-2", "SNK-3"} <= {inner.rule for inner in one.folded}) == (end == "ALT.D+")


def test_a_coil_between_lamp_and_earth_is_no_coil_on_d_plus():
    # what it does to the lamp is LMP-4's
    assert told(a5="DCH.a") == []
