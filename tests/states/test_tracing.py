"""Ways: what a point can be joined to, and where the current of a live point comes from."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.states.asking.search import answers_of
from loomwright.states.paths.tracing import live_way, names_of, ways_of
from tests.states.small_jobs import car, scene, wire


def state(seen, **values):
    """One state as a row of value indices, the rest at rest."""
    variables = seen.compiled.network.variables
    return np.array([[v.values.index(values.get(v.name, v.rest)) for v in variables]])


@pytest.mark.parametrize(
    ("point", "side"),
    [("LA1.1", "plus"), ("LA1.2", "minus"), ("KEY.50", "plus"), ("BAT.+", "plus"), ("engine", "minus"), ("axle", "")],
)
def test_what_a_point_can_be_joined_to(point, side):
    seen = scene(car())
    assert ways_of(seen).side(seen.node(point)) == side


def test_a_way_goes_over_open_contacts_and_never_through_a_load():
    seen = scene(car(without=["W6"]))
    ways = ways_of(seen)
    # with its feed wire out, the lamp's first end meets the rest of the car over its filament only
    assert ways.region(seen.node("LA1.1")).is_lost
    assert ways.side_through_loads(seen.node("LA1.1")) == "minus"
    region = ways.region(seen.node("SW1.2"))
    assert names_of(seen, region.way_to(region.plus)) == ("SW1", "W5", "KEY")


def test_a_way_goes_on_from_an_always_live_point_to_the_battery():
    seen = scene(car())
    ways = ways_of(seen)
    assert names_of(seen, ways.onward(seen.node("KEY.30"))) == ("W4", "F1", "W3")
    assert ways.onward(seen.node("LA1.1")) == ()


def test_elements_can_be_taken_out_of_the_question():
    seen = scene(car())
    ways = ways_of(seen)
    key = frozenset(seen.elements_of["KEY"])
    assert ways.region(seen.node("LA1.1"), key).plus is None


def test_a_ballast_is_a_way_and_a_heater_is_none():
    parts = [{"id": "BA", "kind": "ballast"}, {"id": "HE", "kind": "heater"}]
    wires = [wire("W10", "KEY.15", "BA.15"), wire("W11", "KEY.15", "HE.1")]
    seen = scene(car(parts=parts, wires=wires))
    ways = ways_of(seen)
    assert ways.side(seen.node("BA.15a")) == "plus"
    assert ways.side(seen.node("HE.2")) == ""


def test_an_isolator_ties_what_is_behind_it_to_the_battery():
    job = car(
        parts=[{"id": "ISO", "kind": "isolator"}],
        wires=[wire("W10", "BAT.+", "ISO.1", "25")],
        changed={"W3": {"from": "ISO.2"}},
    )
    seen = scene(job)
    assert seen.node("F1.1") in ways_of(seen).plus


def test_the_live_way_goes_as_the_contacts_lie():
    # two ways to the lamp: by the switch, and by a second one from terminal 30
    job = car(
        parts=[{"id": "SW2", "kind": "switch"}], wires=[wire("W10", "F1.2", "SW2.1"), wire("W11", "SW2.2", "LA1.1")]
    )
    seen = scene(job)
    node = seen.node("LA1.1")

    def way(**values):
        return live_way(seen, answers_of(seen.compiled, state(seen, **values)), 0, node)

    assert way(key="run", SW1="on") == ("W3", "F1", "W4", "KEY", "W5", "SW1", "W6")
    assert way(SW2="on") == ("W3", "F1", "W10", "SW2", "W11")
    assert way() == ()
