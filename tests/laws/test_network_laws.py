"""What must hold for any network: no current is lost, no power is made, order says nothing, floating means no path."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import networkx as nx
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.known import room_to_know
from loomwright.network.records import Element, Guard, Law, Network, Sense
from loomwright.network.settle import SETTLED
from loomwright.network.solve import Batch, remember, solve_many, start_at_rest, values_of
from tests.network.random_networks import MODES, random_network

MONOTONE = tuple(law for law in Law if law != Law.POWER)
PASSIVE = (Law.LINEAR, Law.LAMP, Law.CURRENT, Law.POWER, Law.MOTOR)
BLOCKED_A = 1e-9
SLACK = 1e-6

randoms = st.randoms(use_true_random=False)
laws = st.lists(st.sampled_from(tuple(Law)), min_size=1, max_size=5)
states = st.fixed_dictionaries({"mode": st.sampled_from(MODES), "ambient_c": st.sampled_from(("-10", "40"))})


def solved(compiled: Compiled, state: dict[str, str]) -> Batch:
    """One state, at rest before."""
    return solve_many(compiled, values_of(compiled, state)[None, :])


def acting(compiled: Compiled, batch: Batch) -> list[tuple[int, Element]]:
    """Elements that act in row 0: guards hold, devices lie as needed."""
    values = batch.values[0]

    def holds(guards: tuple[Guard, ...]) -> bool:
        return not guards or any(all(int(values[v]) in held for v, held in guard.holds) for guard in guards)

    return [
        (k, element)
        for k, element in enumerate(compiled.network.elements)
        if holds(element.guards) and all(bool(batch.devices[0, d]) == on for d, on in element.needs)
    ]


def across_v(compiled: Compiled, batch: Batch, element: Element) -> float:
    """Volts from an element's first node to its second."""
    high, low = (batch.v[0, compiled.node_of[compiled.network.nodes[end]]] for end in (element.a, element.b))
    return float(high - low)


@settings(max_examples=60)
@given(randoms, laws, states, st.integers(0, 2))
def test_currents_at_every_node_sum_to_zero(rng, wanted, state, relays):
    compiled = compile_network(random_network(rng, wanted, relays=relays))
    batch = solved(compiled, state)
    assert batch.status[0] == SETTLED
    sums = np.zeros(len(compiled.network.nodes))
    sizes = np.zeros_like(sums)
    for k, element in enumerate(compiled.network.elements):
        sums[element.a] += batch.amps[0, k]
        sums[element.b] -= batch.amps[0, k]
        sizes[[element.a, element.b]] += abs(batch.amps[0, k])
    assert np.all(np.abs(sums) <= SLACK * (1.0 + sizes)), sums


@settings(max_examples=60)
@given(randoms, laws, states)
def test_power_in_equals_power_out(rng, wanted, state):
    compiled = compile_network(random_network(rng, wanted))
    batch = solved(compiled, state)
    watts = [across_v(compiled, batch, e) * float(batch.amps[0, k]) for k, e in acting(compiled, batch)]
    drawn = sum(watt for watt in watts if watt > 0.0)
    given_ = -sum(watt for watt in watts if watt < 0.0)
    assert drawn == pytest.approx(given_, abs=SLACK * (1.0 + drawn))


@settings(max_examples=60)
@given(randoms, laws, states)
def test_what_only_draws_never_gives(rng, wanted, state):
    compiled = compile_network(random_network(rng, wanted))
    batch = solved(compiled, state)
    for k, element in acting(compiled, batch):
        emf_v = element.figures[0][1] if element.law == Law.LINEAR else 0.0
        if element.law in PASSIVE and emf_v == 0.0:
            assert across_v(compiled, batch, element) * float(batch.amps[0, k]) >= -SLACK, element


def shuffled(network: Network, rng: Random) -> Network:
    """The same network with its elements and its nodes in another order."""
    order = list(range(len(network.elements)))
    rng.shuffle(order)
    names = list(network.nodes)
    rng.shuffle(names)
    place = [names.index(name) for name in network.nodes]
    at = {old: new for new, old in enumerate(order)}

    def moved(sense: Sense) -> Sense:
        return replace(sense, element=at[sense.element]) if sense.element >= 0 else sense

    return replace(
        network,
        nodes=tuple(names),
        elements=tuple(
            replace(element, a=place[element.a], b=place[element.b]) for element in (network.elements[k] for k in order)
        ),
        devices=tuple(replace(d, senses=tuple(moved(s) for s in d.senses)) for d in network.devices),
        reference=place[network.reference],
    )


@settings(max_examples=40)
@given(randoms, laws, states, st.integers(0, 2))
def test_order_of_elements_and_nodes_never_matters(rng, wanted, state, relays):
    network = random_network(rng, wanted, relays=relays)
    one, two = compile_network(network), compile_network(shuffled(network, rng))
    first, second = solved(one, state), solved(two, state)
    for name in network.nodes:
        p, q = one.node_of[name], two.node_of[name]
        assert first.floating[0, p] == second.floating[0, q], name
        assert first.v[0, p] == pytest.approx(second.v[0, q], abs=1e-5), name
    assert (first.devices == second.devices).all()


@settings(max_examples=60)
@given(randoms, st.lists(st.sampled_from(MONOTONE), min_size=1, max_size=5), states, st.floats(1.1, 20.0))
def test_a_thicker_wire_never_drops_more_across_itself(rng, wanted, state, times):
    network = random_network(rng, wanted)
    wires = [k for k, element in enumerate(network.elements) if element.is_wire]
    which = rng.choice(wires)
    rows = tuple((row[0] * times, row[1]) for row in network.elements[which].figures)
    elements = list(network.elements)
    elements[which] = replace(elements[which], figures=rows)
    drops_v = []
    for made in (network, replace(network, elements=tuple(elements))):
        compiled = compile_network(made)
        batch = solved(compiled, state)
        assert batch.status[0] == SETTLED
        drops_v.append(abs(across_v(compiled, batch, made.elements[which])))
    assert drops_v[1] <= drops_v[0] + 1e-7


def reached(compiled: Compiled, batch: Batch) -> set[str]:
    """Nodes with a path to the reference by walking what conducts; a diode that carries nothing is no path."""
    graph = nx.Graph()
    graph.add_nodes_from(compiled.network.nodes)
    for k, element in acting(compiled, batch):
        open_ = element.law == Law.LINEAR and element.figures[0][0] == 0.0
        blocked = element.law == Law.DIODE and abs(float(batch.amps[0, k])) < BLOCKED_A
        if not open_ and not blocked:
            graph.add_edge(compiled.network.nodes[element.a], compiled.network.nodes[element.b])
    return set(nx.node_connected_component(graph, compiled.network.nodes[compiled.network.reference]))


@settings(max_examples=100)
@given(randoms, laws, states, st.integers(0, 2))
def test_floating_means_no_path(rng, wanted, state, relays):
    compiled = compile_network(random_network(rng, wanted, relays=relays))
    batch = solved(compiled, state)
    grounded = {name for name, k in compiled.node_of.items() if not batch.floating[0, k]}
    assert grounded == reached(compiled, batch)


@settings(max_examples=40)
@given(randoms, laws, st.integers(1, 2))
def test_a_state_is_the_same_alone_and_among_others(rng, wanted, relays):
    compiled = compile_network(random_network(rng, wanted, relays=relays))
    rows = np.array([values_of(compiled, {"mode": mode}) for mode in MODES])
    together = solve_many(compiled, rows)
    for k, mode in enumerate(MODES):
        alone = solved(compiled, {"mode": mode})
        assert (alone.v[0] == together.v[k]).all()
        assert (alone.devices[0] == together.devices[k]).all()


@settings(max_examples=40)
@given(randoms, laws, st.integers(1, 2))
def test_contacts_that_lie_alike_give_the_same_volts_however_they_came_to(rng, wanted, relays):
    compiled = compile_network(random_network(rng, wanted, relays=relays))
    rows = np.array([values_of(compiled, {"mode": mode}) for mode in MODES])
    from_rest, from_pulled = (
        solve_many(compiled, rows),
        solve_many(compiled, rows, np.ones((len(rows), relays), np.uint8)),
    )
    alike = (from_rest.devices == from_pulled.devices).all(axis=1)
    assert (from_rest.v[alike] == from_pulled.v[alike]).all()
    assert (from_rest.floating[alike] == from_pulled.floating[alike]).all()


@settings(max_examples=40)
@given(randoms, laws, st.integers(1, 2), st.sampled_from((1, 2, 64)))
def test_what_is_remembered_of_other_states_changes_no_digit(rng, wanted, relays, places):
    """With room for one lie of the contacts, every state takes the place of the one before."""
    compiled = compile_network(random_network(rng, wanted, relays=relays))
    rows = np.array([values_of(compiled, {"mode": mode}) for mode in MODES])
    fresh = [solved(compiled, {"mode": mode}) for mode in MODES]
    remembered = tuple(room_to_know(compiled.arrays, places) for _ in remember(compiled))
    for _ in range(2):
        again = solve_many(compiled, rows, None, remembered)
        assert (again.v == np.concatenate([one.v for one in fresh])).all()
        assert (again.amps == np.concatenate([one.amps for one in fresh])).all()
        assert (again.devices == np.concatenate([one.devices for one in fresh])).all()
        assert (again.status == np.concatenate([one.status for one in fresh])).all()


@settings(max_examples=60)
@given(randoms, laws, states)
def test_relays_that_begin_pulled_end_pulled_where_those_that_begin_released_do(rng, wanted, state):
    """Pull-in lies above drop-out, so a relay on its own never lets go where it would have pulled in."""
    compiled = compile_network(random_network(rng, wanted, relays=1))
    if any(not on for element in compiled.network.elements for _, on in element.needs):
        assume(False)  # a break contact may fight its own coil
    values = values_of(compiled, state)[None, :]
    released = start_at_rest(compiled)
    pulled = released.copy()
    pulled[:] = 1
    from_rest, from_pulled = solve_many(compiled, values, released), solve_many(compiled, values, pulled)
    if from_rest.devices[0, 0] and from_rest.status[0] == SETTLED == from_pulled.status[0]:
        assert from_pulled.devices[0, 0]
