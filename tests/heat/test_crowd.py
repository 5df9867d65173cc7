"""A bundle: what its wires make of one another."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.heat.crowd import crowd_heat, laid
from loomwright.heat.one_wire import bodies_of, carries_a, settled_c
from loomwright.heat.still_air import Around, lost_w_per_m
from loomwright.refusals import OutOfReach
from tests.heat.bundles import most_times

AROUND = Around(ambient_c=60.0, law="morgan")
RATIO = {2: 2.0, 3: 2.1547, 7: 3.0, 8: 3.3048, 12: 4.0296, 19: 4.8637, 35: 6.6972}


def bundle(count: int, size_mm2: float = 2.5):
    return bodies_of([size_mm2] * count, gauge="road"), RATIO[count] * 3.0


def test_one_wire_in_its_own_ring_is_one_wire():
    body = bodies_of([1.5])
    found = crowd_heat(np.array([20.0]), body, AROUND, bundle_mm=2.4)
    assert found.copper_c[0] == pytest.approx(settled_c(np.array([20.0]), body, AROUND)[0], abs=1e-3)


# a rod that makes heat evenly, its middle q / (4 pi k) above its surface: by hand for 2.5 mm2, 60 to 105 degC
@pytest.mark.parametrize(
    ("count", "factor"), [(2, 0.87), (3, 0.73), (7, 0.53), (8, 0.51), (12, 0.44), (19, 0.37), (35, 0.30)]
)
def test_bundles_all_loaded_carry_what_an_even_rod_does(count, factor):
    bodies, thick_mm = bundle(count)
    one_a = float(carries_a(105.0, bodies, AROUND)[0])
    found = most_times(np.full(count, one_a), bodies, AROUND, bundle_mm=thick_mm, limit_c=105.0)
    assert found == pytest.approx(factor, abs=0.012)


# printed beside worked examples of a handbook: eight wires 60 % loaded; from memory: twelve all loaded, 35 at 20 %
@pytest.mark.parametrize(
    ("count", "loaded", "printed", "within"), [(8, 5, 0.6, 0.06), (12, 12, 0.43, 0.03), (35, 7, 0.52, 0.06)]
)
def test_bundles_are_near_the_handbooks_derating(count, loaded, printed, within):
    bodies, thick_mm = bundle(count)
    amps = np.zeros(count)
    amps[:loaded] = float(carries_a(105.0, bodies, AROUND)[0])
    found = most_times(amps, bodies, AROUND, bundle_mm=thick_mm, limit_c=105.0)
    assert abs(found - printed) <= within


def test_what_is_made_leaves():
    bodies, thick_mm = bundle(19)
    amps = np.linspace(0.0, 20.0, 19)
    found = crowd_heat(amps, bodies, AROUND, bundle_mm=thick_mm)
    made = float(np.sum(amps**2 * bodies.ohm_per_m(found.copper_c)))
    assert found.heat_w_per_m == pytest.approx(made, rel=1e-6)
    lost = lost_w_per_m(np.array([found.surface_c]), np.array([thick_mm]), AROUND)[0]
    assert lost == pytest.approx(made, rel=1e-4)


def test_a_wire_that_carries_nothing_is_warmed_by_the_others_and_less_warm_than_they():
    bodies, thick_mm = bundle(7)
    amps = np.array([20.0] * 6 + [0.0])
    found = crowd_heat(amps, bodies, AROUND, bundle_mm=thick_mm)
    assert found.surface_c < found.copper_c[6] < np.min(found.copper_c[:6])


def test_more_company_is_never_cooler():
    hottest = []
    for count in (2, 3, 7, 12, 19, 35):
        bodies, thick_mm = bundle(count)
        hottest.append(float(crowd_heat(np.full(count, 10.0), bodies, AROUND, bundle_mm=thick_mm).copper_c.max()))
    assert hottest == sorted(hottest)


def test_heat_that_makes_more_heat_than_leaves_has_no_temperature():
    bodies, thick_mm = bundle(35)
    found = crowd_heat(np.full(35, 60.0), bodies, AROUND, bundle_mm=thick_mm)
    assert np.all(np.isinf(found.copper_c))


def test_a_sleeve_warms_the_wires_by_its_wall_over_its_own_surface():
    bodies, thick_mm = bundle(7)
    walled = crowd_heat(np.full(7, 15.0), bodies, AROUND, bundle_mm=thick_mm, covering_mm=1.0)
    lost = lost_w_per_m(np.array([walled.surface_c]), np.array([thick_mm + 2.0]), AROUND)[0]
    assert lost == pytest.approx(walled.heat_w_per_m, rel=1e-4)
    step = walled.heat_w_per_m * np.log((thick_mm + 2.0) / thick_mm) / (2.0 * np.pi * 0.19)
    assert float(np.min(walled.copper_c)) > walled.surface_c + step


def test_the_warmest_lies_inmost_and_nothing_lies_outside():
    heats = np.array([0.0, 5.0, 1.0, 3.0])
    thick = np.array([2.0, 3.0, 2.0, 2.5])
    at = np.hypot(*laid(heats, thick, 4.0).T)
    assert list(np.argsort(at)[:2]) == [1, 3]
    assert np.all(at + thick / 2.0 <= 4.0 + 1e-9)


def test_no_wires_and_a_bundle_thinner_than_a_wire_are_refused():
    with pytest.raises(OutOfReach, match="bundle_mm"):
        crowd_heat(np.array([1.0]), bodies_of([2.5]), AROUND, bundle_mm=1.0)
    with pytest.raises(OutOfReach, match="wires"):
        crowd_heat(np.array([]), bodies_of([]), AROUND, bundle_mm=1.0)
