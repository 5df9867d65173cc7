"""What is said of a wire, in odds and in words; what becomes of it; how it goes into the plan."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.job.conditions import parse_condition
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text, problems_of
from loomwright.job.rows import OldWire
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.survey.cautions import cautions_of
from loomwright.survey.evidence import look_of
from loomwright.survey.identify import survey_of
from loomwright.survey.joint import entropies_bits, exact_odds
from loomwright.survey.likelihood import band_chances
from loomwright.survey.next_reading import Trouble, fast_next, full_next
from loomwright.survey.plain import survey_plain
from loomwright.survey.plan_rows import into_plan
from loomwright.survey.said_states import said_in
from loomwright.survey.weighing import weighed
from loomwright.tables.old_wires import OWN_SHEET, wire_functions, wire_looks
from tests.survey.made import BATTERY, old

BRAKE = [
    {"when": "key=run", "value": "0.0"},
    {"when": "key=run, brake=on", "value": "12.2"},
    {"when": "key=run, light=side", "value": "0.0"},
    {"when": "key=run, brake=on", "value": "12.3"},
]


def test_one_lamp_reading_by_hand() -> None:
    # a lamp to earth stays dark on what floats and on what is earthed. Brake lamps float with the key anywhere, dead or
    # sound: read as dark 0.90, as earthed half of 0.06. Earth: as earthed 0.90, as dark 0.06; dead (0.12) it floats.
    # A car has 2 wires of the one and 6 of the other.
    brake, earth = 0.90 + 0.03, 0.88 * (0.90 + 0.06) + 0.12 * (0.90 + 0.03)
    odds = survey_of(old([{"when": "key=run", "measure": "lamp", "value": "dark"}])).odds["7"]
    assert odds["earth"] / odds["brake_lamps"] == pytest.approx(6 / 2 * earth / brake)


def test_odds_add_up_and_nothing_is_ever_certain() -> None:
    survey = survey_of(old(BRAKE))
    assert math.fsum(survey.odds["7"].values()) == pytest.approx(1.0)
    assert survey.wires[0].best.function == "brake_lamps"
    assert 0.9 < survey.wires[0].best.odds_frac < 1.0
    words = " ".join([wire.how_sure for wire in survey.wires])
    assert "certain" not in words
    assert survey.wires[0].is_live_proved


def test_without_a_live_proof_it_says_so_and_stays_out_of_the_plan() -> None:
    survey = survey_of(old([], [{"id": "7", "colour": "GN/VT"}]))
    assert survey.wires[0].how_sure.endswith("by colour and place alone")
    assert not survey.wires[0].is_called
    with pytest.raises(NoAnswer, match="no live proof"):
        into_plan(old([]), survey, "7", "SP1.1")


def test_a_lying_colour_loses_to_the_meter() -> None:
    survey = survey_of(old(BRAKE, [{"id": "7", "colour": "WH"}]))
    assert survey.wires[0].best.function == "brake_lamps"


def test_what_one_wire_is_another_is_not() -> None:
    horn = [{"when": "key=run, horn=on", "value": "12.2"}, {"when": "key=run, brake=on", "value": "0.0"}] * 2
    rows = [{"old_wire": name, **row} for name in ("a", "b") for row in horn]
    one = survey_of(old(rows[:4], [{"id": "a"}])).odds["a"]["horn_plus"]
    both = survey_of(old(rows, [{"id": "a"}, {"id": "b"}]))
    assert both.odds["a"]["horn_plus"] < 0.6 < 0.8 < one
    load = survey_of(old(rows[:4], [{"id": "a", "stub": "source"}, {"id": "b", "stub": "load"}]))
    assert load.odds["a"]["horn_plus"] == pytest.approx(one)


def test_ohms_of_a_load_stub_part_a_fan_from_a_sender() -> None:
    rows = [{"measure": "ohms", "value": "600", "unit": "ohm"}]
    survey = survey_of(old(rows, [{"id": "7", "stub": "load"}]))
    assert survey.odds["7"]["gauge_lead"] > 10 * survey.odds["7"]["heater_fan"]


def test_the_habit_of_colours_is_learnt_from_the_readings() -> None:
    wires = [{"id": str(number), "colour": "BN"} for number in range(4)]
    earths = [
        {"old_wire": wire["id"], "when": "key=run", "measure": "lamp", "to": "BAT.+", "value": "full"} for wire in wires
    ]
    assert survey_of(old(earths, wires)).conventions["german"] > 0.9
    feeds = [{"old_wire": wire["id"], "when": "key=off", "value": "12.4"} for wire in wires]
    assert survey_of(old(feeds, wires)).conventions["british"] > 0.9


@pytest.mark.parametrize(
    ("wire", "keys"),
    [
        ({"notes": "in a yellow sleeve under the seat"}, {"airbag"}),
        ({"colour": "YE/BK", "where": "steering column"}, {"airbag_place"}),
        ({"colour": "YE/BK", "where": "left tail lamp"}, set()),
        ({"where": "wheel sensor, left front"}, {"brakes", "data"}),
        ({"where": "tank"}, {"fuel_sender"}),
        ({"where": "coil, minus side"}, {"ignition"}),
        ({"where": "heater"}, set()),
    ],
)
def test_cautions_come_before_any_probe(wire: dict[str, str], keys: set[str]) -> None:
    found = cautions_of(OldWire(id="7", **wire), {})
    assert {caution.key for caution in found} == keys
    assert all("maker's data" in caution.says or caution.key == "ignition" for caution in found)


def test_nothing_is_proposed_on_an_airbag_wire_and_no_lamp_at_the_tank() -> None:
    airbag = survey_of(old([], [{"id": "7", "notes": "yellow sleeve, airbag"}]))
    assert airbag.following == ()
    assert airbag.wires[0].fate.fate == "leave"
    assert "left alone" in airbag.wires[0].fate.reason
    tank = survey_of(old([], [{"id": "7", "where": "tank"}]), most=20)
    assert tank.following
    assert "lamp" not in {each.measure for each in tank.following}


def test_the_next_reading_parts_what_is_left_and_is_not_taken_twice() -> None:
    rows = [{"when": when, "value": value} for when, value in (("key=off", "12.4"), ("key=run", "12.3"))]
    known = survey_of(old(rows))
    assert known.following[0].wire == "7"
    taken = {"off", "run"}
    assert not {each.look for each in known.following} & taken
    assert known.wires[0].change_mind is not None


def test_what_a_reading_tells_is_the_entropy_it_takes_away() -> None:
    # the bits of one wire worked out the long way: odds after each band, by Bayes, and the mean of what is left
    known = weighed(old([{"when": "key=run", "value": "12.2"}]))
    (best,) = fast_next(known, Trouble(), 1)
    _, chances = band_chances(known.shown, best.look)
    posterior = known.variants[0] / known.variants[0].sum(axis=1, keepdims=True)
    given = (posterior[:, :, None] * chances).sum(axis=1)
    before, left = entropies_bits(known.odds[0]), 0.0
    for band in given.T:
        chance = float((known.odds[0] * band).sum())
        left += chance * float(entropies_bits(known.odds[0] * band / chance))
    assert best.bits == pytest.approx(float(before) - left)


def test_all_together_counts_what_a_wire_tells_of_others() -> None:
    # two wires of which each may be the one horn wire: by whole sums, wire by wire and band by band
    rows = [{"old_wire": name, "when": "key=run, horn=on", "value": "12.2"} for name in ("a", "b")]
    known = weighed(old(rows, [{"id": "a"}, {"id": "b"}]))
    (best,) = full_next(known, Trouble(), 1)
    row = [wire.id for wire in known.wires].index(best.wire)
    look = best.look
    _, chances = band_chances(known.shown, look)
    posterior = known.variants[row] / known.variants[row].sum(axis=1, keepdims=True)
    given = (posterior[:, :, None] * chances).sum(axis=1)
    places = np.array([function.most or 0 for function in known.functions])
    left = 0.0
    for band in given.T:
        weights = known.weights.copy()
        weights[row] *= band
        chance = float((known.odds[row] * band).sum())
        left += chance * float(entropies_bits(exact_odds(weights, places)).sum())
    assert best.bits == pytest.approx(float(entropies_bits(known.odds).sum()) - left, abs=0.05)


def test_a_control_is_said_as_the_job_calls_it() -> None:
    sheets = {
        "parts": BATTERY,
        "variables": [{"name": "lights", "values": "off side head", "rest": "off"}],
        "old_wires": [{"id": "7", "colour": "RD"}],
    }
    said = said_in(job_from_text(sheets))
    assert (said["light=side"], said["light=head"]) == ("lights=side", "lights=head")
    others = frozenset(("7", look.key) for look in wire_looks() if look.key not in ("side_lamps", "head_lamps"))
    asked = survey_of(job_from_text(sheets), aside=others).following[0]
    assert asked.when in ("lights=side", "lights=head")
    read = {**sheets, "readings": [{"old_wire": "7", "when": asked.when, "measure": "volts", "value": "12.2"}]}
    assert [one for one in problems_of(job_from_text(read)) if one.sheet == "readings"] == []


def test_a_job_brings_functions_of_its_own() -> None:
    own = ({"function": "harbour_lamp", "words": "harbour lamp", "share": "1", "most": "1", "brake": "live"},)
    job = old(BRAKE)
    job = Job(parts=job.parts, old_wires=job.old_wires, readings=job.readings, extra_sheets={OWN_SHEET: own})
    odds = survey_of(job).odds["7"]
    assert set(odds) == {function.key for function in wire_functions()} | {"harbour_lamp"}
    assert odds["harbour_lamp"] > 0.0


def test_a_known_wire_goes_into_the_plan_and_the_network_works_it() -> None:
    sheets = old([*BRAKE, *BRAKE], [{"id": "7", "colour": "GN/VT", "size_mm2": "1"}])
    job = Car(sheets).job
    for cells in (
        {"id": "LB", "kind": "lamp"},
        {"id": "E1", "kind": "earth_point"},
        {"id": "E0", "kind": "earth_point"},
    ):
        job = add_row(job, "parts", cells)
    for cells in (
        {"id": "W1", "from": "LB.2", "to": "E1.1", "size_mm2": "1"},
        {"id": "W2", "from": "BAT.-", "to": "E0.1", "size_mm2": "10"},
    ):
        job = add_row(job, "wires", cells)
    planned = into_plan(job, survey_of(job), "7", "LB.1")
    assert problems_of(planned) == ()
    part = next(each for each in planned.parts if each.id == "OLD_7")
    assert (part.kind, dict(part.settings)) == ("old_switch", {"to": "supply", "closes_when": "brake=on"})
    assert (planned.old_wires[0].joins_to, planned.old_wires[0].fate) == ("LB.1", "adapt")
    assert Car(planned).solve(brake="on").volts["LB.1"] > 11.0
    assert abs(Car(planned).solve(brake="off").volts["LB.1"] or 0.0) < 0.1
    with pytest.raises(OutOfReach, match="OLD_7 is there"):
        into_plan(planned, survey_of(planned), "7", "LB.1")


def test_every_look_of_the_table_is_one_that_a_condition_can_say() -> None:
    survey = survey_of(old([], [{"id": str(number)} for number in range(40)]), is_full=False, most=40)
    told = {each.look: each.when for each in survey.following}
    assert told
    for look in wire_looks():
        if look.key in told and look.key not in ("lamp", "seen"):
            found = look_of(parse_condition(told[look.key]))[0]
            assert found is not None
            assert found.key == look.key


def test_the_plain_form_is_the_contract() -> None:
    plain = survey_plain(survey_of(old(BRAKE)))
    assert set(plain["wires"]["7"]) == {function.key for function in wire_functions()}
    assert {"wire", "when", "measure", "bits"} <= set(plain["next"])
    assert plain["said"]["7"]["likeliest"][0]["function"] == "brake_lamps"
    assert survey_plain(survey_of(Job())) == {
        "wires": {},
        "next": None,
        "following": [],
        "said": {},
        "asks": [],
        "colours": plain_even(),
        "exact": True,
    }


def plain_even() -> dict[str, float]:
    """No wire, no habit: all the same."""
    return {"british": 0.3333, "german": 0.3333, "none known": 0.3333}
