"""More slips in print, and worked vectors of heat, fuses and crimps that are no single figure of a case."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from loomwright.heat.one_wire import bodies_of, settled_c
from loomwright.heat.still_air import Around, lost_w_per_m
from loomwright.tables.conductors import hot_factor
from loomwright.tables.crimp_pull import is_at_odds, least_pull_n
from loomwright.tables.load import read_rows
from tests.outside.figures import FIGURES

COPPER_MELTS_C = 1083.0

# the 3 % chart of `marine_drop/source.toml`, whole: gauge by amps; 0 is 1/0, -3 is 4/0
AMPS = (5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 100)
PRINTED = {
    10: (18, 14, 12, 12, 10, 10, 8, 8, 6, 6, 6, 4, 4),
    15: (16, 12, 10, 10, 8, 8, 6, 6, 4, 4, 4, 2, 2),
    20: (14, 10, 10, 8, 6, 6, 6, 4, 4, 2, 2, 2, 2),
    25: (12, 10, 8, 6, 4, 4, 4, 2, 2, 2, 2, 1, 1),
    30: (12, 10, 8, 6, 6, 6, 4, 4, 2, 2, 2, 1, 1),
    40: (10, 8, 6, 6, 4, 4, 2, 2, 1, 0, 0, -1, -1),
    50: (10, 6, 6, 4, 4, 2, 2, 1, 0, -1, -1, -3, -3),
    60: (10, 6, 6, 4, 2, 2, 1, 0, -1, -2, -2, -3, -3),
    70: (8, 6, 4, 2, 2, 1, 0, -1, -2, -2, -3, -3, None),
    80: (8, 6, 4, 2, 2, 1, 0, -1, -2, -3, -3, None, None),
    100: (8, 4, 2, 2, 1, 0, -1, -2, -3, -3, None, None, None),
}


def out_of_order(values: Sequence[float]) -> list[int]:
    """The places of a column that should rise at which it does not."""
    return [place for place in range(1, len(values)) if values[place] <= values[place - 1]]


# ------------------------------------------------------------------------ E5, V22


def test_five_cells_of_the_whole_marine_chart_are_thinner_than_its_own_formula():
    thinner = [
        (feet, amps)
        for feet, row in PRINTED.items()
        for amps, awg in zip(AMPS, row, strict=True)
        if awg is not None
        and awg > FIGURES["plain_copper_awg"](amps=str(amps), feet=str(feet), limit_v="0.36", copper_c="29.3")
    ]
    assert thinner == [(30, 30), (30, 50), (30, 80), (30, 100), (60, 15)]


# ------------------------------------------------------------------------ E8, V44, V45

# aluminium, by the law of the constant power of its diameter: inches by amps, as printed
ALUMINIUM_IN = {225: 0.0958, 250: 0.1208, 275: 0.1095}


def test_an_aluminium_row_with_two_digits_exchanged_is_out_of_order_and_no_column_of_ours_is():
    assert out_of_order(list(ALUMINIUM_IN.values())) == [2]
    # amps = a d^1.5: its neighbours agree on a, and put it at 0.1028 in
    each = [amps / ALUMINIUM_IN[amps] ** 1.5 for amps in (225, 275)]
    assert each[0] == pytest.approx(each[1], rel=1e-3)
    right_in = (250 / each[0]) ** (2.0 / 3.0)
    assert right_in == pytest.approx(0.1028, rel=5e-4)
    assert abs(ALUMINIUM_IN[250] - right_in) > 0.17 * right_in
    assert out_of_order([ALUMINIUM_IN[225], right_in, ALUMINIUM_IN[275]]) == []
    for name, column in (
        ("crimp_pull", "commercial_lb"),
        ("conductors_road", "size_mm2"),
        ("conductors_road", "conductor_mm"),
    ):
        families: dict[str, list[float]] = {}
        for row in read_rows(name):
            if row.get(column):
                families.setdefault(row.get("family", ""), []).append(float(row[column]))
        assert families
        assert all(out_of_order(values) == [] for values in families.values()), name


def test_a_bare_no_16_melts_in_our_still_air_where_the_law_of_its_diameter_says():
    # copper: 80.02 d^1.5 with d in mm is 117.4 A. Our air and our emissivity, no jacket: within a tenth
    across_mm = FIGURES["gauge_mm"](awg="16")
    preece_a = 80.02 * across_mm**1.5
    assert preece_a == pytest.approx(117.4, rel=1e-3)
    ohm_per_m = 0.01724 / (np.pi / 4.0 * across_mm**2) * hot_factor(COPPER_MELTS_C)
    lost = lost_w_per_m(np.array([COPPER_MELTS_C]), np.array([across_mm]), Around(ambient_c=20.0, law="morgan"))
    assert float((lost[0] / ohm_per_m) ** 0.5) == pytest.approx(preece_a, rel=0.1)


# ------------------------------------------------------------------------ E6, E7, E20, V70


@pytest.mark.parametrize(("pull_n", "pounds", "right_n"), [(1235.0, 300.0, 1334.5), (455.0, 100.0, 444.8)])
def test_a_pull_whose_newtons_and_pounds_differ_is_told_and_the_right_pair_is_not(pull_n, pounds, right_n):
    assert is_at_odds(pull_n, pounds)
    assert not is_at_odds(right_n, pounds)


def test_pulls_of_the_commercial_column_and_a_crimp_that_falls_short_of_it():
    assert least_pull_n(gauge_mm2(14)) == 222.5
    assert least_pull_n(gauge_mm2(16)) == 133.5 > 130.0


def test_the_pull_of_a_crimp_is_not_the_pull_that_keeps_a_contact_in_its_cavity():
    # one handbook asks 36 N of a seated contact on No. 24; the crimp there is asked 22.3 N
    assert least_pull_n(gauge_mm2(24)) == 22.3
    assert 36.0 not in [float(row["commercial_n"]) for row in read_rows("crimp_pull")]
    assert all("pull-out" in row["place"] for row in read_rows("crimp_pull"))


def gauge_mm2(number: int) -> float:
    return FIGURES["gauge_mm2"](awg=str(number))


# ------------------------------------------------------------------------ V54, V55


@pytest.mark.parametrize(
    ("size_mm2", "morgan_c", "churchill_c", "within_k"),
    [(1.5, 306.0, 334.0, 2.0), (4.0, 125.9, 133.4, 0.5), (6.0, 100.0, 104.4, 0.5)],
)
def test_what_135_percent_of_a_40_a_fuse_makes_of_a_wire(size_mm2, morgan_c, churchill_c, within_k):
    # worked out once by another program: 54 A in 60 degC air; 105 degC class: the first two burn, the third holds
    body = bodies_of([size_mm2], gauge="road")
    ours = [
        float(settled_c(np.array([54.0]), body, Around(ambient_c=60.0, law=law))[0])
        for law in ("morgan", "churchill_chu")
    ]
    assert ours == pytest.approx([morgan_c, churchill_c], abs=within_k)
    assert (ours[0] > 105.0) is (size_mm2 < 6.0)
