"""Continuous current, against figures typed again from the sources."""

from __future__ import annotations

import pytest

from loomwright.quantities import gauge_size_mm2
from loomwright.refusals import OutOfReach
from loomwright.tables.ampacity import COLUMNS_C, ambient_factor, ampacity, bundled_a, continuous_a, grouping_factor
from loomwright.tables.conductors import gauge_number
from loomwright.tables.load import read_rows

GAUGES = [row["awg"] for row in read_rows("ampacity_boat")]


def size_of(awg: str) -> float:
    return gauge_size_mm2(gauge_number(awg))


# 33 CFR 183.425 Table 5, second reading
@pytest.mark.parametrize(
    ("awg", "insulation_c", "amps"),
    [
        ("16", 105, 25),
        ("12", 60, 25),
        ("4", 125, 170),
        ("0000", 200, 510),
        ("18", 80, 15),
        ("8", 75, 65),
        ("1", 90, 210),
    ],
)
def test_boat_table_is_the_printed_one(awg: str, insulation_c: int, amps: float) -> None:
    found = ampacity(size_of(awg), insulation_c, 30)
    assert found.amps == amps
    assert (found.source, found.interpolated, found.grade) == ("cfr-33-183-425", False, "read")


def test_insulation_between_columns_uses_the_cooler_column() -> None:
    assert continuous_a(size_of("12"), 85, 30) == 35
    assert ampacity(size_of("12"), 85, 30).column_c == 80
    assert ampacity(size_of("12"), 150, 30).column_c == 125


@pytest.mark.parametrize("insulation_c", COLUMNS_C)
@pytest.mark.parametrize("ambient_c", [20, 40, 55])
def test_thicker_wire_carries_more(insulation_c: int, ambient_c: int) -> None:
    sizes = sorted({0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 25.0, 35.0, 50.0, 70.0, 95.0})
    amps = [continuous_a(size, insulation_c, ambient_c) for size in sizes]
    assert amps == sorted(amps)
    assert len(set(amps)) == len(amps)


@pytest.mark.parametrize("size_mm2", [0.35, 0.75, 1.5, 6.0, 50.0])
def test_hotter_place_carries_less_and_cooler_never_more_than_the_table(size_mm2: float) -> None:
    amps = [continuous_a(size_mm2, 105, ambient) for ambient in (30, 40, 60, 85, 104, 105)]
    assert amps == sorted(amps, reverse=True)
    assert amps[-1] == 0.0
    assert continuous_a(size_mm2, 105, -10) == amps[0]


@pytest.mark.parametrize("size_mm2", [0.5, 1.5, 16.0])
def test_better_insulation_never_carries_less(size_mm2: float) -> None:
    for ambient_c in (30, 50):
        amps = [continuous_a(size_mm2, insulation_c, ambient_c) for insulation_c in COLUMNS_C]
        assert amps == sorted(amps)


# share at the warm end of published bands: insulation, ambient, factor
@pytest.mark.parametrize(
    ("column_c", "ambient_c", "factor"),
    [(60, 50, 0.58), (75, 50, 0.75), (90, 50, 0.82), (60, 40, 0.82), (75, 45, 0.82), (90, 35, 0.96), (60, 55, 0.41)],
)
def test_ambient_law_gives_the_published_bands(column_c: int, ambient_c: int, factor: float) -> None:
    assert ambient_factor(column_c, ambient_c) == pytest.approx(factor, abs=0.005)


# one wire in still air from 25, 60 and 85 to 105 degrees, the lower of two convection laws, amps (worked out elsewhere)
@pytest.mark.parametrize(
    ("size_mm2", "at_25", "at_60", "at_85"),
    [
        (0.35, 12.35, 9.21, 6.04),
        (0.5, 15.26, 11.38, 7.47),
        (0.75, 19.65, 14.66, 9.62),
        (1.0, 23.42, 17.47, 11.47),
        (1.5, 29.69, 22.15, 14.54),
        (2.5, 41.31, 30.83, 20.25),
        (6.0, 72.79, 54.39, 35.76),
        (16.0, 144.9, 108.5, 71.53),
        (25.0, 195.5, 146.6, 96.72),
    ],
)
def test_a_single_wire_in_air_would_carry_more(size_mm2: float, at_25: float, at_60: float, at_85: float) -> None:
    for ambient_c, in_air_a in ((25, at_25), (60, at_60), (85, at_85)):
        assert continuous_a(size_mm2, 105, ambient_c) < in_air_a


def test_between_rows_is_never_above_the_thicker_row_and_says_so() -> None:
    found = ampacity(1.5, 105, 30)
    assert found.interpolated
    assert 25 < found.amps < 45  # 16 and 12 AWG


def test_thin_sizes_come_from_their_own_rows() -> None:
    # 12.5 A at 25 degrees of ambient: times sqrt(75 / 80)
    assert continuous_a(0.5, 105, 30) == pytest.approx(12.5 * (75 / 80) ** 0.5, rel=1e-9)
    # 5 A at 50 degrees: times sqrt(75 / 55)
    assert continuous_a(0.326, 105, 30) == pytest.approx(5 * (75 / 55) ** 0.5, rel=1e-9)
    assert ampacity(0.5).grade == "recalled"
    # 80 degree class: 15 against 20 A in the row of 18 AWG
    assert continuous_a(0.5, 80, 30) == pytest.approx(continuous_a(0.5, 105, 30) * 15 / 20, rel=1e-9)


@pytest.mark.parametrize(
    ("size_mm2", "insulation_c", "ambient_c"),
    [(0.14, 105, 40), (120.0, 105, 40), (1.5, 55, 40), (1.5, 105, -80), (1.5, 105, float("nan"))],
)
def test_what_the_tables_do_not_cover_is_refused(size_mm2: float, insulation_c: float, ambient_c: float) -> None:
    with pytest.raises(OutOfReach):
        continuous_a(size_mm2, insulation_c, ambient_c)


# AC 43.13-1B Table 11-9, second reading
@pytest.mark.parametrize(
    ("awg", "insulation_c", "amps"),
    [("24", 105, 2.5), ("16", 105, 7), ("10", 200, 32), ("8", 105, 38), ("0000", 150, 310)],
)
def test_aircraft_bundle_is_the_printed_one(awg: str, insulation_c: int, amps: float) -> None:
    assert bundled_a(awg, insulation_c) == amps


def test_aircraft_bundle_has_nothing_between_rows() -> None:
    with pytest.raises(OutOfReach):
        bundled_a("9")
    with pytest.raises(OutOfReach):
        bundled_a("16", 125)


def test_the_same_wire_in_two_honest_tables() -> None:
    assert (bundled_a("16", 105), continuous_a(size_of("16"), 105, 30)) == (7, 25)


def test_published_tables_run_the_right_way() -> None:
    boat = read_rows("ampacity_boat")
    for column in COLUMNS_C:
        amps = [float(row[f"insulation_{column}_a"]) for row in boat]
        assert amps == sorted(amps)
    for row in boat:
        across = [float(row[f"insulation_{column}_a"]) for column in COLUMNS_C]
        assert across == sorted(across)
    for column in (105, 150, 200):
        amps = [float(row[f"insulation_{column}_a"]) for row in read_rows("ampacity_aircraft")]
        assert amps == sorted(amps)


@pytest.mark.parametrize(
    ("loaded", "factor"),
    [(1, 1.0), (3, 1.0), (4, 0.8), (8, 0.7), (10, 0.5), (20, 0.5), (21, 0.45), (41, 0.35), (90, 0.35)],
)
def test_crowds_go_by_steps(loaded: int, factor: float) -> None:
    assert grouping_factor(loaded) == factor


def test_no_wire_is_no_crowd() -> None:
    with pytest.raises(OutOfReach):
        grouping_factor(0)
