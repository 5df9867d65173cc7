"""Conditions and what must hold: read, written in their usual form, and asked of a state."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.job.conditions import ALWAYS, Term, holds, is_asked, parse_condition, parse_must
from loomwright.refusals import OutOfReach

STATE = {"key": "start", "selector": "P", "coolant_c": 97.0, "engine": "cranking"}


def test_a_condition_of_three_terms():
    condition = parse_condition("key=start, selector=P|N,coolant_c >= 95")
    assert condition.terms == (
        Term(variable="key", op="=", values=("start",)),
        Term(variable="selector", op="=", values=("P", "N")),
        Term(variable="coolant_c", op=">=", values=("95",), number=95.0),
    )
    assert condition.text == "key=start, selector=P|N, coolant_c>=95"
    assert condition.fixed is None


@pytest.mark.parametrize(("text", "fixed"), [("always", "always"), (" Never ", "never")])
def test_fixed_words(text, fixed):
    assert parse_condition(text).fixed == fixed
    assert holds(parse_condition(text), {}) == (fixed == "always")


def test_a_blank_one_always_holds():
    assert parse_condition("  ") == ALWAYS
    assert holds(ALWAYS, {})


@pytest.mark.parametrize(
    "text",
    [
        "key",
        "key=",
        "=run",
        "key=run,",
        "key=run selector=P",
        "key==run",
        "key=run|",
        "key=run|=off",
        "key=run; selector=P",
        "coolant_c>=",
        "coolant_c>=hot",
        "coolant_c>=1|2",
        "coolant_c>=95,5",
    ],
)
def test_what_is_no_condition_says_what_may_stand_there(text):
    with pytest.raises(OutOfReach) as refused:
        parse_condition(text)
    assert refused.value.found == text
    assert "=" in refused.value.allowed


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("key=start", True),
        ("key=run|start", True),
        ("key=run", False),
        ("key!=run", True),
        ("key!=run|start", False),
        ("coolant_c>=97", True),
        ("coolant_c>97", False),
        ("coolant_c<=97", True),
        ("coolant_c<97", False),
        ("coolant_c=97.0", True),
        ("coolant_c!=97", False),
        ("coolant_c=20|97", True),
        ("key=start, selector=R", False),
    ],
)
def test_a_condition_in_a_state(text, answer):
    assert holds(parse_condition(text), STATE) is answer


def test_figures_given_as_text_are_figures():
    assert holds(parse_condition("coolant_c>=95"), {"coolant_c": "97"})
    assert holds(parse_condition("coolant_c=97"), {"coolant_c": "97.0"})
    assert holds(parse_condition("selector=3"), {"selector": "3"})


def test_before_asks_the_state_it_came_from():
    condition = parse_condition("before.key=run, engine=idle")
    assert condition.terms[0] == Term(variable="key", op="=", values=("run",), before=True)
    assert holds(condition, {"engine": "idle", "key": "off"}, {"key": "run"})
    assert not holds(condition, {"engine": "idle", "key": "run"}, {"key": "off"})
    assert not holds(condition, {"engine": "idle", "key": "run"})


@pytest.mark.parametrize(
    ("text", "off", "answer"),
    [
        ("unplugged=X1", "X1", True),
        ("unplugged=X1", "X2 X1", True),
        ("unplugged=X1", "X2", False),
        ("unplugged=X1|X2", "X2", True),
        ("unplugged=X1, unplugged=X2", "X2", False),
        ("unplugged=none", "", True),
        ("unplugged=none", "X1", False),
        ("unplugged!=X1", "X2", True),
    ],
)
def test_unplugged_is_a_set(text, off, answer):
    assert holds(parse_condition(text), {"unplugged": off}) is answer


def test_a_question_is_asked_with_a_plug_off_only_where_it_names_plugs():
    drive = parse_condition("key=start")
    assert holds(drive, {**STATE, "unplugged": "X1"})
    assert not is_asked(drive, {**STATE, "unplugged": "X1"})
    assert is_asked(drive, STATE)
    assert is_asked(parse_condition("unplugged=X1"), {"unplugged": "X1"})


def test_a_state_without_the_variable_is_refused_by_name():
    with pytest.raises(OutOfReach) as refused:
        holds(parse_condition("lights=on"), STATE)
    assert refused.value.name == "lights"


def test_a_word_compared_as_a_figure_is_refused():
    with pytest.raises(OutOfReach) as refused:
        holds(parse_condition("key>=2"), STATE)
    assert refused.value.name == "key"


words = st.text(alphabet="abcXYZ_123.", min_size=1, max_size=6).filter(lambda word: not word.startswith("before"))
terms = st.builds(
    lambda variable, op, values, before: f"{'before.' if before else ''}{variable}{op}{'|'.join(values)}",
    words,
    st.sampled_from(["=", "!="]),
    st.lists(words, min_size=1, max_size=3),
    st.booleans(),
)


@given(st.lists(terms, min_size=1, max_size=4))
def test_the_usual_form_reads_as_the_same_condition(pieces):
    condition = parse_condition(" ,  ".join(pieces))
    assert condition.text == ", ".join(pieces)
    assert parse_condition(condition.text) == condition


@pytest.mark.parametrize("word", ["live", "dead", "floating"])
def test_must_words(word):
    must = parse_must(f" {word.upper()} ")
    assert (must.kind, must.text, must.value, must.unit) == (word, word, None, "")


@pytest.mark.parametrize(
    ("text", "op", "value", "unit", "usual"),
    [
        (">= 9 V", ">=", 9.0, "V", ">= 9 V"),
        ("<=0.1V", "<=", 0.1, "V", "<= 0.1 V"),
        ("<= 15 A", "<=", 15.0, "A", "<= 15 A"),
        ("< 500 mV", "<", 0.5, "V", "< 0.5 V"),
        ("> 20mA", ">", 0.02, "A", "> 0.02 A"),
        (">= 9,5 V", ">=", 9.5, "V", ">= 9.5 V"),
    ],
)
def test_must_comparisons(text, op, value, unit, usual):
    must = parse_must(text)
    assert (must.kind, must.op, must.value, must.unit, must.text) == ("compare", op, value, unit, usual)
    assert parse_must(must.text) == must


@pytest.mark.parametrize(
    "text", ["alive", "9 V", ">= 9", ">= V", "= 9 V", ">= 9 W", ">= 1,234 V", ">= nan V", "live, dead"]
)
def test_what_can_not_be_asked(text):
    with pytest.raises(OutOfReach) as refused:
        parse_must(text)
    assert refused.value.allowed
