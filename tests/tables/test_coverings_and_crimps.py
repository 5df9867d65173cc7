"""Sleeves and tapes, holes and bends; the pull of a crimp."""

from __future__ import annotations

import pytest

from loomwright.refusals import OutOfReach
from loomwright.tables.coverings import (
    bend_radius_mm,
    covered_mm,
    covering_named,
    coverings,
    goes_through,
    hole_needed_mm,
)
from loomwright.tables.crimp_pull import at_odds, least_pull_n
from loomwright.tables.load import read_rows


@pytest.mark.parametrize(
    ("words", "kind"),
    [("braided sleeve", "braided"), ("conduit", "convoluted"), ("cloth tape", "tape_cloth"), ("PVC tape", "tape_pvc"),
     ("heat-shrink, glued", "heat_shrink_glued"), ("heat shrink tube", "heat_shrink"), ("glass sleeve", "glass_sleeve"),
     ("pvc sleeving", "pvc_sleeve"), ("PVC tube", "pvc_sleeve"), ("sleeve", "braided"), ("tube", "convoluted"),
     ("sleeving", "pvc_sleeve"), ("spiral wrap", "spiral"), ("", None), ("old hose", None)],
)  # fmt: skip
def test_the_words_of_the_sheet_find_their_row(words, kind):
    found = covering_named(words)
    assert (found.id if found else None) == kind


def test_a_hole_takes_the_covered_bundle_and_two_millimetres_more():
    assert hole_needed_mm(10.0, "") == 12.0
    assert hole_needed_mm(10.0, "braided sleeve") == pytest.approx(13.2)
    assert goes_through(10.0, "", 12.0)
    assert not goes_through(10.0, "", 11.9)


def test_every_covering_makes_it_thicker():
    for one in coverings():
        assert covered_mm(10.0, one.words[0]) > 10.0
        assert one.inner_factor >= 1.0


def test_a_bend_goes_by_the_thickest_wire():
    assert bend_radius_mm(6.0) == 60.0
    assert bend_radius_mm(6.0, supported=True) == 18.0


def test_pulls_rise_with_the_wire_and_each_unit_pair_but_one_agrees():
    rows = list(read_rows("crimp_pull"))
    pulls = [float(row["commercial_lb"]) for row in rows]
    assert pulls == sorted(pulls)
    # 300 lb are 1334.5 N; 1235.0 is printed beside it
    assert at_odds() == ("00",)
    military = [(float(row["military_n"]), float(row["military_lb"])) for row in rows if row["military_n"]]
    assert all(n == pytest.approx(lb * 4.448222, rel=0.01) for n, lb in military)


def test_a_size_between_two_rows_is_asked_what_the_thicker_one_is():
    assert least_pull_n(0.5) == 57.9  # 20 AWG, 0.518
    assert least_pull_n(1.0) == 133.5  # 16
    assert least_pull_n(2.5) == 356.0  # 10


def test_the_slip_in_print_is_not_followed():
    assert least_pull_n(67.43) == pytest.approx(1334.5, abs=0.1)
    assert abs(least_pull_n(67.43) - 1235.0) > 50.0


def test_thinner_and_thicker_than_any_row_is_refused():
    for size_mm2 in (0.1, 80.0):
        with pytest.raises(OutOfReach, match="size_mm2"):
            least_pull_n(size_mm2)
