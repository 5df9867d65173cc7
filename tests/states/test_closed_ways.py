"""A way that no state closes decides nothing; circuits meet where their nodes hang on loads alone."""

from __future__ import annotations

import pytest

from loomwright.states.asking import closed_ways
from loomwright.states.asking.closed_ways import HangsOn, Lead, ways_from
from tests.states.small_jobs import car, scene, wire

AT = {value: frozenset({value}) for value in range(3)}


def lead(variable: int, *values: int) -> Lead:
    """Closed while a variable has one of its values."""
    term = (variable, frozenset(values))
    return Lead((term,), (), HangsOn(frozenset({term})))


def relay(device: int, on: bool) -> Lead:
    """Closed while a device is on, or off."""
    return Lead((), ((device, on),), HangsOn(devices=frozenset({device})))


FREE = Lead((), (), HangsOn())


def variables_at(found: HangsOn) -> set[int]:
    return {variable for variable, _ in found.terms}


def test_the_two_throws_of_one_switch_join_nothing_with_each_other():
    """0 feeds 1 over a key; 1 and 0 are the throws of a changeover whose common is 2."""
    ring = {(0, 1): [lead(5, 1)], (1, 2): [lead(6, 0)], (0, 2): [lead(6, 1)]}
    found = ways_from(0, ring)
    assert variables_at(found[1]) == {5}
    assert variables_at(found[2]) == {5, 6}


def test_a_way_over_two_switches_counts_where_one_state_closes_both():
    ring = {(0, 1): [lead(5, 1)], (1, 2): [lead(6, 0)], (0, 2): [lead(7, 1)]}
    assert variables_at(ways_from(0, ring)[1]) == {5, 6, 7}


def test_a_switch_with_a_place_that_closes_both_throws_joins_them():
    ring = {(0, 1): [lead(5, 1)], (1, 2): [lead(6, 0, 2)], (0, 2): [lead(6, 1, 2)]}
    assert variables_at(ways_from(0, ring)[1]) == {5, 6}


def test_the_working_and_the_resting_contact_of_one_relay_are_no_way():
    ring = {(0, 1): [lead(5, 1)], (1, 2): [relay(3, True)], (0, 2): [relay(3, False)]}
    found = ways_from(0, ring)
    assert found[1].devices == frozenset()
    assert found[2].devices == {3}


def test_a_wire_beside_a_contact_leaves_the_way_open_in_every_state():
    ring = {(0, 1): [FREE], (1, 2): [lead(6, 0), FREE], (0, 2): [lead(6, 1)]}
    assert variables_at(ways_from(0, ring)[1]) == {6}


def test_in_a_piece_with_too_many_ways_none_is_ruled_out(monkeypatch: pytest.MonkeyPatch):
    ring = {(0, 1): [lead(5, 1)], (1, 2): [lead(6, 0)], (0, 2): [lead(6, 1)]}
    monkeypatch.setattr(closed_ways, "_STEPS_MOST", 3)
    assert variables_at(ways_from(0, ring)[1]) == {5, 6}


def names_at(seen, place: str) -> set[str]:
    """Variables that decide a part's elements."""
    found = seen.cones.of(seen.elements_of[place])
    return {seen.compiled.network.variables[k].name for k in found}


HAZARD_PARTS = [{"id": "HAZ", "kind": "switch_changeover"}, {"id": "LH", "kind": "lamp"}, {"id": "LK", "kind": "lamp"}]


def test_a_lamp_on_the_key_does_not_hang_on_a_changeover_beside_it():
    seen = scene(
        car(
            parts=HAZARD_PARTS,
            wires=[
                wire("W20", "KEY.15", "HAZ.a"),
                wire("W21", "F1.2", "HAZ.b"),
                wire("W22", "HAZ.c", "LH.1"),
                wire("W23", "LH.2", "body"),
                wire("W24", "KEY.15", "LK.1"),
                wire("W25", "LK.2", "body"),
            ],
        )
    )
    assert "HAZ" in names_at(seen, "LH")
    assert "HAZ" not in names_at(seen, "LK")


def meeting(seen) -> set[frozenset[str]]:
    """Variables that meet on an island, those every question is combined with apart."""
    variables = seen.compiled.network.variables
    found = {frozenset(variables[k].name for k in inside if k not in seen.space.core) for inside in seen.cones.meeting}
    return {names for names in found if len(names) > 1}


TWO_LAMPS = [
    {"id": "SW2", "kind": "switch"},
    {"id": "LA2", "kind": "lamp"},
    {"id": "SPE", "kind": "splice"},
]
TWO_WIRES = [
    wire("W30", "F1.2", "SW2.1"),
    wire("W31", "SW2.2", "LA2.1"),
    wire("W32", "LA2.2", "SPE.1"),
    wire("W34", "SPE.3", "body"),
]


def test_lamps_of_two_switches_meet_where_their_earth_is_lost_and_nowhere_else():
    to_splice = {"W7": {"to": "SPE.2"}}
    assert meeting(scene(car(parts=TWO_LAMPS, wires=TWO_WIRES, changed=to_splice))) == set()
    lost = scene(car(parts=TWO_LAMPS, wires=TWO_WIRES, changed=to_splice, without=["W34"]))
    assert meeting(lost) == {frozenset({"SW1", "SW2"})}
