"""How thick a bundle is: geometry up to three wires, an estimate beyond, held against the best packings there are."""

from __future__ import annotations

import math

import pytest

from loomwright.routes.bundles import bundle_mm, bundles
from tests.routes.looms import between, loom, routes

# smallest circle round n equal circles over their diameter: closed forms
BEST = {
    4: 1.0 + math.sqrt(2.0),
    5: 1.0 + 1.0 / math.sin(math.pi / 5.0),
    6: 3.0,
    7: 3.0,
    8: 1.0 + 1.0 / math.sin(math.pi / 7.0),
    9: 1.0 + math.sqrt(2.0 * (2.0 + math.sqrt(2.0))),
    11: 1.0 + 1.0 / math.sin(math.pi / 9.0),
    13: 2.0 + math.sqrt(5.0),
    19: 1.0 + math.sqrt(2.0) + math.sqrt(6.0),
}


@pytest.mark.parametrize(
    ("wires_mm", "round_mm"),
    [
        ([2.4], 2.4),
        ([3.0, 2.0], 5.0),
        ([2.0, 2.0, 2.0], 2.0 * (1.0 + 2.0 / math.sqrt(3.0))),
        ([6.0, 4.0, 2.0], 10.0),  # the third fits in the gap beside the other two, which is 3.158 wide
        ([4.0, 4.0, 3.0], 8.0584),  # it does not: the gap is 2.667
    ],
)
def test_up_to_three_wires_are_geometry(wires_mm, round_mm):
    found = bundle_mm(wires_mm)
    assert found == pytest.approx((round_mm,) * 3, rel=1e-5)
    assert bundle_mm(wires_mm[::-1]) == found


def test_a_third_that_just_fits_and_one_that_just_does_not_meet():
    # the gap beside 3 and 2 is 30/19 wide, in their unit
    gap = 30.0 / 19.0
    assert bundle_mm([3.0, 2.0, gap - 1e-9])[1] == pytest.approx(5.0)
    assert bundle_mm([3.0, 2.0, gap + 1e-6])[1] == pytest.approx(5.0, abs=1e-4)
    assert bundle_mm([3.0, 2.0, gap + 0.1])[1] > 5.0


@pytest.mark.parametrize("count", sorted(BEST))
def test_the_estimate_is_near_the_best_packing_of_equal_wires_and_its_band_holds_it(count):
    least, middle, most = bundle_mm([2.0] * count)
    best = 2.0 * BEST[count]
    assert -0.025 < middle / best - 1.0 < 0.08
    assert least < best < most


def test_a_worked_bundle_of_mixed_wires():
    # 10 of 1.6, 6 of 2.4, 2 of 3.7 mm: 87.54 mm2 of squares, 1.2 * 9.356 = 11.23
    least, middle, most = bundle_mm([1.6] * 10 + [2.4] * 6 + [3.7] * 2)
    assert middle == pytest.approx(11.23, abs=0.005)
    assert (least, most) == (pytest.approx(10.39, abs=0.005), pytest.approx(11.88, abs=0.005))


def found(*wires, **sheets):
    """The bundle of the one run there is."""
    job = loom(["R1 a b 300"], wires, **sheets)
    return bundles(job, routes(job))["R1"]


def test_a_run_tells_its_wires_and_how_thick_they_are_together():
    # 1 mm2 is 2.1 mm thick; five of them: 1.2 * sqrt(5) * 2.1
    bundle = found(*(between(f"W{number}", "a", "b") for number in range(5)))
    assert bundle.conductors == ("W0", "W1", "W2", "W3", "W4")
    assert bundle.bundle_mm == pytest.approx(1.2 * math.sqrt(5.0) * 2.1)
    assert (bundle.thinnest, bundle.unknown) == ((), ())


def test_an_empty_run_has_no_bundle():
    bundle = found()
    assert (bundle.conductors, bundle.bundle_mm) == ((), None)


def test_a_wire_out_and_back_counts_twice():
    # two passages of one 1 mm2 wire lie side by side
    assert found(between("W1", "a", "a", via="b")).bundle_mm == pytest.approx(4.2)


def test_a_wire_without_a_size_is_named_and_a_decided_size_counts():
    # 0.5 mm2, the thinnest of a plain circuit, is 1.6 mm; 2.5 mm2 is 3.0 mm
    bare = between("W1", "a", "b", size_mm2="")
    assert (found(bare).bundle_mm, found(bare).thinnest) == (1.6, ("W1",))
    kept = [{"sheet": "wires", "row": "W1", "column": "size_mm2", "value": "2.5"}]
    assert (found(bare, decisions=kept).bundle_mm, found(bare, decisions=kept).thinnest) == (3.0, ())


def test_a_size_that_no_table_has_leaves_the_bundle_unknown():
    bundle = found(between("W1", "a", "b", size_mm2="95"), between("W2", "a", "b"))
    assert (bundle.bundle_mm, bundle.unknown) == (None, ("W1",))
