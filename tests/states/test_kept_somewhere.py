"""What works with something mended is found in the states that decide it, as every raw state would find it.

Small random cars, each with some wire left out, so that some of what is asked never works. The other side solves every
raw state.
"""

from __future__ import annotations

import random
from itertools import product

import numpy as np

from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.cones import LooksAt, cones_of, terms_at
from loomwright.states.asking.kept_somewhere import kept_somewhere
from loomwright.states.asking.plan import deciding_states
from loomwright.states.asking.scene import scene_of
from loomwright.states.rulebook import state_watches
from loomwright.tables.kinds import load_kinds
from tests.states.random_cars import random_car
from tests.states.small_jobs import car, scene, wire

KINDS = load_kinds()
CARS = range(60)


def scenes():
    """A random car and what its network is with one of its wires out, of each seed."""
    for seed in CARS:
        dice = random.Random(seed)
        job = job_from_text(random_car(dice))
        opened = Changes(opened=(dice.choice(job.wires).id,))
        yield scene_of(job, KINDS, compile_network(build_network(job, KINDS))), opened


def test_what_is_kept_is_what_some_raw_state_satisfies():
    kept_in_all = asked_in_all = 0
    for standing, opened in scenes():
        asked = [watch for watch in state_watches(standing) if watch.quantifier == "ever"]
        other = compile_network(build_network(standing.job, KINDS, opened))
        every = answers_of(other, np.array(list(product(*standing.space.values)), np.int64))
        wanted = [k for k, one in enumerate(asked) if (one.broken(every)[0] & every.possible).any()]
        # no state of the plan is given, so that only those that decide each are asked
        assert all(one.looks_at is not None for one in asked)
        assert sorted(kept_somewhere(other, asked, standing.space, every.batch.values[:0])) == wanted
        kept_in_all += len(wanted)
        asked_in_all += len(asked)
    assert 0.5 * asked_in_all < kept_in_all < 0.95 * asked_in_all, "too few that work, or that do not"


def test_the_terms_of_a_few_answers_are_those_of_the_cones_or_more():
    compared = 0
    for standing, _ in scenes():
        compiled = standing.compiled
        cones = cones_of(compiled)
        elements = [k for k, one in enumerate(compiled.network.elements) if one.load and not one.guards]
        asked = [
            LooksAt(standing.ends(k), (), tuple(device for device, _ in standing.element(k).needs)) for k in elements
        ]
        for k, terms in zip(elements, terms_at(compiled, asked), strict=True):
            assert cones.terms_of_element[k] <= terms
            compared += 1
    assert compared > 200


def test_what_hangs_on_a_switch_is_asked_at_each_of_its_places():
    seen = scene(car(wires=[wire("W9", "SW1.2", "LB.1")], parts=[{"id": "LB", "kind": "lamp"}]))
    compiled = seen.compiled
    switch = compiled.variable_of["SW1"]
    (terms,) = terms_at(compiled, [LooksAt(nodes=(seen.node("LB.1"),))])
    (states,) = deciding_states(seen.space, [terms])
    assert states is not None
    assert set(states[:, switch].tolist()) == set(seen.space.values[switch])


def test_a_variable_that_is_named_is_asked_at_each_of_its_values():
    seen = scene(car())
    switch = seen.compiled.variable_of["SW1"]
    (plain, named) = deciding_states(seen.space, terms_at(seen.compiled, [LooksAt(), LooksAt(variables=(switch,))]))
    assert plain is not None
    assert named is not None
    assert len(named) == len(plain) * len(seen.space.values[switch])
