"""The states that are solved for sizes meet the worst currents that the whole search meets, and bounds are bounds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.job.conditions import Condition, parse_condition
from loomwright.sizing.demand import STEADY, Demand, demand_of
from loomwright.sizing.demand_states import hottest_only, without_same
from loomwright.sizing.met import met_by
from loomwright.sizing.most_beyond import highest_v, most_beyond
from loomwright.states.asking.plan import plan_states
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.ratings.rating_ground import RatingGround, rating_ground
from loomwright.states.ratings.wire_limits import limits_of
from tests.sizing.blank_cars import as_typed
from tests.states.small_jobs import car, wire
from tests.states.small_jobs import scene as small_scene

PIECE = 2048


def whole_search(scene: Scene, ground: RatingGround) -> Demand:
    """What the states of the whole search ask of every wire and fuse, pairs of switches and all."""
    elements = range(len(scene.compiled.network.elements))
    states = plan_states(scene.space, scene.cones.asked, all_below=0)
    asked = [k for k in elements if scene.element(k).type in ("wire", "fuse")]
    pieces = (states[first : first + PIECE] for first in range(0, len(states), PIECE))
    return demand_of(ground, asked, (answers_of(scene.compiled, piece) for piece in pieces))


def most_a(demand: Demand, element: int) -> float:
    return max((one.amps for one in demand.of(element) if one.moment == STEADY), default=0.0)


@pytest.fixture(scope="module")
def scene() -> Scene:
    return Car(as_typed("tourer")).scene


@pytest.fixture(scope="module")
def ground(scene) -> RatingGround:
    return rating_ground(scene)


@pytest.fixture(scope="module")
def whole(scene, ground) -> Demand:
    return whole_search(scene, ground)


def test_the_worst_of_every_third_wire_is_that_of_the_whole_search(scene, whole):
    names = [name for name in scene.wires if name in limits_of(scene)][::3]
    # as thin as can be, so that no bound spares a wire its combinations
    limits = {name: replace(limits_of(scene)[name], size_mm2=0.21) for name in names}
    met = met_by(scene, limits, {})
    elements = {name: scene.compiled.elements_of[name][0] for name in names}
    told = {name: (most_a(met.demand, k), most_a(whole, k)) for name, k in elements.items()}
    assert len(told) > 30
    # colder states, in which a current may be a fortieth more, are solved near a limit only
    assert {name: pair for name, pair in told.items() if pair[0] < 0.975 * pair[1] - 1e-3} == {}


def test_no_wire_carries_more_than_the_loads_beyond_it_draw(scene, ground, whole):
    bounds = {
        name: most_beyond(scene, ground, scene.compiled.elements_of[name][0], highest_v(scene)) for name in scene.wires
    }
    known = {name: bound for name, bound in bounds.items() if bound is not None}
    assert len(known) > 40
    for name, bound_a in known.items():
        assert most_a(whole, scene.compiled.elements_of[name][0]) <= bound_a * (1.0 + 1e-9) + 1e-6, name


@pytest.mark.long
@pytest.mark.parametrize("name", ["van", "wagon"])
def test_nor_in_the_larger_examples(name):
    scene = Car(as_typed(name)).scene
    ground = rating_ground(scene)
    whole = whole_search(scene, ground)
    known = 0
    for k, element in enumerate(scene.compiled.network.elements):
        bound_a = most_beyond(scene, ground, k, highest_v(scene)) if element.type in ("wire", "fuse") else None
        if bound_a is not None:
            known += 1
            assert most_a(whole, k) <= bound_a * (1.0 + 1e-9) + 1e-6, element.name
    assert known > 100


def test_states_that_look_the_same_have_the_same_currents(scene):
    rows = []
    for k, values in enumerate(scene.space.values):
        for value in values:
            row = scene.space.rest.copy()
            row[k] = value
            rows.append(row)
    states = np.unique(np.array(rows), axis=0)
    kept = without_same(scene, states)
    assert 0 < len(kept) < len(states)
    every, few = answers_of(scene.compiled, states), answers_of(scene.compiled, kept)
    for row in np.flatnonzero(every.possible):
        apart = np.abs(few.batch.amps - every.batch.amps[row]).max(axis=1).min()
        assert apart < 1e-6


def test_colder_ambients_are_left_out_unless_the_job_names_the_ambient():
    def at_frost(when: Condition) -> Condition:
        return parse_condition(", ".join((*(term.text for term in when.terms), "ambient_c<=0")))

    plain = as_typed("tourer")
    named = replace(plain, drives=tuple(replace(one, when=at_frost(one.when)) for one in plain.drives[:1]))
    for job, left in ((plain, 1), (named, None)):
        scene = Car(job).scene
        where = scene.compiled.variable_of["ambient_c"]
        states = np.repeat(scene.space.rest[None, :], len(scene.space.values[where]), axis=0)
        states[:, where] = scene.space.values[where]
        assert len(states) > 1
        assert len(hottest_only(scene, states)) == (len(states) if left is None else left)


def test_no_state_of_a_string_of_batteries_has_more_volts_than_the_highest():
    full = {"kind": "battery", "settings": "emf_v=13.0"}
    job = car(
        vehicle=[{"name": "system_voltage", "value": "24"}],
        parts=[{"id": "BA2", **full}],
        wires=[wire("W0", "BAT.+", "BA2.-", "25", "200")],
        changed={"BAT": full, "W3": {"from": "BA2.+"}},
    )
    seen = small_scene(job)
    answers = answers_of(seen.compiled, plan_states(seen.space, seen.cones.asked, all_below=0))
    stands_v = float(np.nanmax(np.abs(answers.volts(seen.node("BA2.+")))))
    # two of 13 V: more than the 24 V of the system and what is over them
    assert stands_v == pytest.approx(26.0, abs=0.1)
    assert highest_v(seen) >= stands_v
