"""What is taken for blanks nobody decided: enough to solve the car, noted, and judged by nothing."""

from __future__ import annotations

from loomwright.car import Car
from loomwright.sizing.provisional import provisional_mm2
from tests.states.small_jobs import car


def test_a_car_without_blanks_is_solved_as_it_stands():
    whole = Car(car())
    assert whole.taken.job is whole.filled
    assert whole.taken.notes == ()
    assert whole.solve().notes == ()


def test_the_thinnest_of_the_class_is_taken_where_little_flows():
    job = car(changed={"W6": {"size_mm2": ""}})
    assert provisional_mm2(job, Car(job).kinds) == {"W6": 0.5}


def test_more_is_taken_where_the_load_at_its_end_draws_more():
    # 160 W draw 13.3 A; 0.5 mm2 carries 11.3 A at 40 degC, 0.75 mm2 14.5 A
    job = car(changed={"W6": {"size_mm2": ""}, "LA1": {"settings": "watt=160"}})
    assert provisional_mm2(job, Car(job).kinds) == {"W6": 0.75}


def test_both_are_noted():
    job = car(changed={"W6": {"size_mm2": "", "length_mm": ""}, "LA1": {"settings": "watt=160"}})
    notes = Car(job).solve().notes
    assert "W6: size not given, 0.75 mm2 taken provisionally" in notes
    assert "W6: length not given, 1 m taken provisionally" in notes


def test_a_route_gives_the_length_where_there_is_one():
    job = car(
        changed={"W6": {"length_mm": ""}, "SW1": {"place": "dash"}, "LA1": {"place": "nose"}},
        places=[{"id": "dash"}, {"id": "nose"}],
        runs=[{"id": "R1", "from": "dash", "to": "nose", "length_mm": "2000"}],
    )
    # 2 x 60 mm at the ends, up to the next 10 mm
    assert Car(job).solve().notes == ("W6: length not given, 2.12 m by its route provisionally",)


def test_what_is_taken_is_judged_by_no_rule():
    # 0.5 mm2 behind a 30 A fuse would be a fault if somebody had chosen it
    changed = {"F1": {"settings": "rating_a=30"}, "W5": {"size_mm2": ""}}
    rules = {finding.rule for finding in Car(car(changed=changed)).findings() if "W5" in finding.at + finding.touches}
    assert not rules & {"PRO-2", "PRO-3", "PRO-4", "RAT-2"}
    typed = Car(car(changed={**changed, "W5": {"size_mm2": "0.5"}})).findings()
    assert [one for one in typed if one.rule == "PRO-2" and "W5" in one.at]


def test_a_blank_fuse_is_whole_and_does_not_blow():
    job = car(changed={"F1": {"settings": ""}, "LA1": {"settings": "watt=400"}})
    solved = Car(job).solve(key="run", SW1="on")
    assert solved.blown == ()
    assert solved.amps["W6"] > 20.0


def test_the_meter_reads_what_solve_tells():
    job = car(changed={"W6": {"size_mm2": ""}, "LA1": {"settings": "watt=160"}})
    whole, state = Car(job), {"key": "run", "SW1": "on"}
    volts = whole.solve(state).volts
    lost_v = whole.volts("SW1.2", "LA1.1", state).value
    assert lost_v is not None
    assert lost_v > 0.1
    assert abs(lost_v - ((volts["SW1.2"] or 0.0) - (volts["LA1.1"] or 0.0))) < 1e-3


def test_a_wire_without_a_size_and_with_measured_ohms_needs_none():
    job = car(changed={"W6": {"size_mm2": "", "ohm_per_m": "0.02"}})
    assert not [note for note in Car(job).solve().notes if "size" in note]
