"""The state in which one thing is on by itself."""

from __future__ import annotations

import numpy as np

from loomwright.states.asking.own_states import OwnStates
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, scene, wire


def away(job: object, element: str) -> dict[str, str]:
    """What is not at rest in the plainest states in which an element is on."""
    seen = scene(job)  # type: ignore[arg-type]
    own = OwnStates(seen.compiled, seen.cones)
    found = own.on(seen.compiled.elements_of[element][0], 0.1)
    assert found is not None
    answers, plain = found
    values = answers.batch.values[int(np.flatnonzero(plain)[0])]
    variables = seen.compiled.network.variables
    return {v.name: v.values[int(k)] for v, k in zip(variables, values, strict=True) if v.values[int(k)] != v.rest}


def test_a_lamp_behind_key_and_switch():
    assert away(car(), "LA1.filament") == {"key": "run", "engine": "running", "SW1": "on"}


def test_what_is_not_its_own_stays_at_rest():
    job = car(
        parts=[{"id": "SW2", "kind": "switch"}, {"id": "LA2", "kind": "lamp"}],
        wires=[wire("W8", "KEY.15", "SW2.1"), wire("W9", "SW2.2", "LA2.1"), wire("W10", "LA2.2", "body")],
    )
    assert "SW2" not in away(job, "LA1.filament")


def test_three_switches_in_a_row_are_found():
    job = car(
        without=("W6",),
        parts=[{"id": "SW2", "kind": "switch"}, {"id": "SW3", "kind": "switch"}],
        wires=[wire("W8", "SW1.2", "SW2.1"), wire("W9", "SW2.2", "SW3.1"), wire("W10", "SW3.2", "LA1.1")],
    )
    assert away(job, "LA1.filament") == {"key": "run", "engine": "running", "SW1": "on", "SW2": "on", "SW3": "on"}


def test_the_starter_is_on_while_cranking():
    seen = scene(engine_car())
    own = OwnStates(seen.compiled, seen.cones)
    found = [own.on(k, 50.0) for k in seen.compiled.elements_of["STA.motor"]]
    assert any(one is not None and one[0].at("engine", "cranking")[one[1]].all() for one in found)


def test_what_is_never_on_has_no_state():
    seen = scene(car(without=("W6",)))
    assert OwnStates(seen.compiled, seen.cones).on(seen.compiled.elements_of["LA1.filament"][0], 0.1) is None
