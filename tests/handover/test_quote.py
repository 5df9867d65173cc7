"""The quote: every figure counted by hand on a small job; wishes on and off; what is missing is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.car import Car
from loomwright.handover.quote_records import Priced, together
from loomwright.handover.quote_wishes import belongings_of, only_wished
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument
from loomwright.tables.work_minutes import OPERATIONS, Minutes
from tests.handover.small_quote import SHEETS, counts, quote, sheets, told, wish

ONE = {
    "vehicle_taken_in": 1,
    "part_taken_off": 1,  # K9
    "wire_taken_out": 1,  # W8
    "kept_wire_proved": 1,  # W7
    "kept_part_tried": 1,  # BAT
}
TWO = {
    "circuit_planned": 2,
    "wire_cut": 6,
    "end_crimped": 12,
    "wire_laid": 7.76,  # 960 + 1960 + 460 + 960 + 2960 + 460 mm
    "part_mounted": 2,  # L1, L2
    "way_fitted": 2,
    "wire_proved": 7,  # six new, one kept
    "fuse_proved": 2,
    "vehicle_handed_over": 1,
}


def usual(counted: dict[str, float]) -> float:
    return sum(OPERATIONS[name].minutes.usual_minutes * number for name, number in counted.items())


def test_part_one_counts_what_is_stripped_and_surveyed():
    assert counts(quote().part("one")) == ONE


def test_part_two_counts_what_is_made_and_proved():
    assert counts(quote().part("two")) == pytest.approx(TWO)


def test_usual_hours_are_each_count_times_its_minutes():
    # part one: 60 + 15 + 4 + 4 + 6 = 89 minutes
    found = quote()
    assert found.part("one").all.usual_minutes == 89.0 == usual(ONE)
    # part two: 40 + 12 + 30 + 7.76 + 50 + 8 + 10.5 + 6 + 120
    assert found.part("two").all.usual_minutes == pytest.approx(284.26)


def test_hours_fall_in_the_stage_of_their_operation():
    stages = {stage.stage: stage.all.usual_minutes for stage in quote().part("two").stages}
    assert stages == pytest.approx({"plan": 40.0, "loom": 107.76, "prove": 16.5, "handover": 120.0})


def test_the_range_adds_up_as_independent_pieces_do():
    # arrival 45..60..90; survey, usual less least: 10, 2, 2, 3; most less usual: 25, 4, 4, 9
    found = quote().part("one").all
    assert found.least_minutes == pytest.approx(89.0 - (15**2 + 10**2 + 2**2 + 2**2 + 3**2) ** 0.5)
    assert found.most_minutes == pytest.approx(89.0 + (30**2 + 25**2 + 4**2 + 4**2 + 9**2) ** 0.5)


def test_putting_together_in_any_order_gives_the_same():
    each = [
        Minutes(least_minutes=1.0, usual_minutes=3.0, most_minutes=9.0),
        Minutes(least_minutes=2.0, usual_minutes=4.0, most_minutes=7.0),
        Minutes(least_minutes=0.5, usual_minutes=1.0, most_minutes=5.0),
    ]
    one = together([together(each[:2]), each[2]])
    other = together([each[2], together([each[1], each[0]])])
    assert (one.least_minutes, one.most_minutes) == pytest.approx((other.least_minutes, other.most_minutes))


def test_work_is_hours_at_the_shops_rate():
    # 60 an hour is 1 a minute
    found = quote().part("one")
    assert found.work is not None
    assert found.work.usual_price == pytest.approx(89.0)
    assert found.sum == found.work


def test_wire_is_priced_by_the_metre_with_the_allowance_of_every_cut():
    lines = {line.item: line for line in quote().part("two").materials}
    # 2.5: two pieces of 960 + 40 mm at 100 / 50 a metre; 1.5: 2000 + 500 + 3000 + 500 mm at 100 / 100
    assert lines["wire, 2.5 mm², colour open"].price == pytest.approx(2.0 * 2.0)
    assert lines["wire, 1.5 mm², colour open"].price == pytest.approx(6.0 * 1.0)


def test_the_sum_of_part_two_is_work_and_materials():
    # wire 4 + 6, two lamps at 7; fuses and crimp terminals have no price
    found = quote().part("two")
    assert found.material_price == pytest.approx(24.0)
    assert found.sum is not None
    assert found.sum.usual_price == pytest.approx(284.26 + 24.0)


def test_what_has_no_price_is_listed_and_the_quote_says_so():
    found = quote()
    missing = {line.item: line.count for line in found.part("two").no_price}
    assert missing == {"fuse blade c, 10 A, red": 2.0, "crimp terminal, not named": 12.0}
    assert any("2 of 5 items to buy have no price" in says for says in found.sure)


def test_a_price_by_the_first_words_counts_where_there_is_none_of_its_own():
    priced = [
        *SHEETS["stock"],
        {"item": "Fuse  blade c", "price": "0.5"},
        {"item": "lamp, both ends wired", "price": "9"},
    ]
    lines = {line.item: line.price for line in quote(stock=priced).part("two").materials}
    assert lines["fuse blade c, 10 A, red"] == 1.0
    assert lines["lamp, both ends wired"] == 18.0


def test_a_colour_of_its_own_goes_before_the_reel_for_any():
    stock = [*SHEETS["stock"], {"item": "wire", "size_mm2": "2.5", "colour": "RD", "length_m": "10", "price": "50"}]
    wires = [dict(row) for row in SHEETS["wires"]]
    wires[0]["colour"] = "RD"
    lines = {line.item: line.price for line in quote(stock=stock, wires=wires).part("two").materials}
    assert lines["wire, 2.5 mm², RD"] == pytest.approx(5.0)
    assert lines["wire, 2.5 mm², colour open"] == pytest.approx(2.0)


def test_margin_and_tax_are_taken_only_where_the_shop_sets_them():
    plain = quote().part("two")
    assert (plain.margin_price, plain.tax) == (None, None)
    vehicle = [*told("material_margin_percent", "50 %"), {"name": "tax_percent", "value": "10"}]
    found = quote(vehicle=vehicle).part("two")
    assert found.margin_price == pytest.approx(12.0)
    assert found.sum is not None
    assert found.sum.usual_price == pytest.approx((284.26 + 24.0 + 12.0) * 1.1)


def test_without_a_rate_there_are_hours_and_no_sum():
    found = quote(vehicle=SHEETS["vehicle"][:1])
    assert [part.sum for part in found.parts] == [None, None]
    assert found.part("one").all.usual_minutes == 89.0
    assert any("No price of an hour" in says for says in found.sure)


@pytest.mark.parametrize(
    ("text", "least", "middle", "most"), [("5", 3.0, 5.0, 10.0), ("1 to 3", 1.0, 2.0, 3.0), ("0.1 h", 3.6, 6.0, 12.0)]
)
def test_minutes_of_the_shops_own_stand_before_the_typical(text, least, middle, most):
    found = quote(vehicle=told("minutes_end_crimped", text)).part("two")
    line = next(line for stage in found.stages for line in stage.lines if line.operation == "end_crimped")
    assert line.set_by == "shop"
    each = (line.each.least_minutes, line.each.usual_minutes, line.each.most_minutes)
    assert each == pytest.approx((least, middle, most))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("minutes_end_crimped", "3 to 1"),
        ("minutes_end_crimped", "quick"),
        ("minutes_end_crimpt", "3"),
        ("rate_per_hour", "-1"),
        ("tax_percent", "101"),
    ],
)
def test_terms_that_cannot_be_are_refused_with_their_row(name, value):
    with pytest.raises(BadDocument) as refused:
        job_from_text(sheets(vehicle=told(name, value)))
    assert {problem.sheet for problem in refused.value.problems} == {"vehicle"}


def test_a_wish_costs_what_its_circuit_makes():
    # W4, W5, W6, F2, L2: a circuit planned 20; three cut 6; six ends 15; 4.38 m 4.38; a lamp 25; a way 4;
    # three proved 4.5; a fuse proved 3; wire (1 m at 2, 3.5 m at 1) and a lamp at 7
    found = wish(quote(), "second")
    assert (found.wires, found.parts, found.pins) == (3, 2, 0)
    assert found.wire_m == pytest.approx(4.38)
    assert found.minutes.usual_minutes == pytest.approx(81.88)
    assert found.material_price == pytest.approx(12.5)
    assert found.price is not None
    assert found.price.usual_price == pytest.approx(81.88 + 12.5)


@pytest.mark.parametrize("included", ["no", "asked", ""])
def test_a_wish_that_is_not_in_the_job_lowers_the_count(included):
    off = [{**SHEETS["wishes"][0], "included": included}]
    found = quote(wishes=off).part("two")
    assert counts(found)["wire_cut"] == 3
    assert found.all.usual_minutes == pytest.approx(284.26 - 81.88)
    assert found.material_price == pytest.approx(24.0 - 12.5)


def test_a_wish_that_is_off_still_shows_what_it_would_add():
    on, off = wish(quote(), "second"), wish(quote(wishes=[{**SHEETS["wishes"][0], "included": "asked"}]), "second")
    assert replace(off, included="yes") == on


def test_what_two_wishes_name_stays_while_one_of_them_is_in():
    both = [*SHEETS["wishes"], {"id": "other", "text": "the same", "included": "no", "circuits": "more work"}]
    job = job_from_text(sheets(wishes=both))
    assert {row.id for row in only_wished(job, {"second"}).circuits} == {"more"}
    assert {wire.id for wire in only_wished(job, {"second"}).wires} >= {"W4", "W5", "W6"}
    # nothing comes on top for the second of two who want the same
    found = quote(wishes=[*SHEETS["wishes"], {"id": "same", "text": "again", "circuits": "more", "included": "yes"}])
    assert wish(found, "same").wires == 0


def test_a_wish_that_names_a_part_takes_its_wires_with_it():
    job = job_from_text(sheets(wishes=[{"id": "lamp", "text": "a lamp", "parts": "L2", "included": "no"}]))
    left = only_wished(job, set())
    assert {part.id for part in job.parts} - {part.id for part in left.parts} == {"L2"}
    assert {wire.id for wire in job.wires} - {wire.id for wire in left.wires} == {"W5", "W6"}
    assert belongings_of(job, {"work"}, ()).wires == ("W1", "W2", "W3")


def test_a_wishs_own_minutes_and_price_count_in_its_stage():
    own = [{"id": "radio", "text": "a radio", "included": "yes", "minutes": "2 h", "price": "150", "stage": "survey"}]
    found = quote(wishes=own)
    assert found.part("one").own_price == 150.0
    assert found.part("one").all.usual_minutes == 89.0 + 120.0
    assert wish(found, "radio").minutes == Minutes(least_minutes=120.0, usual_minutes=120.0, most_minutes=120.0)


def test_a_wish_without_rows_is_told_as_not_counted():
    found = quote(wishes=[{"id": "horn", "text": "Air horns", "included": "no"}])
    assert not wish(found, "horn").counted
    assert found.left_out[0] == "Air horns. Not in the job."


def test_pins_are_counted_where_a_controller_is_wired():
    parts = [*SHEETS["parts"], {"id": "ECU", "kind": "controller"}]
    pins = [{"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "low_side"}]
    wires = [*SHEETS["wires"], {"id": "W9", "from": "L2.2", "to": "ECU.A1", "circuit": "more", "length_mm": "500"}]
    found = quote(parts=parts, controller_pins=pins, wires=wires)
    assert counts(found.part("two"))["pin_given"] == 1
    assert wish(found, "second").pins == 1


def test_old_wires_and_their_fates_are_counted():
    old = [{"id": "O1", "fate": "adapt"}, {"id": "O2", "fate": "cut back"}, {"id": "O3"}]
    found = quote(old_wires=old)
    assert counts(found.part("one"))["old_wire_named"] == 3
    assert counts(found.part("one"))["old_wire_cut_back"] == 1
    assert counts(found.part("two"))["old_wire_joined"] == 1


def test_changes_are_listed_and_summed_as_far_as_they_are_priced():
    changes = [
        {"revision": "2", "who": "owner", "why": "a relay more", "price": "140", "time": "2026-03-06"},
        {"revision": "3", "who": "shop", "why": "old loom kept", "price": "-40"},
        {"revision": "4", "who": "shop", "why": "not priced yet"},
    ]
    found = quote(changes=changes)
    assert found.agreed_price == 100.0
    assert [one.why for one in found.changes] == ["a relay more", "old loom kept", "not priced yet"]


def test_a_new_wire_without_a_length_is_said_and_not_guessed():
    wires = [dict(row) for row in SHEETS["wires"]]
    wires[1]["length_mm"] = ""
    found = quote(wires=wires)
    assert counts(found.part("two"))["wire_laid"] == pytest.approx(5.8)
    assert any(line.item == "wire, length open" and line.price is None for line in found.part("two").materials)
    assert any("1 new wire without a length" in says for says in found.sure)


def test_while_no_old_wire_is_listed_the_survey_is_said_to_stand_for_none():
    said = (
        "No old wire is listed yet, so the hours of the survey stand for none: each that is found and named adds about"
    )
    assert f"{said} 12 min." in quote().sure
    shops = quote(vehicle=[*SHEETS["vehicle"], {"name": "minutes_old_wire_named", "value": "20"}])
    assert f"{said} 20 min." in shops.sure
    listed = quote(old_wires=[{"id": "O1"}])
    assert counts(listed.part("one"))["old_wire_named"] == 1
    assert not any("No old wire is listed" in says for says in listed.sure)


def test_a_job_of_which_nothing_is_written_down_has_a_quote_of_what_every_job_has():
    found = Car(job_from_text({"parts": [{"id": "BAT", "kind": "battery", "fitted": "donor"}]})).quote
    assert counts(found.part("one")) == {"vehicle_taken_in": 1}
    assert counts(found.part("two")) == {"part_mounted": 1, "vehicle_handed_over": 1}
    assert any("No wire is written down yet" in says for says in found.sure)


def test_prices_side_by_side_widen_less_than_their_sum():
    one = Priced(least_price=7.0, usual_price=10.0, most_price=14.0)
    other = Priced(least_price=16.0, usual_price=20.0, most_price=23.0)
    assert one.beside(other) == Priced(least_price=25.0, usual_price=30.0, most_price=35.0)
