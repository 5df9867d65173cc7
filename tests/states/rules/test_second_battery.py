"""SUP-4: two batteries that are joined while nothing charges."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.states.rules import rating, supply
from tests.failure_modes.charging_and_battery import _TWIN
from tests.failure_modes.scenario import edited, job_of, wire
from tests.states.small_jobs import findings


def told(*rules, **edits):
    return [one for one in findings(job_of(edited(_TWIN, **edits)), supply, *rules) if one.rule == "SUP-4"]


# SUP-4


def test_a_split_charge_relay_on_d_plus_is_silent():
    # SUP-4 asks it in vain: D+ holds the relay in only while the alternator charges
    assert told() == []


def test_a_split_charge_relay_on_30_joins_the_batteries_for_ever():
    (one,) = told(rating, changed={"T5": {"from": "F1.2"}})
    assert (one.rule, one.severity, one.at) == ("SUP-4", "fault", ("KSP", "T5", "BA2"))
    assert "what hangs on BA2 flattens BAT too" in one.wrong
    assert "Move T5" in one.mend
    assert "ALT.D+" in one.mend
    assert dict(one.when)["engine"] == "stopped|cranking"
    # what the starter draws from the second battery comes of it
    assert {inner.at[0] for inner in one.folded if inner.rule == "RAT-1"} >= {"FT1", "FT2"}


def test_a_relay_that_goes_by_the_volts_needs_no_feed_and_joins_them_while_it_charges():
    by_volts = {
        "changed": {"KSP": {"kind": "relay_by_volts", "settings": ""}, "T6": {"from": "KSP.31"}},
        "without": ["T5"],
    }
    assert told(**by_volts) == []
    car = Car(job_of(edited(_TWIN, **by_volts)))
    # 14.2 V while it charges, 12.6 V at rest: 13.3 V lies between, and so does 12.8 V, at which it lets go
    assert car.solve(key="run", engine="running").relays["KSP"] == "pulled"
    assert car.solve(key="run").relays["KSP"] == "released"
    # what is on the second battery's side is charged
    assert car.solve(key="run", engine="running").amps["T3"] > 0.5


def test_the_mend_names_the_kind_that_needs_no_such_point():
    (one,) = told(changed={"T5": {"from": "F1.2"}})
    assert "or fit a relay_by_volts in place of KSP" in one.mend


def test_one_on_d_plus_that_holds_by_the_lamp_alone_is_not_sent_to_where_it_hangs():
    # 2.2 W of lamp into the alternator's field leave some tenths of a volt at D+ once it has stopped
    (one,) = told(changed={"KSP": {"settings": "drop_out_v=0.2"}})
    assert "KSP hangs on ALT.D+ and holds by the volts left there: fit one that lets go at more" in one.mend
    assert "Move" not in one.mend


def test_on_terminal_15_it_is_in_before_anything_charges():
    (one,) = told(changed={"T5": {"from": "KEY.15"}})
    assert (one.severity, one.at[0]) == ("warning", "KSP")
    assert "before anything charges" in one.wrong
    assert dict(one.when)["key"] == "run|start"


def test_a_push_that_joins_them_to_start_is_meant():
    push = {"parts": [{"id": "PSH", "kind": "switch"}], "wires": [wire("T20", "F1.2", "PSH.1")]}
    assert told(changed={"T5": {"from": "PSH.2"}}, **push) == []


@pytest.mark.parametrize("middle", [[], [wire("T21", "KSP.30", "KSP.87", "25")]])
def test_batteries_that_wires_alone_join_are_one(middle):
    assert told(without=["T5", "T6"], wires=middle) == []


def test_the_break_contact_joins_them_at_rest():
    (one,) = told(changed={"T3": {"from": "KSP.87a"}})
    assert (one.severity, one.at[0]) == ("fault", "KSP")


def test_two_relays_in_a_row_join_them_only_together():
    second = {
        "parts": [{"id": "KS2", "kind": "relay"}],
        "wires": [
            wire("T30", "KSP.87", "KS2.30", "25"),
            wire("T31", "DCH.k", "KS2.86", "1"),
            wire("T32", "KS2.85", "body", "1"),
        ],
    }
    through = {"T3": {"from": "KS2.87"}, "T5": {"from": "F1.2"}}
    assert told(changed=through, **second) == []
    (one,) = told(
        changed=through,
        parts=second["parts"],
        wires=[*second["wires"][:1], wire("T31", "F1.2", "KS2.86", "1"), second["wires"][2]],
    )
    assert {"KSP", "KS2"} <= {*one.at, *one.touches}


def test_the_mend_feeds_the_coil_from_the_alternator():
    car = Car(job_of(edited(_TWIN, changed={"T5": {"from": "F1.2"}})))
    (one,) = [one for one in car.findings() if one.rule == "SUP-4"]
    first = car.mends(one).offered[0]
    assert "Take T5 from ALT.D+" in first.says
