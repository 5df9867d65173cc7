"""The plain families of crimp terminals and seals: what a cell means, and that the tables agree with each other."""

from __future__ import annotations

from itertools import pairwise

import pytest

from loomwright.tables.contact_widths import contact_widths
from loomwright.tables.crimp_terminals import crimp_terminals, seals_named, terminals_named, wire_seals
from loomwright.tables.load import read_rows


@pytest.mark.parametrize("width_mm", sorted(contact_widths()))
def test_the_barrels_of_a_width_together_take_what_the_width_does(width_mm: float) -> None:
    barrels = [row for row in crimp_terminals() if row.width_mm == width_mm]
    width = contact_widths()[width_mm]
    assert min(row.size_from_mm2 for row in barrels) == width.from_mm2
    assert max(row.size_to_mm2 for row in barrels) == width.to_mm2
    assert all(row.most_a is not None and row.most_a <= width.high_a for row in barrels)


def test_a_thicker_barrel_of_a_family_is_stripped_no_shorter_and_carries_no_less() -> None:
    for one in crimp_terminals():
        for other in crimp_terminals():
            same = (one.family, one.width_mm) == (other.family, other.width_mm)
            if same and one.size_to_mm2 < other.size_to_mm2:
                assert one.strip_mm <= other.strip_mm, (one.terminal, other.terminal)
                assert (one.most_a or 0.0) <= (other.most_a or 0.0)


def test_a_barrel_that_holds_the_insulation_takes_that_of_its_thinnest_and_thickest_wire() -> None:
    thin = {
        float(row["size_mm2"]): float(row["thin_wall_mm"])
        for row in read_rows("conductors_road")
        if row["thin_wall_mm"]
    }
    for one in crimp_terminals():
        for size_mm2, over_mm in thin.items():
            if one.insulation_from_mm is not None and one.insulation_to_mm is not None and one.takes(size_mm2):
                assert one.insulation_from_mm <= over_mm <= one.insulation_to_mm, (one.terminal, size_mm2)


def test_seals_of_a_width_lie_end_to_end() -> None:
    for width_mm in {seal.width_mm for seal in wire_seals()}:
        rows = [seal for seal in wire_seals() if seal.width_mm == width_mm]
        for one, other in pairwise(rows):
            assert one.insulation_to_mm == other.insulation_from_mm


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("2.8 mm blade", ("2.8 mm blade, 0.5 to 1 mm²", "2.8 mm blade, 1.5 to 2.5 mm²")),
        ("receptacle 2.8mm", ("2.8 mm blade, 0.5 to 1 mm²", "2.8 mm blade, 1.5 to 2.5 mm²")),
        ("9.5 mm blade, 10 mm²", ("9.5 mm blade, 10 mm²",)),
        ("blue splice sleeve", ("splice sleeve, blue",)),
        ("M3 eyelets", ("ring, 0.5 to 1 mm²", "ring, 1.5 to 2.5 mm²")),
        ("M20 ring", ()),
        ("2.9 mm blade", ()),
        ("crimp for 2.5 mm² wire", ()),
        ("TP-44", ()),
    ],
)
def test_what_a_cell_means(words: str, names: tuple[str, ...]) -> None:
    assert tuple(row.terminal for row in terminals_named(words)) == names


def test_a_seal_is_meant_by_its_row_or_by_its_width_and_no_other_word_is_one() -> None:
    assert [seal.seal for seal in seals_named("seal for 2.8 mm, 2.1 to 3.0 mm")] == ["seal for 2.8 mm, 2.1 to 3.0 mm"]
    assert len(seals_named("wire seal 6.3 mm")) == 2
    assert seals_named("green") == seals_named("2.8 mm blade") == ()
