"""SNK-1 to SNK-3: made by one change of a sound car, and not made by one that is nearly the same.

The lamp clusters are those of solved circuits of the electrical reference: filaments by I = W/12 (V/12)^0.55, 12 V.
"""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.states.rules import sneak
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, findings, wire

TWELVE = {"BAT": {"settings": "emf_v=12; internal_ohm=0.001"}}


def told(job: Job, rule: str) -> list[Finding]:
    """The findings of one rule, those folded beneath another too."""
    every = [one for found in findings(job, sneak) for one in (found, *found.folded)]
    return [one for one in every if one.rule == rule]


def lamp(id: str, watt: int, **more: str) -> dict[str, str]:
    """One lamp."""
    return {"id": id, "kind": "lamp", "settings": f"watt={watt}", **more}


def switches(*ids: str) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Switches on the battery, and the wires to them."""
    return [{"id": id, "kind": "switch"} for id in ids], [wire(f"N{id}", "BAT.+", f"{id}.1", "6", "100") for id in ids]


def thick(id: str, a: str, b: str) -> dict[str, str]:
    """A wire that loses next to nothing."""
    return wire(id, a, b, "6", "200")


def headlamps(*, earth: tuple[dict[str, str], ...]) -> Job:
    """Left dip and left main share an earth; the main line has the right main and its pilot, earthed by themselves."""
    parts, wires = switches("SD", "SM")
    wires += [
        thick("A1", "SD.2", "DL.1"),
        thick("A2", "DL.2", "ML.2"),
        thick("A3", "SM.2", "ML.1"),
        thick("A4", "SM.2", "MR.1"),
        thick("A5", "SM.2", "PI.1"),
        thick("A6", "MR.2", "body"),
        thick("A7", "PI.2", "body"),
    ]
    lamps = [lamp("DL", 55), lamp("ML", 60), lamp("MR", 60), lamp("PI", 1)]
    lamps[3]["settings"] = "watt=1.2"
    return car(parts=[*parts, *lamps], wires=[*wires, *earth], changed=TWELVE)


def cluster(*, earth: tuple[dict[str, str], ...], **changed: dict[str, str]) -> Job:
    """Tail 5 W, stop 21 W and turn 21 W on one plate; the other stop, and turn 21 W and 5 W, earthed by themselves."""
    on_plate = [
        {"id": id, "kind": "lamp_case", "settings": f"watt={watt}; bolted_to=plate"}
        for id, watt in (("T1", 5), ("S1", 21), ("U1", 21))
    ]
    parts, wires = switches("ST", "SS", "SU")
    wires += [
        thick("A2", "ST.2", "T1.1"),
        thick("A4", "SS.2", "S1.1"),
        thick("A5", "SS.2", "S2.1"),
        thick("A6", "S2.2", "body"),
        thick("A8", "SU.2", "U1.1"),
        thick("A9", "SU.2", "U2.1"),
        thick("A10", "SU.2", "U3.1"),
        thick("A11", "U2.2", "body"),
        thick("A12", "U3.2", "body"),
    ]
    others = [lamp("S2", 21), lamp("U2", 21), lamp("U3", 5)]
    return car(
        parts=[*parts, *on_plate, *others],
        wires=[*wires, *earth],
        metals=[{"id": "plate"}],
        changed={**TWELVE, **changed},
    )


def test_a_sound_car_is_silent():
    assert findings(engine_car(), sneak) == ()


# SNK-1


def test_a_lost_headlamp_earth_lights_the_main_filament_backwards():
    (one,) = [each for each in told(headlamps(earth=()), "SNK-1") if each.at[0] == "ML"]
    assert one.severity == "fault"
    assert {"A2", "A3"} <= {*one.at, *one.touches}
    assert dict(one.when) == {"SD": "on", "SM": "off"}
    # solved circuit S7: 2.667 A; wires and contacts here take a little
    assert one.found == pytest.approx(2.667, rel=0.03)
    assert [place for place in one.path if place in ("DL", "ML", "MR")] == ["DL", "ML", "MR"]


def test_a_good_headlamp_earth_lights_nothing_backwards():
    assert findings(headlamps(earth=(thick("A0", "DL.2", "body"),)), sneak) == ()


def test_a_poor_shared_earth_below_half_a_volt_is_let_pass():
    # 1.5 mm2, 4 m: 49 mohm at 4.5 A lift the shared earth by 0.2 V
    assert findings(headlamps(earth=(wire("A0", "DL.2", "body", "1.5", "4000"),)), sneak) == ()


def test_a_pump_wired_the_wrong_way_round_is_left_to_polarity():
    turned = {"P3": {"to": "PMP.-"}, "P4": {"from": "PMP.+"}}
    assert told(engine_car(changed=turned), "SNK-1") == []


def test_a_lamp_fed_at_its_second_terminal_is_as_it_was_made():
    assert told(car(changed={"W6": {"to": "LA1.2"}, "W7": {"from": "LA1.1"}}), "SNK-1") == []


def test_a_motor_that_is_meant_to_turn_both_ways_is_not_asked():
    parts = [{"id": "RM", "kind": "reversing_motor"}, *({"id": k, "kind": "relay"} for k in ("KA", "KB"))]
    wires = [
        *(wire(f"{k}1", "BAT.+", f"{k}.87") for k in ("KA", "KB")),
        *(wire(f"{k}2", f"{k}.87a", "body") for k in ("KA", "KB")),
        *(wire(f"{k}3", f"{k}.85", "body") for k in ("KA", "KB")),
        wire("KA4", "KA.30", "RM.a"),
        wire("KB4", "KB.30", "RM.b"),
    ]
    more, feeds = switches("SA", "SB")
    coils = [wire("CA", "SA.2", "KA.86"), wire("CB", "SB.2", "KB.86")]
    assert findings(car(parts=[*parts, *more], wires=[*wires, *feeds, *coils]), sneak) == ()


# SNK-2


def test_a_lost_cluster_earth_is_told_at_what_the_lamps_share():
    (one,) = told(cluster(earth=()), "SNK-2")
    assert one.severity == "fault"
    assert one.at[0] == "plate"
    assert {"T1", "S1", "U1"} <= {*one.at, *one.touches}
    assert {"A2", "A4", "A8"} <= set(one.touches)


def test_the_lamps_lit_backwards_by_it_fold_beneath_it():
    (one,) = findings(cluster(earth=()), sneak)
    assert one.rule == "SNK-2"
    assert {each.rule for each in one.folded} == {"SNK-1"}


@pytest.mark.parametrize(("earthed", "rules"), [(True, []), (False, ["SNK-2"])])
def test_a_car_with_its_plus_post_earthed_is_asked_the_same(earthed, rules):
    parts, _ = switches("SD", "SM")
    wires = [
        thick("N1", "BAT.-", "SD.1"),
        thick("N2", "BAT.-", "SM.1"),
        thick("A1", "SD.2", "DL.1"),
        thick("A2", "DL.2", "ML.2"),
        thick("A3", "SM.2", "ML.1"),
        thick("A4", "SM.2", "MR.1"),
        thick("A6", "MR.2", "body"),
        *([thick("A0", "DL.2", "body")] if earthed else []),
    ]
    job = car(
        parts=[*parts, lamp("DL", 55), lamp("ML", 60), lamp("MR", 60)],
        wires=wires,
        changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}},
        vehicle=[{"name": "earth", "value": "positive"}],
    )
    assert [one.rule for one in findings(job, sneak)] == rules


def test_a_cluster_with_its_earth_is_silent():
    assert findings(cluster(earth=(thick("A0", "plate", "body"),)), sneak) == ()


def test_two_feeds_that_meet_at_a_door_contact_are_told():
    # the courtesy lamp's current goes on through a buzzer into the dead ignition feed: solved circuit S6
    parts = [
        lamp("IL", 10, circuit="inside"),
        {"id": "DS", "kind": "door_switch"},
        {"id": "BZ", "kind": "old_load", "settings": "ohm=100", "circuit": "work"},
    ]
    wires = [
        wire("D1", "BAT.+", "IL.1"),
        wire("D2", "IL.2", "DS.1"),
        wire("D3", "DS.1", "BZ.1"),
        wire("D4", "BZ.2", "KEY.15"),
    ]
    job = car(parts=parts, wires=wires, circuits=[{"id": "inside", "class": "lighting"}])
    (one,) = [each for each in told(job, "SNK-2") if "IL" in (*each.at, *each.touches)]
    assert {"IL", "BZ", "D3"} <= {*one.at, *one.touches}
    assert ("DS", "shut") in one.when


def test_two_fans_of_one_circuit_in_series_are_a_design():
    parts = [{"id": id, "kind": "fan", "circuit": "fans"} for id in ("F7", "F8")]
    more, feeds = switches("SF")
    wires = [thick("D1", "SF.2", "F7.+"), thick("D2", "F7.-", "F8.+"), thick("D3", "F8.-", "body")]
    circuits = [{"id": "fans", "class": "cooling"}]
    assert findings(car(parts=[*parts, *more], wires=[*wires, *feeds], circuits=circuits), sneak) == ()


def test_two_loads_of_different_circuits_in_series_are_not():
    parts = [{"id": "F7", "kind": "fan", "circuit": "fans"}, {"id": "HR", "kind": "horn", "circuit": "horn"}]
    more, feeds = switches("SF")
    wires = [thick("D1", "SF.2", "F7.+"), thick("D2", "F7.-", "HR.+"), thick("D3", "HR.-", "body")]
    circuits = [{"id": "fans", "class": "cooling"}, {"id": "horn", "class": "signalling"}]
    (one,) = told(car(parts=[*parts, *more], wires=[*wires, *feeds], circuits=circuits), "SNK-2")
    assert {"F7", "HR", "D2"} <= {*one.at, *one.touches}


def test_a_tell_tale_between_the_two_turn_lines_is_a_design():
    lamps = [lamp("TL", 21), lamp("TR", 21), lamp("TT", 2, role="turn_tell_tale")]
    more, feeds = switches("SA", "SB")
    wires = [
        thick("D3", "SA.2", "TL.1"),
        thick("D4", "SB.2", "TR.1"),
        thick("D5", "TL.2", "body"),
        thick("D6", "TR.2", "body"),
        thick("D7", "SA.2", "TT.1"),
        thick("D8", "SB.2", "TT.2"),
    ]
    assert findings(car(parts=[*lamps, *more], wires=[*wires, *feeds]), sneak) == ()


def test_a_gauge_and_its_sender_are_a_design():
    parts = [{"id": "GF", "kind": "gauge_thermal"}, {"id": "TS", "kind": "sender_fuel"}]
    wires = [wire("D1", "KEY.15", "GF.supply"), wire("D2", "GF.signal", "TS.1")]
    assert findings(car(parts=parts, wires=wires), sneak) == ()


# SNK-3


def lamp_and_relay(ohm: str) -> Job:
    """The engine car whose charge lamp has no diode, with so many ohms more on the key's terminal 15."""
    return engine_car(
        without=("DCH", "L2", "L3"),
        parts=[{"id": "HE", "kind": "heater", "settings": f"ohm={ohm}"}],
        wires=[wire("L9", "CHG.2", "ALT.D+", "1"), wire("H1", "KEY.15", "HE.1"), wire("H2", "HE.2", "body")],
        changed={"F1": {"settings": "rating_a=20"}},
    )


def test_the_charge_lamp_holds_a_relay_and_is_told_at_its_wire():
    (one,) = told(lamp_and_relay("150"), "SNK-3")
    assert one.severity == "fault"
    assert one.at[:2] == ("L9", "CHG")
    assert one.path[-1] != one.path[0]
    assert "diode" in one.mend


def test_a_lamp_that_wakes_nothing_is_not_told():
    # 3 ohm leave half a volt on terminal 15, solved circuit S1: the relay falls
    assert told(lamp_and_relay("3"), "SNK-3") == []


def test_a_dead_controller_fed_through_an_output_to_supply_is_told_at_that_output():
    pins = [*PINS, {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "high_side", "max_a": "2"}]
    valve = [{"id": "SV", "kind": "solenoid"}]
    wires = [wire("X1", "BAT.+", "SV.1"), wire("X2", "SV.2", "ECU.7")]
    (one,) = told(engine_car(pins=pins, parts=valve, wires=wires), "SNK-3")
    assert one.at[:2] == ("X2", "ECU")
    assert {"SV", "X1"} <= set(one.touches)


def test_an_output_to_supply_with_an_earthed_load_is_not_told():
    pins = [*PINS, {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "high_side", "max_a": "2"}]
    valve = [{"id": "SV", "kind": "solenoid"}]
    wires = [wire("X1", "body", "SV.1"), wire("X2", "SV.2", "ECU.7")]
    assert told(engine_car(pins=pins, parts=valve, wires=wires), "SNK-3") == []


def test_a_terminal_of_the_key_fed_by_another_contact_is_told_at_the_joining_wire():
    more, feeds = switches("SX")
    (one,) = told(car(parts=more, wires=[*feeds, wire("X1", "SX.2", "KEY.15")]), "SNK-3")
    assert one.at[0] == "X1"
    assert ("SX", "on") in one.when


def test_an_isolator_before_the_key_is_no_way_in():
    parts = [{"id": "ISO", "kind": "isolator", "role": "isolator"}]
    moved = {"W3": {"from": "ISO.2"}}
    job = car(parts=parts, wires=[wire("X1", "BAT.+", "ISO.1", "25")], changed=moved)
    assert findings(job, sneak) == ()


# SNK-1


@pytest.mark.parametrize(
    ("rated_a", "found_a", "severity"), [(10.0, 0.4, "warning"), (10.0, 0.6, "fault"), (None, 0.1, "fault")]
)
def test_a_reverse_current_below_a_twentieth_of_the_rating_is_a_warning(rated_a, found_a, severity):
    assert sneak._reverse_severity(rated_a, found_a) == severity
