"""What comes of a change: key back from start to run, a stall, key to off, and relays that never come to rest.

Each by a small car that makes it, and one that just does not. From run to off with the engine turning is asked in
`test_key` (KEY-2).
"""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.states.rules import chatter, key
from tests.states.rules.engine_car import DRIVES, engine_car
from tests.states.small_jobs import car, findings, wire

FROM_THE_KEY = {"P1": {"from": "KEY.15"}, "P6": {"to": "body"}, "F1": {"settings": "rating_a=30"}}
"""The pump's relay and its load off with the key; its coil on the body."""
HOLDS = [wire("Z1", "KPM.87", "DH.a"), wire("Z2", "DH.k", "KPM.86")]


def pump_after(job: Job) -> list[Finding]:
    """What is told of a pump that runs with the engine stopped."""
    return [one for one in findings(job, key) if one.rule == "KEY-5"]


def pulled_in_start(*, holds: bool) -> Job:
    """A pump relay that the start contact pulls in, and that may keep itself in."""
    return engine_car(
        without=("P5",),
        changed=FROM_THE_KEY,
        parts=[{"id": "DS", "kind": "diode"}, *([{"id": "DH", "kind": "diode"}] if holds else [])],
        wires=[wire("Y1", "KEY.50", "DS.a"), wire("Y2", "DS.k", "KPM.86"), *(HOLDS if holds else [])],
    )


def pulled_while_it_turns(*, holds: bool) -> Job:
    """A pump relay that another relay pulls in while the engine turns, and that may keep itself in."""
    return engine_car(
        without=("P5",),
        changed={**FROM_THE_KEY, "P6": {"from": "KX.85", "to": "ECU.6"}},
        parts=[
            {"id": "KX", "kind": "relay"},
            {"id": "DS", "kind": "diode"},
            *([{"id": "DH", "kind": "diode"}] if holds else []),
        ],
        wires=[
            wire("Y1", "BR.5", "KX.86"),
            wire("Y2", "BR.6", "KX.30"),
            wire("Y3", "KX.87", "DS.a"),
            wire("Y4", "DS.k", "KPM.86"),
            wire("Y5", "KPM.85", "body"),
            *(HOLDS if holds else []),
        ],
        drives=DRIVES[:3],
    )


# KEY-5


def test_a_relay_that_stays_in_after_the_key_springs_back_from_start_is_told():
    [one] = pump_after(pulled_in_start(holds=True))
    assert dict(one.when)["before.key"] == "start"
    assert dict(one.when)["key"] == "run"


def test_one_that_lets_go_as_the_key_springs_back_is_not():
    assert pump_after(pulled_in_start(holds=False)) == []


def test_a_relay_that_stays_in_after_a_stall_is_told():
    [one] = pump_after(pulled_while_it_turns(holds=True))
    when = dict(one.when)
    assert when["key"] == "run"
    assert when["before.engine"] in ("idle", "running", "cranking")


def test_one_that_lets_go_as_the_engine_stalls_is_not():
    assert pump_after(pulled_while_it_turns(holds=False)) == []


# SNK-4


def own_contact(contact: str) -> Job:
    """A relay whose coil is fed through a contact of its own, and once more by a push button where that one is open."""
    return car(
        parts=[{"id": "K", "kind": "relay"}, {"id": "SW2", "kind": "switch"}, {"id": "PB", "kind": "switch"}],
        wires=[
            wire("Z1", "F1.2", "SW2.1"),
            wire("Z2", "SW2.2", "K.30"),
            wire("Z3", f"K.{contact}", "K.86"),
            wire("Z4", "K.85", "body"),
            wire("Z5", "F1.2", "PB.1"),
            wire("Z6", "PB.2", "K.86"),
        ],
    )


def test_a_relay_that_cuts_its_own_coil_is_told():
    [one] = findings(own_contact("87a"), chatter)
    assert (one.rule, one.severity, one.at) == ("SNK-4", "fault", ("K",))
    # with the push button in, the coil is fed past the contact and the relay stays in
    assert dict(one.when) == {"SW2": "on", "PB": "off"}
    assert {"Z2", "Z3"} <= set(one.touches)


def test_a_relay_that_keeps_its_own_coil_fed_is_not_told():
    assert findings(own_contact("87"), chatter) == ()


def two(second: str) -> Job:
    """Relay A feeds B's coil, and a contact of B feeds A's."""
    return car(
        parts=[{"id": "A", "kind": "relay"}, {"id": "B", "kind": "relay"}, {"id": "SW2", "kind": "switch"}],
        wires=[
            wire("Z1", "F1.2", "SW2.1"),
            wire("Z2", "SW2.2", "A.30"),
            wire("Z3", "A.87", "B.86"),
            wire("Z4", "B.85", "body"),
            wire("Z5", "SW2.2", "B.30"),
            wire("Z6", f"B.{second}", "A.86"),
            wire("Z7", "A.85", "body"),
        ],
    )


def test_two_relays_that_chase_each_other_are_one_finding_with_both_names():
    [one] = findings(two("87a"), chatter)
    assert (one.rule, one.at) == ("SNK-4", ("A", "B"))
    assert dict(one.when) == {"SW2": "on"}


@pytest.mark.parametrize("second", ["87", "87b"])
def test_two_relays_that_feed_each_other_rest(second: str):
    assert findings(two(second), chatter) == ()
