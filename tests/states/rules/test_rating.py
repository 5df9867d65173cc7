"""RAT-1 and RAT-2: what carries too much is told, what is just within is not."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.states.asking.solving import Solving
from loomwright.states.ratings.pulsed import heating_of
from loomwright.states.ratings.wire_limits import limits_of
from loomwright.states.ratings.wire_ratings import limit_table
from loomwright.states.rules import rating
from tests.states.rules.engine_car import DRIVES, PINS, engine_car
from tests.states.small_jobs import car, findings, scene, wire


def told(rule: str, job: object) -> dict[str, Finding]:
    """Findings of one rule by their first place."""
    return {one.at[0]: one for one in findings(job, rating) if one.rule == rule}  # type: ignore[arg-type]


def steady_car(**changed: dict[str, str]):
    """The small car with a box that draws exactly 2 A in place of the lamp."""
    return car(
        without=("LA1", "W6", "W7"),
        changed=changed,
        parts=[{"id": "BOX", "kind": "constant_load", "settings": "average_a=2"}],
        wires=[wire("W8", "SW1.2", "BOX.supply"), wire("W9", "BOX.earth", "body")],
    )


def test_a_switch_over_its_rating_is_told_with_both_figures():
    found = told("RAT-1", steady_car(SW1={"settings": "rating_a=1.9"}))
    assert set(found) == {"SW1"}
    assert found["SW1"].severity == "fault"
    assert abs(found["SW1"].found - 2.0) < 0.01
    assert found["SW1"].allowed == 1.9
    assert ("key", "run|start") in found["SW1"].when or ("key", "run") in found["SW1"].when
    assert {"W5", "W8", "BOX"} <= set(found["SW1"].touches)


def fan_behind(*, feed: str, trigger: str):
    """A fan behind a relay: where the fused feed ends, and where the dash switch's wire does."""
    return car(
        parts=[
            {"id": "FF", "kind": "fuse", "settings": "rating_a=30"},
            {"id": "KF", "kind": "relay", "settings": "contact_a=40"},
            {"id": "FAN", "kind": "fan", "settings": "running_a=20"},
        ],
        changed={"F1": {"settings": "rating_a=30"}},
        wires=[
            wire("A1", "BAT.+", "FF.1", "6"),
            wire("A2", "FF.2", feed, "6"),
            wire("A3", "KF.87", "FAN.+", "6"),
            wire("A4", "FAN.-", "body", "6"),
            wire("A5", "SW1.2", trigger, "6"),
            wire("A6", "KF.85", "body", "6"),
        ],
    )


def test_a_switch_that_feeds_the_contact_of_a_relay_and_not_its_coil_is_told_which_wires_to_exchange():
    told = [one for one in findings(fan_behind(feed="KF.86", trigger="KF.30"), rating) if one.at == ("SW1",)]
    assert "Exchange the wires at KF.30 and KF.86" in told[0].mend
    assert [one for one in findings(fan_behind(feed="KF.30", trigger="KF.86"), rating) if one.at == ("SW1",)] == []


def test_a_switch_without_a_relay_is_told_to_work_one():
    job = car(
        parts=[{"id": "FAN", "kind": "fan", "settings": "running_a=20"}],
        changed={"F1": {"settings": "rating_a=40"}},
        wires=[wire("A3", "SW1.2", "FAN.+", "6"), wire("A4", "FAN.-", "body", "6")],
    )
    [told] = [one for one in findings(job, rating) if one.at == ("SW1",) and "carries more" in one.wrong]
    assert told.mend == "Let the switch work a relay, and take the load's current through the relay"


def test_a_flasher_over_its_rating_is_no_switch_that_works_a_relay():
    job = car(
        parts=[
            {"id": "FL", "kind": "flasher_thermal", "settings": "rating_a=2"},
            {"id": "TL", "kind": "lamp", "settings": "watt=42"},
        ],
        wires=[wire("A1", "KEY.15", "FL.49"), wire("A2", "FL.49a", "TL.1"), wire("A3", "TL.2", "body")],
    )
    mends = {one.mend for one in findings(job, rating) if one.at == ("FL",) and "carries more" in one.wrong}
    assert mends == {"Fit a flasher made for all the lamps it lights, the hazard's four included"}


def test_a_current_equal_to_the_rating_is_allowed():
    assert told("RAT-1", steady_car(SW1={"settings": "rating_a=2"})) == {}


def test_a_fuse_over_its_rating_is_told_and_one_that_is_not_is_not():
    lamps = [{"id": "LA2", "kind": "lamp", "settings": "watt=110"}]
    wires = [wire("W8", "SW1.2", "LA2.1", "2.5"), wire("W9", "LA2.2", "body", "2.5")]
    over = car(parts=lamps, wires=wires)
    # 131 W at 12 V are 10.9 A and more at 12.6 V; the fuse is 10 A
    assert told("RAT-1", over)["F1"].allowed == 10.0
    assert "F1" not in told("RAT-1", car(parts=lamps, wires=wires, changed={"F1": {"settings": "rating_a=15"}}))


def test_a_fuse_that_blows_is_told_by_at_least_twice_its_rating():
    short = car(parts=[{"id": "R1", "kind": "resistor", "settings": "ohm=0.2"}], wires=[
        wire("W8", "SW1.2", "R1.1", "6"), wire("W9", "R1.2", "body", "6"),
    ])  # fmt: skip
    assert told("RAT-1", short)["F1"].found == 20.0


def test_a_contact_is_judged_by_the_motor_amps_it_switches():
    def with_motor(settings: str):
        return car(
            without=("LA1", "W6", "W7"),
            changed={"SW1": {"settings": settings}},
            parts=[{"id": "MO", "kind": "motor", "settings": "running_a=5; inrush_a=20"}],
            wires=[wire("W8", "SW1.2", "MO.+"), wire("W9", "MO.-", "body")],
        )

    # 5 A at 13.5 V is 4.6 A at 12.6 V, less what the wires take
    found = told("RAT-1", with_motor("rating_a=16; motor_a=4"))
    assert found["SW1"].allowed == 4.0
    assert 4.0 < found["SW1"].found < 4.7
    assert told("RAT-1", with_motor("rating_a=16; motor_a=5")) == {}


def test_among_other_loads_a_contact_is_judged_by_its_motors_amps_alone():
    def with_motor(settings: str):
        return car(
            changed={"SW1": {"settings": settings}},
            parts=[{"id": "MO", "kind": "motor", "settings": "running_a=5; inrush_a=20"}],
            wires=[wire("W8", "SW1.2", "MO.+"), wire("W9", "MO.-", "body")],
        )

    # 4.6 A of the motor beside 1.8 A of the lamp
    found = told("RAT-1", with_motor("rating_a=16; motor_a=4"))
    assert found["SW1"].allowed == 4.0
    assert 4.0 < found["SW1"].found < 4.7
    assert "motor current" in found["SW1"].wrong
    assert told("RAT-1", with_motor("rating_a=16; motor_a=5")) == {}


def test_a_contact_that_stands_more_lamps_than_amps_is_judged_by_the_amps():
    # 21 W at 12.6 V are 1.8 A
    assert told("RAT-1", car(changed={"SW1": {"settings": "rating_a=1.5; lamp_a=5"}}))["SW1"].allowed == 1.5
    assert told("RAT-1", car(changed={"SW1": {"settings": "rating_a=5; lamp_a=1.5"}}))["SW1"].allowed == 1.5
    assert told("RAT-1", car(changed={"SW1": {"settings": "rating_a=2; lamp_a=5"}})) == {}


@pytest.mark.parametrize(
    ("kind", "settings", "first_a"),
    # a motor is its stalled ohms, 20 A at 13.5 V; a heater of 100 W at 12 V draws at first what it draws for ever
    [("motor", "running_a=5; inrush_a=20", 20.0 * 12.6 / 13.5), ("heater", "watt=100", 100.0 / 12.0 * 12.6 / 12.0)],
)
def test_a_standing_motor_rushes_and_a_heater_does_not(kind, settings, first_a):
    plus, minus = ("+", "-") if kind == "motor" else ("1", "2")

    def with_load(make_a: float):
        return car(
            without=("LA1", "W6", "W7"),
            changed={"SW1": {"settings": f"make_a={make_a}"}},
            parts=[{"id": "LD", "kind": kind, "settings": settings}],
            wires=[wire("W8", "SW1.2", f"LD.{plus}"), wire("W9", f"LD.{minus}", "body")],
        )

    # wires, joints and the battery take up to a tenth
    assert 0.88 * first_a < told("RAT-1", with_load(0.8 * first_a))["SW1"].found < first_a
    assert told("RAT-1", with_load(first_a)) == {}


def test_a_rush_is_judged_at_the_volts_of_a_regulator_set_high():
    def with_switch(make_a: str):
        return engine_car(
            changed={"ALT": {"settings": "max_a=70; idle_output_a=45; setpoint_v=15.5"}},
            parts=[
                {"id": "SW2", "kind": "switch", "settings": f"make_a={make_a}"},
                {"id": "HT", "kind": "heater", "settings": "ohm=10"},
            ],
            wires=[wire("H1", "BR.6", "SW2.1"), wire("H2", "SW2.2", "HT.1"), wire("H3", "HT.2", "body")],
        )

    # 15.5 V and some tenths in the cold over 10 ohm, less what the way takes: 1.5 A; at 14.4 V it would be 1.44
    assert 1.46 < told("RAT-1", with_switch("1.46"))["SW2"].found < 1.56
    assert told("RAT-1", with_switch("1.56")) == {}


def test_a_busbar_carries_what_comes_in_once():
    def with_bar(rating_a: str):
        return car(
            without=("W6",),
            parts=[{"id": "BB", "kind": "busbar", "settings": f"rating_a={rating_a}"}],
            wires=[wire("W8", "SW1.2", "BB.1"), wire("W9", "BB.2", "LA1.1")],
        )

    # 1.8 A go in at one end and out at the other
    assert 1.5 < told("RAT-1", with_bar("1.5"))["BB"].found < 2.0
    assert told("RAT-1", with_bar("2")) == {}


def test_a_breaker_over_its_rating_opens_by_and_by():
    def with_device(kind: str):
        return car(
            changed={"F1": {"kind": kind}},
            parts=[{"id": "HT", "kind": "heater", "settings": "watt=115"}],
            wires=[wire("W8", "SW1.2", "HT.1", "2.5"), wire("W9", "HT.2", "body", "2.5")],
        )

    # 136 W at 12 V: 11.9 A, more than 10 and less than 13.5
    assert "opens by and by" in told("RAT-1", with_device("circuit_breaker"))["F1"].wrong
    assert "ages until it opens" in told("RAT-1", with_device("fuse"))["F1"].wrong


def test_the_rush_of_a_cold_lamp_is_judged_by_what_the_contact_makes():
    # 21 W at 12 V: 6.86 ohm hot, 0.571 ohm cold; 12.6 V over that and a loop of some 0.06 ohm: about 20 A
    found = told("RAT-1", car(changed={"SW1": {"settings": "make_a=15"}}))
    assert found["SW1"].allowed == 15.0
    assert 18.0 < found["SW1"].found < 22.0
    assert "LA1" in found["SW1"].touches
    assert told("RAT-1", car(changed={"SW1": {"settings": "make_a=22"}})) == {}


def test_what_nobody_rated_is_not_judged():
    assert told("RAT-1", car(changed={"F1": {"settings": ""}})) == {}


def test_an_output_over_its_pins_amps_is_told_at_the_pin():
    pins = [{**pin, "max_a": "0.5"} if pin["id"] == "A4" else pin for pin in PINS]
    # 14 ohm at 14 V is 1 A, while the injector is on
    found = told("RAT-1", engine_car(pins=pins))
    assert set(found) == {"ECU.4"}
    assert {"A4", "INJ", "I2"} <= set(found["ECU.4"].touches)
    assert found["ECU.4"].allowed == 0.5


def test_the_sound_engine_car_is_silent():
    assert findings(engine_car(), rating) == ()


def test_a_bank_is_judged_by_the_mean_of_its_outputs():
    def with_bank(limit_a: str):
        pins = [{**pin, "bank": "B1", "bank_max_a": limit_a} if pin["id"] in ("A4", "A6") else pin for pin in PINS]
        return engine_car(pins=pins)

    # the injector's ampere on a fifth of the time, and the relay coil's 0.16 A all the time: about 0.4 A, not 1.2
    assert told("RAT-1", with_bank("0.3"))["ECU"].allowed == 0.3
    assert told("RAT-1", with_bank("0.5")) == {}


def test_a_pulsed_load_warms_its_fuse_by_the_root_of_the_mean_square():
    def with_heater(rating_a: str, duty_frac: str):
        pins = [*PINS, {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "pwm", "max_a": "10"}]
        return engine_car(
            pins=pins,
            drives=[*DRIVES, {"output": "A7", "when": "engine=running", "duty_frac": duty_frac}],
            parts=[
                {"id": "HT", "kind": "heater", "settings": "ohm=2"},
                {"id": "FH", "kind": "fuse", "settings": f"rating_a={rating_a}"},
            ],
            wires=[
                wire("H1", "BAT.+", "FH.1", "4", "200"),
                wire("H2", "FH.2", "HT.1", "4"),
                wire("H3", "HT.2", "ECU.7", "4"),
            ],
        )

    # 14.2 V over 2.2 ohm is some 6.4 A while on; on a quarter of the time the root mean square is half of that
    assert told("RAT-1", with_heater("4", "1"))["FH"].found > 6.0
    assert told("RAT-1", with_heater("4", "0.25")) == {}
    # and on half of the time it is 6.4 A times the root of a half
    assert 4.3 < told("RAT-1", with_heater("4", "0.5"))["FH"].found < 4.7


def test_the_five_volt_supply_is_judged_by_its_limit():
    pins = [
        *PINS,
        {"id": "A8", "part": "ECU", "terminal": "8", "abilities": "supply_5v", "max_a": "0.1"},
        {"id": "A9", "part": "ECU", "terminal": "9", "abilities": "sensor_earth"},
    ]
    wires = [wire("S1", "ECU.8", "R1.1"), wire("S2", "R1.2", "ECU.9")]

    def with_ohm(ohm: str):
        return engine_car(pins=pins, parts=[{"id": "R1", "kind": "resistor", "settings": f"ohm={ohm}"}], wires=wires)

    # 5 V over 30 ohm would be 167 mA, over 60 ohm it is 83 mA
    assert told("RAT-1", with_ohm("30"))["ECU.8"].allowed == 0.1
    assert told("RAT-1", with_ohm("60")) == {}


def test_a_way_between_looms_is_judged_where_its_rating_is_given():
    def with_plug(settings: str):
        return car(
            without=("W6",),
            parts=[{"id": "X1", "kind": "inline_connector", "settings": settings}],
            wires=[wire("W8", "SW1.2", "X1.1p"), wire("W9", "X1.1s", "LA1.1")],
        )

    assert told("RAT-1", with_plug("rating_a=1"))["X1"].allowed == 1.0
    assert told("RAT-1", with_plug("rating_a=3")) == {}
    assert told("RAT-1", with_plug("")) == {}


def test_a_wire_over_its_amps_is_told_and_a_thicker_one_is_not():
    def with_heater(size_mm2: str):
        return car(
            changed={
                "F1": {"settings": "rating_a=30"},
                "W3": {"size_mm2": "6"},
                "W4": {"size_mm2": "6"},
                "W5": {"size_mm2": "6"},
                "KEY": {"settings": "rating_a=30"},
                "SW1": {"settings": "rating_a=30"},
            },
            parts=[{"id": "HT", "kind": "heater", "settings": "watt=200"}],
            wires=[wire("W8", "SW1.2", "HT.1", size_mm2), wire("W9", "HT.2", "body", "6")],
        )

    # 200 W at 12 V are 16.7 A, less what the wires take; at 40 degC 0.75 mm2 stands 14.5 A and 1 mm2 20.4 A
    found = told("RAT-2", with_heater("0.75"))
    assert set(found) == {"W8"}
    assert found["W8"].found > 14.5 > found["W8"].allowed - 0.1
    assert told("RAT-2", with_heater("1")) == {}


def test_a_hot_place_lowers_what_a_wire_stands_while_the_engine_turns():
    def with_place(ambient_c: str):
        return engine_car(
            places=[{"id": "bay", "ambient_c": ambient_c}],
            changed={"PMP": {"place": "bay", "settings": "running_a=9"}, "P3": {"size_mm2": "0.75"}},
        )

    # 9 A through 0.75 mm2: 14.5 A are allowed at 40 degC, 5.7 A at 95 degC
    found = told("RAT-2", with_place("95"))
    assert set(found) == {"P3"}
    assert abs(found["P3"].allowed - 5.7) < 0.1
    (when,) = (value for name, value in found["P3"].when if name == "engine")
    assert set(when.split("|")) <= {"idle", "running"}
    assert told("RAT-2", with_place("40")) == {}
    # in the sheet of what it may carry the place is hot only while the engine turns by itself
    seen = scene(with_place("95"))
    table = limit_table(seen, limits_of(seen)["P3"])
    variables, where = seen.compiled.network.variables, seen.compiled.variable_of
    at_40 = variables[where["ambient_c"]].values.index("40")
    engines = variables[where["engine"]].values
    allowed = {engine: float(table[0, at_40, place]) for place, engine in enumerate(engines)}
    assert (allowed["stopped"], allowed["running"]) == pytest.approx((14.5, 5.7), abs=0.05)


def test_cranking_is_judged_by_half_a_minute_not_for_ever():
    # 160 A: 16 mm2 stands 125 A for ever and 287 A for 30 s; 6 mm2 stands 110 A for 30 s
    assert told("RAT-2", engine_car(changed={"E1": {"size_mm2": "16"}})) == {}
    assert "E1" in told("RAT-2", engine_car(changed={"E1": {"size_mm2": "6"}}))


def test_an_isolator_in_the_starters_way_is_judged_by_what_it_makes():
    def with_isolator(make_a: str):
        return engine_car(
            without=("E1", "E4"),
            parts=[{"id": "ISO", "kind": "isolator", "settings": f"rating_a=100; make_a={make_a}"}],
            wires=[
                wire("E10", "BAT.+", "ISO.1", "35"),
                wire("E11", "ISO.2", "STA.30", "35"),
                wire("E12", "ISO.2", "FST.1", "10", "300"),
            ],
        )

    assert told("RAT-1", with_isolator("1000")) == {}
    assert told("RAT-1", with_isolator("110"))["ISO"].severity == "fault"


def test_no_state_warms_a_wire_by_more_than_the_bound_that_passes_it_over():
    # 28 ohm at 14 V: half an ampere, on half of the time
    pins = [*PINS, {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "pwm", "max_a": "10"}]
    job = engine_car(
        pins=pins,
        drives=[*DRIVES, {"output": "A7", "when": "engine=running", "duty_frac": "0.5"}],
        parts=[{"id": "HT", "kind": "heater", "settings": "ohm=28"}],
        wires=[wire("H1", "BR.6", "HT.1"), wire("H2", "HT.2", "ECU.7")],
    )
    seen = scene(job)
    heating = heating_of(seen)
    (index,) = seen.compiled.elements_of["H2"]
    assert heating.through[index]
    met = []
    for one in Solving(seen.compiled).rounds():
        amps = np.nan_to_num(heating.amps(one.answers, index)[one.answers.possible])
        met += amps.tolist()
        assert not len(amps) or heating.most(one.answers)[index] >= amps.max() - 1e-9
    # on half of the time: half the mean square, the root of it in heat
    assert max(met) == pytest.approx(14.0 / 28.0 * 0.5**0.5, rel=0.05)


@pytest.mark.parametrize("job", [engine_car(), steady_car(SW1={"settings": "rating_a=1.9"})], ids=["engine", "steady"])
def test_a_rating_that_is_passed_over_is_broken_in_no_state(job: Job):
    seen = scene(job)
    rounds = list(Solving(seen.compiled).rounds())
    asked = [
        (watch.may_break(one.answers), watch.broken(one.answers)[0].any())
        for watch in rating.watches(seen)
        for one in rounds
        if watch.may_break is not None
    ]
    assert (False, True) not in asked
    assert {may for may, _ in asked} == {False, True}
