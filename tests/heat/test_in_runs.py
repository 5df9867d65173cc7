"""The wires of a car where they lie: whose air counts, what company makes of them, and when one is too hot."""

from __future__ import annotations

from math import isinf

import pytest

from loomwright.car import Car
from loomwright.heat.in_runs import Warm, warm
from loomwright.heat.still_air import pressure_kpa_at
from tests.states.small_jobs import car, wire

PLACES = (
    {"id": "box", "ambient_c": "60"},
    {"id": "nose", "ambient_c": "50"},
    {"id": "dash", "ambient_c": "40"},
)
RUNS = (
    {"id": "R1", "from": "box", "to": "nose", "length_mm": "900"},
    {"id": "R2", "from": "dash", "to": "box", "length_mm": "1200"},
)
AT = {"BAT": "box", "F1": "box", "KEY": "dash", "SW1": "dash", "LA1": "nose"}
CLASS = {"insulation": "B"}
FULL_A = 30.83 * (7.60 / 7.98) ** 0.5
"""What brings 2.5 mm2 from air of 60 degC to 105 degC: docs/method/heat.md has 30.83 A for one of 7.60 mohm/m, and
a metric one has 7.98 (IEC 60228 class 5) [A]."""


def warmed(amps, *more, **asked) -> Warm:
    """W6 goes from the dash through the box to the nose; rows in `more` lie beside it."""
    edits = {part: {"place": place} for part, place in AT.items()}
    edits |= {"W6": {"size_mm2": "2.5", "length_mm": "", **CLASS}, "W5": {"length_mm": ""}}
    built = Car(car(places=PLACES, runs=RUNS, changed=edits, wires=more))
    return warm(built.job, built.kinds, built.routes, amps, **asked)


def beside(name: str, size_mm2: str = "2.5"):
    return wire(name, "SW1.2", "LA1.1", size_mm2, "", **CLASS)


def test_the_hottest_air_it_passes_counts_though_neither_end_lies_there():
    one = warmed({"W6": FULL_A}).wires["W6"]
    assert (one.ambient_c, one.at) == (60.0, "box")
    assert one.alone_c == pytest.approx(105.0, abs=0.5)


def test_alone_in_a_run_it_is_as_warm_as_by_itself_and_beside_one_that_carries_nothing_cooler():
    found = warmed({"W6": FULL_A})
    one = found.wires["W6"]
    in_run_c = {each.run: each.copper_c for each in one.runs}
    # the feed of the key, W4, lies in R2 as well
    assert in_run_c["R1"] == pytest.approx(one.alone_c, abs=0.1)
    assert 60.0 < in_run_c["R2"] < one.alone_c - 5.0
    assert found.runs["R2"].warmest == "W6"
    # the hotter of the two ends of a run is its air
    assert [found.runs[run].ambient_c for run in ("R1", "R2")] == [60.0, 60.0]


def test_company_makes_too_hot_what_by_itself_is_not():
    amps = 0.9 * FULL_A
    lone = warmed({"W6": amps}, beside("W8"), beside("W9")).wires["W6"]
    assert lone.copper_c < 105.0
    assert not lone.is_too_hot
    found = warmed({"W6": amps, "W8": amps, "W9": amps}, beside("W8"), beside("W9"))
    one = found.wires["W6"]
    # three that are all loaded carry 0.73 of what one does (docs/method/heat.md)
    assert one.alone_c == pytest.approx(lone.alone_c, abs=0.01)
    assert one.copper_c > 105.0 > one.alone_c
    assert one.is_too_hot
    assert one.where in ("R1", "R2")
    assert one.copper_c == max(each.copper_c for each in one.runs)
    hot = found.runs[one.where]
    assert hot.copper_c == max(found.wires[name].copper_c for name in ("W6", "W8", "W9"))
    assert found.wires[hot.warmest].copper_c == hot.copper_c
    assert 60.0 < hot.surface_c < hot.copper_c


def test_three_that_carry_what_three_may_are_as_warm_as_their_class():
    # 0.73 of what one carries, worked by hand in docs/method/heat.md by Morgan's law; ours is a few K beside it
    amps = 0.73 * FULL_A
    found = warmed(dict.fromkeys(("W6", "W8", "W9"), amps), beside("W8"), beside("W9"))
    assert found.runs["R1"].copper_c == pytest.approx(105.0, abs=3.0)


def test_a_wire_that_carries_nothing_is_as_warm_as_its_company_makes_it():
    found = warmed({"W8": 20.0}, beside("W8"))
    one = found.wires["W6"]
    assert (one.amps, one.alone_c) == (0.0, pytest.approx(60.0, abs=0.01))
    assert 60.0 < one.copper_c < found.wires["W8"].copper_c
    assert one.where in ("R1", "R2")


def test_thin_air_is_hotter_and_a_current_no_wire_stands_never_settles():
    sea, high = (warmed({"W6": 25.0}, pressure_kpa=kpa).wires["W6"].alone_c for kpa in (None, pressure_kpa_at(3000.0)))
    assert high > sea + 1.0
    melted = warmed({"W6": 400.0}).wires["W6"]
    assert isinf(melted.alone_c)
    assert melted.is_too_hot


def test_a_wire_of_unknown_size_or_measured_resistance_is_named_with_why():
    found = warmed({}, beside("W8", ""), {**beside("W9"), "ohm_per_m": "3"})
    assert "no size" in found.left_out["W8"]
    assert "measured" in found.left_out["W9"]
    assert {"W8", "W9"}.isdisjoint(found.wires)
    assert set(found.runs["R1"].left_out) == {"W8", "W9"}


def test_the_peak_is_asked_only_of_wires_that_are_named_and_is_no_more_than_steady():
    found = warmed({"W6": 25.0, "W8": 20.0}, beside("W8"), on_off_s=(20.0, 40.0), after_s=20.0, only=("W6",))
    one = found.wires["W6"]
    assert 60.0 < one.after_c < one.peak_c < one.alone_c
    assert found.wires["W8"].peak_c is None
