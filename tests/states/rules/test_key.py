"""KEY-1 to KEY-5: made by one change of a sound car, and not made by one that is nearly the same."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.states.rules import key, sneak
from tests.states.rules.engine_car import DRIVES, PINS, engine_car
from tests.states.small_jobs import findings, wire

NO_DIODE = {"without": ("DCH", "L2", "L3"), "wires": [wire("L9", "CHG.2", "ALT.D+", "1")]}
RECIRCULATES = [*PINS[:3], {**PINS[3], "recirculates_to": "A1"}, *PINS[4:]]


def told(job: Job, rule: str) -> list[Finding]:
    """The findings of one rule."""
    return [one for one in findings(job, key) if one.rule == rule]


def only(job: Job, rule: str) -> Finding:
    """The one finding of a rule."""
    (one,) = told(job, rule)
    return one


def test_a_sound_car_has_only_the_note_every_plain_key_has():
    assert [(one.rule, one.severity) for one in findings(engine_car(), key)] == [("KEY-4", "note")]


# KEY-1


def test_a_link_across_the_start_contacts_is_told_at_the_relay_and_the_link():
    one = only(engine_car(wires=[wire("X1", "SEL.start1", "SEL.start2", "1.5", "100")]), "KEY-1")
    assert one.severity == "fault"
    assert one.at[:2] == ("KST", "X1")
    assert dict(one.when) == {"key": "start", "selector": "R|D|3|2|1"}
    assert "SEL" in one.touches
    assert "X1" in one.mend


def test_a_start_wire_past_the_selector_is_told_with_that_wire():
    one = only(engine_car(changed={"E7": {"to": "KST.86"}}), "KEY-1")
    assert one.at[:2] == ("KST", "E7")


def test_an_earth_past_the_selector_is_told_with_that_wire():
    # the contact sits in the relay's earth, and the relay is earthed straight
    moved = {"E7": {"to": "KST.86"}, "E8": {"from": "SEL.start2", "to": "body"}, "E9": {"from": "KST.85", "to": "body"}}
    one = only(engine_car(changed=moved), "KEY-1")
    assert one.at[:2] == ("KST", "E9")
    # from the battery over the key through the coil to the body, then from the battery over the contact to the starter
    assert one.path == ("W3", "W4", "E7", "E9", "W1", "E4", "E5", "E6")


def test_the_contact_in_the_relays_earth_is_as_good():
    moved = {"E7": {"to": "KST.86"}, "E8": {"from": "KST.85", "to": "SEL.start1"}, "E9": {"from": "SEL.start2"}}
    assert told(engine_car(changed=moved), "KEY-1") == []


def test_a_solenoid_lets_go_with_its_feed_however_few_volts_are_left():
    # 20 milliohm in the battery's earth lead: what comes back through the pull winding goes on through the hold winding
    assert told(engine_car(changed={"W1": {"ohm_per_m": "0.04"}}), "KEY-1") == []


def manual(**clutch: str) -> Job:
    """The car with a clutch contact instead of a selector."""
    parts = [{"id": "CLU", "kind": "switch", "role": "start_inhibit"}]
    moved = {"E7": {"to": "CLU.1"}, "E8": {"from": "CLU.2"}, **({"E7": clutch} if clutch else {})}
    return engine_car(without=("SEL",), parts=parts, changed=moved)


def test_a_manual_box_starts_with_the_clutch_down_only():
    assert told(manual(), "KEY-1") == []
    one = only(manual(to="KST.86"), "KEY-1")
    assert one.at[0] == "KST"
    assert ("CLU", "off") in one.when


def test_a_manual_box_with_no_inhibit_is_not_asked():
    moved = {"E7": {"to": "KST.86"}}
    assert told(engine_car(without=("SEL", "E8"), changed=moved), "KEY-1") == []


# KEY-2


def test_the_charge_lamp_without_its_diode_keeps_the_engine_running():
    found = findings(engine_car(**NO_DIODE), key, sneak)
    (one,) = [each for each in found if each.rule == "KEY-2"]
    assert one.severity == "fault"
    assert one.at[:2] == ("L9", "CHG")
    assert ("key", "off|accessory") in one.when
    assert ("before.key", "run") in one.when
    assert [place for place in one.path if place in ("L9", "CHG", "L1", "M4")] == ["L9", "CHG", "L1", "M4"]
    # what the lamp wakes goes with it: the same current told by the other rules
    assert {each.rule for each in one.folded} == {"SNK-1", "SNK-3"}
    assert [each.rule for each in found if each.severity != "note"] == ["KEY-2"]


def test_a_load_that_pulls_the_lamp_down_stops_the_engine():
    # 3 ohm on the key's net leave it half a volt, see the dossier's charge-lamp case: no relay stays in
    heavy = {**NO_DIODE, "parts": [{"id": "HE", "kind": "heater", "settings": "ohm=3"}]}
    heavy["wires"] = [*NO_DIODE["wires"], wire("H1", "KEY.15", "HE.1"), wire("H2", "HE.2", "body")]
    assert told(engine_car(changed={"F1": {"settings": "rating_a=20"}}, **heavy), "KEY-2") == []


def test_a_pump_relay_fed_past_the_key_is_told_at_its_coil():
    one = only(engine_car(changed={"P5": {"from": "BAT.+"}, "P6": {"to": "body"}}), "KEY-2")
    assert one.at[:2] == ("P5", "KPM")
    assert "PMP" in (*one.at, *one.touches)


def test_a_dead_controller_fed_through_its_injector_is_told_at_that_output():
    one = only(engine_car(pins=RECIRCULATES, changed={"I1": {"from": "BAT.+"}}), "KEY-2")
    assert one.at[:2] == ("I2", "ECU")
    assert {"INJ", "I1"} <= set(one.touches)


def test_an_injector_behind_the_main_relay_may_recirculate_to_the_supply():
    assert told(engine_car(pins=RECIRCULATES), "KEY-2") == []


def self_held(when: str) -> Job:
    """The main relay fed past the key and earthed by the controller, woken from terminal 15 through a diode."""
    pins = [*PINS[:2], *PINS[3:], {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "low_side", "max_a": "2"}]
    return engine_car(
        pins=pins,
        without=("C3",),
        parts=[{"id": "DW", "kind": "diode"}],
        changed={"M4": {"from": "BAT.+"}, "M5": {"to": "ECU.7"}},
        wires=[wire("Z1", "KEY.15", "DW.a"), wire("Z2", "DW.k", "BR.6")],
        drives=[*DRIVES, {"output": "A7", "when": when}],
    )


def test_a_main_relay_that_holds_itself_is_told_once_at_its_coil():
    one = only(self_held("always"), "KEY-2")
    assert one.at[:2] == ("M4", "KMR")
    assert {"ECU", "COL", "PMP"} <= {*one.at, *one.touches}


def test_a_main_relay_let_go_with_the_key_is_not_told():
    assert told(self_held("key=run|start"), "KEY-2") == []


def test_two_terminals_of_the_key_joined_keep_it_alive_in_accessory():
    one = only(engine_car(wires=[wire("X1", "KEY.15", "KEY.75")]), "KEY-2")
    assert one.at[0] == "X1"
    assert ("key", "accessory") in one.when


# KEY-3


def test_a_coil_fed_from_a_contact_that_drops_in_start_is_told_with_its_fuse():
    fuse = [{"id": "FC", "kind": "fuse", "settings": "rating_a=10"}]
    split = [wire("X1", "KEY.75", "FC.1")]
    one = only(engine_car(parts=fuse, wires=split, changed={"I3": {"from": "FC.2"}}), "KEY-3")
    assert one.severity == "fault"
    assert one.at == ("FC", "X1", "KEY")
    assert {"COL", "I3"} <= set(one.touches)
    assert dict(one.when)["key"] == "start"
    assert "KEY.75" in one.label


def test_the_same_fuse_on_the_contact_that_stays_is_not_told():
    fuse = [{"id": "FC", "kind": "fuse", "settings": "rating_a=10"}]
    split = [wire("X1", "KEY.15", "FC.1")]
    assert told(engine_car(parts=fuse, wires=split, changed={"I3": {"from": "FC.2"}}), "KEY-3") == []


def test_a_key_line_that_drops_in_start_stops_everything_and_is_told_once():
    one = only(engine_car(changed={"C3": {"from": "KEY.75"}}), "KEY-3")
    assert one.at[0] == "C3"
    assert {"ECU", "INJ", "PMP"} <= set(one.touches)


def test_a_pump_without_feed_is_told():
    one = only(engine_car(without=("P2",)), "KEY-3")
    assert "PMP" in one.at
    assert {"P3", "KPM"} <= {*one.at, *one.touches}


def test_an_injector_nobody_drives_is_told():
    one = only(engine_car(drives=[row for row in DRIVES if row["output"] != "A4"]), "KEY-3")
    assert one.at == ("I2", "INJ")
    assert one.found == pytest.approx(0.0, abs=1e-6)


def test_a_crash_switch_may_stop_the_pump():
    crash = [{"id": "CRS", "kind": "crash_switch", "role": "crash_switch"}]
    split = [wire("X1", "CRS.2", "KPM.30", "2.5")]
    assert told(engine_car(parts=crash, wires=split, changed={"P2": {"to": "CRS.1"}}), "KEY-3") == []


# KEY-4


def test_a_starter_that_oil_pressure_locks_out_is_not_told():
    switch = [{"id": "OPS", "kind": "pressure_switch", "settings": "closes_when=engine=stopped|cranking"}]
    assert told(engine_car(parts=switch, changed={"E9": {"to": "OPS.1"}}), "KEY-4") == []


# KEY-5


def test_a_pump_driven_whenever_the_key_is_on_is_told():
    always = [*DRIVES[:2], {"output": "A6", "when": "always"}]
    one = only(engine_car(drives=always), "KEY-5")
    assert one.severity == "fault"
    assert one.at[0] == "PMP"
    assert {"A6", "KPM", "ECU"} <= set(one.touches)
    assert dict(one.when) == {"key": "run", "engine": "stopped"}


def test_a_prime_without_end_is_told_and_one_of_two_seconds_is_not():
    endless = [*DRIVES[:3], {"output": "A6", "when": "key=run, engine=stopped"}]
    assert [one.at[0] for one in told(engine_car(drives=endless), "KEY-5")] == ["PMP"]
    assert told(engine_car(), "KEY-5") == []
