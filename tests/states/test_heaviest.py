"""A wire is met in the state in which it carries most, also where that is not the one that loads the battery most."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.states.asking.answers import Answers
from loomwright.states.asking.search import search
from loomwright.states.asking.watch import Watch
from tests.states.small_jobs import car, scene, wire

EVERY = 10**9
TRUNK = "W4"


def two_changeovers():
    """Two lamps each fed from the battery over a short wire, or from the key over a long one, and two on the key."""
    parts, wires = [{"id": "F2", "kind": "fuse", "settings": "rating_a=15"}], [wire("W20", "BAT.+", "F2.1", "6", "300")]
    for k in ("1", "2"):
        parts += [
            {"id": f"CO{k}", "kind": "switch_changeover"},
            {"id": f"LC{k}", "kind": "lamp", "settings": "watt=21"},
            {"id": f"SX{k}", "kind": "switch"},
            {"id": f"LX{k}", "kind": "lamp", "settings": "watt=21"},
        ]
        wires += [
            wire(f"W2{k}", "F2.2", f"CO{k}.a", "6", "300"),
            wire(f"W3{k}", "KEY.15", f"CO{k}.b", "0.5", "6000"),
            wire(f"W4{k}", f"CO{k}.c", f"LC{k}.1"),
            wire(f"W5{k}", f"LC{k}.2", "body"),
            wire(f"W6{k}", "KEY.15", f"SX{k}.1"),
            wire(f"W7{k}", f"SX{k}.2", f"LX{k}.1"),
            wire(f"W8{k}", f"LX{k}.2", "body"),
        ]
    return scene(car(parts=parts, wires=wires))


def most_in(seen, all_below: int) -> float:
    """The most the key's feed carries in the states that are solved. [A]"""
    (element,) = (k for k, one in enumerate(seen.compiled.network.elements) if one.name == TRUNK)
    met: list[float] = []

    def carries(answers: Answers):
        amps = np.abs(answers.amps(element)) * answers.possible
        met.append(float(amps.max()))
        return amps > np.inf, amps

    search(
        seen.compiled,
        [
            Watch(
                rule="TST-1", severity="fault", at=(TRUNK,), label=TRUNK, wrong="", mend="", broken=carries, worst=False
            )
        ],
        all_below=all_below,
    )
    return max(met)


def test_the_keys_feed_is_met_with_all_that_it_can_feed():
    seen = two_changeovers()
    names = [variable.name for variable in seen.compiled.network.variables]
    loaded = {
        name: seen.compiled.network.variables[k].values[value]
        for k, (name, value) in enumerate(zip(names, seen.space.loaded, strict=True))
    }
    assert (loaded["CO1"], loaded["CO2"]) == ("a", "a"), "the battery is loaded most past the key"
    assert most_in(seen, 0) == pytest.approx(most_in(seen, EVERY), rel=0.02)
