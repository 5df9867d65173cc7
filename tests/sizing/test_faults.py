"""Every wire shorted at each end: currents and verdicts of a small car, against arithmetic shown here and PRO-3."""

from __future__ import annotations

from math import exp, inf

import pytest

from loomwright.sizing import protection
from loomwright.sizing.faults import faults_of
from tests.states.small_jobs import car, scene, wire


def found(job):
    return faults_of(scene(job)).wires


def test_each_end_of_each_wire_of_the_small_car_has_its_verdict():
    verdicts = {name: tuple(one.verdict for one in wire.shorts) for name, wire in found(car()).items()}
    assert verdicts == {
        "W1": ("earth", "earth"),
        "W2": ("earth", "earth"),
        "W3": ("unfused", "unfused"),
        "W4": ("opens", "opens"),
        "W5": ("opens", "opens"),
        "W6": ("opens", "opens"),
        "W7": ("earth", "earth"),
    }


def test_the_far_end_draws_less_than_the_near_end():
    for name in ("W4", "W5", "W6"):
        near, far = found(car())[name].shorts
        assert near.amps > far.amps > 10.0
        assert near.opens_s < far.opens_s


def test_the_current_is_the_loops_and_the_copper_ends_by_the_adiabatic_law():
    short = found(car())["W6"].shorts[1]
    # 6 times its rating opens a 10 A blade within 0.1 s (gate), sooner with more by I2t
    assert short.amps > 60.0
    assert short.opens_s == pytest.approx(0.1 * (60.0 / short.amps) ** 2)
    k2 = 3.45e-3 * 254.5 / 17.241e-6
    end_c = (234.5 + 105.0) * exp(short.amps**2 * short.opens_s / (k2 * 1.5**2)) - 234.5
    assert short.peak_c == pytest.approx(end_c, abs=0.05)
    assert short.stands_c == 160.0


def test_a_fuse_far_too_large_for_a_long_thin_wire_harms_it():
    job = car(
        changed={"F1": {"settings": "rating_a=40; family=blade_e"}, "W6": {"size_mm2": "0.5", "length_mm": "9000"}}
    )
    far = found(job)["W6"].shorts[1]
    assert (far.verdict, far.fuse) == ("harmed", "F1")
    assert far.peak_c > far.stands_c


@pytest.mark.parametrize("rating_a", [5, 10, 20, 30, 40])
@pytest.mark.parametrize("size_mm2", ["0.5", "1.5", "4"])
def test_what_is_harmed_here_is_what_pro_3_names(rating_a, size_mm2):
    job = car(changed={"F1": {"settings": f"rating_a={rating_a}"}, "W6": {"size_mm2": size_mm2, "length_mm": "12000"}})
    seen = scene(job)
    named = {
        name
        for told in protection.sheet_findings(seen)
        if told.finding.rule == "PRO-3"
        for name in (*told.finding.at, *told.finding.touches)
        if name.startswith("W")
    }
    harmed = {name for name, one in faults_of(seen).wires.items() if any(end.verdict == "harmed" for end in one.shorts)}
    assert harmed == named


def test_just_below_its_lowest_gate_a_fuse_lets_a_thin_wire_burn():
    left = found(car(changed={"F1": {"settings": "rating_a=30"}, "W6": {"size_mm2": "0.5"}}))["W6"].left_over
    # 135 % of 30 A, for ever
    assert left.amps == pytest.approx(40.5)
    assert left.is_too_hot
    # a short with all of 12.6 V but what the loop takes turns into heat
    assert 0.0 < left.heat_w < 12.6 * 40.5


def test_a_small_fuse_leaves_nothing_over():
    left = found(car(changed={"F1": {"settings": "rating_a=5"}}))["W6"].left_over
    assert left.amps == pytest.approx(6.75)
    assert not left.is_too_hot


def test_the_lengths_before_any_fuse_are_added_up():
    faults = faults_of(scene(car()))
    unfused = {name: one.unfused_mm for name, one in faults.wires.items() if one.unfused_mm is not None}
    assert unfused == {"W3": 300.0}
    assert faults.unfused_mm == 300.0


@pytest.mark.parametrize("live", ["+", "-"])
@pytest.mark.parametrize("batteries", [1, 2])
def test_before_any_fuse_all_batteries_of_a_string_drive_the_short(batteries, live):
    own, earthed = "emf_v=12.6; internal_ohm=0.008", "-" if live == "+" else "+"
    vehicle = [{"name": "earth", "value": "negative" if live == "+" else "positive"}]
    string = {
        "vehicle": [*vehicle, {"name": "system_voltage", "value": "24"}],
        "parts": [{"id": "BA2", "kind": "battery", "settings": own}],
        "wires": [wire("W0", f"BAT.{live}", f"BA2.{earthed}", "25", "300")],
    }
    changed = {
        "BAT": {"settings": own},
        "W1": {"from": f"BAT.{earthed}"},
        "W3": {"size_mm2": "6", "from": f"{'BA2' if batteries == 2 else 'BAT'}.{live}"},
    }
    near, far = found(car(changed=changed, **(string if batteries == 2 else {"vehicle": vehicle})))["W3"].shorts
    assert (near.verdict, far.verdict) == ("unfused", "unfused")
    hot, warm = (234.5 + 70.0) / 254.5, (234.5 + 40.0) / 254.5  # copper at 70 degC, as the network has it at 40 degC
    strap = (0.000780 * 0.5 * warm + 0.0006) * hot / warm
    lead = (0.00330 * 0.3 * warm + 0.0006) * hot / warm
    link = (0.000780 * 0.3 * warm + 0.0006) * hot / warm
    before = batteries * 0.008 + (batteries - 1) * link + strap
    # 8 mohm in each battery, 1.1 of the strap, 0.9 of the link, 1.8 of the lead: 1 150 A of one, 1 270 A of two
    assert far.amps == pytest.approx(batteries * 12.6 / (before + lead), rel=0.01)
    assert near.amps == pytest.approx(batteries * 12.6 / before, rel=0.01)


def test_a_family_that_nobody_printed_gates_for_is_not_known_and_the_rest_is_still_answered():
    job = car(changed={"F1": {"settings": "rating_a=8; family=glass"}})
    shorts = found(job)["W6"].shorts
    assert {one.verdict for one in shorts} == {"not known"}
    assert all(one.amps > 0.0 and one.opens_s is None for one in shorts)
    assert found(job)["W3"].verdict == "unfused"


def test_a_wire_that_only_a_lamp_feeds_is_limited_by_it():
    # between the lamp and a switch in its earth: the lamp lets through what flows
    job = car(
        parts=[{"id": "SW2", "kind": "switch"}],
        changed={"W7": {"to": "SW2.1"}},
        wires=[wire("W8", "SW2.2", "body", circuit="work")],
    )
    assert found(job)["W7"].shorts[0].verdict == "limited"


def test_a_short_that_nothing_ends_says_never():
    # 20 m of 0.5 mm2 leave less than 1.35 times 20 A
    job = car(changed={"F1": {"settings": "rating_a=20"}, "W6": {"size_mm2": "0.5", "length_mm": "20000"}})
    far = found(job)["W6"].shorts[1]
    assert far.opens_s == inf
    assert far.amps < 27.0
