"""The rating a fuse gets: what it carries for ever, what it lets pass, what it stands at the first rush."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.sizing.demand import CRANKING, STEADY, Worst
from loomwright.sizing.fuse_choice import RushMet, asks_of, least_melting_a2s, passing_factor, usable
from loomwright.sizing.open_cells import OpenFuse
from loomwright.tables.fuses import breaker_ratings, family_named
from tests.states.small_jobs import car

BLADE = OpenFuse(part="F1", family="blade_c", ratings=family_named("blade_c").ratings)
MAXI = OpenFuse(part="F1", family="blade_e", ratings=family_named("blade_e").ratings)
GLASS = OpenFuse(part="F1", family="glass", ratings=family_named("glass").ratings)
BREAKER = OpenFuse(part="F1", family="", ratings=breaker_ratings())
NO_RUSH = RushMet(amps=0.0, time_s=0.0, values=None)


def worst(amps: float, moment: str = STEADY) -> Worst:
    return Worst(amps=amps, moment=moment, ambient_c=40.0, turning=True, values=np.zeros(3, np.int64))


def asked(fuse: OpenFuse, *worsts: Worst, rush: RushMet = NO_RUSH, ambient_c: float = 60.0) -> dict[str, float | None]:
    return {ask.limit: ask.least_a for ask in asks_of(fuse, worsts, rush, ambient_c)}


@pytest.mark.parametrize(("amps", "rating"), [(7.5, 10.0), (7.51, 15.0), (11.25, 15.0), (2.2, 3.0), (30.0, 40.0)])
def test_three_quarters_of_the_rating_carry_the_load(amps, rating):
    assert asked(BLADE, worst(amps)) == {"load": rating}


def test_the_makers_curve_counts_where_there_is_one():
    # printed: 34 A at 65 degC, 30 A at 85 degC; three quarters of 40 A would be 30 A at any ambient
    assert usable(MAXI, 40.0, 65.0) == (34.0, "fuse-note")
    assert usable(MAXI, 30.0, 65.0) == (22.5, "common-practice")
    assert asked(MAXI, worst(33.0), ambient_c=65.0) == {"load": 40.0}
    assert asked(MAXI, worst(33.0), ambient_c=85.0) == {"load": 50.0}


def test_more_than_the_family_is_made_for_has_no_rating():
    assert asked(BLADE, worst(30.1)) == {"load": None}


def test_what_flows_while_a_starter_is_fed_passes_by_the_gates():
    # blade fuses stand 110 % for 100 hours and 135 % for less than a second
    assert passing_factor(BLADE, 10.0) == pytest.approx(1.1)
    assert asked(BLADE, worst(1.0), worst(11.0, CRANKING)) == {"load": 2.0, "starting": 10.0}
    assert asked(BLADE, worst(1.0), worst(11.1, CRANKING)) == {"load": 2.0, "starting": 15.0}


def test_a_rush_is_held_against_the_least_energy_its_gates_allow():
    # 350 % for 0.04 s at least: (3.5 x 10)^2 x 0.04 = 49; 200 % for 0.15 s: 60; 600 % for 0.02 s: 72
    assert least_melting_a2s(BLADE, 10.0) == pytest.approx(49.0)
    assert least_melting_a2s(GLASS, 10.0) is None
    # 30 A that take 0.3 s: half of 900 x 0.1 = 45
    fits = RushMet(amps=30.0, time_s=0.3, values=None)
    assert fits.energy_a2s == pytest.approx(45.0)
    assert asked(BLADE, worst(3.0), rush=fits) == {"load": 4.0, "rush": 10.0}
    longer = RushMet(amps=30.0, time_s=0.4, values=None)
    assert asked(BLADE, worst(3.0), rush=longer) == {"load": 4.0, "rush": 15.0}


def test_glass_and_breakers_are_not_held_against_a_rush():
    rush = RushMet(amps=90.0, time_s=0.5, values=None)
    assert asked(GLASS, worst(3.0), rush=rush) == {"load": 5.0}
    assert asked(BREAKER, worst(7.4), rush=rush) == {"load": 10.0}


def test_the_lamps_of_one_switch_rush_through_their_fuse_together():
    second = {
        "parts": [{"id": "LA2", "kind": "lamp", "circuit": "work", "settings": "watt=21"}],
        "wires": [
            {"id": "W8", "from": "SW1.2", "to": "LA2.1", "size_mm2": "1.5", "length_mm": "1000"},
            {"id": "W9", "from": "LA2.2", "to": "body", "size_mm2": "1.5", "length_mm": "1000"},
        ],
    }
    one = Car(car(changed={"F1": {"settings": ""}})).sized().fuses["F1"]
    two = Car(car(changed={"F1": {"settings": ""}}, **second)).sized().fuses["F1"]
    rushes = [next(ask.found for ask in fuse.asks if ask.limit == "rush") for fuse in (one, two)]
    # twice the current would be four times the energy; the loop's resistance takes some of it
    assert 2.0 * rushes[0] < rushes[1] < 4.0 * rushes[0]


def test_what_flows_on_already_adds_to_the_rush():
    steady = {
        "parts": [{"id": "HT", "kind": "heater", "settings": "watt=100"}],
        "wires": [
            {"id": "W8", "from": "F1.2", "to": "HT.1", "size_mm2": "2.5", "length_mm": "500"},
            {"id": "W9", "from": "HT.2", "to": "body", "size_mm2": "2.5", "length_mm": "500"},
        ],
    }
    lone, beside = (
        next(ask.found for ask in Car(car(changed={"F1": {"settings": ""}}, **more)).sized().fuses["F1"].asks
             if ask.limit == "rush")
        for more in ({}, steady)
    )  # fmt: skip
    # 15 to 20 A of the cold lamp by the fuse it gets, and some 8.5 A of a heater of 100 W that is on all the while
    assert 1.0 + 8.0 / 20.0 < (beside / lone) ** 0.5 < 1.0 + 9.0 / 15.0


def test_a_given_wire_that_does_not_stand_the_rating_is_named():
    job = car(changed={"F1": {"settings": ""}, "LA1": {"settings": "watt=160"}, "W6": {"size_mm2": "0.5"}})
    sized = Car(job).sized()
    [told] = [one for one in sized.unsettled if one.cell == "F1.rating_a"]
    assert "W6" in told.why
    assert "W6" in told.mend
    assert sized.fuses["F1"].rating_a is None
    assert sized.ratings_a() == {}


@pytest.mark.parametrize(
    ("inrush_a", "asks_for_it"),
    [
        # 10 A at 13.5 V is 1.35 ohm, at first 13.5 V over the inrush; wires and battery add some 0.03 ohm to both
        ("13.5", False),  # 1.38 / (1.0 + 0.03) = 1.34 times the steady current: below what opens a blade fuse at all
        ("14.0", True),  # 1.38 / (0.964 + 0.03) = 1.39 times
    ],
)
def test_a_first_current_that_opens_no_blade_fuse_is_no_rush(inrush_a, asks_for_it):
    # the lowest gate of `fuse_gates.csv` at which a blade fuse has to open is 1.35 times its rating
    settings = f"running_a=10; inrush_a={inrush_a}; inrush_s=1"
    motor = {"LA1": {"kind": "motor", "settings": settings}, "W6": {"to": "LA1.+"}, "W7": {"from": "LA1.-"}}
    asks = Car(car(changed={"F1": {"settings": ""}, **motor})).sized().fuses["F1"].asks
    assert ("rush" in {ask.limit for ask in asks}) == asks_for_it
