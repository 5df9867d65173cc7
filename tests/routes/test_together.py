"""Which wires share a way, and which of them part."""

from __future__ import annotations

from loomwright.routes.together import bundled, parted, shared_words
from tests.routes.looms import between, loom, routes

RING = ("R1 a b 300", "R2 b c 300", "R3 a d 400", "R4 d c 400")


def told(*wires, **sheets):
    """(column, word, wires that go by themselves, why) of all that part."""
    job = loom(RING, wires, **sheets)
    return [(one.column, one.word, one.alone, one.says) for one in parted(job, routes(job))]


def test_words_are_shared_by_two_at_least_and_removed_wires_share_nothing():
    job = loom(
        RING,
        [
            between("W1", "a", "c", twist="T"),
            between("W2", "a", "c", twist="T"),
            between("W3", "a", "c", twist="alone"),
            between("W4", "a", "c", twist="alone", fitted="removed"),
        ],
    )
    assert {key: [wire.id for wire in wires] for key, wires in shared_words(job).items()} == {
        ("twist", "T"): ["W1", "W2"]
    }


def test_a_word_in_one_column_is_not_the_same_word_in_another():
    job = loom(RING, [between("W1", "a", "c", twist="T"), between("W2", "a", "c", screen="T")])
    assert bundled(job) == ()


def test_chains_of_words_make_one_group_in_order_of_id():
    wires = [
        between("W10", "a", "c", twist="T"),
        between("W9", "a", "c", twist="T", screen="S"),
        between("W2", "a", "c", screen="S"),
        between("W3", "a", "c", twist="U"),
        between("W4", "a", "c", twist="U"),
    ]
    groups = [[wire.id for wire in group] for group in bundled(loom(RING, wires))]
    assert groups == [["W2", "W9", "W10"], ["W3", "W4"]]


def test_a_pair_with_the_same_two_places_does_not_part_even_the_other_way_round():
    assert told(between("W1", "a", "c", twist="T"), between("W2", "c", "a", twist="T")) == []


def test_a_pair_whose_ends_sit_apart_parts():
    found = told(between("W1", "a", "c", twist="T"), between("W2", "a", "b", twist="T"))
    assert found == [("twist", "T", ("W1", "W2"), "their ends sit at different places")]


def test_a_twist_may_be_several_pairs_in_a_row_but_a_cable_is_one_piece():
    pairs = [("W1", "a", "b"), ("W2", "a", "b"), ("W3", "b", "c"), ("W4", "b", "c")]
    assert told(*(between(*ends, twist="T") for ends in pairs)) == []
    found = told(*(between(*ends, cable="C1") for ends in pairs), cables=[{"id": "C1"}])
    assert [(column, alone) for column, _, alone, _ in found] == [("cable", ("W3", "W4"))]


def test_one_that_ends_elsewhere_is_told_and_the_others_are_not():
    ends = [("W1", "a", "c"), ("W2", "a", "c"), ("W3", "a", "d")]
    assert [alone for _, _, alone, _ in told(*(between(*one, screen="S") for one in ends))] == [("W3",)]


def test_vias_that_differ_are_told():
    wires = [between("W1", "a", "c", twist="T", via="R2"), between("W2", "a", "c", twist="T", via="d")]
    assert told(*wires) == [("twist", "T", ("W2",), "their via ask for different ways")]
    same = [between("W1", "a", "c", twist="T", via="R4"), between("W2", "a", "c", twist="T", via="d")]
    assert told(*same) == []


def test_wires_that_are_not_led_part_from_nobody():
    assert told(between("W1", "a", "c", twist="T"), {"id": "W2", "from": "BAT.+", "to": "L_a.1", "twist": "T"}) == []
