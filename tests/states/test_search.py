"""The planned search says what solving every raw state says."""

from __future__ import annotations

import random

import numpy as np
import pytest

from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.plan import space_of
from loomwright.states.asking.search import search
from loomwright.states.asking.smallest import smallest_conditions
from loomwright.states.asking.watch import Watch
from loomwright.tables.kinds import load_kinds
from tests.states.random_jobs import random_sheets
from tests.states.small_jobs import car, wire

KINDS = load_kinds()
EVERY = 10**9


def _car(seed: int) -> Compiled:
    return compile_network(build_network(job_from_text(random_sheets(random.Random(seed))), KINDS))


def watches_of(compiled: Compiled) -> list[Watch]:
    """Plain questions about every load and every point: is it ever on, on the wrong way, live, overloaded?"""
    found = []
    met: dict[str, int] = {}
    for index, element in enumerate(compiled.network.elements):
        rated_a = element.rated_a or 1.0
        met[element.name] = met.get(element.name, 0) + 1
        name = f"{element.name} {met[element.name]}"
        if element.load:

            def forward(answers: Answers, index: int = index, rated_a: float = rated_a):
                amps = answers.amps(index)
                return amps >= 0.5 * rated_a, amps

            def backward(answers: Answers, index: int = index, rated_a: float = rated_a):
                amps = answers.amps(index)
                return amps <= -0.05 * rated_a, amps

            found += [_watch(f"{name} on", forward), _watch(f"{name} backwards", backward)]
            found.append(_watch(f"{name} ever", forward, "ever"))
    for name, node in compiled.node_of.items():

        def live(answers: Answers, node: int = node):
            volts = np.nan_to_num(answers.volts(node))
            return volts >= 9.0, volts

        found.append(_watch(f"{name} live", live))
    return found


def _watch(label: str, broken, quantifier: str = "always") -> Watch:
    return Watch(
        rule="TST-1",
        severity="fault",
        at=(label,),
        label=label,
        wrong="",
        mend="",
        broken=broken,
        quantifier=quantifier,
    )


@pytest.mark.parametrize("seed", range(40))
def test_planned_search_equals_every_raw_state(seed: int) -> None:
    compiled = _car(seed)
    watches = watches_of(compiled)
    brute = {one.watch.label for one in search(compiled, watches, all_below=EVERY).broken}
    planned = {one.watch.label for one in search(compiled, watches, all_below=0).broken}
    assert planned == brute
    assert brute, "a car in which nothing can be said of anything tests nothing"


@pytest.mark.parametrize("seed", range(0, 40, 8))
def test_conditions_told_do_break_it_and_any_value_left_out_does_not(seed: int) -> None:
    """Conditions hold at the state found, and the plainest state has no variable away from rest without need."""
    compiled = _car(seed)
    space = space_of(compiled)
    for broken in search(compiled, watches_of(compiled)).broken:
        if broken.values is None:
            continue
        told, plain = smallest_conditions(compiled, space, broken)
        assert plain.values is not None
        state = {v.name: v.values[int(k)] for v, k in zip(compiled.network.variables, plain.values, strict=True)}
        for name, text in told:
            if name in state and not text.startswith((">", "<")):
                assert state[name] in text.split("|")
        away = [v.name for k, v in enumerate(compiled.network.variables) if plain.values[k] != space.rest[k]]
        named = {name for name, _ in told}
        assert set(away) <= named | {"engine", "battery"}, (broken.watch.label, told, away)


def test_impossible_states_are_not_counted() -> None:
    """No starter, no cranking: a quarter of the raw states cannot occur."""
    compiled = _car(1)
    found = search(compiled, watches_of(compiled), all_below=EVERY)
    assert found.states_searched == found.space.raw * 3 // 4


def test_an_alternator_that_was_woken_before_is_asked_awake() -> None:
    """Its lamp's own switch is opened while it turns, as a kill switch in the lamp's lead does: it charges on."""
    job = car(
        parts=[
            {"id": "ALT", "kind": "alternator"},
            {"id": "CHG", "kind": "lamp", "settings": "watt=2"},
            {"id": "SW2", "kind": "switch"},
        ],
        wires=[
            wire("W10", "ALT.B+", "BAT.+", "10"),
            wire("W11", "KEY.15", "SW2.1"),
            wire("W12", "SW2.2", "CHG.1"),
            wire("W13", "CHG.2", "ALT.D+"),
            wire("W14", "ALT.case", "engine", "10"),
        ],
    )
    compiled = compile_network(build_network(job, KINDS))
    node = compiled.node_of["ALT.B+"]

    def charges(answers: Answers):
        volts = np.nan_to_num(answers.volts(node))
        return (volts > 13.5) & answers.at("SW2", "off"), volts

    (broken,) = search(compiled, [_watch("charges with its lamp cut", charges)]).broken
    before = broken.before
    assert before is not None
    variables = compiled.network.variables
    assert {variables[k].name for k in np.flatnonzero(before != broken.values)} == {"SW2"}
