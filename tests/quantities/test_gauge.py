"""Wire gauges: geometry by the definition, and the nearest number to a size."""

import pytest

from loomwright.quantities.gauge import gauge_name, gauge_of, gauge_size_mm2, read_gauge
from loomwright.refusals import OutOfReach


def test_the_two_fixed_points_of_the_definition():
    # 36 is 0.005 in = 0.127 mm across, 0000 is 0.46 in = 11.684 mm across; area = 0.785398 * d * d
    assert gauge_size_mm2(36) == pytest.approx(0.785398 * 0.127**2, rel=1e-5)
    assert gauge_size_mm2(-3) == pytest.approx(0.785398 * 11.684**2, rel=1e-5)


def test_a_thicker_wire_has_a_smaller_number():
    sizes = [gauge_size_mm2(number) for number in range(-3, 41)]
    assert sizes == sorted(sizes, reverse=True)


def test_a_size_gives_back_its_number():
    assert [gauge_of(gauge_size_mm2(number)) for number in range(-3, 41)] == list(range(-3, 41))


@pytest.mark.parametrize(("size_mm2", "number"), [(0.5, 20), (0.75, 18), (1.5, 15), (2.5, 13), (6.0, 9), (35.0, 2)])
def test_metric_sizes_have_their_nearest_number(size_mm2, number):
    assert gauge_of(size_mm2) == number


@pytest.mark.parametrize("number", [-4, 41])
def test_numbers_outside_are_refused(number):
    with pytest.raises(OutOfReach) as caught:
        gauge_size_mm2(number)
    assert caught.value.found == number


@pytest.mark.parametrize("size_mm2", [0.0, -1.0, 1e-6, 500.0, float("nan"), float("inf")])
def test_sizes_outside_are_refused(size_mm2):
    with pytest.raises(OutOfReach):
        gauge_of(size_mm2)


def test_names_are_read_back():
    for number in range(-3, 41):
        assert read_gauge(gauge_name(number)) == number
    assert read_gauge("4/0 awg") == -3
    assert read_gauge("AWG 0") == 0
    assert read_gauge("16") is None
    assert read_gauge("AWG") is None
