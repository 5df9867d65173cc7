"""Wire gauges: geometry by the definition, and the number that is written."""

import pytest

from loomwright.quantities.gauge import gauge_size_mm2, read_gauge
from loomwright.refusals import OutOfReach


def test_the_two_fixed_points_of_the_definition():
    # 36 is 0.005 in = 0.127 mm across, 0000 is 0.46 in = 11.684 mm across; area = 0.785398 * d * d
    assert gauge_size_mm2(36) == pytest.approx(0.785398 * 0.127**2, rel=1e-5)
    assert gauge_size_mm2(-3) == pytest.approx(0.785398 * 11.684**2, rel=1e-5)


def test_a_thicker_wire_has_a_smaller_number():
    sizes = [gauge_size_mm2(number) for number in range(-3, 41)]
    assert sizes == sorted(sizes, reverse=True)


@pytest.mark.parametrize("number", [-4, 41])
def test_numbers_outside_are_refused(number):
    with pytest.raises(OutOfReach) as caught:
        gauge_size_mm2(number)
    assert caught.value.found == number


def test_names_are_read():
    assert [read_gauge(f"{number} AWG") for number in range(1, 41)] == list(range(1, 41))
    assert [read_gauge(f"{noughts} AWG") for noughts in ("0000", "000", "00", "0")] == [-3, -2, -1, 0]
    assert read_gauge("4/0 awg") == -3
    assert read_gauge("AWG 0") == 0
    assert read_gauge("16") is None
    assert read_gauge("AWG") is None
