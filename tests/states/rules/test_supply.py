"""SUP-1 to SUP-3: made by one change of a sound car, and not made by one that is nearly the same."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding, says
from loomwright.job.job import Job
from loomwright.states.rules import charging, supply
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import findings, scene, wire

HUNGRY = "draw_a=6; minimum_v={}; reset_v=5.5; ride_through_ms=5"
LONG_THIN = {"size_mm2": "0.5", "length_mm": "6000"}


def told(job: Job, rule: str) -> list[Finding]:
    """The findings of one rule."""
    return [one for one in findings(job, supply) if one.rule == rule]


def test_a_sound_car_is_silent():
    assert findings(engine_car(), supply) == ()


# SUP-1


def thin(least_v: str) -> Job:
    """The car with a hungry controller on a long thin feed."""
    return engine_car(changed={"ECU": {"settings": HUNGRY.format(least_v)}, "C1": LONG_THIN})


def test_a_thin_feed_is_told_at_that_wire():
    (one,) = told(thin("10.5"), "SUP-1")
    assert one.severity == "fault"
    assert one.at == ("C1", "ECU")
    assert one.allowed == 10.5
    assert one.found is not None
    # cranking: 6 A through 6 m of 0.5 mm2 (37.1 mohm/m) lose 1.3 V of about 11
    assert 8.5 < one.found < 10.5
    assert dict(one.when)["key"] == "start"


def test_the_same_feed_is_enough_for_a_controller_that_needs_less():
    assert told(thin("9"), "SUP-1") == []


def stalled(ride_through_ms: str) -> Job:
    """The car with a controller that resets at the battery's volts under the starter's stall current."""
    settings = f"draw_a=0.5; minimum_v=10; reset_v=9.9; ride_through_ms={ride_through_ms}"
    return engine_car(changed={"ECU": {"settings": settings}})


def test_the_first_rush_of_the_starter_is_judged_by_reset_volts():
    (one,) = told(stalled("5"), "SUP-1")
    assert one.allowed == 9.9
    assert dict(one.when)["key"] == "start"
    assert dict(one.when)["engine"] == "stopped"


def test_a_controller_that_rides_through_the_rush_is_not_told():
    assert told(stalled("60"), "SUP-1") == []


def test_a_controller_without_feed_is_no_matter_of_volts():
    assert told(engine_car(without=("C1",)), "SUP-1") == []


# SUP-2


def standing(amps: str) -> Job:
    """The car with a box on the battery that draws for ever; 60 Ah."""
    box = [{"id": "BOX", "kind": "constant_load", "settings": f"average_a={amps}"}]
    return engine_car(parts=box, wires=[wire("X1", "BAT.+", "BOX.supply"), wire("X2", "BOX.earth", "body")])


@pytest.mark.parametrize(("amps", "severity", "days"), [("0.2", "warning", 12.5), ("0.5", "fault", 5.0)])
def test_a_standing_drain_is_told_in_days(amps, severity, days):
    (one,) = told(standing(amps), "SUP-2")
    assert one.severity == severity
    assert one.at[:2] == ("BOX", "X1")
    # 60 Ah / (24 h * I)
    assert one.found == pytest.approx(days, rel=0.01)
    assert one.when == (("key", "off"),)


@pytest.mark.parametrize(("second_a", "named"), [("0.1", True), ("0.02", False)])
def test_another_drain_is_named_from_a_tenth_of_the_largest_on(second_a, named):
    parts = [
        {"id": "BOX", "kind": "constant_load", "settings": "average_a=0.5"},
        {"id": "BOX2", "kind": "constant_load", "settings": f"average_a={second_a}"},
    ]
    ends = [wire(f"X{k}", "BAT.+", f"{box}.supply") for k, box in enumerate(("BOX", "BOX2"))]
    earths = [wire(f"Y{k}", f"{box}.earth", "body") for k, box in enumerate(("BOX", "BOX2"))]
    (one,) = told(engine_car(parts=parts, wires=[*ends, *earths]), "SUP-2")
    assert one.at[0] == "BOX"
    assert ("BOX2" in one.at, "BOX2" in one.wrong) == (named, named)


def test_two_drains_that_flatten_it_each_by_itself_are_two_findings():
    parts = [
        {"id": "BOX", "kind": "constant_load", "settings": "average_a=0.5"},
        {"id": "BOX2", "kind": "constant_load", "settings": "average_a=0.2"},
    ]
    ends = [wire(f"X{k}", "BAT.+", f"{box}.supply") for k, box in enumerate(("BOX", "BOX2"))]
    earths = [wire(f"Y{k}", f"{box}.earth", "body") for k, box in enumerate(("BOX", "BOX2"))]
    found = told(engine_car(parts=parts, wires=[*ends, *earths]), "SUP-2")
    # 60 Ah / (24 h * 0.7 A) by both; 60 Ah / (24 h * 0.2 A) by the second alone
    assert [(one.at[0], one.severity, round(one.found or 0.0, 1)) for one in found] == [
        ("BOX", "fault", 3.6),
        ("BOX2", "warning", 12.5),
    ]


def test_a_small_drain_is_let_pass():
    # 60 Ah / (24 h * 0.1 A) = 25 days
    assert told(standing("0.1"), "SUP-2") == []


def test_a_lamp_somebody_left_on_is_no_standing_drain():
    assert told(engine_car(changed={"W5": {"from": "BAT.+"}}), "SUP-2") == []


# SUP-3


def night(idle_a: str, most_a: str = "70") -> Job:
    """The car with dipped beam, wiper, brake lamp and horn, and an alternator of so much."""
    parts = [
        {"id": "HL", "kind": "lamp", "role": "dipped_left", "settings": "watt=55"},
        {"id": "HR", "kind": "lamp", "role": "dipped_right", "settings": "watt=55"},
        {"id": "WM", "kind": "motor", "circuit": "wipe", "settings": "running_a=5"},
        {"id": "BL", "kind": "lamp", "role": "brake_lamp", "settings": "watt=42"},
        {"id": "HN", "kind": "horn"},
        *({"id": name, "kind": "switch"} for name in ("SH", "SW", "SB", "SN")),
    ]
    loads = (("SH", "HL"), ("SH", "HR"), ("SW", "WM"), ("SB", "BL"), ("SN", "HN"))
    pins = {"WM": ("+", "-"), "HN": ("+", "-")}
    wires = [wire(f"N{switch}", "BAT.+", f"{switch}.1", "4") for switch in ("SH", "SW", "SB", "SN")]
    for switch, load in loads:
        first, last = pins.get(load, ("1", "2"))
        wires += [wire(f"A{load}", f"{switch}.2", f"{load}.{first}", "4"), wire(f"B{load}", f"{load}.{last}", "body")]
    return engine_car(
        parts=parts,
        wires=wires,
        circuits=[{"id": "wipe", "class": "wiping", "feed": "75"}],
        changed={"ALT": {"settings": f"max_a={most_a}; idle_output_a={idle_a}"}},
    )


def test_an_alternator_too_small_at_idle_is_a_warning_with_its_speed():
    (one,) = told(night("12"), "SUP-3")
    assert one.severity == "warning"
    assert one.at == ("ALT", "E3")
    assert one.found is not None
    assert one.found > 0.0
    assert dict(one.when) == {"key": "run", "engine": "idle", "SH": "on", "SW": "on"}
    assert "turns a minute of the engine" in says(one)


def test_one_too_small_at_any_speed_is_a_fault():
    (one,) = told(night("12", "14"), "SUP-3")
    assert one.severity == "fault"


def test_one_that_carries_a_wet_night_is_not_told_though_brake_and_horn_would_tip_it():
    # dipped beam, wiper and engine need about 25 A; brake lamp and horn another 9
    assert told(night("30"), "SUP-3") == []


def test_an_alternator_that_never_wakes_is_a_fault():
    (one,) = told(engine_car(without=("L2",)), "SUP-3")
    assert one.severity == "fault"
    assert "CHG" in one.touches
    assert "wakes" in one.wrong


@pytest.mark.parametrize(("needed_a", "speed_rpm"), [(57.5, 1800), (45.0001, 900), (70.0, 2750), (71.0, None)])
def test_the_speed_that_breaks_even_lies_straight_between_idle_and_full_output(needed_a, speed_rpm):
    # 45 A at 850, 70 A at 6000 / 2.2 = 2727 turns of the crankshaft; half way is 1789, told in steps of 50 upwards
    assert charging._break_even_rpm(scene(engine_car()), "ALT", needed_a) == speed_rpm
