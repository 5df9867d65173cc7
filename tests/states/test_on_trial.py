"""A network with something tried on it is the one its sheets would give."""

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes, Short
from loomwright.sheets.csv_folder import open_folder
from loomwright.states.asking.on_trial import on_trial


@pytest.fixture(scope="module")
def van() -> Car:
    return Car(open_folder(example_folder("van")))


@pytest.mark.parametrize(
    "trial",
    [
        Changes(opened=("W101",)),
        Changes(shorts=(Short("KF2.86", "body"), Short("FF1.1", "FF1.2", 0.005))),
        Changes(opened=("W361", "W225"), shorts=(Short("STR.50", "BAT.+"),)),
    ],
)
def test_wires_opened_and_points_bridged_are_those_of_the_sheets(van: Car, trial: Changes) -> None:
    built = build_network(van.taken.job, van.kinds, trial, van.variables)

    tried = on_trial(van.compiled.network, trial)

    assert tried is not None
    assert tried.elements == built.elements
    assert (tried.nodes, tried.devices, tried.selectors) == (built.nodes, built.devices, built.selectors)
    assert tried.elements != van.compiled.network.elements
    expected, given = compile_network(built).arrays, van.compiled_with(trial).arrays
    assert all(np.array_equal(a, b) for a, b in zip(expected, given, strict=True) if isinstance(a, np.ndarray))


@pytest.mark.parametrize(
    "trial",
    [
        Changes(unplugged=("KF2",)),
        Changes(opened=("W101",), pulled=("FF1",)),
        Changes(shorts=(Short("NONE.1", "body"),)),
    ],
)
def test_what_is_changed_otherwise_is_left_to_the_sheets(van: Car, trial: Changes) -> None:
    assert on_trial(van.compiled.network, trial) is None
