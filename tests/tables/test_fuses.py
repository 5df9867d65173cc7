"""Fuses, against figures typed again from the sources."""

from __future__ import annotations

from math import inf

import pytest

from loomwright.refusals import OutOfReach
from loomwright.tables.fuses import (
    colour_of,
    families,
    family_named,
    fuse_ohm,
    gate,
    melting_a2s,
    usable_a,
)


# type C 40 A: 54, 80, 140 and 240 A, second reading
@pytest.mark.parametrize(
    ("amps", "min_s", "max_s"), [(54, 0.75, 600), (80, 0.15, 5), (140, 0.08, 0.5), (240, 0.0, 0.15), (40, 360000, inf)]
)
def test_type_c_40_keeps_its_gates(amps: float, min_s: float, max_s: float) -> None:
    assert gate("blade_c", amps / 40, 40.0) == (min_s, max_s)


# type E 40 A, second reading
@pytest.mark.parametrize(
    ("amps", "min_s", "max_s"), [(54, 60, 1800), (80, 2, 50), (140, 0.2, 7), (240, 0.04, 1), (40, 360000, inf)]
)
def test_type_e_40_keeps_its_gates(amps: float, min_s: float, max_s: float) -> None:
    assert gate("blade_e", amps / 40, 40.0) == (min_s, max_s)


def test_only_the_40_a_of_type_e_was_read() -> None:
    family = families()["blade_e"]
    assert {one.grade for one in family.gates_for(40.0)} == {"read"}
    assert {one.grade for one in family.gates_for(60.0)} == {"recalled"}


def test_between_gates_the_band_is_the_wider_one() -> None:
    # 1.5 times: as long as at 1.35, as soon as at 1.6
    assert gate("blade_c", 1.5, 10.0) == (0.25, 600.0)
    # type E has no gate at 1.6: as soon as at 2
    assert gate("blade_e", 1.6, 40.0) == (2.0, 1800.0)


def test_below_135_percent_nothing_obliges_a_fuse_to_open() -> None:
    assert gate("blade_c", 1.28, 20.0)[1] == inf
    assert gate("blade_c", 0.5, 20.0) == (360000.0, inf)


def test_a_dead_short_opens_within_the_highest_gate() -> None:
    assert gate("blade_c", 14.0, 25.0) == (0.0, 0.1)


@pytest.mark.parametrize("family", list(families()))
def test_more_current_never_lets_a_fuse_last_longer(family: str) -> None:
    multiples = [0.9, 1.0, 1.1, 1.2, 1.35, 1.5, 1.6, 1.8, 2.0, 2.5, 3.5, 5.0, 6.0, 20.0]
    for rating_a in families()[family].ratings:
        longest = [gate(family, multiple, rating_a)[1] for multiple in multiples]
        least = [gate(family, multiple, rating_a)[0] for multiple in multiples]
        assert longest == sorted(longest, reverse=True), rating_a
        assert least == sorted(least, reverse=True), rating_a
        assert all(low <= high for low, high in zip(least, longest, strict=True)), rating_a


@pytest.mark.parametrize("family", list(families()))
def test_every_rating_made_has_a_resistance_that_falls_with_it(family: str) -> None:
    ratings = families()[family].ratings
    ohms = [families()[family].cold_ohm(rating) for rating in ratings]
    assert list(ratings) == sorted(ratings)
    assert ohms == sorted(ohms, reverse=True)
    assert all(0.00005 < ohm < 0.2 for ohm in ohms)


@pytest.mark.parametrize(
    ("family", "rating_a", "mohm"),
    [("blade_c", 1, 123.0), ("blade_c", 2, 53.5), ("blade_c", 10, 7.70), ("blade_c", 40, 1.44), ("blade_e", 30, 1.9)],
)
def test_cold_resistance_is_the_printed_one(family: str, rating_a: float, mohm: float) -> None:
    assert fuse_ohm(family, rating_a) * 1000 == pytest.approx(mohm, rel=1e-12)


def test_small_current_is_read_with_the_cold_resistance() -> None:
    # 2.4 mV across a 10 A blade is 311.7 mA, not the 220 mA of its drop at rated current
    assert 0.0024 / fuse_ohm("blade_c", 10.0) == pytest.approx(0.3117, abs=5e-5)


def test_melting_energy_does_not_hold_at_200_percent() -> None:
    energy = melting_a2s("blade_e", 40.0)
    assert energy == 8500
    # 1.33 s by I2t, and the gate says no sooner than 2 s
    assert energy / 80**2 == pytest.approx(1.33, abs=0.005)
    assert energy / 80**2 < gate("blade_e", 2.0, 40.0)[0]


def test_melting_energy_lies_inside_the_gates_of_a_short() -> None:
    for family, energy in (("blade_c", 3300), ("blade_e", 8500)):
        assert melting_a2s(family, 40.0) == energy
        for multiple in (3.5, 6.0):
            low, high = gate(family, multiple, 40.0)
            assert low <= energy / (multiple * 40) ** 2 <= high


def test_melting_energy_is_unknown_where_nobody_printed_it() -> None:
    assert melting_a2s("blade_c", 15.0) is None


@pytest.mark.parametrize(("ambient_c", "amps"), [(-40, 40), (20, 40), (65, 34), (75, 32), (85, 30), (125, 22)])
def test_type_e_40_carries_less_in_the_heat(ambient_c: float, amps: float) -> None:
    assert usable_a("blade_e", 40.0, ambient_c) == pytest.approx(amps, abs=1e-9)


@pytest.mark.parametrize(("family", "rating_a", "ambient_c"), [("blade_e", 40.0, 130.0), ("blade_c", 15.0, 60.0)])
def test_no_curve_no_figure(family: str, rating_a: float, ambient_c: float) -> None:
    with pytest.raises(OutOfReach):
        usable_a(family, rating_a, ambient_c)


def test_trade_words_find_the_family() -> None:
    assert [family_named(word).id for word in ("ato", "MINI", "maxi", "midi", "mega")] == [
        "blade_c",
        "blade_f",
        "blade_e",
        "strip_sf30",
        "strip_sf51",
    ]
    with pytest.raises(OutOfReach):
        family_named("plug")


@pytest.mark.parametrize(("family", "rating_a"), [("blade_c", 80.0), ("blade_e", 10.0), ("strip_sf51", 40.0)])
def test_ratings_outside_the_family_are_refused(family: str, rating_a: float) -> None:
    with pytest.raises(OutOfReach):
        fuse_ohm(family, rating_a)
    with pytest.raises(OutOfReach):
        gate(family, 2.0, rating_a)


def test_no_current_is_no_multiple() -> None:
    with pytest.raises(OutOfReach):
        gate("blade_c", 0.0)


def test_colour_goes_with_the_rating() -> None:
    assert [colour_of(rating) for rating in (1.0, 2.0, 10.0, 15.0)] == ["black", "grey", "red", "blue"]
    assert colour_of(35.0) is None
