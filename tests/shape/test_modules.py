"""Modules: names of the trade, not too long, each with a docstring, and so has all that others may call."""

from __future__ import annotations

import ast
from collections.abc import Iterable

import pytest

from tests.shape.source import PACKAGE, SRC, Module, module_of, modules, public_definitions, settings

MOST_LINES = 400
GRAB_BAGS = {"util", "utils", "helper", "helpers", "common", "misc", "manager", "managers", "base", "stuff", "tools"}
LONG: dict[str, str] = settings("exceptions.toml")["lines"]
WRITTEN_BY_HAND = ("*.js", "*.css", "*.html", "*.typ")


def grab_bags(source: Iterable[Module]) -> list[str]:
    """Modules and folders whose name says nothing."""
    return [module.name for module in source if GRAB_BAGS & set(module.name.split("."))]


def too_long(source: Iterable[Module]) -> list[str]:
    """Modules over the limit."""
    return [f"{module.name}: {module.lines} lines" for module in source if module.lines > MOST_LINES]


def undocumented(source: Iterable[Module]) -> list[str]:
    """Modules, public classes, functions and methods without a docstring."""
    bare = []
    for module in source:
        if not ast.get_docstring(module.tree):
            bare.append(module.name)
        bare.extend(name for name, node in public_definitions(module) if not ast.get_docstring(node))
    return bare


def test_no_module_is_a_grab_bag():
    assert grab_bags(modules()) == []


def test_no_module_is_over_400_lines():
    assert [line for line in too_long(modules()) if line.split(":")[0] not in LONG] == []


def test_no_layout_style_or_script_is_over_400_lines():
    files = [path for pattern in WRITTEN_BY_HAND for path in (SRC / PACKAGE).rglob(pattern)]
    long = [path.name for path in files if len(path.read_text(encoding="utf-8").splitlines()) > MOST_LINES]
    assert [name for name in long if name not in LONG] == []


def test_the_list_of_long_modules_holds_only_long_modules():
    long = {line.split(":")[0] for line in too_long(modules())}
    assert {name for name in LONG if name.startswith(PACKAGE)} <= long


def test_every_module_and_public_function_has_a_docstring():
    assert undocumented(modules()) == []


def test_every_folder_of_code_is_a_package():
    folders = {path.parent for path in (SRC / PACKAGE).rglob("*.py")}
    assert [folder.name for folder in sorted(folders) if not (folder / "__init__.py").exists()] == []


@pytest.mark.parametrize("name", ["loomwright.utils", "loomwright.job.helpers", "loomwright.common.words"])
def test_a_grab_bag_would_be_caught(name):
    assert grab_bags([module_of(name, "")]) == [name]


def test_a_long_module_would_be_caught():
    assert too_long([module_of("loomwright.job.rows", "x = 1\n" * 401)]) == ["loomwright.job.rows: 401 lines"]
    assert too_long([module_of("loomwright.job.rows", "x = 1\n" * 400)]) == []


def test_a_missing_docstring_would_be_caught():
    text = (
        "class Wire:\n    def cut(self): pass\n    def _seat(self): pass\n    def __len__(self): return 0\n"
        "async def route():\n    '''Words.'''\n    def inner(): pass\n"
        "if True:\n    def found(): pass\n"
        "class _Own:\n    def cut(self): pass\n"
    )
    assert undocumented([module_of("m", text)]) == ["m", "m.Wire", "m.Wire.cut", "m.found"]
