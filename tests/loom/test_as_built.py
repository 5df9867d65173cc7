"""What a change asks of wires that are built: nothing where nothing is due, and exactly what is due where it is."""

from __future__ import annotations

from loomwright.car import Car
from loomwright.job.reading import job_from_text
from loomwright.loom.as_built import as_built
from loomwright.loom.built_steps import next_step, steps_of
from loomwright.routes.decisions import with_lengths
from tests.loom.built_jobs import THEN, WHOLE, built, does, done, job, only


def test_nothing_is_asked_where_nothing_changed():
    told = built(progress=done("W1", *WHOLE))
    assert does(told) == []
    assert told.untouched == ("W1",)
    assert told.minutes == 0.0


def test_a_note_and_another_wire_ask_nothing_of_this_one():
    told = built({"W1": {"notes": "shorter than it looks"}, "W2": {"size_mm2": "4"}}, done("W1", *WHOLE))
    assert told.asks == ()


# ---- length ----


def test_a_wire_that_is_too_short_is_told_by_how_much():
    told = built({"W1": {"length_mm": "1000"}}, done("W1", "cut", "from:seated"))
    ask = only(told).asks[0]
    assert (ask.does, ask.length_mm, ask.since) == ("lengthen", 60.0, THEN)
    assert ask.says == (
        "W1 was cut 940 mm, 1000 mm are asked: 60 mm too short. Mend: let a piece in, or scrap it and cut a new one."
    )
    assert ("wires", "W1", "length_mm") in ask.cells


def test_a_piece_let_in_takes_two_splices_and_a_new_wire_is_taken_out_cut_crimped_seated_and_laid():
    ask = only(built({"W1": {"length_mm": "1000"}}, done("W1", "cut", "from:crimped", "from:seated"))).asks[0]
    # extract 4, pull 4, cut 2, crimp 2.5, seat 1, lay 15
    assert (ask.minutes, ask.or_minutes) == (20.0, 28.5)


def test_a_wire_that_is_too_short_and_not_laid_is_cut_anew_and_not_pieced():
    told = only(built({"W1": {"length_mm": "1000"}}, done("W1", "cut", "from:crimped")))
    assert [(ask.does, ask.length_mm) for ask in told.asks] == [("scrap", 60.0)]
    assert told.asks[0].says == (
        "W1 was cut 940 mm, 1000 mm are asked: 60 mm too short. Mend: cut a new one, since it is not laid yet."
    )
    assert (told.asks[0].minutes, told.asks[0].or_minutes) == (4.5, None)


def test_a_wire_of_a_twist_is_not_pieced():
    was = {"W1": {"twist": "T"}}
    told = built({"W1": {"length_mm": "1000", "twist": "T"}}, done("W1", "cut", "from:seated"), was=was)
    ask = only(told).asks[0]
    assert ask.does == "scrap"
    assert ask.says.endswith("Mend: cut a new one, since it lies in a twist.")
    # extract 4, pull 4, cut 2, seat 1, lay 15
    assert (ask.minutes, ask.or_minutes) == (26.0, None)


def test_the_allowance_of_the_cut_covers_a_little_more():
    assert does(built({"W1": {"length_mm": "940"}}, done("W1", "cut"))) == []
    assert does(built({"W1": {"length_mm": "941"}}, done("W1", "cut"))) == ["scrap"]


def test_a_wire_that_is_too_long_stays_usable():
    ask = only(built({"W1": {"length_mm": "700"}}, done("W1", *WHOLE))).asks[0]
    assert (ask.does, ask.length_mm, ask.minutes) == ("shorten", 240.0, 0.0)
    # the other way: extract 4, crimp 2.5, seat 1
    assert ask.or_minutes == 7.5
    assert ask.says.endswith("240 mm too long. It can stay; or shorten it.")


def test_what_a_loom_takes_up_is_not_told():
    # 940 cut: 90 mm beyond what is asked are the allowance and what a loom takes up
    assert does(built({"W1": {"length_mm": "850"}}, done("W1", "cut"))) == []
    assert does(built({"W1": {"length_mm": "849"}}, done("W1", "cut"))) == ["shorten"]


def test_a_wire_cut_generously_is_not_blamed_on_a_change():
    assert does(built(progress=done("W1", "cut", length_mm="1500"))) == []


def test_a_length_that_nobody_wrote_down_is_taken_as_it_was_asked_and_said_so():
    told = built({"W1": {"length_mm": "1000"}}, [{"wire": "W1", "end": "both", "step": "cut", "revision": "3"}])
    ask = only(told).asks[0]
    assert ask.length_mm == 100.0
    assert "is taken to be 900 mm, as it was asked when it was cut" in ask.says


def test_a_length_that_nobody_knows_is_measured():
    told = as_built(job(progress=[{"wire": "W1", "end": "both", "step": "cut"}]))
    assert [ask.does for ask in told.asks] == ["look"]
    assert "Measure it: 900 mm are asked" in told.asks[0].says


def test_a_length_written_down_later_counts():
    steps = [*done("W1", "cut"), {"wire": "W1", "end": "to", "step": "crimped", "revision": "3", "length_mm": "1200"}]
    assert does(built({"W1": {"length_mm": "1100"}}, steps)) == []


# ---- what cannot be mended ----


def test_thinner_copper_than_asked_is_scrapped():
    ask = only(built({"W1": {"size_mm2": "2.5"}}, done("W1", "cut"))).asks[0]
    assert (ask.does, ask.was, ask.now) == ("scrap", "1.5 mm²", "2.5 mm²")
    assert ask.cells == (("wires", "W1", "size_mm2"),)


def test_thicker_copper_than_asked_stays():
    assert does(built({"W1": {"size_mm2": "1"}}, done("W1", "cut"))) == []


def test_what_was_really_cut_counts_and_not_what_was_asked_then():
    thicker = done("W1", "cut", size_mm2="2.5")
    assert does(built({"W1": {"size_mm2": "2.5"}}, thicker)) == []
    thinner = done("W1", "cut", size_mm2="1")
    assert does(built(progress=thinner)) == ["scrap"]


def test_another_colour_is_scrapped():
    ask = only(built({"W1": {"colour": "RD/BK"}}, done("W1", "cut"))).asks[0]
    assert (ask.does, ask.was, ask.now) == ("scrap", "RD", "RD/BK")


def test_a_colour_that_is_no_longer_named_asks_nothing():
    assert does(built({"W1": {"colour": ""}}, done("W1", "cut"))) == []


def test_hotter_insulation_is_scrapped_and_cooler_stays():
    hotter = built({"W1": {"insulation": "150"}}, done("W1", "cut"))
    assert does(hotter) == ["scrap"]
    cooler = built({"W1": {"insulation": "90"}}, done("W1", "cut"), was={"W1": {"insulation": "150"}})
    assert does(cooler) == []


def test_a_single_wire_cannot_become_a_core():
    told = built({"W1": {"cable": "C1"}}, done("W1", "cut"), cables=[{"id": "C1"}])
    assert does(told) == ["scrap"]
    assert "to be a core of C1 now" in only(told).asks[0].says


def test_all_reasons_to_scrap_stand_in_one_line():
    told = built({"W1": {"colour": "GN", "size_mm2": "4", "length_mm": "2000"}}, done("W1", "cut"))
    assert does(told) == ["scrap"]
    assert "GN is asked now" in only(told).asks[0].says
    assert "4 mm² asked now" in only(told).asks[0].says


def test_a_wire_scrapped_from_the_loom_is_taken_out_and_made_again():
    # extract 4+4, pull 4, cut and label 2, crimp 2.5+2.5, seat 1+1, lay 15
    assert only(built({"W1": {"colour": "GN"}}, done("W1", *WHOLE))).minutes == 36.0
    # from the bench: cut 2 and crimp 2.5
    assert only(built({"W1": {"colour": "GN"}}, done("W1", "cut", "from:crimped"))).minutes == 4.5


def test_a_wire_that_is_gone_is_taken_out():
    told = built({"W1": None}, done("W1", *WHOLE))
    ask = only(told).asks[0]
    assert (ask.does, ask.minutes, only(told).name) == ("take out", 12.0, "")
    assert ask.says == "W1 is no longer in the sheets: take it out of its start and its end."
    assert only(built({"W1": None}, done("W1", "cut"))).asks[0].says.endswith("scrap it.")


def test_a_removed_wire_is_gone():
    assert does(built({"W1": {"fitted": "removed"}}, done("W1", "cut"))) == ["take out"]


def test_a_new_wire_whose_place_the_cars_own_takes_is_taken_out():
    told = built({"W1": {"fitted": "kept"}}, done("W1", *WHOLE))
    assert does(told) == ["take out"]
    assert "the car's own is to serve now" in only(told).asks[0].says


def test_a_kept_wire_is_not_measured_against_the_cut_list():
    kept = {"W1": {"fitted": "kept"}}
    told = built({"W1": {"fitted": "kept", "length_mm": "5000", "size_mm2": "6"}}, done("W1", "both:seated"), was=kept)
    assert does(told) == []


# ---- what was done since ----


def test_a_wire_cut_again_begins_anew():
    again = [*done("W1", *WHOLE), *done("W1", "cut", size_mm2="2.5", length_mm="1100")]
    told = built({"W1": {"size_mm2": "2.5", "length_mm": "1000"}}, again)
    assert does(told) == []
    assert next_step(steps_of(job(progress=again).progress)["W1"], "from") == "crimped"


def test_an_id_that_was_changed_is_the_same_wire_under_another_label():
    changed = {
        "W1": None,
        "W9": {"circuit": "lamps", "from": "ECU.A1", "to": "L1.1", "size_mm2": "1.5", "colour": "RD"},
    }
    told = built(changed, done("W1", *WHOLE), renamed={"W1": "W9"})
    assert does(told, "W9") == ["re-label", "re-label"]
    assert only(told, "W9").name == "W9"
    assert told.uncut == ("W2", "W3")


def test_steps_under_the_old_id_and_the_new_one_are_of_one_wire():
    steps = [*done("W1", "cut"), *done("W9", "both:crimped", revision="7")]
    changed = {"W1": None, "W9": {"from": "ECU.A1", "to": "L1.1", "terminal_from": "T-gold"}}
    told = as_built(job(changed, steps), earlier={THEN: job(), 7: job(changed)}, renamed={"W1": "W9"})
    assert [wire.wire for wire in told.wires] == ["W9"]
    assert does(told, "W9") == []


def test_without_that_word_it_is_gone_and_the_other_is_new():
    told = built({"W1": None, "W9": {"from": "ECU.A1", "to": "L1.1"}}, done("W1", "cut"))
    assert does(told) == ["take out"]
    assert told.fresh == ("W9",)


def test_wires_that_came_since_are_told_apart_from_those_not_cut_yet():
    told = built({"W9": {"from": "ECU.A3", "to": "L2.1"}}, done("W1", "cut"))
    assert (told.fresh, told.uncut) == (("W9",), ("W2", "W3"))


def test_nothing_is_new_to_somebody_who_does_not_know_what_was_there():
    told = as_built(job({"W9": {"from": "ECU.A3", "to": "L2.1"}}, done("W1", "cut")))
    assert (told.fresh, told.uncut) == ((), ("W2", "W3", "W9"))
    assert told.unknown == (THEN,)


# ---- nothing built is decided anew ----

DECIDED = [
    {"sheet": "wires", "row": "W1", "column": "length_mm", "value": "900", "decided_by": "route", "digest": "a"},
    {"sheet": "wires", "row": "W1", "column": "size_mm2", "value": "1.5", "decided_by": "drop", "digest": "b"},
]
BLANK = {"W1": {"length_mm": "", "size_mm2": ""}}


def test_a_decided_length_of_a_cut_wire_stays_and_its_new_way_is_told():
    now = job(BLANK, done("W1", "cut", "to:seated"), decisions=DECIDED)
    told = as_built(now, earlier={THEN: job(BLANK, decisions=DECIDED)}, ways_mm={"W1": 1000.0})
    assert does(told) == ["lengthen"]
    assert only(told).asks[0].length_mm == 60.0
    assert only(told).stays == (
        "Its length was decided as 900 mm and stays so, since it is cut; its way asks 1000 mm now.",
        "Its area was decided as 1.5 mm² and stays so, since it is cut.",
    )


def test_a_way_counts_for_nothing_where_somebody_typed_the_length():
    told = built(progress=done("W1", "cut"), ways_mm={"W1": 3000.0})
    assert (does(told), only(told).stays) == ([], ())


# ---- hours ----


def test_the_jobs_own_minutes_go_before_the_typical_ones():
    own = [{"name": "minutes_wire_cut", "value": "7"}, {"name": "minutes_end_crimped", "value": "1.5"}]
    told = built({"W1": {"colour": "GN"}}, done("W1", "cut", "from:crimped"), vehicle=own)
    assert told.minutes == 8.5


def test_a_run_made_longer_after_cutting_leaves_the_decision_and_tells_the_wire_too_short():
    way = {
        "places": [{"id": "bay"}, {"id": "nose"}],
        "parts": [
            {"id": "BAT", "kind": "battery", "place": "bay"},
            {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay"},
            {"id": "L1", "kind": "lamp", "place": "nose"},
        ],
        "wires": [
            {"id": "B1", "from": "BAT.+", "to": "F1.1", "fitted": "kept"},
            {"id": "B2", "from": "BAT.-", "to": "body", "fitted": "kept"},
            {"id": "W1", "from": "F1.2", "to": "L1.1", "size_mm2": "1.5"},
        ],
    }

    def with_run(length_mm, **more):
        run = {"id": "R1", "from": "bay", "to": "nose", "length_mm": length_mm}
        return job_from_text({**way, "runs": [run], **more})

    first = Car(with_run("815"))
    kept = with_lengths(first.job, first.kinds, first.routes)
    one = next(one for one in kept.decisions if one.row == "W1")
    cells = {"sheet": "wires", "row": "W1", "column": "length_mm", "value": one.value}
    decided = [{**cells, "decided_by": "route", "digest": one.digest}]
    # 815 and twice 60 at the ends, up to the next 10
    assert one.value == "940"
    cut = [
        {"wire": "W1", "end": "both", "step": "cut", "revision": "3", "length_mm": "980"},
        {"wire": "W1", "end": "to", "step": "seated", "revision": "3"},
    ]
    now = Car(with_run("1015", decisions=decided, progress=cut))
    assert [each.value for each in with_lengths(now.job, now.kinds, now.routes).decisions if each.row == "W1"] == [
        "940"
    ]
    told = only(now.as_built({3: with_run("815", decisions=decided)}))
    assert [(ask.does, ask.length_mm) for ask in told.asks] == [("lengthen", 160.0)]
    assert told.stays == ("Its length was decided as 940 mm and stays so, since it is cut; its way asks 1140 mm now.",)
