"""SGN-1 to SGN-3: earths of sensors and controllers, and what volts cannot show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.states.rules import signal
from tests.states.rules.engine_car import PINS, engine_car
from tests.states.small_jobs import Row, findings, wire

SENSOR_PINS: tuple[Row, ...] = (
    *PINS,
    {"id": "S1", "part": "ECU", "terminal": "11", "abilities": "temperature_input"},
    {"id": "S2", "part": "ECU", "terminal": "12", "abilities": "sensor_earth"},
    {"id": "S3", "part": "ECU", "terminal": "13", "abilities": "vr_input"},
    {"id": "S4", "part": "ECU", "terminal": "14", "abilities": "vr_input"},
    {"id": "S5", "part": "ECU", "terminal": "15", "abilities": "power_earth"},
)
SENSORS: tuple[Row, ...] = ({"id": "CLT", "kind": "sensor_ntc"}, {"id": "SP", "kind": "splice"})
SENSOR_WIRES: tuple[Row, ...] = (
    wire("T1", "CLT.1", "ECU.11", "0.5"),
    wire("T2", "CLT.2", "SP.1", "0.5"),
    wire("T3", "SP.2", "ECU.12", "0.5"),
)


def sensor_car(
    *,
    parts: Sequence[Mapping[str, str]] = (),
    wires: Sequence[Mapping[str, str]] = (),
    pins: Sequence[Mapping[str, str]] = SENSOR_PINS,
    without: Sequence[str] = (),
    changed: Mapping[str, Mapping[str, str]] | None = None,
    **sheets: Sequence[Mapping[str, str]],
) -> Job:
    """The engine car with a coolant sensor on a sensor earth splice."""
    return engine_car(
        pins=pins,
        parts=[*SENSORS, *parts],
        wires=[*SENSOR_WIRES, *wires],
        without=without,
        changed=changed,
        **sheets,
    )


def told(rule: str, job: Job) -> dict[str, Finding]:
    """Findings of one rule by their first place."""
    return {one.at[0]: one for one in findings(job, signal) if one.rule == rule}


def test_a_sound_sensor_earth_is_silent():
    assert findings(sensor_car(), signal) == ()


def test_a_loads_earth_in_the_sensor_splice_is_told_at_its_wire():
    found = told("SGN-1", sensor_car(changed={"P4": {"to": "SP.3"}}))
    assert set(found) == {"P4"}
    assert found["P4"].severity == "fault"
    assert found["P4"].found > 5.0
    assert {"PMP", "ECU.12", "T3"} <= set(found["P4"].touches)


def test_a_second_sensor_in_the_splice_is_silent():
    more = [{"id": "IAT", "kind": "sensor_ntc", "settings": "senses=ambient_c"}]
    wires = [wire("T4", "IAT.1", "ECU.16", "0.5"), wire("T5", "IAT.2", "SP.3", "0.5")]
    pins = [*SENSOR_PINS, {"id": "S6", "part": "ECU", "terminal": "16", "abilities": "temperature_input"}]
    assert told("SGN-1", sensor_car(parts=more, wires=wires, pins=pins)) == {}


def test_a_sensor_earth_that_meets_the_body_too_is_told_at_that_wire():
    found = told("SGN-1", sensor_car(wires=[wire("T6", "SP.4", "body", "0.75")]))
    assert "T6" in found
    assert found["T6"].unit == "A"


def test_a_sensor_earthed_at_a_busy_place_is_told_by_its_offset():
    # the pump's 6 A through 3 m of 1 mm2 lift its earth by some 0.4 V: the sensor shares it
    changed = {"T2": {"to": "PMP.-"}, "P4": {"size_mm2": "1", "length_mm": "3000"}}
    found = told("SGN-1", sensor_car(without=("T3",), changed=changed))
    assert found["T2"].unit == "V"
    assert found["T2"].allowed == 0.02
    assert found["T2"].found > 0.2


def test_a_long_thin_sensor_earth_is_told_by_its_offset():
    # a boxed sensor that draws 0.5 A down 4 m of 0.35 mm2 (55 mohm/m): 0.11 V
    more = [{"id": "MAF", "kind": "maf"}]
    wires = [wire("T7", "BR.6", "MAF.supply", "1"), wire("T8", "MAF.signal", "ECU.16", "0.5")]
    pins = [*SENSOR_PINS, {"id": "S6", "part": "ECU", "terminal": "16", "abilities": "analog_input"}]

    def with_earth(size_mm2: str, to: str):
        earth = wire("T9", "MAF.earth", to, size_mm2, "4000")
        return sensor_car(parts=more, wires=[*wires, earth], pins=pins)

    found = told("SGN-1", with_earth("0.35", "SP.3"))
    assert set(found) == {"T3"}
    assert found["T3"].found > 0.05
    assert told("SGN-1", with_earth("1.5", "ECU.15")) == {}


def test_a_load_crimped_into_the_power_earth_is_told_at_its_wire():
    splice = [{"id": "SE", "kind": "splice"}]
    own = [wire("G1", "ECU.15", "SE.1", "1.5"), wire("G2", "SE.2", "engine", "2.5")]
    found = told("SGN-2", sensor_car(parts=splice, wires=own, changed={"P4": {"to": "SE.3"}}))
    assert "P4" in found
    assert {"PMP", "G2"} <= set(found["P4"].touches)
    assert told("SGN-2", sensor_car(parts=splice, wires=own)) == {}


def test_a_lost_engine_strap_shows_in_the_controllers_earth():
    # the starter's current comes back through the second earth of the controller, which lies on the body
    two = [wire("G1", "ECU.15", "body", "1.5")]
    found = told("SGN-2", sensor_car(wires=two, without=("W2",)))
    assert found
    assert max(one.found for one in found.values() if one.found is not None) > 50.0


def test_sensors_and_controllers_may_share_a_power_earth():
    splice = [{"id": "SE", "kind": "splice"}, {"id": "MAF", "kind": "maf"}]
    own = [
        wire("G1", "ECU.15", "SE.1", "1.5"),
        wire("G2", "SE.2", "engine", "2.5"),
        wire("G3", "MAF.earth", "SE.3", "1"),
        wire("G4", "BR.6", "MAF.supply", "1"),
    ]
    assert told("SGN-2", sensor_car(parts=splice, wires=own)) == {}


def coil_sensor(**columns: str) -> Job:
    """The sensor car with a coil sensor, its two wires with the columns given."""
    return sensor_car(
        parts=[{"id": "CRK", "kind": "sensor_vr"}],
        wires=[wire("V1", "CRK.+", "ECU.13", "0.5", **columns), wire("V2", "CRK.-", "ECU.14", "0.5", **columns)],
        cables=[{"id": "C1", "kind": "screened pair", "cores": "2", "drain_to": "ECU.12"}]
        if "cable" in columns
        else [],
    )


def test_an_untwisted_pair_of_a_coil_sensor_is_a_warning():
    found = told("SGN-3", coil_sensor())
    assert set(found) == {"V1"}
    assert found["V1"].severity == "warning"
    assert {"CRK", "V2"} <= set(found["V1"].touches)


def test_a_twisted_a_cabled_and_a_short_pair_are_silent():
    assert told("SGN-3", coil_sensor(twist="T1")) == {}
    assert told("SGN-3", coil_sensor(cable="C1")) == {}
    assert told("SGN-3", coil_sensor(length_mm="250")) == {}


def test_a_pair_in_two_twists_is_no_pair():
    job = sensor_car(
        parts=[{"id": "CRK", "kind": "sensor_vr"}],
        wires=[wire("V1", "CRK.+", "ECU.13", "0.5", twist="T1"), wire("V2", "CRK.-", "ECU.14", "0.5", twist="T2")],
    )
    assert set(told("SGN-3", job)) == {"V1"}


def screened(*wires: Row, drain_to: str = "ECU.12") -> Job:
    """The sensor car with a coil sensor in a screened cable."""
    return sensor_car(
        parts=[{"id": "CRK", "kind": "sensor_vr"}],
        wires=[
            wire("V1", "CRK.+", "ECU.13", "0.5", cable="C1"),
            wire("V2", "CRK.-", "ECU.14", "0.5", cable="C1"),
            *wires,
        ],
        cables=[{"id": "C1", "kind": "screened pair", "cores": "2", "drain_to": drain_to}],
    )


def test_a_screen_joined_at_both_ends_is_a_warning():
    found = told("SGN-3", screened(wire("V3", "CRK.screen", "engine", "0.5")))
    assert set(found) == {"C1"}
    assert "V3" in found["C1"].touches
    assert told("SGN-3", screened()) == {}


def test_a_screen_joined_nowhere_is_a_warning():
    assert set(told("SGN-3", screened(drain_to=""))) == {"C1"}


def test_a_screen_as_a_return_is_a_warning():
    assert "V3" in told("SGN-3", screened(wire("V3", "CRK.-", "CRK.screen", "0.5", "100")))


def test_a_coil_sensors_wire_in_a_noisy_run_is_a_warning():
    def through(noise: str):
        return sensor_car(
            parts=[{"id": "CRK", "kind": "sensor_vr"}],
            wires=[
                wire("V1", "CRK.+", "ECU.13", "0.5", twist="T1", via="R1"),
                wire("V2", "CRK.-", "ECU.14", "0.5", twist="T1", via="R1"),
            ],
            places=[{"id": "here"}, {"id": "there"}],
            runs=[{"id": "R1", "from": "here", "to": "there", "noise": noise}],
        )

    assert set(told("SGN-3", through("ignition leads"))) == {"V1", "V2"}
    assert told("SGN-3", through("")) == {}


def bus(*ohms: str, twist: str = "T9", lengths: Sequence[str] = ("2000", "2000", "2000")) -> Job:
    """The sensor car with a bus: a row of nodes of those ohms, one behind the other."""
    nodes = [
        {"id": f"N{k}", "kind": "can_node", **({"settings": f"ohm={ohm}"} if ohm else {})} for k, ohm in enumerate(ohms)
    ]
    pairs = zip(range(len(ohms) - 1), range(1, len(ohms)), strict=True)
    wires = [
        wire(f"B{a}{side}", f"N{a}.{side}", f"N{b}.{side}", "0.35", lengths[a], twist=twist)
        for a, b in pairs
        for side in "HL"
    ]
    return sensor_car(parts=nodes, wires=wires)


def test_a_bus_with_an_end_resistor_at_each_end_is_silent():
    assert told("SGN-3", bus("120", "", "", "120")) == {}


def test_a_bus_with_one_end_resistor_is_a_warning_with_what_a_meter_reads():
    (found,) = told("SGN-3", bus("120", "", "")).values()
    # 120 ohm beside two inputs of 30 kohm
    assert abs(found.found - 119.05) < 0.1
    assert found.allowed == 60.0


def test_a_bus_with_three_end_resistors_is_a_warning():
    (found,) = told("SGN-3", bus("120", "120", "120")).values()
    assert abs(found.found - 40.0) < 1e-6


def test_an_end_resistor_in_the_middle_is_a_warning_at_the_far_node():
    found = told("SGN-3", bus("120", "120", ""))
    assert set(found) == {"N2"}
    assert found["N2"].found == 2000.0
    assert told("SGN-3", bus("120", "120", "", lengths=("2000", "500"))) == {}


def test_a_bus_whose_wires_lie_apart_is_a_warning():
    assert set(told("SGN-3", bus("120", "120", twist=""))) == {"B0H"}


def test_exchanged_bus_wires_are_a_warning_at_the_part():
    job = sensor_car(
        parts=[{"id": f"N{k}", "kind": "can_node", "settings": "ohm=120"} for k in range(2)],
        wires=[wire("B1", "N0.H", "N1.L", "0.35", twist="T9"), wire("B2", "N0.L", "N1.H", "0.35", twist="T9")],
    )
    assert any("exchanged" in one.wrong for one in told("SGN-3", job).values())
