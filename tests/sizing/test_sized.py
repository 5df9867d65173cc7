"""What is decided for blank cells, why, what is frozen, and what is told where nothing will do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.job.decided import decision_at, reasons_at, with_decided, with_decisions
from loomwright.job.edits import add_row, set_cell
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Place, Progress
from loomwright.refusals import Stopped
from loomwright.sheets.csv_folder import open_folder
from loomwright.sizing.choosing import STEPS_MOST
from loomwright.sizing.decisions import decisions_of
from loomwright.sizing.stale import size_digest, stale_sizes
from loomwright.sizing.unsettled import alike


def fan_job(**changed):
    """A fan behind a key and a 20 A fuse; W3 to W5 are blank unless `changed` says otherwise."""
    wire = {"circuit": "fan", "size_mm2": ""}
    rows = {
        "W1": {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "400"},
        "W2": {"id": "W2", "from": "BAT.+", "to": "F1.1", "size_mm2": "6", "length_mm": "250"},
        "W3": {**wire, "id": "W3", "from": "F1.2", "to": "SW1.1", "length_mm": "1500"},
        "W4": {**wire, "id": "W4", "from": "SW1.2", "to": "FAN.+", "length_mm": "2500"},
        "W5": {**wire, "id": "W5", "from": "FAN.-", "to": "E1.1", "length_mm": "500"},
    }
    for name, cells in changed.items():
        rows[name] = {**rows[name], **cells}
    return job_from_text(
        {
            "vehicle": [{"name": "title", "value": "small"}],
            "circuits": [{"id": "fan", "class": "cooling"}],
            "parts": [
                {"id": "BAT", "kind": "battery"},
                {"id": "F1", "kind": "fuse", "settings": "rating_a=20; family=blade_c"},
                {"id": "SW1", "kind": "switch", "circuit": "fan", "settings": "rating_a=30"},
                {"id": "FAN", "kind": "fan", "circuit": "fan", "settings": "running_a=12; inrush_a=40"},
                {"id": "E1", "kind": "earth_point", "settings": "on=body"},
            ],
            "wires": list(rows.values()),
        }
    )


@pytest.fixture(scope="module")
def sized():
    return Car(fan_job()).sized()


def test_every_blank_size_is_decided_with_every_limit(sized):
    assert sized.decided == {"W3", "W4", "W5"}
    for name in sized.decided:
        assert {ask.limit for ask in sized.wires[name].asks} >= {"strength", "heat", "fuse", "volts"}


def test_what_is_behind_the_fuse_stands_the_fuse_and_so_does_the_earth_of_a_fan(sized):
    # 20 A fuse: 1.5 mm2 of the 105 degC class carries 23.7 A at 40 degC, 1 mm2 19.1 A
    assert sized.wires["W3"].size_mm2 >= 1.5
    assert sized.wires["W3"].decided_by in ("fuse", "volts")
    # a fan that drags draws what the fuse stands, and its earth carries the same amps
    earth = sized.wires["W5"]
    assert [ask.asks for ask in earth.asks if ask.limit == "fuse"] == [1.5]
    assert earth.size_mm2 >= 1.5


def test_no_fault_of_size_or_fuse_is_left(sized):
    car = Car(fan_job())
    decisions, reasons = decisions_of(sized, car.job)
    kept = Car(with_decisions(car.job, decisions, reasons))
    rules = [f.rule for f in kept.check().findings if f.severity != "note"]
    assert not [rule for rule in rules if rule.startswith(("PRO", "RAT", "DRP"))]


def test_a_longer_way_asks_for_more_copper():
    short = Car(fan_job()).sized().wires["W4"].size_mm2
    far = Car(fan_job(W4={"length_mm": "9000"})).sized().wires["W4"]
    assert far.size_mm2 > short
    assert far.decided_by == "volts"


def test_a_decision_says_its_way_back(sized):
    decisions, reasons = decisions_of(sized, fan_job())
    job = with_decisions(fan_job(), decisions, reasons)
    decision = decision_at(job, "wires", "W4", "size_mm2")
    assert float(decision.value) == sized.wires["W4"].size_mm2
    said = {reason.limit: reason for reason in reasons_at(job, "wires", "W4", "size_mm2")}
    assert decision.decided_by in said
    ruled = said[decision.decided_by]
    assert ruled.says
    assert ruled.method
    assert ruled.source
    assert with_decided(job).wires[3].size_mm2 == sized.wires["W4"].size_mm2


def test_a_wire_that_is_cut_is_not_decided_anew():
    job = fan_job()
    decisions, reasons = decisions_of(Car(job).sized(), job)
    kept = with_decisions(job, decisions, reasons)
    cut = replace(kept, progress=(Progress(wire="W4", end="both", step="cut"),))
    longer = set_cell(cut, "wires", "W4", "length_mm", "9000")
    assert "W4" not in Car(longer).sized().decided
    assert Car(longer).filled.wires[3].size_mm2 == float(decision_at(kept, "wires", "W4", "size_mm2").value)


def test_what_is_kept_and_no_longer_true_is_one_note():
    job = fan_job()
    decisions, reasons = decisions_of(Car(job).sized(), job)
    kept = with_decisions(job, decisions, reasons)
    assert [f for f in Car(kept).check().findings if f.rule == "JOB-4"] == []
    moved = set_cell(kept, "wires", "W4", "length_mm", "2600")
    [note] = [f for f in Car(moved).check().findings if f.rule == "JOB-4"]
    assert note.severity == "note"
    assert "loomwright size" in note.mend


def test_what_is_kept_rests_on_what_decides_a_size_and_on_nothing_else():
    job = fan_job()
    kept = with_decisions(job, *decisions_of(Car(job).sized(), job))
    moved = set_cell(kept, "wires", "W4", "length_mm", "2600")
    cells = ("W3.size_mm2", "W4.size_mm2", "W5.size_mm2")
    assert (stale_sizes(kept), stale_sizes(moved)) == ((), cells)
    # what is cut is not asked, a colour moves no current, what a crimp takes says what its wire may be
    cut = replace(moved, progress=(Progress(wire="W4", end="both", step="cut"),))
    assert stale_sizes(cut) == ("W3.size_mm2", "W5.size_mm2")
    assert stale_sizes(set_cell(kept, "wires", "W4", "colour", "rd")) == ()
    crimp = {"terminal": "ring M6", "size_from_mm2": "1", "size_to_mm2": "2.5"}
    assert stale_sizes(add_row(kept, "crimps", crimp)) == cells


def test_what_keeps_water_out_of_a_splice_decides_no_size():
    dry, sealed = (
        add_row(fan_job(), "parts", {"id": "SP1", "kind": "splice", "settings": settings})
        for settings in ("", "sealed=yes")
    )
    assert size_digest(dry) == size_digest(sealed)
    assert size_digest(dry) != size_digest(fan_job())


def test_a_shop_without_thick_wire_is_told_so():
    job = fan_job(W4={"length_mm": "9000"})
    stocked = job_from_text(
        {**_sheets(job), "stock": [{"item": "wire", "size_mm2": "0.5"}, {"item": "wire", "size_mm2": "1.5"}]}
    )
    told = Car(stocked).sized().unsettled
    assert told
    assert all(one.why and one.mend for one in told)


def test_only_sizes_of_the_stock_are_chosen():
    stock = [{"item": "wire", "size_mm2": size} for size in ("2.5", "4", "6")]
    sizes = Car(job_from_text({**_sheets(fan_job()), "stock": stock})).sized().sizes_mm2()
    assert set(sizes.values()) <= {2.5, 4.0, 6.0}


def test_how_far_it_is_only_grows_and_ends_at_its_count():
    told = []
    Car(fan_job()).sized(lambda done, of: told.append((done, of)))
    assert {of for _, of in told} == {STEPS_MOST}
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert len({done for done, _ in told}) > 2
    assert told[-1] == (STEPS_MOST, STEPS_MOST)


def test_pins_are_the_first_step_of_all_that_is_decided():
    told = []
    car = Car(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand"}).job)
    car.worked_out(lambda done, of: told.append((done, of)))
    assert told[0] == (0, 1 + STEPS_MOST)
    assert {of for _, of in told} == {1 + STEPS_MOST}
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (1 + STEPS_MOST, 1 + STEPS_MOST)


def test_it_can_be_stopped():
    def stop(done, of):
        raise Stopped(done, of)

    with pytest.raises(Stopped):
        Car(fan_job()).sized(stop)


def test_why_tells_the_limit_that_ruled_and_the_others():
    why = Car(fan_job()).why("W4.size_mm2")
    assert why.limits
    assert {one.limit for one in why.limits} >= {"strength", "heat", "fuse", "volts"}


def test_the_decisions_of_the_demonstration_are_those_of_today():
    job = open_folder(example_folder("van"))
    bare = replace(job, decisions=(), reasons=())
    sized = Car(bare).sized()
    kept = {one.row: float(one.value) for one in job.decisions if one.column == "size_mm2"}
    assert {name: sized.sizes_mm2()[name] for name in kept} == kept
    ratings = {one.row: float(one.value) for one in job.decisions if one.column == "settings.rating_a"}
    assert sized.ratings_a() == ratings
    assert not sized.unsettled


def _sheets(job):
    from loomwright.job.writing import text_from_job

    return dict(text_from_job(job))


@pytest.mark.parametrize(("ambient_c", "hot"), [(104.0, False), (105.0, True), (130.0, True)])
def test_a_place_as_hot_as_the_insulation_stands_takes_no_size_whatever_flows(ambient_c, hot):
    job = fan_job()
    place = Place(id="manifold", name="beside the exhaust", ambient_c=ambient_c)
    parts = tuple(replace(part, place="manifold") if part.id == "FAN" else part for part in job.parts)
    sized = Car(replace(job, places=(place,), parts=parts)).sized()
    told = {one.cell: one for one in sized.unsettled}
    if hot:
        assert [cells for cells, one in alike(sized.unsettled) if one is told["W4.size_mm2"]] == ["W4 W5.size_mm2"]
        assert told["W4.size_mm2"].why == (
            f"the hottest place it passes has {ambient_c:g} °C, its insulation stands 105 °C: no size mends that"
        )
        assert "hotter class" in told["W4.size_mm2"].mend
        assert "W3" in sized.sizes_mm2()
    else:
        assert all("no size mends that" not in one.why for one in told.values())


@pytest.mark.parametrize(("link_mm2", "least_mm2"), [("1.5", 2.5), ("2.5", 4.0)])
def test_a_wire_behind_a_link_is_thicker_than_the_link(link_mm2, least_mm2):
    job = set_cell(fan_job(), "parts", "F1", "kind", "fusible_link")
    job = set_cell(job, "parts", "F1", "settings", f"size_mm2={link_mm2}")
    sized = Car(job).sized()
    # what a link guards is the next size up at least; the earth of the fan carries the same
    assert sized.wires["W3"].size_mm2 == least_mm2
    assert sized.wires["W4"].size_mm2 >= least_mm2
    assert [ask.asks for ask in sized.wires["W3"].asks if ask.limit == "fuse"] == [least_mm2]


def required(wire: str, length_mm: str, point: str, must: str):
    """What is asked of a wire by a requirement, in a car in which no drop has a limit worth the name."""
    job = set_cell(fan_job(**{wire: {"length_mm": length_mm}}), "circuits", "fan", "drop_limit_v", "8")
    job = add_row(job, "requirements", {"id": "Q1", "point": point, "when": "SW1=on", "must": must})
    sized = Car(job).sized().wires[wire]
    return sized, next(ask for ask in sized.asks if ask.limit == "volts")


def test_a_point_that_has_to_be_live_gets_a_wire_that_keeps_it_so():
    one, ask = required("W4", "60000", "FAN.+", "live")
    # live is three quarters of 12 V and more
    assert (one.decided_by, ask.at, ask.kind, ask.allowed) == ("volts", "Q1", "least", 9.0)
    assert ask.thinner < 9.0 <= ask.found


def test_volts_that_may_stand_at_most_are_told_as_they_stand():
    one, ask = required("W5", "3000", "FAN.-", "<= 0.1 V")
    assert (one.decided_by, ask.at, ask.kind, ask.allowed) == ("volts", "Q1", "most", 0.1)
    assert ask.found <= 0.1 < ask.thinner
    # its own amps through its own ohms, and some of the earth point and of the lead from the body
    assert one.drop_v < ask.found < one.drop_v + 0.03
