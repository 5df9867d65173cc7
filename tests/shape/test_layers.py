"""Imports point downwards only, whole package, deferred and type-only imports included, and never in a ring."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

import pytest

from tests.shape.source import CLOSED_LEVELS, PACKAGE, Module, imports, module_of, modules, own_imports, settings

LAYERS = settings("layers.toml")
LEVELS: Mapping[str, int] = LAYERS["levels"]
SIDEWAYS: Mapping[str, list[str]] = LAYERS["sideways"]
LIBRARIES: Mapping[str, Mapping[str, str]] = LAYERS["libraries"]


def room_of(target: str) -> str:
    """The room that an import of ours leads to; the package's top where it names no room."""
    pieces = target.split(".")
    return pieces[1] if len(pieces) > 1 and pieces[1] in LEVELS else "__init__"


def wrong_directions(source: Iterable[Module]) -> list[str]:
    """Every import that does not point downwards."""
    wrong = []
    for module in source:
        if module.room not in LEVELS:
            wrong.append(f"{module.name}: {module.room} has no level in layers.toml")
            continue
        for line, target in own_imports(module):
            room = room_of(target)
            own = room == module.room or target == f"{PACKAGE}.__version__"
            if own or room in SIDEWAYS.get(module.room, ()) or LEVELS[room] < LEVELS[module.room]:
                continue
            wrong.append(f"{module.name}:{line} (level {LEVELS[module.room]}) imports {target} (level {LEVELS[room]})")
    return wrong


def wrong_libraries(source: Iterable[Module]) -> list[str]:
    """Every import of an outside library that a level below 8 may not use."""
    wrong = []
    for module in source:
        if LEVELS.get(module.room, 0) not in CLOSED_LEVELS:
            continue
        for line, target in imports(module):
            top = target.split(".")[0]
            if top == PACKAGE or top in sys.stdlib_module_names:
                continue
            rule = LIBRARIES.get(top)
            if rule is None or rule.get("only", module.room) != module.room:
                wrong.append(f"{module.name}:{line} imports {target}")
    return wrong


def ring(source: Iterable[Module]) -> list[str]:
    """The modules of one ring of imports, or nothing."""
    source = tuple(source)
    names = {module.name for module in source}
    edges: dict[str, set[str]] = {module.name: set() for module in source}
    for module in source:
        for _, target in own_imports(module):
            name = target if target in names else target.rpartition(".")[0]
            if name in names and name != module.name:
                edges[module.name].add(name)
    try:
        TopologicalSorter(edges).prepare()
    except CycleError as found:
        return list(found.args[1])
    return []


def test_imports_point_downwards():
    assert wrong_directions(modules()) == []


def test_levels_below_8_use_only_the_libraries_listed():
    assert wrong_libraries(modules()) == []


def test_no_ring_of_imports():
    assert ring(modules()) == []


def test_the_sideways_list_has_an_order():
    assert all(LEVELS[room] == 0 for room in SIDEWAYS)
    assert next(iter(TopologicalSorter(SIDEWAYS).static_order())) == "refusals"


def test_the_whole_package_is_read():
    names = {module.name for module in modules()}
    assert {"loomwright", "loomwright.refusals", "loomwright.quantities.gauge"} <= names


@pytest.mark.parametrize(
    "text",
    [
        "import loomwright.car",
        "from loomwright.car import Car",
        "from loomwright import car",
        "from loomwright import open",
        "import loomwright",
        "from .. import car",
        "from ..car import Car",
        "def late():\n    from loomwright.cli import main\n    return main",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from loomwright.network import Network",
        "import importlib\ncar = importlib.import_module('loomwright.car')",
        "from loomwright.routes.run import length",  # sideways
    ],
)
def test_an_import_upwards_or_sideways_would_be_caught(text):
    assert wrong_directions([module_of("loomwright.brief.page", text)])


@pytest.mark.parametrize("text", ["from loomwright.job import Job", "from loomwright.brief.x import y", "import math"])
def test_an_import_downwards_is_let_pass(text):
    assert wrong_directions([module_of("loomwright.brief.page", text)]) == []


def test_a_room_without_a_level_would_be_caught():
    assert wrong_directions([module_of("loomwright.odds.ends", "")])


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("loomwright.heat.wire", "import typst"),
        ("loomwright.heat.wire", "def late():\n    import xlsxwriter"),
        ("loomwright.heat.wire", "import polars"),
        ("loomwright.heat.wire", "from sqlalchemy import select"),
    ],
)
def test_a_library_out_of_place_would_be_caught(name, text):
    assert wrong_libraries([module_of(name, text)])


def test_libraries_in_their_place_are_let_pass():
    assert wrong_libraries([module_of("loomwright.logs.read", "import polars, numpy.linalg, math")]) == []
    assert wrong_libraries([module_of("loomwright.writers.pdf", "import typst")]) == []


def test_a_ring_would_be_caught():
    one = module_of("loomwright.heat.one", "from loomwright.heat.two import f")
    two = module_of("loomwright.heat.two", "def late():\n    from loomwright.heat import one")
    three = module_of("loomwright.heat.three", "from loomwright.heat import one")
    assert ring([one, two, three])
    assert ring([one, three]) == []
