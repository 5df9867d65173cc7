"""NET-1 to NET-5: open, doubled, never working, the wrong way round, on too many volts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.states.rules import live, net
from tests.states.small_jobs import car, codes, findings, wire


def rules_of(job, *modules):
    """The rule codes of the findings that stand on their own."""
    return sorted({rule for rule, _, _ in codes(job, *(modules or (net,)))})


def only(job, rule):
    """The one finding of a rule, whatever else there is."""
    found = [one for one in findings(job, net) if one.rule == rule]
    assert len(found) == 1, [(one.rule, one.at) for one in found]
    return found[0]


def test_a_sound_car_is_silent():
    assert codes(car(), net) == []


# NET-1


def test_a_required_terminal_without_a_wire_is_told():
    found = only(car(without=["W7"]), "NET-1")
    assert (found.severity, found.at) == ("fault", ("LA1.2",))


def test_a_terminal_that_is_not_required_may_be_open():
    # 75, 50 and the others of the key switch are open in every car here
    assert not any("KEY" in place for one in findings(car(), net) for place in one.at)


@pytest.mark.parametrize(
    ("kind", "sheet", "row"),
    [
        ("switch_matrix", "contacts", {"part": "X9", "position": "on", "joins": "30+L"}),
        ("controller", "controller_pins", {"id": "A1", "part": "X9", "terminal": "A1", "abilities": "low_side"}),
    ],
)
def test_a_part_that_takes_its_terminals_from_a_sheet_is_told_until_it_has_rows(kind, sheet, row):
    part = {"id": "X9", "kind": kind}
    found = only(car(parts=[part]), "NET-1")
    assert (found.severity, found.at) == ("fault", ("X9",))
    assert found.wrong == f"has no terminals yet: no row of the sheet {sheet} is about it"
    assert f"Give it its rows in the sheet {sheet}" in found.mend
    assert "has no terminals" not in " ".join(one.wrong for one in findings(car(parts=[part], **{sheet: [row]}), net))
    assert codes(car(parts=[{**part, "fitted": "removed"}]), net) == []


def test_a_lost_earth_holds_what_follows_from_it():
    found = only(car(without=["W7"]), "NET-1")
    assert [one.rule for one in found.folded] == ["NET-3"]


def test_a_missing_feed_holds_what_follows_from_it():
    lamp = [one for one in findings(car(without=["W6"]), net) if one.at == ("LA1.1",)]
    assert [one.rule for one in lamp] == ["NET-1"]
    assert [one.rule for one in lamp[0].folded] == ["NET-1", "NET-3"]


def test_both_ends_of_one_lost_wire_are_one_finding():
    found = only(car(without=["W5"]), "NET-1")
    assert found.at == ("SW1.1",)
    assert "KEY.15" in found.wrong
    assert "KEY.15" in found.mend
    assert [(one.rule, one.at) for one in found.folded if one.rule == "NET-1"] == [("NET-1", ("KEY.15",))]


def test_with_two_wires_lost_it_cannot_be_told_which_ends_belong_together():
    parts = [{"id": "SW2", "kind": "switch"}, {"id": "LA2", "kind": "lamp", "circuit": "work"}]
    wires = [wire("W10", "KEY.15", "SW2.1", circuit="work"), wire("W11", "LA2.2", "body", circuit="work")]
    found = [one for one in findings(car(parts=parts, wires=wires, without=["W6"]), net) if one.rule == "NET-1"]
    assert sorted(one.at for one in found) == [("LA1.1",), ("LA2.1",), ("SW1.2",), ("SW2.2",)]


def sender(*free: str):
    """A gauge whose sender has no wire, and wires of the gauge's circuit with a free end."""
    return car(
        circuits=[{"id": "gauges", "class": "gauges"}],
        parts=[
            {"id": "GT", "kind": "gauge_thermal", "circuit": "gauges"},
            {"id": "CS", "kind": "sender_ntc", "circuit": "gauges"},
        ],
        wires=[
            wire("G1", "KEY.15", "GT.supply"),
            *({**wire(name, "GT.signal", "", circuit="gauges"), "to": ""} for name in free),
        ],
    )


def test_a_senders_terminal_and_the_free_end_of_its_gauges_wire_are_one_finding():
    found = [one for one in findings(sender("G2"), net) if one.rule == "NET-1" and one.severity == "fault"]
    assert [(one.at, [inner.at for inner in one.folded]) for one in found] == [(("CS.1",), [("G2", "GT.signal")])]
    assert "Join the free end of G2 to CS.1" in found[0].mend


def test_of_two_free_ends_it_cannot_be_told_which_is_the_senders():
    found = [one for one in findings(sender("G2", "G3"), net) if one.rule == "NET-1"]
    assert sorted(one.at[0] for one in found) == ["CS.1", "G2", "G3"]


def test_an_open_end_of_another_circuit_is_no_end_of_the_lost_wire():
    circuits = [{"id": "other", "class": "lighting", "feed": "15"}]
    parts = [{"id": "SW2", "kind": "switch", "circuit": "other"}]
    lamp = {"id": "LA2", "kind": "lamp", "circuit": "work"}
    wires = [wire("W10", "KEY.15", "SW2.1"), wire("W11", "LA2.2", "body")]

    def ends(job):
        return sorted(one.at for one in findings(job, net) if one.rule == "NET-1")

    assert ends(car(circuits=circuits, parts=[*parts, lamp], wires=wires)) == [("LA2.1",), ("SW2.2",)]
    assert ends(car(circuits=circuits, parts=[*parts, {**lamp, "circuit": "other"}], wires=wires)) == [("LA2.1",)]


def rear_lamp(settings: str):
    """A rear lamp of which only the tail filament is wired."""
    return car(
        parts=[{"id": "RL", "kind": "lamp_tail", "settings": settings}],
        wires=[wire("W20", "SW1.2", "RL.58"), wire("W21", "RL.31", "body")],
    )


def test_a_filament_whose_watts_are_typed_and_that_has_no_wire_is_told():
    found = only(rear_lamp("tail_w=5; brake_w=21"), "NET-1")
    assert (found.severity, found.at) == ("fault", ("RL.54",))
    assert "brake_w=21" in found.wrong


@pytest.mark.parametrize("settings", ["", "tail_w=5"])
def test_one_that_nobody_typed_may_stay_open(settings: str):
    assert "NET-1" not in rules_of(rear_lamp(settings))


def two_positions(*positions: tuple[str, str]):
    """The lamp's switch by its rows in the sheet contacts."""
    rows = [{"part": "SW1", "position": name, "joins": joins} for name, joins in positions]
    return car(changed={"SW1": {"kind": "switch_matrix"}}, contacts=rows)


def test_a_switch_with_one_position_is_a_warning_at_the_switch():
    found = only(two_positions(("on", "1+2")), "NET-1")
    assert (found.severity, found.at) == ("warning", ("SW1",))
    assert "one position only, on" in found.wrong


def test_with_the_row_in_which_it_is_open_it_is_none():
    assert "NET-1" not in rules_of(two_positions(("off", ""), ("on", "1+2")))


def relay_and_bar(without: str):
    """Two lamps on a bar behind a relay, one of the wires on the way missing."""
    return car(
        parts=[
            {"id": "K1", "kind": "relay"},
            {"id": "BR", "kind": "busbar"},
            {"id": "LA2", "kind": "lamp"},
            {"id": "LA3", "kind": "lamp"},
        ],
        wires=[
            wire("W10", "KEY.15", "K1.86"),
            wire("W11", "K1.85", "body"),
            wire("W12", "F1.2", "K1.30"),
            wire("W13", "K1.87", "BR.1"),
            wire("W14", "BR.2", "LA2.1"),
            wire("W15", "BR.3", "LA3.1"),
            wire("W16", "LA2.2", "body"),
            wire("W17", "LA3.2", "body"),
        ],
        without=[without],
    )


@pytest.mark.parametrize(("lost", "root"), [("W12", "K1.30"), ("W13", "K1.87")])
def test_a_lost_main_feed_holds_every_load_and_every_bar_behind_it(lost, root):
    [one] = findings(relay_and_bar(lost), net)
    assert (one.rule, one.at[0]) == ("NET-1", root)
    places = {place for finding in one.folded for place in finding.at}
    assert {"LA2", "LA3"} <= places
    assert {finding.rule for finding in one.folded} == {"NET-3"}


def test_a_lamp_that_lost_its_own_earth_too_is_not_folded_beneath_the_main_feed():
    both = relay_and_bar("W12")
    job = replace(both, wires=tuple(one for one in both.wires if one.id != "W16"))
    found = {one.at[0]: one for one in findings(job, net)}
    assert {"K1.30", "LA2.2"} <= set(found)
    beneath = {place for finding in found["K1.30"].folded for place in finding.at}
    assert "LA3" in beneath
    assert "LA2" not in beneath


def test_a_part_without_one_wire_is_told_once():
    spare = {"id": "F9", "kind": "fuse", "settings": "rating_a=5"}
    assert codes(car(parts=[spare]), net) == [("NET-1", "fault", "F9")]
    assert codes(car(parts=[{**spare, "fitted": "removed"}]), net) == []
    assert codes(car(parts=[{"id": "LA9", "kind": "lamp"}]), net) == [("NET-1", "fault", "LA9")]


def test_a_free_wire_end_is_told_and_the_mend_says_where_it_goes():
    found = only(car(changed={"W7": {"to": ""}}), "NET-1")
    assert (found.severity, found.at) == ("fault", ("W7", "LA1.2"))
    assert "earth" in found.mend
    assert [one.rule for one in found.folded] == ["NET-3"]


def test_a_wire_to_a_part_that_is_removed_ends_in_the_air():
    job = car(parts=[{"id": "LA2", "kind": "lamp", "fitted": "removed"}], wires=[wire("W10", "SW1.2", "LA2.1")])
    assert codes(job, net) == [("NET-1", "fault", "W10")]
    assert codes(car(parts=[{"id": "LA2", "kind": "lamp", "fitted": "removed"}]), net) == []


def test_a_blank_end_that_a_need_will_get_a_pin_for_is_no_free_end():
    job = car(
        parts=[{"id": "ECU", "kind": "controller"}, {"id": "S1", "kind": "sensor_ntc"}],
        controller_pins=[{"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "temperature_input"}],
        needs=[{"id": "coolant", "does": "coolant", "part": "S1", "terminal": "1", "ability": "temperature_input"}],
        wires=[wire("W10", "S1.1", ""), wire("W11", "S1.2", "body")],
    )
    assert "W10" not in {place for one in findings(job, net) for place in one.at}


def test_one_terminal_of_each_group_must_be_wired():
    relay = {"id": "K1", "kind": "relay"}
    wires = [wire("W10", "F1.2", "K1.30"), wire("W11", "SW1.2", "K1.86"), wire("W12", "K1.85", "body")]
    lamp = {"id": "LA2", "kind": "lamp"}
    bare = car(parts=[relay, lamp], wires=[*wires, wire("W13", "SW1.2", "LA2.1"), wire("W14", "LA2.2", "body")])
    assert {one.at[0] for one in findings(bare, net)} == {"K1.87"}
    whole = car(parts=[relay, lamp], wires=[*wires, wire("W13", "K1.87", "LA2.1"), wire("W14", "LA2.2", "body")])
    assert codes(whole, net) == []


def test_the_filament_that_a_role_names_must_be_wired():
    lamp = {"id": "HL", "kind": "lamp_head", "role": "dipped_left"}
    one = car(parts=[lamp], wires=[wire("W10", "SW1.2", "HL.56a"), wire("W11", "HL.31", "body")])
    assert codes(one, net) == [("NET-1", "fault", "HL.56b")]
    other = car(parts=[lamp], wires=[wire("W10", "SW1.2", "HL.56b"), wire("W11", "HL.31", "body")])
    assert codes(other, net) == []


def test_a_need_whose_pin_is_decided_wants_its_wire():
    sheets = {
        "parts": [{"id": "ECU", "kind": "controller"}, {"id": "S1", "kind": "map_iat"}],
        "controller_pins": [{"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "temperature_input"}],
    }
    wires = [wire("W10", "KEY.15", "S1.5v"), wire("W11", "S1.earth", "body"), wire("W12", "S1.map", "SW1.2")]
    need = {"id": "air", "does": "air", "part": "S1", "terminal": "iat", "ability": "temperature_input"}
    found = findings(car(**sheets, needs=[{**need, "pin": "A1"}], wires=wires), net)
    assert [(one.rule, one.at) for one in found if one.rule == "NET-1"] == [("NET-1", ("S1.iat",))]
    # left to allocation it may wait
    assert not [one for one in findings(car(**sheets, needs=[need], wires=wires), net) if one.rule == "NET-1"]
    whole = car(**sheets, needs=[{**need, "pin": "A1"}], wires=[*wires, wire("W13", "S1.iat", "ECU.A1")])
    assert not [one for one in findings(whole, net) if one.rule == "NET-1"]


def test_a_fuse_that_only_a_back_door_feeds_wants_its_feed():
    # the second fuse's circuit can be fed over the first one's switch too, but that is off where all else is on
    job = car(
        parts=[
            {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
            {"id": "LA2", "kind": "lamp"},
            {"id": "PB", "kind": "switch", "settings": "variable=link"},
        ],
        wires=[
            wire("W10", "F2.2", "LA2.1"),
            wire("W11", "LA2.2", "body"),
            wire("W12", "F2.2", "PB.1"),
            wire("W13", "PB.2", "KEY.50"),
        ],
    )
    [one] = [one for one in findings(job, net) if one.rule == "NET-1"]
    assert one.at == ("F2.1",)
    assert "feed" in one.mend


def oil_lamp(*wires, **cells):
    """A lamp on the key whose pressure switch finds earth through the engine, the strap with it."""
    parts = [{"id": "OIL", "kind": "lamp", "settings": "watt=2"}, {"id": "PS", "kind": "pressure_switch"}]
    own = [wire("W10", "KEY.15", "OIL.1"), wire("W11", "OIL.2", "PS.1")]
    return car(parts=parts, wires=[*own, *wires], **cells)


def test_an_engine_without_its_strap_is_the_root():
    found = only(oil_lamp(without=["W2"]), "NET-1")
    assert found.at[0] == "engine"
    assert "PS" in found.touches
    assert [(one.rule, one.at[0]) for one in found.folded] == [("NET-3", "OIL")]


def test_an_engine_with_its_strap_is_fine():
    assert codes(oil_lamp(), net) == []


def test_a_control_cable_is_no_strap():
    cable = wire("W12", "engine", "body", "10", circuit="cable")
    job = oil_lamp(cable, without=["W2"], circuits=[{"id": "cable", "class": "linkage"}])
    assert only(job, "NET-1").at[0] == "engine"


def test_a_way_wired_on_one_side_only_is_a_warning():
    plug = {"id": "X1", "kind": "inline_connector"}
    half = car(parts=[plug], wires=[wire("W10", "SW1.2", "X1.1p")])
    assert codes(half, net) == [("NET-1", "warning", "X1.1p")]
    whole = car(parts=[plug], without=["W6"], wires=[wire("W10", "SW1.2", "X1.1p"), wire("W11", "X1.1s", "LA1.1")])
    assert codes(whole, net) == []


# NET-2


def test_two_wires_in_one_cavity_are_told_and_both_are_named():
    connector = {"id": "C1", "part": "LA1", "terminals": "1 2"}
    job = car(connectors=[connector], wires=[wire("W10", "SW1.2", "LA1.1")])
    found = only(job, "NET-2")
    assert (found.severity, found.at, found.found, found.allowed) == ("fault", ("LA1.1",), 2.0, 1.0)
    assert {"W6", "W10"} <= set(found.touches)


def test_two_wires_at_an_open_terminal_are_fine():
    assert codes(car(wires=[wire("W10", "SW1.2", "LA1.1")]), net) == []


# NET-3


def injector_car(drives=(), **cells):
    """A car with a controller that drives one injector."""
    return car(
        parts=[{"id": "ECU", "kind": "controller"}, {"id": "INJ", "kind": "injector"}],
        controller_pins=[
            {"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "supply"},
            {"id": "A2", "part": "ECU", "terminal": "A2", "abilities": "power_earth"},
            {"id": "A3", "part": "ECU", "terminal": "A3", "abilities": "injector"},
        ],
        drives=list(drives),
        wires=[
            wire("W10", "KEY.15", "ECU.A1"),
            wire("W11", "ECU.A2", "body"),
            wire("W12", "KEY.15", "INJ.1"),
            wire("W13", "INJ.2", "ECU.A3"),
        ],
        **cells,
    )


def test_a_load_that_nothing_ever_drives_never_works():
    found = only(injector_car(), "NET-3")
    assert found.at[0] == "INJ"
    assert "ECU.A3" in found.mend
    assert "drives" in found.mend
    assert {"W12", "W13", "KEY"} <= set(found.touches)


def test_a_load_that_is_driven_in_some_state_works():
    assert codes(injector_car(drives=[{"output": "A3", "when": "engine=running"}]), net) == []


def test_a_controller_without_supply_never_works_nor_what_it_drives():
    job = injector_car(drives=[{"output": "A3", "when": "engine=running"}], without=["W10"])
    found = only(job, "NET-3")
    assert found.at == ("ECU.A1", "ECU")
    assert {one.at[0] for one in found.folded} == {"ECU", "INJ"}


def test_a_controller_whose_supply_a_need_asks_for_holds_what_follows():
    need = {"id": "main", "does": "main_supply", "part": "ECU", "terminal": "A1", "ability": "supply", "pin": "A1"}
    job = injector_car(drives=[{"output": "A3", "when": "engine=running"}], without=["W10"], needs=[need])
    [one] = findings(job, net)
    assert (one.rule, one.at) == ("NET-1", ("ECU.A1",))
    assert {inner.at[0] for inner in one.folded} == {"ECU", "INJ"}


def test_a_lamp_with_both_ends_on_the_feed_never_works():
    found = only(car(changed={"W7": {"to": "SW1.1"}}), "NET-3")
    assert found.at[0] == "LA1"
    assert "both its ends" in found.wrong


def coil_behind(part, *ends):
    """A coil of 1.5 ohm that is fed through something else."""
    coil = {"id": "COIL", "kind": "coil_plain", "settings": "ohm=1.5"}
    wires = [wire("W10", "KEY.15", ends[0]), wire("W11", ends[1], "COIL.15"), wire("W12", "COIL.1", "body")]
    return car(parts=[part, coil], wires=wires, changed={"F1": {"settings": "rating_a=20"}})


def test_a_coil_behind_its_ballast_is_asked_for_its_share_only():
    # equal resistances: half the volts, half the current it would draw alone
    ballast = {"id": "BAL", "kind": "ballast", "settings": "ohm=1.5"}
    assert codes(coil_behind(ballast, "BAL.15", "BAL.15a"), net) == []


def test_a_coil_behind_another_load_is_asked_for_all():
    heater = {"id": "HEAT", "kind": "heater", "settings": "ohm=1.5"}
    found = findings(coil_behind(heater, "HEAT.1", "HEAT.2"), net)
    assert {(one.rule, one.at[0]) for one in found} == {("NET-3", "COIL"), ("NET-3", "HEAT")}


def test_lamps_on_an_earth_splice_that_leads_nowhere_are_told_once():
    job = car(
        parts=[{"id": "LA2", "kind": "lamp"}, {"id": "SP", "kind": "splice"}],
        changed={"W7": {"to": "SP.1"}},
        wires=[wire("W10", "SW1.2", "LA2.1"), wire("W11", "LA2.2", "SP.2")],
    )
    found = [one for one in findings(job, net) if one.rule == "NET-3"]
    assert [one.at[0].split(".")[0] for one in found] == ["SP"]
    assert {"LA1", "LA2", "W7", "W11"} <= set(found[0].touches)
    assert {one.at[0] for one in found[0].folded} == {"LA1", "LA2"}


def sensor_car(**cells):
    """A controller with a coolant sensor and a throttle sensor."""
    pins = [("A1", "supply"), ("A2", "power_earth"), ("B1", "temperature_input"), ("B2", "supply_5v")]
    pins += [("B3", "analog_input"), ("B4", "sensor_earth")]
    return car(
        parts=[
            {"id": "ECU", "kind": "controller"},
            {"id": "CLT", "kind": "sensor_ntc"},
            {"id": "TPS", "kind": "sensor_0_5v"},
            {"id": "SE", "kind": "splice"},
        ],
        controller_pins=[{"id": pin, "part": "ECU", "terminal": pin, "abilities": can} for pin, can in pins],
        wires=[
            wire("W10", "KEY.15", "ECU.A1"),
            wire("W11", "ECU.A2", "body"),
            wire("W12", "CLT.1", "ECU.B1"),
            wire("W13", "CLT.2", "SE.1"),
            wire("W14", "TPS.5v", "ECU.B2"),
            wire("W15", "TPS.signal", "ECU.B3"),
            wire("W16", "TPS.earth", "SE.2"),
            wire("W17", "SE.3", "ECU.B4"),
        ],
        **cells,
    )


def test_sensors_are_asked_for_supply_and_signal_not_for_current():
    assert codes(sensor_car(), net) == []


def test_a_sensor_whose_5_v_is_not_there_is_told():
    found = only(sensor_car(changed={"B2": {"abilities": "analog_input"}}), "NET-3")
    assert found.at[:2] == ("TPS", "TPS.5v")


def test_sensors_on_a_lost_sensor_earth_are_told_once():
    job = sensor_car(without=["W17"])
    lost = [one for one in findings(job, net) if one.rule == "NET-3" and one.at[0] == "SE"]
    assert len(lost) == 1
    assert {"CLT", "TPS", "W13", "W16"} <= set(lost[0].touches)


def alternator_car(watt, **cells):
    """An alternator that is woken through its charge lamp."""
    return car(
        parts=[
            {"id": "ALT", "kind": "alternator"},
            {"id": "CL", "kind": "lamp", "role": "charge_lamp", "settings": f"watt={watt}"},
        ],
        wires=[
            wire("W10", "ALT.B+", "BAT.+", "16"),
            wire("W11", "KEY.15", "CL.1"),
            wire("W12", "CL.2", "ALT.D+"),
        ],
        **cells,
    )


def test_an_alternator_behind_a_lamp_too_small_to_wake_it_is_told():
    # 80 mA are asked for; 0.5 W at 12 V are 42 mA
    assert only(alternator_car("0.5"), "NET-3").at[0] == "ALT"


def test_an_alternator_behind_a_lamp_of_two_watts_wakes():
    assert codes(alternator_car("2.2"), net) == []


# NET-4


def pump_car(plus, minus):
    """A fuel pump behind the switch."""
    pump = {"id": "P1", "kind": "fuel_pump"}
    return car(parts=[pump], wires=[wire("W10", "SW1.2", f"P1.{plus}"), wire("W11", f"P1.{minus}", "body")])


def test_a_pump_the_wrong_way_round_is_told():
    found = only(pump_car("-", "+"), "NET-4")
    assert (found.severity, found.at[0]) == ("fault", "P1")
    assert found.found == pytest.approx(-12.3, abs=0.3)
    assert dict(found.when)["SW1"] == "on"
    assert {"W10", "W11"} <= set(found.touches)


def test_a_pump_the_right_way_round_is_fine():
    assert codes(pump_car("+", "-"), net) == []


def test_a_reversed_led_is_the_root_of_its_not_working():
    lamp = {"id": "L2", "kind": "led_lamp"}
    job = car(parts=[lamp], wires=[wire("W10", "SW1.2", "L2.-"), wire("W11", "L2.+", "body")])
    found = only(job, "NET-4")
    assert [one.rule for one in found.folded] == ["NET-3"]
    right = car(parts=[lamp], wires=[wire("W10", "SW1.2", "L2.+"), wire("W11", "L2.-", "body")])
    assert codes(right, net) == []


def relay_car(to_switch, to_earth, diode="diode"):
    """A relay with a diode across its coil, worked by the switch."""
    return car(
        parts=[
            {"id": "K1", "kind": "relay", "settings": f"suppression={diode}"},
            {"id": "LA2", "kind": "lamp"},
        ],
        wires=[
            wire("W10", "SW1.2", f"K1.{to_switch}"),
            wire("W11", f"K1.{to_earth}", "body"),
            wire("W12", "F1.2", "K1.30"),
            wire("W13", "K1.87", "LA2.1"),
            wire("W14", "LA2.2", "body"),
        ],
    )


def test_a_relay_diode_the_wrong_way_round_is_told_and_holds_the_dead_load():
    found = only(relay_car("85", "86"), "NET-4")
    assert found.at[0] == "K1"
    assert {"W10", "W11"} <= set(found.touches)
    assert ("NET-3", "LA2") in [(one.rule, one.at[0]) for one in found.folded]


@pytest.mark.parametrize(("ends", "diode"), [(("86", "85"), "diode"), (("85", "86"), "resistor")])
def test_a_relay_diode_the_right_way_round_or_none_is_fine(ends, diode):
    assert codes(relay_car(*ends, diode), net) == []


def test_a_battery_with_its_plus_on_the_body_is_told():
    job = car(changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}})
    assert only(job, "NET-4").at[0] == "BAT"


def test_a_positive_earth_car_may_have_its_plus_on_the_body():
    job = car(
        vehicle=[{"name": "earth", "value": "positive"}],
        changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}},
    )
    assert codes(job, net) == []


def test_electronics_on_a_positive_earth_car_are_told_to_convert():
    job = injector_car(
        drives=[{"output": "A3", "when": "engine=running"}],
        vehicle=[{"name": "earth", "value": "positive"}],
        changed={"W1": {"from": "BAT.+"}, "W3": {"from": "BAT.-"}},
    )
    found = [one for one in findings(job, net) if one.rule == "NET-4"]
    assert [one.at[0] for one in found] == ["ECU"]
    assert "convert" in found[0].mend


# NET-5


def test_a_5_v_sensor_on_12_v_is_told_at_its_supply_terminal():
    found = only(sensor_car(changed={"W14": {"to": "KEY.15"}}), "NET-5")
    assert found.at[:2] == ("TPS", "TPS.5v")
    assert found.allowed == 7.5
    assert found.found is not None
    assert found.found > 11.0


@pytest.mark.parametrize(("rated_v", "rules"), [("6", ["NET-5"]), ("12", [])])
def test_a_6_v_part_on_12_v_is_told_and_a_12_v_part_is_not(rated_v, rules):
    job = car(changed={"LA1": {"rated_v": rated_v, "settings": f"watt=21; volt={rated_v}"}})
    assert rules_of(job) == rules


def test_what_is_found_does_not_hang_on_other_rules():
    assert rules_of(car(without=["W7"]), net, live) == ["NET-1"]


def diode_in_line(first: str, second: str):
    """A lamp behind a diode: which of its ends the feed comes to."""
    return car(
        parts=[{"id": "DX", "kind": "diode"}, {"id": "LA2", "kind": "lamp"}],
        wires=[wire("D1", "KEY.15", first), wire("D2", second, "LA2.1"), wire("D3", "LA2.2", "body")],
    )


def test_a_diode_turned_against_its_load_holds_what_it_leaves_dead():
    [one] = findings(diode_in_line("DX.k", "DX.a"), net)
    assert (one.rule, one.at) == ("NET-4", ("DX", "DX.k", "DX.a"))
    assert [(inner.rule, inner.at[0]) for inner in one.folded] == [("NET-3", "LA2")]


def test_a_diode_that_lets_its_load_be_fed_and_one_across_a_coil_are_fine():
    assert findings(diode_in_line("DX.a", "DX.k"), net) == ()
    across = car(
        parts=[{"id": "DX", "kind": "diode"}, {"id": "SO", "kind": "solenoid"}],
        wires=[
            wire("D1", "KEY.15", "SO.1"),
            wire("D2", "SO.2", "body"),
            wire("D3", "DX.k", "SO.1"),
            wire("D4", "DX.a", "SO.2"),
        ],
    )
    assert [one for one in findings(across, net) if one.rule == "NET-4"] == []


def test_a_load_behind_a_relay_whose_coil_ends_nowhere_is_told_by_that_end():
    parts = [{"id": "K1", "kind": "relay"}, {"id": "SEL", "kind": "selector_switch"}, {"id": "LA2", "kind": "lamp"}]
    wires = [
        wire("K11", "F1.2", "K1.30"),
        wire("K12", "K1.87", "LA2.1"),
        wire("K13", "LA2.2", "body"),
        wire("K14", "KEY.15", "K1.86"),
        wire("K15", "K1.85", "SEL.start1"),
    ]
    found = {one.at[0]: one for one in findings(car(parts=parts, wires=wires), net) if one.rule == "NET-3"}
    assert "since K1 cannot pull in: K1.85 leads no further than SEL.start2" in found["LA2"].wrong
    sound = car(parts=parts, wires=[*wires, wire("K16", "SEL.start2", "body")])
    assert [one for one in findings(sound, net) if one.rule == "NET-3"] == []


def test_an_earth_point_without_its_wire_holds_the_metal_it_is_on():
    """The strap of the engine runs between two earth points: both its ends and the metal are one wire."""
    points = [
        {"id": "EE", "kind": "earth_point", "settings": "on=engine"},
        {"id": "ES", "kind": "earth_point", "settings": "on=body"},
    ]
    lamp = {"id": "LA2", "kind": "lamp_case", "settings": "bolted_to=engine"}
    job = car(parts=[*points, lamp], wires=[wire("A1", "KEY.15", "LA2.1")], without=["W2"])
    [one] = [one for one in findings(job, net) if one.severity == "fault"]
    assert (one.rule, one.at) == ("NET-1", ("EE.1",))
    assert {("NET-1", "ES.1"), ("NET-1", "engine")} <= {(inner.rule, inner.at[0]) for inner in one.folded}
