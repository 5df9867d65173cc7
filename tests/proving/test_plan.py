"""The test plan: figures from the solved car, an order that is never worse, faults that are caught, readings judged."""

from __future__ import annotations

import io

import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.handover.proof_plan import Planned, plan_of
from loomwright.handover.proof_sheet import proof_sheet
from loomwright.job.edits import add_row
from loomwright.job.reading import problems_of
from loomwright.job.rows import Place, Proof
from loomwright.network.records import Changes
from loomwright.proving.coverage import Coverage
from loomwright.proving.live_tests import unplugged_at
from loomwright.proving.plan import STAGES, PlannedTest, stood_of
from loomwright.proving.power_up import power_up_caught
from loomwright.proving.taking import taken
from loomwright.proving.walking import ordered, walk_of
from loomwright.refusals import OutOfReach, Stopped
from loomwright.writers.proof_paper import proof_pdf

TIME = "2026-01-02T10:00:00+00:00"


@pytest.fixture(scope="module")
def coverage(planned: Planned) -> Coverage:
    return planned.coverage()


def named(planned: Planned, name: str) -> PlannedTest:
    test = planned.plan.named(name)
    assert test is not None, name
    return test


def wire_between(car: Car, one: str, other: str) -> str:
    return next(wire.id for wire in car.filled.wires if {wire.from_, wire.to} == {one, other})


def pin_of(car: Car, need: str) -> str:
    return "ECU." + next(one.pin for one in car.filled.needs if one.id == need)


def take(test: PlannedTest, typed: str, **more: str):
    return taken(test, typed, time=TIME, **more)


def test_every_id_is_there_once_and_is_the_same_when_planned_again(car: Car, planned: Planned) -> None:
    ids = [test.id for test in planned.plan.tests]
    assert len(ids) == len(set(ids))
    assert sorted(ids) == sorted(test.id for test in plan_of(Car(car.job).scene).plan.tests)


def test_stages_follow_each_other_as_safety_asks(planned: Planned) -> None:
    order = [stage for stage, _ in STAGES]
    ranks = [order.index(test.stage) for test in planned.plan.tests]
    assert ranks == sorted(ranks)
    assert set(ranks) == set(range(len(order)))


def test_every_new_wire_is_proved_end_to_end_before_power(car: Car, planned: Planned) -> None:
    proved = {wire for test in planned.plan.tests if test.id.startswith("dead/ends/") for wire in test.wires}
    assert proved == {wire.id for wire in car.filled.wires}


def test_the_order_is_never_worse_than_that_of_the_ids(planned: Planned) -> None:
    plan = planned.plan
    assert plan.walk_mm < plan.before_walk_mm
    assert plan.turns < plan.before_turns


def test_an_order_that_is_the_best_already_is_kept() -> None:
    places = {name: Place(id=name, x_mm=x, y_mm=0.0, z_mm=0.0) for name, x in (("a", 0.0), ("b", 1e3), ("c", 2e3))}
    tests = [
        PlannedTest(id=f"{place}{k}", stage="live", does="", point="X.1", measure="volts", place=place)
        for k in range(2)
        for place in "acb"
    ]
    found = ordered(tests, places)
    assert walk_of(found, places).walk_mm == 2e3, "a b c, each stopped at once"
    assert ordered(found, places) == found


def test_a_live_reading_is_what_the_meter_shows_with_the_controller_unplugged(car: Car, planned: Planned) -> None:
    test = named(planned, "live/ECU.A5/key.run")
    read = car.volts("ECU.A5", "BAT.-", {"key": "run"}, changes=Changes(unplugged=("ECU",)))
    assert test.expected == pytest.approx(read.value, abs=0.01)
    assert named(planned, "live/ECU.A5/rest").high == 0.5, "the key line is dead with the key off"


def test_what_hangs_behind_the_main_relay_is_proved_with_it_earthed_by_hand(planned: Planned) -> None:
    assert named(planned, "live/ECU.A1/key.run").high == 0.5
    test = named(planned, "live/ECU.A1/key.run+lead.ECU.A2")
    assert test.low is not None
    assert test.low > 11.0
    assert "fused lead" in test.put


def test_no_battery_volts_are_expected_on_a_sensor_or_its_supply(car: Car, planned: Planned) -> None:
    pins = [need.pin for need in car.filled.needs if need.ability in ("temperature_input", "analog_input", "supply_5v")]
    assert len(pins) > 3
    for pin in pins:
        assert named(planned, f"live/ECU.{pin}/key.run").high == 0.5


def test_earths_are_read_with_amps_through_them(planned: Planned) -> None:
    tests = planned.plan.of("earths")
    assert {"FAN1.-", "PUMP.-"} <= {test.point for test in tests}
    assert all(test.high is not None and test.high >= 0.1 for test in tests)


def test_a_temperature_sensor_is_held_against_the_air(car: Car) -> None:
    pin = pin_of(car, "CLT_signal")
    read = [Proof(test="sensor/air", value=0.0, unit="degC", verdict="passed")]
    cold = plan_of(car.scene, read).plan.named(f"sensor/ohms/{pin}")
    warm = plan_of(car.scene, air_c=30.0).plan.named(f"sensor/ohms/{pin}")
    assert cold is not None
    assert warm is not None
    assert cold.expected is not None
    assert warm.expected is not None
    assert cold.expected > 2.0 * warm.expected


def test_fuses_go_in_from_the_battery_outwards(planned: Planned) -> None:
    order = [test.point for test in planned.plan.of("power-up") if test.id.endswith("/lamp")]
    assert order.index("FM") < order.index("FKEY") < order.index("F15")
    assert order.index("FMR") < order.index("FECU")


def test_the_battery_as_it_was_measured_moves_what_is_expected(car: Car, planned: Planned) -> None:
    low = plan_of(car.scene, [Proof(test="live/battery", value=12.2, verdict="passed")]).plan
    for name in ("live/BUS1.1/key.run", "live/ECU.A5/key.run"):
        one, other = low.named(name), named(planned, name)
        assert one is not None
        assert one.expected is not None
        assert other.expected is not None
        assert one.expected / other.expected == pytest.approx(12.2 / 12.6, abs=0.001)


def test_an_open_feed_and_a_missing_earth_are_caught(car: Car, coverage: Coverage) -> None:
    feed = wire_between(car, "KFAN1.87", "FAN1.+")
    by = {(one.suspect.kind, one.suspect.at[0]): one.caught_by for one in coverage.tried}
    assert f"live/FAN1.+/key.run+lead.{pin_of(car, 'FAN1_relay')}" in by["open", feed]
    assert any(name.startswith("earth/FAN1.-") for name in by["earth", "EN"])
    assert all(one.caught == one.of for one in coverage.kinds if one.kind == "fuse")


def test_what_only_ohms_can_show_is_caught_dead_and_by_nothing_live(car: Car, coverage: Coverage) -> None:
    signal = wire_between(car, "CLT.1", pin_of(car, "CLT_signal"))
    by = {(one.suspect.kind, one.suspect.at[0]): one.caught_by for one in coverage.tried}
    assert f"dead/ends/{signal}" in by["open", signal]
    assert all(name.startswith("dead/") for name in by["open", signal])
    assert coverage.caught + len(coverage.missed) == len(coverage.tried)


def test_a_joint_of_a_tenth_of_an_ohm_is_told_as_not_caught(coverage: Coverage) -> None:
    missed = {one.added_ohm[0][1] for one in coverage.missed if one.kind == "resistance"}
    assert missed == {0.1}
    assert dict(coverage.stages)["dead"] > dict(coverage.stages)["live"] > 0


def test_every_wire_open_every_fuse_and_every_earth_is_caught_by_the_plan(coverage: Coverage) -> None:
    whole = {one.kind for one in coverage.kinds if one.caught == one.of}
    assert {"open", "fuse", "earth"} <= whole


def test_everything_that_sticks_is_caught_the_starter_too(car: Car, coverage: Coverage) -> None:
    tried = {one.suspect.at[0]: one.caught_by for one in coverage.tried if one.suspect.kind == "stuck"}
    starter = next(part.id for part in car.filled.parts if part.kind == "starter")
    assert [name for name, caught in tried.items() if not caught] == []
    assert any(name.startswith("live/") for name in tried[starter]), "it draws the battery down with the key off"


def test_the_starter_is_tested_with_one_lead_off_and_the_others_on(car: Car, planned: Planned) -> None:
    starter = next(part.id for part in car.filled.parts if part.kind == "starter")
    main, small = named(planned, f"live/{starter}.30/key.run"), named(planned, f"live/{starter}.50/key.start")
    assert main.expected == pytest.approx(12.6, abs=0.1)
    assert small.low is not None
    assert small.low > 9.0, "read on the lead that is off"
    assert unplugged_at(car.filled, car.kinds)[-1] == f"{starter}.50"


def test_the_power_up_catches_a_feed_chafed_through(car: Car) -> None:
    key = ("short to body", (wire_between(car, "F15.2", "ECU.A5"),), 0.0)
    caught = power_up_caught(car.filled, car.kinds, car.variables, {key})
    assert "power/F15/lamp" in caught[key]


def test_the_plan_is_a_paper_with_blanks_and_with_what_was_read(car: Car, planned: Planned) -> None:
    test = named(planned, "live/ECU.A5/key.run")
    rows = [
        Proof(test=test.id, value=value, unit="V", verdict=word) for value, word in ((0.3, "failed"), (12.4, "passed"))
    ]
    sheet = proof_sheet(car.job, stood_of(planned.plan.tests, rows))
    lines = {row.id: row for stage in sheet.stages for group in stage.groups for row in group.rows}
    assert len(lines) == sheet.tests == len(planned.plan.tests)
    assert (lines[test.id].read, lines[test.id].verdict, lines[test.id].earlier) == ("12.4 V", "passed", "0.3 V failed")
    assert (sheet.taken, sheet.failed) == (1, 0)
    pages = pypdfium2.PdfDocument(io.BytesIO(proof_pdf(sheet)))
    said = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    assert all(f"{title}" in said for title in ("Dead tests", "Power-up", "Earths under load"))
    assert "before: 0.3 V failed" in said


def test_coverage_can_be_stopped(planned: Planned) -> None:
    def tell(done: int, of: int) -> None:
        raise Stopped("coverage")

    with pytest.raises(Stopped):
        planned.coverage(tell)


def test_a_reading_is_judged_at_once_and_fits_its_sheet(car: Car, planned: Planned) -> None:
    test = named(planned, "live/ECU.A5/key.run")
    good, bad = take(test, "12.4", warmth="cold"), take(test, "0.3 V", warmth="hot")
    assert (good.verdict, bad.verdict) == ("passed", "failed")
    job = car.job
    for one in (good, bad):
        job = add_row(job, "proofs", one.cells)
    assert list(problems_of(job)) == []
    stood = next(one for one in stood_of(planned.plan.tests, job.proofs) if one.test.id == test.id)
    assert len(stood.rows) == 2, "the re-test stands beside the first"
    assert stood.verdict == "failed"
    assert stood.cold is not None
    assert stood.cold.value == 12.4
    assert stood.hot is not None
    assert stood.hot.value == 0.3


def test_a_unit_of_another_quantity_is_refused(planned: Planned) -> None:
    with pytest.raises(OutOfReach):
        take(named(planned, "live/ECU.A5/key.run"), "12 ohm")
    with pytest.raises(OutOfReach):
        take(named(planned, "live/ECU.A5/key.run"), "open")


def test_a_bare_figure_that_fits_as_milli_is_asked_about_and_kept_if_insisted_on(car: Car, planned: Planned) -> None:
    test = named(planned, f"dead/ends/{car.filled.wires[20].id}")
    asked = take(test, "45")
    assert "milli" in asked.asks
    assert asked.verdict == "failed", "kept as typed where it is insisted on"
    assert take(test, "45 mohm").asks == ""
    assert take(test, "45 mohm").verdict == "passed"


def test_more_volts_than_the_car_has_are_asked_about(planned: Planned) -> None:
    assert take(named(planned, "live/ECU.A5/key.run"), "124").asks
    assert not take(named(planned, "live/ECU.A5/key.run"), "12.4").asks


def test_open_is_a_reading_of_ohms(planned: Planned) -> None:
    assert take(named(planned, "dead/body/ECU.A1"), "open").verdict == "passed"
    assert take(named(planned, "dead/body/ECU.A1"), "3.1 ohm").verdict == "failed"
    assert take(named(planned, "dead/body/ECU.A3"), "open").verdict == "failed"


def test_a_lamp_may_be_darker_than_expected_never_brighter(planned: Planned) -> None:
    test = named(planned, "power/all-out")
    assert test.word == "dark"
    assert take(test, "dark").verdict == "passed"
    assert take(test, "dim").verdict == "failed"


def test_what_could_not_be_made_says_why(planned: Planned) -> None:
    test = named(planned, "dead/tug/ECU")
    with pytest.raises(OutOfReach):
        take(test, "-")
    assert take(test, "-", notes="no way in under the dash").verdict == "not done"


def test_cautions_stand_at_the_step_that_can_hurt(car: Car, planned: Planned) -> None:
    for test in planned.plan.of("live"):
        assert any("plug of the controller" in text for text in test.caution)
    assert all(any("chock" in text for text in test.caution) for test in planned.plan.of("selector"))
    fan = named(planned, f"output/{pin_of(car, 'FAN1_relay')}/volts")
    assert any("Fans can start" in text for text in fan.caution)
