"""LIV-1: a load lives with the contact its circuit belongs to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.states.rules import live
from tests.states.small_jobs import car, codes, findings, wire


def told(job):
    """What each finding is about: its load, and its conditions."""
    return [(one.at[0], dict(one.when)) for one in findings(job, live)]


def test_a_lamp_on_its_feed_is_fine():
    assert codes(car(), live) == []


def test_a_lamp_of_terminal_15_fed_from_30_works_with_the_key_off():
    job = car(changed={"W5": {"from": "F1.2"}})
    [one] = findings(job, live)
    assert (one.rule, one.severity, one.at[0]) == ("LIV-1", "fault", "LA1")
    assert dict(one.when) == {"key": "off|accessory", "SW1": "on"}
    assert one.path == ("W3", "F1", "W5", "SW1", "W6")


def test_a_lamp_of_terminal_15_fed_from_75_lives_too_early_and_dies_at_start():
    job = car(
        changed={"W5": {"from": "KEY.75"}}, wires=[wire("W10", "KEY.15", "X.1")], parts=[{"id": "X", "kind": "splice"}]
    )
    found = findings(job, live)
    assert [one.at[0] for one in found] == ["LA1", "LA1"]
    assert {one.when for one in found} == {(("key", "accessory"), ("SW1", "on")), ()}
    assert any("key at start" in one.wrong for one in found)


def test_a_lamp_of_terminal_30_on_the_key_is_dead_with_the_key_off():
    [one] = findings(car(changed={"work": {"feed": "30"}}), live)
    assert one.at[0] == "LA1"
    assert "key at off" in one.wrong
    assert {"W5", "SW1", "KEY"} <= set(one.touches)


def test_a_circuit_without_feed_is_not_asked():
    assert codes(car(changed={"work": {"feed": ""}, "W5": {"from": "F1.2"}}), live) == []


def relay_car(coil_from, feed="15"):
    """A lamp on terminal 30 behind a relay whose coil hangs on a contact of the key."""
    return car(
        parts=[{"id": "K1", "kind": "relay"}, {"id": "LA2", "kind": "lamp", "circuit": "extra"}],
        circuits=[{"id": "extra", "class": "lighting", "feed": feed}],
        wires=[
            wire("W10", coil_from, "K1.86"),
            wire("W11", "K1.85", "body"),
            wire("W12", "F1.2", "K1.30"),
            wire("W13", "K1.87", "LA2.1"),
            wire("W14", "LA2.2", "body"),
        ],
    )


def test_a_relay_whose_coil_hangs_on_the_feed_belongs_to_it():
    assert told(relay_car("KEY.15")) == []


def test_a_relay_whose_coil_hangs_on_another_contact_is_told():
    places = {place for place, _ in told(relay_car("KEY.75"))}
    assert places == {"LA2"}
    conditions = [when for _, when in told(relay_car("KEY.75")) if when]
    assert conditions == [{"key": "accessory"}]


def test_when_the_coil_of_a_load_of_terminal_30_pulls_is_that_relays_business():
    assert told(relay_car("KEY.15", feed="30")) == []


def contact_car(contact_from):
    """A lamp of terminal 30 behind a relay with a switch of its own, the relay's contact fed from this point."""
    return car(
        parts=[
            {"id": "K1", "kind": "relay"},
            {"id": "SX", "kind": "switch"},
            {"id": "SY", "kind": "switch"},
            {"id": "LA2", "kind": "lamp", "circuit": "extra"},
        ],
        circuits=[{"id": "extra", "class": "lighting", "feed": "30"}],
        wires=[
            wire("W9", "F1.2", "SX.1"),
            wire("W10", "SX.2", "K1.86"),
            wire("W11", "K1.85", "body"),
            wire("W12", contact_from, "K1.30"),
            wire("W13", "K1.87", "LA2.1"),
            wire("W14", "LA2.2", "body"),
            wire("W15", "F1.2", "SY.1"),
        ],
    )


@pytest.mark.parametrize("contact_from", ["KEY.15", "KEY.75"])
def test_a_load_of_terminal_30_behind_a_relay_fed_from_the_key_is_dead_when_it_should_work(contact_from):
    [one] = findings(contact_car(contact_from), live)
    assert (one.rule, one.severity, one.at) == ("LIV-1", "fault", ("LA2", "LA2.1"))
    assert "K1's contact" in one.wrong
    assert "key at off" in one.wrong
    assert {"W12", "W13", "KEY", "K1"} <= set(one.touches)


@pytest.mark.parametrize("contact_from", ["F1.2", "SY.2"])
def test_a_relay_of_terminal_30_fed_from_the_battery_straight_or_over_a_switch_is_not_told(contact_from):
    assert told(contact_car(contact_from)) == []


@pytest.mark.parametrize(("live_when", "loads"), [("key=run|start", []), ("key=run", ["LA2"]), ("always", ["LA2"])])
def test_where_nobody_opened_the_old_key_switch_its_position_stands_for_it(live_when, loads):
    job = car(
        parts=[
            {"id": "OF", "kind": "old_feed", "settings": f"live_when={live_when}"},
            {"id": "LA2", "kind": "lamp", "circuit": "extra"},
        ],
        circuits=[{"id": "extra", "class": "lighting", "feed": "15"}],
        wires=[wire("W10", "OF.1", "LA2.1"), wire("W11", "LA2.2", "body")],
        changed={"W5": {"from": "KEY.75"}, "LA1": {"circuit": ""}, "work": {"feed": ""}},
    )
    assert [place for place, _ in told(job)] == loads


def test_a_feed_may_be_a_point():
    sound = car(changed={"work": {"feed": "SW1.2"}})
    assert told(sound) == []
    wrong = car(
        changed={"work": {"feed": "SW1.2"}, "W6": {"from": "SW1.1"}},
        wires=[wire("W10", "SW1.2", "S.1")],
        parts=[{"id": "S", "kind": "splice"}],
    )
    assert told(wrong) == [("LA1", {"key": "run|start", "SW1": "off"})]


def test_two_filaments_go_by_the_circuits_of_their_wires():
    job = car(
        parts=[{"id": "TL", "kind": "lamp_tail", "circuit": "work"}, {"id": "BRK", "kind": "switch"}],
        circuits=[{"id": "brake", "class": "signalling", "feed": "30"}],
        wires=[
            wire("W10", "F1.2", "BRK.1", circuit="brake"),
            wire("W11", "BRK.2", "TL.54", circuit="brake"),
            wire("W12", "SW1.2", "TL.58", circuit="work"),
            wire("W13", "TL.31", "body"),
        ],
    )
    assert told(job) == []


def test_a_charge_lamp_may_glow_from_behind():
    job = car(
        parts=[
            {"id": "ALT", "kind": "alternator"},
            {"id": "CL", "kind": "lamp", "circuit": "tell", "role": "charge_lamp", "settings": "watt=2.2"},
        ],
        circuits=[{"id": "tell", "class": "warning", "feed": "15"}],
        wires=[wire("W10", "ALT.B+", "BAT.+", "16"), wire("W11", "KEY.15", "CL.1"), wire("W12", "CL.2", "ALT.D+")],
    )
    assert told(job) == []


def _behind_a_relay(trigger: str):
    """A lamp of the key behind a relay; its coil fed from this point."""
    return car(
        parts=[{"id": "KX", "kind": "relay"}, {"id": "LA2", "kind": "lamp", "circuit": "work"}],
        wires=[
            wire("K1", "BAT.+", "KX.30", "4", "200"),
            wire("K2", "KX.87", "LA2.1", circuit="work"),
            wire("K3", "LA2.2", "body"),
            wire("K4", trigger, "KX.86"),
            wire("K5", "KX.85", "body"),
        ],
    )


def test_the_way_of_a_load_behind_a_relay_begins_with_the_wire_that_works_its_coil():
    told = [one for one in findings(_behind_a_relay("BAT.+"), live) if one.at[0] == "LA2"]
    assert [one.rule for one in told] == ["LIV-1"]
    assert {"K4", "K1", "K2"} <= set(told[0].path)
    assert told[0].path.index("K4") < told[0].path.index("K1")


def test_a_load_behind_a_relay_on_its_own_feed_is_not_told():
    assert [one for one in findings(_behind_a_relay("KEY.15"), live) if one.at[0] == "LA2"] == []


# coils whose circuit has no load of its own


def coil_car(feed: str, coil_from: str):
    """The lamp on a relay fed from the battery; the relay's coil on a circuit of its own."""
    return car(
        parts=[{"id": "KR", "kind": "relay"}],
        circuits=[{"id": "coil", "class": "lighting", "feed": feed}, {"id": "lamp", "class": "lighting"}],
        changed={"LA1": {"circuit": "lamp"}, "W6": {"from": "KR.87", "circuit": "lamp"}, "W7": {"circuit": "lamp"}},
        wires=[
            wire("X1", "F1.2", "KR.30"),
            wire("X2", coil_from, "KR.86", circuit="coil"),
            wire("X3", "KR.85", "body", circuit="coil"),
        ],
    )


def test_a_coil_on_the_contact_that_its_circuit_names_is_silent():
    assert [one for one in findings(coil_car("15", "SW1.2"), live) if one.at[0] == "KR"] == []
    assert [one for one in findings(coil_car("30", "F1.2"), live) if one.at[0] == "KR"] == []


def test_a_coil_on_the_battery_is_live_while_the_feed_of_its_circuit_is_dead():
    (found,) = [one for one in findings(coil_car("15", "F1.2"), live) if one.at[0] == "KR"]
    assert (found.rule, found.at) == ("LIV-1", ("KR", "KR.86"))
    assert "while its feed, 15 at KEY.15, is dead" in found.wrong


def test_a_coil_on_the_key_never_pulls_in_with_the_key_off():
    (found,) = [one for one in findings(coil_car("30", "SW1.2"), live) if one.at[0] == "KR"]
    assert "never works with the key at off" in found.wrong


def test_a_coil_on_the_circuit_of_a_load_is_that_loads_business():
    job = coil_car("30", "SW1.2")
    rows = [replace(row, circuit="coil") if row.id == "W7" else row for row in job.wires]
    assert [one for one in findings(replace(job, wires=tuple(rows)), live) if one.at[0] == "KR"] == []
