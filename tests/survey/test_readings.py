"""Readings as a fitter writes them: units, wrong probes, states nobody knows; all kept, some asked about first."""

from __future__ import annotations

import pytest

from loomwright.job.conditions import parse_condition
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.survey.evidence import look_of, weighable
from loomwright.survey.identify import survey_of
from loomwright.survey.plan_rows import with_reading
from tests.survey.made import old


@pytest.mark.parametrize(
    ("when", "look", "position"),
    [
        ("key=run", "run", "run"),
        ("key=start", "start", "start"),
        ("key=start, selector=N", "start", "start"),
        ("key=start, selector=D", "start_in_gear", "start"),
        ("key=run, selector=D", "run", "run"),
        ("light=side", "side_lamps", ""),
        ("key=off, light=head", "head_lamps", "off"),
        ("key=run, wipe=off, brake=on", "brake", "run"),
        ("key=run, engine=idle", "run", "run"),
    ],
)
def test_a_condition_is_one_look(when: str, look: str, position: str) -> None:
    found, where = look_of(parse_condition(when))
    assert found is not None
    assert (found.key, where) == (look, position)


@pytest.mark.parametrize("when", ["coolant_c>=90", "key=run|start", "key=run, brake=on, light=side", "key=run, cb=on"])
def test_a_condition_that_is_none_or_two_looks_is_not_guessed_at(when: str) -> None:
    assert look_of(parse_condition(when))[0] is None


@pytest.mark.parametrize(("value", "unit", "volts"), [("12.1", "V", 12.1), ("12.1", "", 12.1), ("240", "mV", 0.24)])
def test_units_are_recognised(value: str, unit: str, volts: float) -> None:
    (one,), queries = weighable(old([{"when": "key=run", "value": value, "unit": unit}]))
    assert one.value == pytest.approx(volts)
    assert queries == ()


def test_a_cut_end_that_is_neither_is_asked_about_once_and_not_taken_in_silence() -> None:
    reading = {"when": "key=run", "value": "12.1", "unit": "V"}
    for stub in ("", "source", "load side"):
        assert [each.asks for each in weighable(old([], [{"id": "7", "stub": stub}]))[1]] == []
    _, (asked,) = weighable(old([reading], [{"id": "7", "stub": "lode"}]))
    assert (asked.wire, asked.row) == ("7", 0)
    assert asked.says.startswith("7: lode names no cut end and counts as the source stub")
    _, (read,) = weighable(old([{**reading, "stub": "far"}]))
    assert read.row == 2
    assert read.says.startswith("row 2 of readings, 7: far names no cut end")


def test_kilohms_are_ohms_times_a_thousand() -> None:
    job = old([{"measure": "ohms", "value": "2.4", "unit": "kΩ", "stub": "load"}])
    assert weighable(job)[0][0].value == pytest.approx(2400.0)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"when": "key=run", "value": "15.1", "unit": "V"}, "15.1 V with the engine stopped, more than 13.2 V"),
        ({"when": "key=run", "value": "12.4", "unit": "mV"}, "is it 12.4 V"),
        ({"when": "key=run", "value": "12400", "unit": "V"}, "is it 12400 mV"),
        ({"when": "key=run", "value": "12.4", "unit": "ohm"}, "was it volts, and is the unit right"),
        ({"when": "key=run", "value": "-12.3", "unit": "V"}, "were the two probes the other way round"),
        ({"value": "12.3", "unit": "V"}, "write where the key stood"),
        ({"when": "key=run, cigar=in", "value": "12.3"}, "one control that was worked"),
        ({"when": "key=run", "unit": "V"}, "write what the meter showed"),
        ({"when": "key=run", "value": "12.2", "unit": "V", "stub": "load"}, "is it the source stub"),
        ({"measure": "ohms", "value": "3.1", "unit": "ohm"}, "ohms of a source stub"),
        ({"measure": "ohms", "value": "0.3", "unit": "ohm", "stub": "load", "to": "BAT.+"}, "hangs on a feed"),
    ],
)
def test_what_cannot_be_is_asked_about_and_kept(cells: dict[str, str], words: str) -> None:
    job = old([cells])
    evidence, (query,) = weighable(job)
    assert evidence == ()
    assert words in query.says
    assert (query.row, query.is_used) == (2, False)
    assert len(job.readings) == 1
    untouched = survey_of(old([])).odds["7"]
    assert survey_of(job).odds["7"] == pytest.approx(untouched)


def test_with_the_engine_running_the_same_volts_are_weighed() -> None:
    evidence, queries = weighable(old([{"when": "key=run, engine=idle", "value": "14.4", "unit": "V"}]))
    assert [one.value for one in evidence] == [14.4]
    assert queries == ()


def test_a_positive_earth_car_reads_below_nought() -> None:
    (one,), queries = weighable(old([{"when": "key=run", "value": "-12.3", "unit": "V"}], earth="positive"))
    assert one.value == pytest.approx(12.3)
    assert queries == ()


def test_readings_taken_before_the_battery_was_turned_round_are_weighed_once_that_is_said() -> None:
    below = {"when": "key=run", "value": "-12.3", "unit": "V"}
    above = {"when": "key=run", "value": "12.1", "unit": "V"}
    _, (query,) = weighable(old([below]))
    assert "did the car come in with its other post on the body (earth_found in the sheet vehicle)" in query.says
    evidence, queries = weighable(old([below, above], earth_found="positive"))
    assert [one.value for one in evidence] == pytest.approx([12.3, 12.1])
    assert queries == ()
    _, (still,) = weighable(old([below], earth_found="negative"))
    assert still.asks == "not weighed"


def test_six_and_twenty_four_volts_go_by_the_same_share() -> None:
    for system, live in (("6", "6.2"), ("24", "24.7")):
        job = old([{"when": "key=off", "value": live, "unit": "V"}], system_voltage=system)
        odds = survey_of(job).odds["7"]
        assert odds["permanent_unfused"] > 5 * odds["run_only"]


def test_a_low_battery_is_told_and_the_reading_weighed() -> None:
    evidence, (query,) = weighable(old([{"when": "key=run", "value": "10.1", "battery_v": "10.2"}]))
    assert len(evidence) == 1
    assert query.asks == "battery low"


def test_a_wire_read_before_it_exists_gets_a_row_and_is_asked_about() -> None:
    job = with_reading(Job(), {"old_wire": "9", "when": "key=run", "measure": "volts", "value": "12.2"})
    assert [wire.id for wire in job.old_wires] == ["9"]
    bare = add_row(Job(), "readings", {"old_wire": "9", "when": "key=run", "measure": "volts", "value": "12.2"})
    survey = survey_of(bare)
    assert [query.asks for query in survey.queries] == ["no such wire"]
    assert survey.odds["9"] == pytest.approx(survey_of(job).odds["9"])


def test_two_that_contradict_each_other_are_told() -> None:
    job = old([{"when": "key=run", "value": "12.2"}, {"when": "key=run", "value": "0.0"}])
    assert "rows 2 and 3 of readings contradict each other" in " ".join(q.says for q in survey_of(job).queries)


def test_one_wrong_reading_among_many_is_asked_for_again_and_does_not_change_the_answer() -> None:
    right = [{"when": when, "value": value} for when, value in (("key=off", "0.0"), ("key=accessory", "0.0"))]
    right += [{"when": "key=run", "value": "12.2"}, {"when": "key=start", "value": "10.8"}]
    right += [{"when": "key=run, brake=on", "value": "12.2"}, {"when": "key=run, light=head", "value": "12.1"}]
    wrong = {"when": "key=run, turn=left", "value": "0.0"}
    sound, noisy = survey_of(old(right)), survey_of(old([*right, wrong]))
    assert noisy.wires[0].best.function == sound.wires[0].best.function == "run_start"
    assert [(q.row, q.asks) for q in noisy.queries] == [(8, "take again")]
    assert noisy.queries[0].wrong_frac > 0.9
    assert sound.queries == ()


def test_a_whole_visit_with_the_key_elsewhere_is_asked_about() -> None:
    wires = [{"id": name, "colour": colour} for name, colour in (("a", "GN"), ("b", "GN"), ("c", "WH"), ("d", "WH"))]
    rows = []
    for wire in wires:
        rows += [{"old_wire": wire["id"], "when": when, "value": "12.2"} for when in ("key=run", "key=run, brake=on")]
        rows += [{"old_wire": wire["id"], "when": "key=run, light=side", "value": "12.2"}]
        rows += [{"old_wire": wire["id"], "when": "key=off", "value": "0.0"}]
        rows += [{"old_wire": wire["id"], "when": "key=run", "value": "0.0", "visit": "rain"}]
    asked = [query.says for query in survey_of(old(rows, wires)).queries if query.asks == "key elsewhere"]
    assert len(asked) == 1
    assert "visit rain: 4 readings with the key in run look as if it stood in off" in asked[0]
