"""SNK-2: a ballast before a coil that has its own igniter."""

from __future__ import annotations

from loomwright.states.rules import sneak
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import findings, wire

BALLAST = [{"id": "BLS", "kind": "ballast", "settings": "ohm=1.4", "circuit": "ignition"}]
BEHIND = [wire("I6", "BLS.15a", "COL.supply", "1.5", "300", circuit="ignition")]
MOVED = {"I3": {"to": "BLS.15"}}


def snk_2(job):
    """The findings SNK-2 of a car."""
    return [one for one in findings(job, sneak) if one.rule == "SNK-2"]


def test_a_ballast_before_a_coil_with_its_own_igniter_is_a_fault():
    [one] = snk_2(engine_car(parts=BALLAST, wires=BEHIND, changed=MOVED))
    assert one.severity == "fault"
    assert (one.at[0], one.at[-1]) == ("BLS", "COL")
    assert one.found == 8.0 * 1.4  # its peak of 8 A
    assert one.allowed == 0.9


def test_a_ballast_that_a_wire_leads_past_takes_nothing():
    past = wire("I7", "BLS.15", "BLS.15a", "1.5", "100")
    assert snk_2(engine_car(parts=BALLAST, wires=[*BEHIND, past], changed=MOVED)) == []


def test_the_starters_by_pass_is_no_feed():
    past = wire("I7", "STA.15a", "COL.supply", "2.5", "900")
    [one] = snk_2(engine_car(parts=BALLAST, wires=[*BEHIND, past], changed=MOVED))
    assert one.at[0] == "BLS"


def test_a_ballast_before_a_plain_coil_is_a_design():
    parts = [*BALLAST, {"id": "CO2", "kind": "coil_plain", "settings": "ohm=1.6", "circuit": "ignition"},
             {"id": "IGN", "kind": "igniter"}]  # fmt: skip
    wires = [
        wire("I6", "BR.6", "BLS.15", circuit="ignition"),
        wire("I7", "BLS.15a", "CO2.15", circuit="ignition"),
        wire("I8", "CO2.1", "IGN.out", circuit="ignition"),
        wire("I9", "IGN.earth", "engine", circuit="ignition"),
        wire("I10", "IGN.in", "ECU.5", "0.75"),
    ]
    assert snk_2(engine_car(parts=parts, wires=wires)) == []
