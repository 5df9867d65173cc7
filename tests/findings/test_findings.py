"""Findings: one sentence in one order, plain for `--json`, sorted the same on any machine."""

import json
import random
from dataclasses import replace

import pytest

from loomwright.findings import Finding, as_plain, id_order, in_order, says
from loomwright.refusals import OutOfReach

FULL = Finding(
    rule="PRO-2",
    severity="fault",
    at=("F3", "W10"),
    when=(("key", "start"), ("selector", "P|N"), ("coolant_c", ">=95")),
    touches=("pump",),
    label="F3 (fuse)",
    wrong="the fuse outlives its wire",
    found=20.0,
    allowed=14.96,
    unit="A",
    source="cfr-183",
    mend="Fit 10 A",
    path=("W10", "W11"),
)
BARE = Finding(rule="NET-1", severity="fault", wrong="a wire end is free")


def test_the_sentence_has_its_pieces_in_order():
    assert says(FULL) == (
        "F3 (fuse), key=start, selector=P|N, coolant_c>=95: "
        "the fuse outlives its wire (20 A, allowed 14.9 A) [cfr-183]. Fit 10 A."
    )


def test_absent_pieces_are_left_out():
    assert says(BARE) == "a wire end is free."
    assert says(replace(BARE, at=("W4",))) == "W4: a wire end is free."
    assert says(replace(BARE, when=(("key", "run"),))) == "key=run: a wire end is free."
    assert says(replace(BARE, found=1.0, unit="V")) == "a wire end is free (1 V)."
    assert says(replace(BARE, allowed=1.0, unit="V")) == "a wire end is free (allowed 1 V)."
    assert says(replace(BARE, mend="Join it.")) == "a wire end is free. Join it."


def test_print_never_makes_a_broken_limit_look_kept():
    over = replace(BARE, found=0.50001, allowed=0.5, unit="V")
    assert says(over) == "a wire end is free (0.501 V, allowed 0.5 V)."
    under = replace(BARE, found=8.9996, allowed=9.0, unit="V")
    assert says(under) == "a wire end is free (8.99 V, allowed 9 V)."


def test_a_starter_that_turns_unasked_stands_before_every_other_fault_and_after_none():
    faults = [replace(BARE, rule=rule, severity="fault", at=(at,)) for rule, at in (("NET-1", "A1"), ("KEY-1", "STA"))]
    note = replace(BARE, rule="KEY-1", severity="note", at=("A0",))
    assert [one.rule for one in in_order([note, *faults])] == ["KEY-1", "NET-1", "KEY-1"]
    # so does what lies above it
    root = replace(BARE, rule="LIV-1", severity="fault", at=("Z9",), folded=(faults[1],))
    assert [one.rule for one in in_order([note, faults[0], root])] == ["LIV-1", "NET-1", "KEY-1"]


def test_the_plain_shape_can_be_printed_and_read_back():
    outer = replace(FULL, folded=(BARE,))
    plain = json.loads(json.dumps(as_plain(outer), allow_nan=False))
    assert plain["at"] == ["F3", "W10"]
    assert plain["when"] == {"key": "start", "selector": "P|N", "coolant_c": ">=95"}
    assert plain["says"] == says(outer)
    assert plain["folded"][0]["rule"] == "NET-1"
    assert set(plain) == {
        *("rule", "severity", "at", "when", "touches", "says", "mend"),
        *("found", "allowed", "unit", "source", "path", "folded"),
    }


def test_faults_come_first_then_open_circuits_then_ids():
    right = (
        replace(BARE, at=("W2",)),
        replace(BARE, at=("W10",)),
        replace(FULL, at=("F1",)),
        replace(FULL, severity="warning", rule="NET-2", at=("Z1",)),
        replace(FULL, severity="warning", at=("A1",)),
        replace(BARE, severity="note"),
    )
    mixed = list(right)
    random.Random(3).shuffle(mixed)
    assert tuple(mixed) != right
    assert in_order(mixed) == right


def test_ids_are_sorted_as_people_count():
    assert sorted(["W10", "W2", "W2b", "ECU.A12", "ECU.A3", "7", "30"], key=id_order) == [
        *("7", "30", "ECU.A3", "ECU.A12", "W2", "W2b", "W10")
    ]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("rule", "net1"),
        ("severity", "grave"),
        ("at", ("A", "B", "C", "D", "E")),
        ("found", float("nan")),
        ("allowed", float("inf")),
    ],
)
def test_a_finding_that_could_not_be_told_is_refused(field, value):
    with pytest.raises(OutOfReach) as caught:
        replace(FULL, **{field: value})
    assert caught.value.name == field
