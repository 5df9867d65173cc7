"""The list is made for the job, stages stay closed, figures are judged, what can kill is never waived."""

from __future__ import annotations

import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.sheets.csv_folder import open_folder
from loomwright.startup.first_start import EMERGENCY, first_start, gate_cells, recorded
from loomwright.startup.plain import start_plain
from loomwright.startup.solved_volts import volts_from
from loomwright.startup.steps import step_stages
from loomwright.tables.kinds import load_kinds
from loomwright.tables.load import read_rows


def job_with(*parts, vehicle=(), places=()):
    job = Job()
    for name, value in vehicle:
        job = add_row(job, "vehicle", {"name": name, "value": value})
    for name, zone in places:
        job = add_row(job, "places", {"id": name, "zone": zone})
    for number, cells in enumerate(parts):
        job = add_row(job, "parts", {"id": f"P{number}", **cells})
    return job


def names(job):
    return {item.name.split(".")[0] for stage in first_start(job).stages for item in stage.items}


@pytest.mark.parametrize(
    ("job", "there", "gone"),
    [
        (job_with(), "oil_primes_by_gauge", "oil_primes"),
        (job_with({"kind": "lamp", "role": "oil_lamp"}), "oil_primes", "oil_primes_by_gauge"),
        (job_with({"kind": "coil_twin"}), "timing_cranking_pairs", "timing_cranking"),
        (job_with({"kind": "coil_plain"}), "timing_cranking", "timing_cranking_pairs"),
        (job_with({"kind": "throttle_electric"}), "electric_throttle_tracks", "throttle_returns"),
        (job_with({"kind": "isolator"}), "isolator_running", "battery_boot"),
        (job_with({"kind": "selector_switch"}), "selector_park", "clutch_or_neutral"),
        (
            job_with({"kind": "fuel_pump"}, vehicle=[("regulator", "fixed")]),
            "fuel_pressure_returnless",
            "fuel_pressure",
        ),
        (job_with({"kind": "coil_plain"}, vehicle=[("coils", "one for all")]), "coil_and_distributor", "coils_spark"),
        (job_with({"kind": "coil_plain"}, vehicle=[("coils", "one for all")]), "distributor_locked", "coils_spark"),
        (job_with({"kind": "coil_plain"}, {"kind": "ballast"}), "ballast_by_passed", "coil_and_distributor"),
        (job_with({"kind": "coil_plain"}), "coils_spark", "distributor_locked"),
        (
            job_with({"kind": "sensor_0_5v", "name": "Throttle position", "circuit": "sensors"}),
            "throttle_smooth",
            "electric_throttle_tracks",
        ),
        (
            job_with({"kind": "sensor_0_5v", "name": "Oil pressure", "circuit": "sensors"}),
            "idle_steady",
            "throttle_smooth",
        ),
        (job_with({"kind": "battery", "place": "b"}, places=[("b", "boot")]), "battery_boot", "isolator_kills"),
        (job_with({"kind": "battery", "place": "b"}, places=[("b", "engine_bay")]), "battery_rest", "battery_boot"),
    ],
)
def test_the_list_is_this_job_s(job, there, gone):
    assert there in names(job)
    assert gone not in names(job)


def test_six_jobs_have_six_lists():
    engine = [{"kind": "battery", "place": "bay"}, {"kind": "coil_plain"}, {"kind": "fuel_pump"}]
    lamp = {"kind": "lamp", "role": "oil_lamp"}
    bay, boot = [("bay", "engine_bay")], [("bay", "boot")]
    jobs = {
        "usual": job_with(*engine, lamp, places=bay),
        "no oil switch": job_with(*engine, places=bay),
        "wasted spark": job_with(engine[0], {"kind": "coil_twin"}, engine[2], lamp, places=bay),
        "electric throttle": job_with(*engine, lamp, {"kind": "throttle_electric"}, places=bay),
        "returnless": job_with(*engine, lamp, places=bay, vehicle=[("regulator", "fixed")]),
        "battery in the boot": job_with(*engine, lamp, places=boot),
        "isolator": job_with(*engine, lamp, {"kind": "isolator"}, places=bay),
    }
    lists = {name: frozenset(names(job)) for name, job in jobs.items()}
    assert len(set(lists.values())) == len(jobs)


def test_what_was_removed_calls_for_nothing():
    assert "isolator_running" not in names(job_with({"kind": "isolator", "fitted": "removed"}))


def test_every_kind_and_source_the_list_names_is_known():
    kinds = {*load_kinds(), "range_coded"}
    keys = {row["key"] for row in read_rows("sources")}
    for stage in step_stages():
        assert stage.cautions
        for step in stage.steps:
            assert {entry["kind"] for entry in (*step.only, *step.never) if "kind" in entry} <= kinds
            words = step.source.replace(",", " ").split()
            assert any(word in keys for word in words), step.id


def passed_to(job, name):
    """The job with every item before one passed, by figures in the middle of their limits."""
    while True:
        made = first_start(job)
        for stage in made.stages:
            for item in stage.items:
                if item.name == name:
                    return job, made
                if item.is_through:
                    continue
                value = "" if item.limit is None else str((item.limit.least + item.limit.most) / 2)
                job = recorded(job, gate_cells(made, item.name, value), time="now")
                break
            else:
                continue
            break


def test_a_later_stage_is_closed_until_the_earlier_are_through():
    job = job_with({"kind": "battery"})
    made = first_start(job)
    with pytest.raises(BadDocument) as told:
        gate_cells(made, "battery_rest", "12.6")
    assert "fire_ready" in told.value.problems[0].allowed
    job, made = passed_to(job, "battery_rest")
    assert gate_cells(made, "battery_rest", "12.6")["verdict"] == "passed"
    assert gate_cells(made, "battery_rest", "11.9")["verdict"] == "failed"
    failed = recorded(job, gate_cells(made, "battery_rest", "11.9"), time="now")
    assert not first_start(failed).item("battery_rest")[1].is_through
    mended = recorded(failed, gate_cells(first_start(failed), "battery_rest", "12.6"), time="later")
    assert first_start(mended).item("battery_rest")[1].is_through


def test_what_can_kill_is_never_waived_and_others_need_a_reason():
    made = first_start(Job())
    for name, reason in (("fire_ready", "no time"), ("fluids", "")):
        with pytest.raises(BadDocument):
            gate_cells(made, name, reason=reason, waive=True)
    assert gate_cells(made, "fluids", reason="rolling shell", waive=True)["verdict"] == "waived"
    with pytest.raises(OutOfReach, match="fluids"):
        gate_cells(made, "fluid")


def test_a_figure_is_asked_for_where_one_is_needed():
    _, made = passed_to(job_with({"kind": "battery"}), "battery_rest")
    for value in ("", "yes", "fine"):
        with pytest.raises(BadDocument):
            gate_cells(made, "battery_rest", value)


def test_everything_through_is_go():
    job = job_with({"kind": "coil_twin"})
    _, made = passed_to(job, "after")
    last = made.stages[-1]
    assert not made.go
    job, _ = passed_to(job, "after")
    done = first_start(recorded(job, gate_cells(first_start(job), "after"), time="now"))
    assert done.go
    assert last.is_open


def test_the_stop_stands_on_every_stage():
    plain = start_plain(first_start(job_with({"kind": "battery"})))
    assert {stage["emergency"] for stage in plain["stages"]} == {EMERGENCY}


def test_a_24_volt_battery_has_limits_of_its_own():
    made = first_start(job_with({"kind": "battery"}, vehicle=[("system_voltage", "24")]))
    assert made.item("battery_rest")[1].limit.least == pytest.approx(24.8)


def test_what_is_expected_comes_from_the_solved_network():
    car = Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job)
    volts = volts_from(car.solve, frozenset(variable.name for variable in car.variables))
    limit = first_start(car.job, volts).item("crank_volts")[1].limit
    solved = car.solve(key="start", engine="cranking")
    assert limit.expected == pytest.approx(solved.volts["BAT.+"] - solved.volts["BAT.-"])
    assert 9.0 < limit.expected < 12.6
    assert volts("BAT.+", "", {"moon": "full"}) is None
    assert volts("NOWHERE.1", "", {"key": "run"}) is None


@pytest.mark.parametrize("switch", ["temperature_switch", "temperature_switch_2wire"])
def test_limits_are_those_the_job_itself_gives(switch):
    job = job_with(
        *({"kind": "fan", "circuit": "fan"}, {"kind": "fuel_pump", "circuit": "pump"}),
        {"kind": switch, "circuit": "fan", "settings": "closes_when=coolant_c>=101"},
        vehicle=[("fuel_kpa", "250"), ("idle_rpm", "900")],
    )
    made = first_start(job)
    limits = {name: made.item(name)[1].limit for name in ("fuel_pressure", "idle_steady", "fan_comes_on")}
    assert {name: (each.least, each.most) for name, each in limits.items()} == {
        "fuel_pressure": (230.0, 270.0),
        "idle_steady": (800.0, 1000.0),
        "fan_comes_on": (95.0, 105.0),
    }
    assert "by this job" in limits["fuel_pressure"].why
    usual = first_start(job_with({"kind": "fuel_pump"})).item("fuel_pressure")[1].limit
    assert (usual.least, usual.most) == (250.0, 400.0)


def test_a_wheel_behind_the_gearbox_is_no_trigger_of_the_engine():
    sensors = [{"kind": "sensor_vr", "place": "bay"}, {"kind": "sensor_hall", "place": "box"}]
    job = job_with(*sensors, places=[("bay", "engine_bay"), ("box", "underfloor")])
    assert first_start(job).item("trigger_keeps")[1].parts == ("P0",)


@pytest.fixture(scope="module")
def tourer():
    return Car(open_folder(example_folder("tourer")))


def test_a_starter_behind_a_clutch_contact_is_solved_with_the_pedal_down(tourer):
    made = tourer.first_start()
    pressed = tourer.solve(key="start", engine="cranking", CLU="on")
    still = tourer.solve(key="start", engine="cranking")
    expected = made.item("crank_volts")[1].limit.expected
    assert expected == pytest.approx(pressed.volts["BAT.+"] - pressed.volts["BAT.-"])
    assert expected < still.volts["BAT.+"] - still.volts["BAT.-"] - 0.5, "nothing cranks with the pedal up"
    # the by-pass: 2.5 mm2 and a fuse are all there is between the battery and the coil
    assert made.item("ballast_by_passed")[1].limit.expected < 0.6
    limit = made.item("pump_primes")[1].limit
    assert limit.least < 3.0 < limit.most, "its sheet of drives says three seconds"


def test_a_distributor_and_a_ballast_are_in_the_tourer_s_dwell(tourer):
    made = tourer.numbers()
    assert made.warns == ()
    assert "one coil and a distributor: rotor and leads must agree with the trigger" in tourer.first_start().facts
    dwell = next(table for table in made.tables if table.name == "dwell")
    assert "1.7 + ballast 1.4" in dwell.formula
    assert next(one.value for one in made.numbers if one.name == "fan_contact") == 92.0


@pytest.mark.parametrize("name", ["van", "van-as-drawn", "tourer"])
def test_the_examples_know_their_engine(name):
    made = Car(open_folder(example_folder(name))).numbers()
    numbers = {one.name: one.value for one in made.numbers}
    assert made.warns == ()
    assert {"dwell", "opening_delay", "spark", "efficiency", "cold"} <= {one.name for one in made.tables}
    assert 1.5 < numbers["pulse_idle"] < 5.0
    assert 40.0 < numbers["duty_full"] < 85.0
    assert numbers["flow_needed"] < numbers["flow_full"]


@pytest.mark.parametrize("kind", ["coil_plain", "coil_twin"])
def test_every_plug_hole_is_shut_before_the_coils_are_on(kind):
    """Compression is felt by a finger first, and no coil fires into an open hole: common practice, no source."""
    stages = first_start(job_with({"kind": kind}, {"kind": "crank_hall"})).stages
    item = next(one for stage in stages for one in stage.items if one.name.startswith("timing_cranking"))
    assert "plug hole shut before the coils are on" in item.caution
    assert item.does.lower().index("plugs in") < item.does.index("coils on")
    finger = item.does.find("finger")
    assert finger == -1 or item.does.index("Coils still off") < finger < item.does.index("coils on")
