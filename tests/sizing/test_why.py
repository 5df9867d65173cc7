"""The way back of a cell: decided now, kept, stale, typed or cut, with every limit and what is left to it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.car import Car
from loomwright.job.edits import set_cell
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Progress
from loomwright.refusals import OutOfReach
from loomwright.sizing.decisions import kept, written
from loomwright.sizing.size_record import by_the_row
from loomwright.sizing.size_says import fuse_says, wire_says
from loomwright.sizing.sized import Ask, SizedFuse
from loomwright.tables.load import read_rows
from tests.sizing.test_sized import _sheets, fan_job
from tests.states.small_jobs import car

BLANK = {"W6": {"size_mm2": ""}, "F1": {"settings": ""}}


def of(why, limit):
    return next(one for one in why.limits if one.limit == limit)


def test_a_blank_size_is_worked_out_now_and_says_what_ruled():
    why = Car(car(changed=BLANK)).why("W6.size_mm2")
    assert (why.stands, why.value, why.unit) == ("decided now", "0.5", "mm²")
    # a 21 W lamp behind the fuse its rush asks for; lighting takes no wire below 0.5 mm2
    assert why.decided_by == "strength"
    assert of(why, "strength").asks == "0.5"
    assert {one.limit for one in why.limits} == {"strength", "heat", "fuse", "volts"}


def test_every_limit_goes_back_to_a_source_that_is_listed():
    why = Car(car(changed={"W6": {"size_mm2": ""}})).why("W6.size_mm2")
    keys = {row["key"] for row in read_rows("sources")}
    for one in why.limits:
        assert one.says
        assert one.method
        assert one.source in keys, one.limit
        assert one.title, one.limit


def test_what_is_left_is_the_share_of_the_limit():
    heat = of(Car(car(changed={"W6": {"size_mm2": ""}})).why("W6.size_mm2"), "heat")
    # 21 W at about 14 V: near 1.9 A; 0.5 mm2 carries 11.3 A at 40 degC
    assert heat.left_frac == pytest.approx(1.0 - 1.9 / 11.3, abs=0.02)
    assert heat.when.startswith("key=run")


def test_a_typed_size_is_held_against_the_same_limits():
    why = Car(car()).why("W6.size_mm2")
    assert (why.stands, why.value, why.decided_by) == ("typed", "1.5", "typed")
    assert of(why, "strength").left_frac == pytest.approx(2.0)
    thin = Car(car(changed={"F1": {"settings": "rating_a=30"}})).why("W6.size_mm2")
    fuse = of(thin, "fuse")
    # 1.5 mm2 carries 25.5 A at 40 degC
    assert fuse.left_frac is not None
    assert fuse.left_frac < -0.1
    assert fuse.asks == "2.5"


def test_a_rating_has_a_way_back_too():
    why = Car(car(changed=BLANK)).why("F1.rating_a")
    assert why.unit == "A"
    assert of(why, "load").table == "constants: fuse_continuous_frac"
    typed = Car(car()).why("F1.rating_a")
    assert (typed.stands, typed.value) == ("typed", "10")
    assert of(typed, "load").left_frac == pytest.approx(1.0 - 1.9 / 7.5, abs=0.02)


def test_what_is_kept_is_told_until_the_rows_change():
    whole = Car(car(changed=BLANK))
    job = kept(whole.job, whole.kinds, whole.routes, whole.sized())
    assert Car(job).why("W6.size_mm2").stands == "kept"
    moved = set_cell(job, "wires", "W6", "length_mm", "1100")
    why = Car(moved).why("W6.size_mm2")
    assert (why.stands, why.kept) == ("stale", "0.5")


def test_writing_a_decision_into_its_cell_makes_no_other_stale():
    whole = Car(car(changed={**BLANK, "W7": {"size_mm2": ""}}))
    job = kept(whole.job, whole.kinds, whole.routes, whole.sized())
    typed = set_cell(job, "wires", "W7", "size_mm2", "0.5")
    assert Car(typed).why("W6.size_mm2").stands == "kept"
    assert not [one for one in Car(typed).findings() if one.rule == "JOB-4"]


def test_what_is_written_is_typed_and_nothing_is_kept_of_it():
    whole = Car(car(changed=BLANK))
    job = written(whole.job, whole.kinds, whole.routes, whole.sized())
    assert next(wire.size_mm2 for wire in job.wires if wire.id == "W6") == 0.5
    assert job.decisions == ()
    assert job.reasons == ()
    assert Car(job).sized().decided == frozenset()


def test_a_cut_wire_says_so():
    whole = Car(car(changed=BLANK))
    job = kept(whole.job, whole.kinds, whole.routes, whole.sized())
    cut = replace(job, progress=(Progress(wire="W6", end="both", step="cut"),))
    why = Car(cut).why("W6.size_mm2")
    assert (why.stands, why.value) == ("cut", "0.5")
    assert of(why, "volts").left_frac is not None


def test_a_length_is_told_by_its_route():
    job = car(
        changed={"W6": {"length_mm": ""}, "SW1": {"place": "dash"}, "LA1": {"place": "nose"}},
        places=[{"id": "dash"}, {"id": "nose"}],
        runs=[{"id": "R1", "from": "dash", "to": "nose", "length_mm": "2000"}],
    )
    why = Car(job).why("W6.length_mm")
    assert (why.stands, why.value, why.decided_by) == ("decided now", "2120", "route")
    assert "R1 2000 mm" in of(why, "route").says
    typed = Car(set_cell(job, "wires", "W6", "length_mm", "2500")).why("W6.length_mm")
    assert (typed.stands, typed.value) == ("typed", "2500")
    assert of(typed, "route").asks == "2120"


@pytest.mark.parametrize("cell", ["W6.colour", "W99.size_mm2", "F1.family", "LA1.rating_a", "W6"])
def test_a_cell_that_nobody_decides_is_refused(cell):
    with pytest.raises(OutOfReach):
        Car(car()).why(cell)


# ------------------------------------------------------------------------ nothing flows; nothing rules by itself


@pytest.mark.parametrize(
    ("amps", "says"),
    [(2.05e-13, "nothing flows"), (2e-6, "less than 1 mA flows for ever"), (0.0031, "0.0031 A flow for ever")],
)
def test_what_solving_leaves_of_nothing_is_not_told_as_a_current(amps, says):
    wire = Car(car(changed=BLANK)).sized().wires["W6"]
    heat = replace(next(one for one in wire.asks if one.limit == "heat"), found=amps)
    assert wire_says(wire, heat).startswith(f"{says}, ")
    fuse = SizedFuse(part="F1", rating_a=3.0, decided_by="load", family="blade_c", amps=amps, values=None)
    load = Ask(limit="load", asks=3.0, found=amps, allowed=2.25, unit="A")
    assert fuse_says(fuse, load) == f"{says}; 3 A carries 2.25 A"


def stocked(*sizes):
    rows = [{"item": "wire", "size_mm2": size} for size in sizes]
    return Car(job_from_text({**_sheets(fan_job()), "stock": rows}))


def test_a_size_that_the_stock_rules_says_what_the_shop_does_not_hold():
    why = stocked("4", "6").why("W3.size_mm2")
    assert (why.decided_by, why.value) == ("stock", "4")
    assert of(why, "stock").says == "no other limit asks for more than 2.5 mm², and the shop does not hold that"
    assert of(why, "stock").asks == "4"
    assert "stock" not in {one.limit for one in stocked("1.5", "2.5", "4").why("W3.size_mm2").limits}


def test_without_a_stock_sheet_the_stock_rules_nothing():
    assert by_the_row(1.5, (1.0, 1.5, 2.5), is_stock=False) == "sizes"
    assert by_the_row(1.5, (1.0, 1.5, 2.5), is_stock=True) == "sizes", "it is held, so that the stock is not the reason"
    assert by_the_row(1.5, (1.0, 2.5), is_stock=True) == "stock"
    wire = Car(fan_job()).sized().wires["W3"]
    says = wire_says(wire, Ask(limit="sizes", asks=wire.size_mm2))
    assert says.startswith(f"no limit asks for more than {wire.thinner_mm2:g} mm² by itself; {wire.size_mm2:g} mm² is")
