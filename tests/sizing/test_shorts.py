"""The current of a dead short, how long the fuse lasts, how hot the wire gets, against arithmetic shown here."""

from __future__ import annotations

from math import inf

import pytest

from loomwright.sizing.fused import Fuse
from loomwright.sizing.shorts import HotWays, clearing_s, loop_of, short_a, short_c
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.ratings.wire_limits import WireLimit, limits_of
from tests.states.small_jobs import car, scene, wire


def fuse(rating_a: float | None, family: str = "blade_c", what: str = "fuse") -> Fuse:
    return Fuse(part="F1", element=0, what=what, rating_a=rating_a, family=family, trips_at=1.5)


def limit(size_mm2: float, insulation_c: float = 105.0) -> WireLimit:
    return WireLimit(wire="W1", size_mm2=size_mm2, insulation_c=insulation_c, ambient_c=40.0, excess_k=0.0)


@pytest.mark.parametrize(
    ("rating_a", "family", "amps", "seconds"),
    [
        (40.0, "blade_c", 54.0, 600.0),  # 135 %
        (40.0, "blade_c", 80.0, 5.0),  # 200 %
        (40.0, "blade_e", 80.0, 50.0),
        (40.0, "blade_e", 240.0, 1.0),  # 600 %
        (40.0, "blade_e", 480.0, 0.25),  # 1200 %: as much I2t as at 600 %
        (40.0, "blade_e", 160.0, 5.359375),  # 400 %: 7 s x (3.5 / 4)^2; by the gate of 200 % it would be 12.5 s
    ],
)
def test_a_fuse_lasts_as_long_as_its_gates_allow(rating_a, family, amps, seconds):
    assert clearing_s(fuse(rating_a, family), amps) == pytest.approx(seconds)


def test_below_the_lowest_gate_it_need_never_open():
    assert clearing_s(fuse(20.0), 25.0) == inf


def test_what_nobody_printed_is_not_known():
    assert clearing_s(fuse(20.0, "glass"), 400.0) is None
    assert clearing_s(fuse(20.0, what="breaker"), 400.0) is None
    assert clearing_s(fuse(None), 400.0) is None


def test_a_breaker_below_its_trip_stays_closed():
    assert clearing_s(fuse(20.0, what="breaker"), 25.0) == inf


def test_the_loop_of_a_far_short_is_the_sum_of_its_pieces():
    job = car(
        changed={"BAT": {"settings": "internal_ohm=0.008"}, "F1": {"settings": "rating_a=25"},
                 "W3": {"size_mm2": "16", "length_mm": "1500"}},
        without=("W4",),
        wires=[wire("W8", "F1.2", "SW1.1", "2.5", "3000")],
    )  # fmt: skip
    seen = scene(job)
    conduction, limits = conduction_of(seen), limits_of(seen)
    hot = (234.5 + 70.0) / 254.5  # copper at 70 degC over 20 degC
    warm = (234.5 + 40.0) / 254.5  # as the network has it at 40 degC
    lead = (0.00121 * 1.5 * warm + 0.0006) * hot / warm
    far = (0.00798 * 3.0 * warm + 0.0006) * hot / warm
    strap = (0.000780 * 0.5 * warm + 0.0006) * hot / warm
    element = seen.compiled.elements_of["F1.fuse"][0]
    own = 0.002542 + 0.001  # 25 A between the rows of 10 and 40 A, and its clips
    expected = 12.6 / (0.008 + lead + own + far + strap)
    (loop,) = loop_of(seen, conduction, limits, Fuse(part="F1", element=element, what="fuse", rating_a=25.0))
    found = short_a(loop, seen.ends(seen.compiled.elements_of["W8"][0]))
    # 8 + 2.8 + 3.5 + 29.3 + 1.1 mohm: 281 A
    assert expected == pytest.approx(281.0, abs=1.0)
    assert found == pytest.approx(expected, rel=1e-4)


def test_a_fuse_put_in_the_other_way_round_has_the_same_loop():
    turned = car(changed={"W3": {"to": "F1.2"}, "W4": {"from": "F1.1"}})
    amps = []
    for job in (car(), turned):
        seen = scene(job)
        element = seen.compiled.elements_of["F1.fuse"][0]
        own = Fuse(part="F1", element=element, what="fuse", rating_a=10.0)
        (loop,) = loop_of(seen, conduction_of(seen), limits_of(seen), own)
        amps.append(short_a(loop, seen.ends(seen.compiled.elements_of["W6"][0])))
    assert amps[0] is not None
    assert amps[0] == amps[1]


BESIDE = [wire("R1", "BAT.+", "F2.1", "4", "200"), wire("R2", "F2.2", "F1.2", "4", "200")]
"""A second fuse across the first: each feeds the other's far side."""


@pytest.mark.parametrize(("beside", "reached"), [([], 3), (BESIDE, 4)])
def test_the_way_to_a_fuse_is_the_least_that_does_not_pass_it(beside, reached):
    # of the four sides that two fuses have only the far one of the first hangs on the fuse alone
    fuse_2 = {"id": "F2", "kind": "fuse", "settings": "rating_a=15"}
    seen = scene(car(parts=[fuse_2], wires=beside or [wire("R1", "BAT.+", "F2.1"), wire("R2", "F2.2", "BAT.+")]))
    ways = HotWays(scene=seen, conduction=conduction_of(seen), limits=limits_of(seen))
    live, earth = ways.conduction.live_post, ways.conduction.earth
    found = {}
    for name in ("F1.fuse", "F2.fuse"):
        (element,) = seen.compiled.elements_of[name]
        for node in seen.ends(element):
            least = ways.least_ohms(live, lambda k, other, own=element: k != own and other not in earth).get(node)
            found[name, node] = ways.to_fuse_ohm(element, node)
            assert found[name, node] == least
    assert sum(ohm is not None for ohm in found.values()) == reached


def test_a_wire_stands_what_no_heat_needs_to_leave():
    # (87.4 x 1.5)^2 = 17 187 A2s against 400^2 x 0.1 = 16 000
    assert short_c(limit(1.5), amps=400.0, time_s=0.1) == 160.0


def test_a_wire_that_is_left_in_a_short_ends_at_its_steady_temperature():
    # 1.5 mm2 stands 25.4 A at 40 degC: 40 A for ever are 40 + 65 x (40 / 25.4)^2 = 201 degC
    assert short_c(limit(1.5), amps=40.0, time_s=inf) == pytest.approx(201.0, abs=1.0)


def test_crosslinked_insulation_stands_more():
    assert short_c(limit(1.5, 125.0), amps=400.0, time_s=0.15) == 250.0
