"""Cavities, terminals and labels of a built wire, each against the revision it was done from."""

from __future__ import annotations

from loomwright.loom.as_built import as_built
from tests.loom.built_jobs import THEN, WHOLE, built, does, done, job, only

NAMED = {"W1": {"terminal_from": "T-small", "seal_from": "S-red"}}


def test_another_cavity_of_the_same_connector_is_a_re_pin():
    told = built({"W1": {"from": "ECU.A3"}}, done("W1", "cut", "both:crimped", "both:seated"))
    ask = only(told).asks[0]
    assert (ask.does, ask.end, ask.was, ask.now, ask.since) == ("re-pin", "from", "ECU.A1", "ECU.A3", THEN)
    # extract 4, seat 1
    assert ask.minutes == 5.0
    assert ask.says == (
        "W1, start: was seated in ECU.A1, and ECU.A3 is asked now, another cavity of XA: take it out and seat it there."
    )
    assert ask.cells == (("wires", "W1", "from"),)


def test_an_end_that_is_not_seated_yet_asks_nothing():
    assert does(built({"W1": {"from": "ECU.A3"}}, done("W1", "cut", "both:crimped", "to:seated"))) == []


def test_another_connector_of_the_same_part_is_a_move():
    told = built({"W1": {"from": "ECU.B1"}}, done("W1", "cut", "both:crimped", "both:seated"))
    assert does(told) == ["move"]
    # extract 4, lay 15, seat 1
    assert only(told).minutes == 20.0


def test_another_terminal_of_a_part_without_connectors_is_a_re_pin():
    told = built({"W1": {"to": "L1.2"}, "W2": None}, done("W1", "cut", "to:seated"))
    assert does(told) == ["re-pin"]
    assert "another terminal of the same part" in only(told).asks[0].says


def test_another_part_is_a_move():
    assert does(built({"W1": {"to": "E1"}}, done("W1", "cut", "to:seated"))) == ["move"]


def test_an_end_that_is_to_be_free_is_taken_out():
    ask = only(built({"W1": {"to": ""}}, done("W1", "cut", "to:seated"))).asks[0]
    assert (ask.does, ask.now, ask.minutes) == ("move", "free", 4.0)


def test_a_wire_turned_about_in_its_row_is_the_same_wire():
    turned = {"W1": {"from": "L1.1", "to": "ECU.A1", "terminal_to": "T-small", "seal_to": "S-red"}}
    assert does(built(turned, done("W1", *WHOLE), was=NAMED)) == []


def test_a_wire_turned_about_is_compared_end_by_end():
    turned = {"W1": {"from": "L1.1", "to": "ECU.A1", "terminal_to": "T-gold", "seal_to": "S-red"}}
    told = built(turned, done("W1", *WHOLE), was=NAMED)
    assert [(ask.does, ask.end, ask.was) for ask in told.asks] == [("re-crimp", "from", "T-small")]


def test_another_terminal_or_seal_is_a_re_crimp():
    told = built(
        {"W1": {"terminal_from": "T-gold", "seal_from": "S-red"}}, done("W1", "cut", "from:crimped"), was=NAMED
    )
    ask = only(told).asks[0]
    assert (ask.does, ask.end, ask.was, ask.now, ask.minutes) == ("re-crimp", "from", "T-small", "T-gold", 2.5)
    seal = built(
        {"W1": {"terminal_from": "T-small", "seal_from": "S-blue"}}, done("W1", "cut", "from:crimped"), was=NAMED
    )
    assert only(seal).asks[0].cells == (("wires", "W1", "seal_from"),)


def test_an_end_that_is_not_crimped_yet_takes_any_terminal():
    assert does(built({"W1": {"terminal_from": "T-gold"}}, done("W1", "cut", "to:crimped"), was=NAMED)) == []


def test_a_terminal_that_is_no_longer_named_asks_nothing():
    assert does(built(progress=done("W1", "cut", "from:crimped"), was=NAMED)) == []


def test_crimping_anew_makes_a_wire_shorter():
    # 940 cut; each crimp cut off takes 15 mm: 930 asked is had once crimped anew at one end no longer
    named = {"W1": {"terminal_from": "T-gold", "length_mm": "930"}}
    was = {"W1": {"terminal_from": "T-small", "length_mm": "930"}}
    told = built(named, done("W1", "cut", "from:crimped", "from:seated"), was=was)
    assert does(told) == ["lengthen", "re-crimp"]
    assert only(told).asks[0].length_mm == 5.0
    assert "15 mm are lost to crimping anew" in only(told).asks[0].says


def test_an_end_taken_out_for_two_reasons_is_taken_out_once():
    told = built(
        {"W1": {"from": "ECU.A3", "terminal_from": "T-gold"}},
        done("W1", "cut", "from:crimped", "from:seated"),
        was={"W1": {"terminal_from": "T-small"}},
    )
    assert does(told) == ["re-crimp", "re-pin"]
    # extract 4, crimp 2.5, seat 1, and nothing more for the other cavity
    assert [ask.minutes for ask in told.asks] == [7.5, 0.0]


def test_another_text_on_the_label_is_a_new_label():
    told = built({"W1": {"circuit": "other"}}, done("W1", "cut", "from:labelled"))
    ask = only(told).asks[0]
    assert (ask.does, ask.end, ask.minutes) == ("re-label", "from", 2.0)
    assert ask.cells == (("wires", "W1", "circuit"),)


def test_a_label_stays_true_to_the_copper_that_was_cut():
    assert does(built({"W1": {"size_mm2": "1"}}, done("W1", *WHOLE))) == []


def test_an_end_re_pinned_is_labelled_anew_at_both_ends():
    told = built({"W1": {"from": "ECU.A3"}}, done("W1", *WHOLE))
    assert does(told) == ["re-pin", "re-label", "re-label"]


def test_an_end_seated_anew_since_is_right():
    later = [*done("W1", "cut", "both:seated"), *done("W1", "from:seated", revision="7")]
    now = job({"W1": {"from": "ECU.A3"}}, later)
    told = as_built(now, earlier={THEN: job(), 7: job({"W1": {"from": "ECU.A3"}})})
    assert does(told) == []


def test_a_connector_of_another_sort_asks_for_its_own_terminals():
    other = [
        {"id": "XA", "part": "ECU", "terminals": "A*", "family": "large"},
        {"id": "XB", "part": "ECU", "terminals": "B*", "family": "small"},
    ]
    told = built(progress=done("W1", "cut", "from:crimped", "from:seated"), connectors=other)
    ask = only(told).asks[0]
    assert (ask.does, ask.minutes) == ("move", 7.5)
    assert ask.cells == (("connectors", "XA", "family"),)


def test_a_laid_wire_that_is_to_be_twisted_is_told():
    twisted = {"W1": {"twist": "T1"}}
    assert does(built(twisted, done("W1", "cut", "to:seated"))) == ["twist"]
    assert does(built(twisted, done("W1", "cut"))) == []


def test_steps_without_a_revision_are_not_judged_and_it_is_said():
    told = built({"W1": {"from": "ECU.A3"}}, done("W1", *WHOLE, revision=""))
    ask = only(told).asks[0]
    assert [one.does for one in told.asks] == ["look"]
    assert ask.says.startswith("W1: the terminal crimped at its start, the cavity of its start, the label at its start")
    assert ask.says.endswith("no revision is written beside them. Look whether they are as asked now.")
    assert ask.minutes == 0.0


def test_what_progress_itself_tells_is_judged_without_any_history():
    told = as_built(job({"W1": {"size_mm2": "2.5"}, "W3": {"length_mm": "950"}}, [
        *done("W1", "cut", size_mm2="1.5"), *done("W3", "cut", length_mm="440"),
    ]))  # fmt: skip
    assert [(ask.wire, ask.does) for ask in told.asks] == [("W1", "scrap"), ("W3", "scrap")]
    assert told.unknown == (THEN,)


def test_a_revision_that_is_not_to_be_had_is_named():
    told = as_built(job(progress=done("W1", "cut", "from:seated", revision="41")))
    assert told.unknown == (41,)
    assert "the job as it was then is not to be had" in told.asks[0].says
