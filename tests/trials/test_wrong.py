"""One thing wrong in small cars, each claim worked out by hand."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.refusals import Stopped
from loomwright.trials.failures import failures_of
from loomwright.trials.outcomes import Outcome
from loomwright.trials.shares import Meeting
from loomwright.trials.wrong import Wrong, wrong_with
from loomwright.trials.wrong_plain import wrong_plain
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import car, scene, wire


def wrong(job: Job) -> Wrong:
    return wrong_with(scene(job))


def outcome(found: Wrong, at: str, part: str = "missing", to: str = "") -> Outcome:
    """The outcome of what is wrong at a thing."""
    return next(
        one for one in found.outcomes if at in one.failure.at and one.failure.part == part and to in one.failure.to
    )


def names(effects: object) -> list[str]:
    return [effect.name for effect in effects]  # type: ignore[attr-defined]


def codes(found: Wrong, at: str) -> list[tuple[str, str]]:
    return [(one.rule, one.severity) for one in found.findings if at in one.at]


@pytest.fixture(scope="module")
def plain() -> Wrong:
    return wrong(car())


@pytest.fixture(scope="module")
def engine() -> Wrong:
    return wrong(engine_car())


def test_the_fuse_and_its_wires_are_one_failure_that_puts_the_lamp_out(plain):
    found = outcome(plain, "F1")
    assert found.failure.at == ("F1", "W3", "W4")
    assert found.failure.what == "fuse"
    assert names(found.dies) == ["LA1.filament"]
    assert dict(found.dies[0].state) == {"key": "run", "SW1": "on"}


def test_the_lamp_goes_out_with_its_earth_and_with_the_battery_strap_and_not_with_the_engine_strap(plain):
    assert names(outcome(plain, "W7").dies) == ["LA1.filament"]
    assert names(outcome(plain, "W1").dies) == ["LA1.filament"]
    assert outcome(plain, "W1").failure.what == "strap"
    assert outcome(plain, "W2").weight == 0


def test_a_switch_that_sticks_lights_its_lamp_with_the_key(plain):
    found = outcome(plain, "SW1", "stuck")
    assert names(found.starts) == ["LA1.filament"]
    assert dict(found.starts[0].state) == {"key": "run"}
    assert codes(plain, "SW1") == []


def test_a_lamp_line_on_earth_blows_the_fuse_and_on_the_supply_lights_the_lamp(plain):
    earthed, fed = outcome(plain, "LA1.1", "shorted", "earth"), outcome(plain, "LA1.1", "shorted", "supply")
    assert (names(earthed.dies), names(earthed.blows)) == (["LA1.filament"], ["F1"])
    assert names(fed.starts) == ["LA1.filament"]
    assert dict(fed.starts[0].state) == {}


def test_a_gauge_is_dead_without_its_feed_and_its_sender_and_reads_by_itself_for_nobody():
    parts = [
        {"id": "G1", "kind": "gauge_thermal", "circuit": "work"},
        {"id": "S1", "kind": "sender_fuel", "settings": "bolted_to=body"},
    ]
    wires = [wire("W20", "KEY.15", "G1.supply"), wire("W21", "G1.signal", "S1.1")]
    found = wrong(car(parts=parts, wires=wires))
    for lost in ("W20", "W21"):
        assert names(outcome(found, lost).dies) == ["G1.winding"]
    # more current through it only makes it read full
    assert [one for one in found.outcomes if "G1.winding" in names(one.starts)] == []
    assert "G1.winding" in names(outcome(found, "F1").dies)


def test_a_lost_lamp_earth_lights_the_tail_through_the_brake_filament():
    job = car(
        parts=[
            {"id": "RL", "kind": "lamp_tail"},
            {"id": "LL", "kind": "lamp_tail"},
            {"id": "SB", "kind": "switch"},
            {"id": "ST", "kind": "switch"},
        ],
        wires=[
            wire("B1", "KEY.15", "SB.1"),
            wire("B2", "SB.2", "RL.54"),
            wire("B3", "SB.2", "LL.54"),
            wire("T1", "KEY.15", "ST.1"),
            wire("T2", "ST.2", "RL.58"),
            wire("T3", "ST.2", "LL.58"),
            wire("G1", "RL.31", "body"),
            wire("G2", "LL.31", "body"),
        ],
    )
    found = outcome(wrong(job), "G1")
    # braking: 21 W to the lost earth, back through the 5 W tail, and by the other lamp's tail to earth
    assert "RL.tail" in names(found.starts)
    assert "RL.brake" in names(found.dies)
    assert "LL.brake" not in names(found.dies)


def test_a_stuck_pump_relay_and_a_stuck_start_relay_are_warnings(engine):
    assert "PMP.motor" in names(outcome(engine, "KPM", "stuck").starts)
    assert ("MIS-1", "warning") in codes(engine, "KPM")
    assert ("MIS-1", "warning") in codes(engine, "KST")


def test_a_lamp_that_a_stuck_switch_lights_is_no_warning(plain):
    assert "LA1.filament" in names(outcome(plain, "SW1", "stuck").starts)
    assert "MIS-1" not in [rule for rule, _ in codes(plain, "SW1")]


def test_a_key_contact_that_sticks_keeps_the_engine_firing(engine):
    assert outcome(engine, "KEY.30-15", "stuck").runs_on is not None
    assert ("MIS-3", "warning") in codes(engine, "KEY.30-15")
    # the main relay alone does not: the controller has a key line of its own
    assert ("MIS-3", "warning") not in codes(engine, "KMR")


def test_without_the_engine_strap_nothing_else_carries_the_starter(engine):
    found = outcome(engine, "W2")
    assert "STA.motor" in names(found.dies)
    assert found.goes_on == ()
    assert "MIS-4" not in [rule for rule, _ in codes(engine, "W2")]


def test_without_the_engine_strap_the_starter_returns_through_a_control_cable():
    found = wrong(engine_car(bonds=[{"from": "engine", "to": "body", "mohm": "60"}]))
    lost = outcome(found, "W2")
    assert [effect.name for effect in lost.not_meant] == ["engine-body"]
    assert lost.not_meant[0].amps > 50.0
    assert ("MIS-4", "fault") in codes(found, "W2")


def test_two_earths_side_by_side_overload_the_thin_one_once_the_thick_one_is_lost():
    def fans(thin_mm2: str) -> Job:
        return car(
            changed={"F1": {"settings": "rating_a=40"}, "W3": {"size_mm2": "10"}, "W4": {"size_mm2": "10"}},
            parts=[
                {"id": "FAN", "kind": "fan", "settings": "running_a=25; inrush_a=60"},
                {"id": "SP", "kind": "splice"},
            ],
            wires=[
                wire("A1", "KEY.15", "FAN.+", "6"),
                wire("A2", "FAN.-", "SP.1", "6", "300"),
                wire("A3", "SP.2", "body", "6"),
                wire("A4", "SP.3", "body", thin_mm2),
            ],
        )

    found = wrong(fans("0.5"))
    lost = outcome(found, "A3")
    assert names(lost.overloads) == ["A4"]
    assert [(effect.name, effect.by) for effect in lost.goes_on] == [("FAN.motor", "A4")]
    assert "MIS-2" in [rule for rule, _ in codes(found, "A3")]
    sound = wrong(fans("6"))
    assert outcome(sound, "A3").overloads == ()
    assert codes(sound, "A3") == []


def test_a_load_of_the_same_amps_elsewhere_does_not_go_on_by_the_way_of_one_that_lost_its_earth():
    """Two lamps of 21 W: one has two earths and loses the better one, the other hangs on neither of them."""
    found = wrong(
        car(
            parts=[{"id": "LA2", "kind": "lamp", "settings": "watt=21"}, {"id": "SP", "kind": "splice"}],
            wires=[
                wire("A1", "KEY.15", "LA2.1"),
                wire("A2", "LA2.2", "SP.1", "1.5", "300"),
                wire("A3", "SP.2", "body", "4"),
                wire("A4", "SP.3", "body", "1.5"),
            ],
        )
    )
    assert [(effect.name, effect.by) for effect in outcome(found, "A3").goes_on] == [("LA2.filament", "A4")]


def test_of_two_equal_earths_of_a_load_the_other_takes_over():
    found = wrong(
        car(
            parts=[{"id": "SP", "kind": "splice"}],
            changed={"W7": {"to": "SP.1"}},
            wires=[wire("A3", "SP.2", "body"), wire("A4", "SP.3", "body")],
        )
    )
    for lost, left in (("A3", "A4"), ("A4", "A3")):
        assert [(effect.name, effect.by) for effect in outcome(found, lost).goes_on] == [("LA1.filament", left)]


def test_currents_that_meet_are_shared_by_what_each_brought():
    """LA1 (21 W) and LA2 (5 W) meet in a splice that two like wires lead to the body.

    Of what each wire carries 21/26 has come through LA1, nearly: its filament and the splice lose a little. All of both
    flows through the fuse, and half of either through one of the wires.
    """
    one = scene(
        car(
            parts=[{"id": "LA2", "kind": "lamp", "settings": "watt=5"}, {"id": "SP", "kind": "splice"}],
            changed={"W7": {"to": "SP.1"}},
            wires=[
                wire("A1", "SW1.2", "LA2.1"),
                wire("A2", "LA2.2", "SP.2"),
                wire("A3", "SP.3", "body"),
                wire("A4", "SP.4", "body"),
            ],
        )
    )
    compiled = one.compiled
    values = one.space.rest.copy()
    for name, value in (("key", "run"), ("SW1", "on")):
        k = compiled.variable_of[name]
        values[k] = compiled.network.variables[k].values.index(value)
    amps = one.answers(values[None, :]).batch.amps[0]
    [lamp], [small], [fuse], [earth] = (compiled.elements_of[x] for x in ("LA1.filament", "LA2.filament", "W3", "A3"))
    meeting = Meeting(compiled)
    of_lamp = meeting.share(amps, lamp)
    assert of_lamp[earth] == pytest.approx(abs(amps[lamp]) / (abs(amps[lamp]) + abs(amps[small])), rel=1e-6)
    assert of_lamp[earth] == pytest.approx(21 / 26, rel=0.02)
    assert small not in of_lamp
    of_fuse = meeting.share(amps, fuse)
    assert (of_fuse[lamp], of_fuse[small]) == (pytest.approx(1.0), pytest.approx(1.0))
    of_earth = meeting.share(amps, earth)
    assert (of_earth[lamp], of_earth[small]) == (pytest.approx(0.5), pytest.approx(0.5))


def test_a_connector_that_is_off_takes_what_it_feeds_and_no_more():
    job = car(
        parts=[{"id": "LA2", "kind": "lamp_tail"}, {"id": "SW2", "kind": "switch"}],
        wires=[
            wire("N1", "KEY.15", "SW2.1"),
            wire("N2", "SW2.2", "LA2.54"),
            wire("N3", "LA2.31", "body"),
            wire("N4", "SW1.2", "LA2.58"),
        ],
        connectors=[{"id": "XL", "part": "LA2", "terminals": "*"}],
    )
    off = outcome(wrong(job), "XL")
    assert off.failure.what == "connector"
    assert set(names(off.dies)) == {"LA2.brake", "LA2.tail"}


def test_neighbouring_cavities_work_a_load_through_little_and_not_through_much():
    """The injector's pin beside the earthed one: 12 ohm and 1 ohm to earth opens it, through 100 ohm it has a tenth."""
    places = {"3": "4", "4": "3"}
    pins = [{**pin, "terminal": places.get(pin["terminal"], pin["terminal"])} for pin in PINS]
    job = engine_car(
        pins=pins,
        changed={"C3": {"to": "ECU.4"}, "I2": {"to": "ECU.3"}},
        connectors=[{"id": "XE", "part": "ECU", "terminals": "*"}],
    )
    seen = scene(job)
    beside = [one for one in failures_of(seen) if one.at == ("ECU.2", "ECU.3")]
    assert [one.to for one in beside] == [f"each other through {ohm} ohm" for ohm in (1, 10, 100)]
    starts = [names(one.starts) for one in wrong_with(seen, failures=beside).outcomes]
    assert "INJ.winding" in starts[0]
    assert "INJ.winding" not in starts[2]


def test_a_failure_that_changes_nothing_is_not_solved(plain):
    assert outcome(plain, "W2").tried == 0


def test_an_executor_gives_the_same_answers_in_the_same_order(plain):
    with ThreadPoolExecutor(2) as threads:
        assert wrong_plain(wrong_with(scene(car()), executor=threads)) == wrong_plain(plain)


def test_progress_is_told_to_the_end_and_can_stop_it():
    told: list[tuple[int, int]] = []
    wrong_with(scene(car()), lambda done, of: told.append((done, of)))
    assert told[-1][0] == told[-1][1]
    assert all(done <= of for done, of in told)

    def stop(done: int, of: int) -> None:
        raise Stopped(done, of)

    with pytest.raises(Stopped):
        wrong_with(scene(car()), stop)


def test_a_waived_rule_is_not_told(engine):
    job = engine_car(waived=[{"rule": "MIS-1", "point": "KPM", "reason": "the owner knows"}])
    found = wrong(job)
    assert ("MIS-1", "warning") not in codes(found, "KPM")
    assert ("MIS-1", "warning") in codes(found, "KST")


def test_the_car_keeps_its_answer():
    asked = Car(car())
    assert asked.wrong() is asked.wrong()
    assert len(asked.wrong().outcomes) == len(failures_of(asked.scene))


def test_an_inline_connector_that_is_off_takes_its_lamp_along():
    # both halves keep their points while it is off; the ways between them are gone
    job = car(
        without=["W6"],
        parts=[{"id": "X1", "kind": "inline_connector", "settings": "ways=2"}],
        wires=[wire("W61", "SW1.2", "X1.1p"), wire("W62", "X1.1s", "LA1.1")],
    )
    off = [one for one in wrong(job).outcomes if "X1" in one.failure.at and names(one.dies)]
    assert names(off[0].dies) == ["LA1.filament"]
