"""Dead tests: a band from copper, length and joints; what the body sees is what the meter on the network says."""

from __future__ import annotations

import pytest

from loomwright.handover.dead_tests import dead_tests, ohms_text, whole_wire_ohm
from loomwright.handover.probing import Ohms, ohms_between
from loomwright.job.rows import Wire
from loomwright.network.records import Changes
from tests.handover.bench_van import bench_car
from tests.handover.van import changed, rows, wire


@pytest.fixture(scope="module")
def car():
    """The small van."""
    return bench_car(rows())


@pytest.fixture(scope="module")
def groups(car):
    """Its dead tests."""
    return dead_tests(car.filled, car.kinds, car.compiled)


def by_wire(groups):
    """Wire -> its test."""
    return {test.mark.id: test for group in groups for test in group.tests}


def test_the_band_runs_from_full_copper_to_the_worst_of_the_table_with_its_crimps():
    # 2 m of 1.5 mm²: 0.017241 * 2 / 1.5 = 22.99 mOhm; 13.3 mOhm/m * 2 * 274.5 / 254.5 + 2 * 0.5 = 29.69 mOhm
    least, most = whole_wire_ohm(Wire(id="W1", size_mm2=1.5, length_mm=2000.0), 40.0)
    assert least == pytest.approx(0.022988, abs=1e-6)
    assert most == pytest.approx(0.029690, abs=1e-5)


@pytest.mark.parametrize(("size_mm2", "length_mm"), [(1.0, 900.0), (0.5, 500.0)])
def test_a_longer_or_thinner_wire_never_reads_less(size_mm2, length_mm):
    low = whole_wire_ohm(Wire(id="W1", size_mm2=1.0, length_mm=500.0), 40.0)
    high = whole_wire_ohm(Wire(id="W1", size_mm2=size_mm2, length_mm=length_mm), 40.0)
    assert low[0] < high[0]
    assert low[1] < high[1]


def test_a_measured_resistance_goes_before_the_table():
    least, most = whole_wire_ohm(Wire(id="W1", ohm_per_m=0.5, length_mm=2000.0), 20.0)
    assert (least, most) == (pytest.approx(1.0), pytest.approx(1.001))


def test_without_a_length_or_a_size_there_is_no_band(car):
    assert whole_wire_ohm(Wire(id="W1", size_mm2=1.5), 40.0) is None
    assert whole_wire_ohm(Wire(id="W1", length_mm=100.0), 40.0) is None
    open_one = bench_car(changed("wires", "W7", length_mm=""))
    test = by_wire(dead_tests(open_one.filled, open_one.kinds, open_one.compiled))["W7"]
    assert test.whole == "length or size open"


def test_the_reading_of_every_wire_is_what_the_meter_alone_says(car):
    points = ["ECU.A1", "KF.86", "KEY.15", "TL.1", "F1.2", "FAN.+", "VALVE.2", "BAT.-", "F2.2"]
    together = ohms_between(car.filled, car.kinds, car.compiled, [(point, "body") for point in points])
    for point, ohms in zip(points, together, strict=True):
        alone = car.ohms(point, "body", {}, changes=Changes(unplugged=("ECU",)))
        if alone.value is None:
            assert ohms.forward_ohm is None, point
        else:
            assert ohms.forward_ohm == pytest.approx(alone.value, rel=1e-3), point


def test_readings_against_loose_points_asked_at_once_are_those_asked_one_by_one(car):
    # each loose point is held by a large resistance: many of them at once once read as one leak of some 600 kohm
    pins = [f"ECU.A{number}" for number in range(1, 5)]
    pairs = [(pin, other) for pin in pins for other in ("body", "BAT.+", "KEY.15", "TL.1", *pins) if pin != other] * 4
    together = ohms_between(car.filled, car.kinds, car.compiled, pairs)
    for pair, ohms in zip(pairs[: len(pairs) // 4], together, strict=False):
        (alone,) = ohms_between(car.filled, car.kinds, car.compiled, [pair])
        if alone.forward_ohm is None:
            assert ohms.forward_ohm is None, pair
        else:
            assert ohms.forward_ohm == pytest.approx(alone.forward_ohm, rel=1e-6), pair


def test_a_lamp_is_its_cold_filament_and_a_fed_wire_with_nothing_behind_it_is_open(groups):
    tests = by_wire(groups)
    assert tests["W7"].to_body.endswith(" Ω")
    # both tail lamps, 5 W at 12 V: 28.8 ohm hot, a twelfth of it cold
    assert float(tests["W7"].to_body.removesuffix(" Ω")) == pytest.approx(28.8 / 12 / 2, abs=0.2)
    assert tests["W7"].through == "TL TR"
    assert (tests["W3"].to_body, tests["W3"].through) == ("open", "")


def test_an_earth_wire_reads_nothing_to_the_body(groups):
    assert by_wire(groups)["W9"].to_body == "0 Ω"


def test_a_chafed_wire_would_be_seen(car):
    sheets = rows()
    sheets["wires"].append(wire("W99", "F2.2", "body", "fan"))
    chafed = bench_car(sheets)
    tests = by_wire(dead_tests(chafed.filled, chafed.kinds, chafed.compiled))
    assert tests["W14"].to_body == "0 Ω"
    assert by_wire(dead_tests(car.filled, car.kinds, car.compiled))["W14"].to_body == "open"


def test_the_plugs_of_the_controller_come_first_by_pin_with_the_probe_there(groups):
    first = groups[0]
    assert first.title.startswith("ECU, at its plugs")
    assert [(test.near, test.far) for test in first.tests] == [
        ("ECU.A1", "KEY.15"),
        ("ECU.A2", "body"),
        ("ECU.A3", "KF.85"),
        ("ECU.A4", "VALVE.2"),
    ]


def test_only_what_is_new_is_tested(groups):
    told = by_wire(groups)
    assert "W15" not in told  # kept
    assert "W23" not in told  # taken out
    assert len(told) == 22


def test_a_diode_in_the_way_is_told_both_ways_round():
    sheets = rows()
    sheets["parts"].append({"id": "D1", "kind": "diode"})
    sheets["wires"] += [wire("W60", "F2.2", "D1.a", "fan"), wire("W61", "D1.k", "body", "fan")]
    told = bench_car(sheets)
    said = by_wire(dead_tests(told.filled, told.kinds, told.compiled))["W60"].to_body
    ohm, _, rest = said.partition(" Ω with red on the wire, ")
    # a milliamp through a silicon diode leaves 0.4 to 0.7 V across it
    assert 400.0 < float(ohm) < 700.0
    assert rest == "open with black on it"


@pytest.mark.parametrize(
    ("ohm", "said"),
    [(None, "open"), (0.02, "0 Ω"), (0.27, "0.3 Ω"), (5.549, "5.55 Ω"), (1020.0, "1.02 kΩ")],
)
def test_ohms_are_told_as_a_meter_shows_them(ohm, said):
    assert ohms_text(Ohms(forward_ohm=ohm, backward_ohm=ohm, through=())) == said
