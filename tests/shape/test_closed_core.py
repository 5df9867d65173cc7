"""Levels 0 to 7 open nothing, know no time, throw no dice, tell no log, and keep nothing between two calls."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping

import pytest

from tests.shape.source import CLOSED_LEVELS, Function, Module, called, imports, module_of, modules, settings

LEVELS: Mapping[str, int] = settings("layers.toml")["levels"]
FILES: Mapping[str, str] = settings("exceptions.toml")["files"]

OUTSIDE = {
    *("os", "io", "pathlib", "shutil", "tempfile", "glob", "fileinput", "mmap", "zipfile", "tarfile", "gzip"),
    *("socket", "ssl", "http", "urllib", "ftplib", "smtplib", "socketserver", "select", "selectors"),
    *("sqlite3", "dbm", "shelve", "subprocess", "multiprocessing", "asyncio", "signal", "ctypes"),
    *("time", "sched", "random", "secrets", "uuid", "logging", "warnings", "importlib", "pkgutil", "atexit"),
}
OUTSIDE_CALLS = {"open", "print", "input", "exec", "eval", "compile", "breakpoint", "globals", "__import__"}
CLOCK = {"now", "today", "utcnow"}
CLOCK_OWNERS = {"datetime", "date"}
CHANGES = {
    *("append", "extend", "insert", "remove", "pop", "clear", "sort", "reverse", "update", "setdefault", "popitem"),
    *("add", "discard", "write"),
}


def reaches_out(source: Iterable[Module]) -> list[str]:
    """Every place in levels 0 to 7 that opens, asks the time, throws dice, prints or logs."""
    return [f"{module.name}:{line} {what}" for module in _closed(source) for line, what in _outside(module)]


def keeps_state(source: Iterable[Module]) -> list[str]:
    """Every place in levels 0 to 7 where a function changes something that belongs to its module."""
    return [f"{module.name}:{line} {what}" for module in _closed(source) for line, what in _changed(module)]


def _closed(source: Iterable[Module]) -> Iterator[Module]:
    return (module for module in source if LEVELS.get(module.room, 0) in CLOSED_LEVELS)


def _outside(module: Module) -> Iterator[tuple[int, str]]:
    if module.name in FILES:
        return
    for line, target in imports(module):
        if target.split(".")[0] in OUTSIDE:
            yield line, f"imports {target}"
    for node in ast.walk(module.tree):
        if not isinstance(node, ast.Call):
            continue
        name = called(node)
        owner, _, last = name.rpartition(".")
        dice = ".random." in f".{owner}." or last == "default_rng"
        clock = last in CLOCK and owner.rpartition(".")[2] in CLOCK_OWNERS
        file = last in ("read_text", "read_bytes", "write_text", "write_bytes", "loadtxt", "genfromtxt", "tofile")
        if name in OUTSIDE_CALLS or dice or clock or file:
            yield node.lineno, f"calls {name or last}"


def _changed(module: Module) -> Iterator[tuple[int, str]]:
    kept = {
        target.id
        for node in module.tree.body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
        if isinstance(target, ast.Name)
    }
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Global):
            yield node.lineno, f"global {' '.join(node.names)}"
        elif isinstance(node, Function):
            yield from _changed_in(node, kept - _own_names(node))


def _own_names(function: Function) -> set[str]:
    arguments = function.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs, arguments.vararg, arguments.kwarg]
    stored = {n.id for n in ast.walk(function) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store)}
    return stored | {argument.arg for argument in named if argument is not None}


def _changed_in(function: Function, kept: set[str]) -> Iterator[tuple[int, str]]:
    for node in ast.walk(function):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CHANGES:
            target: ast.expr = node.func.value
        elif isinstance(node, ast.Subscript | ast.Attribute) and isinstance(node.ctx, ast.Store | ast.Del):
            target = node.value
        else:
            continue
        if isinstance(target, ast.Name) and target.id in kept:
            yield node.lineno, f"changes {target.id}"


def test_the_core_reaches_nothing_outside():
    assert reaches_out(modules()) == []


def test_the_core_keeps_nothing_between_two_calls():
    assert keeps_state(modules()) == []


def test_the_list_of_modules_that_read_files_is_needed():
    with_list_lifted = [
        module_of(f"loomwright.tables.lifted_{place}", module.text)
        for place, module in enumerate(modules())
        if module.name in FILES
    ]
    assert len(with_list_lifted) == len(FILES)
    assert all(reaches_out([module]) for module in with_list_lifted)


@pytest.mark.parametrize(
    "text",
    [
        "import os",
        "from pathlib import Path",
        "def f():\n    import sqlite3",
        "f = open('x')",
        "print('x')",
        "import random",
        "import logging",
        "from importlib import resources",
        "import datetime\nd = datetime.datetime.now()",
        "from datetime import date\nd = date.today()",
        "import numpy as np\nx = np.random.normal()",
        "from numpy.random import default_rng\nx = default_rng(1)",
        "def f(path):\n    return path.read_text()",
    ],
)
def test_reaching_out_would_be_caught(text):
    assert reaches_out([module_of("loomwright.heat.wire", text)])


def test_what_is_no_reaching_out_is_let_pass():
    text = "from datetime import date\nimport csv, json, math\ndef f(day: date, dice): return dice.random(), day.year"
    assert reaches_out([module_of("loomwright.heat.wire", text)]) == []
    assert reaches_out([module_of("loomwright.sheets.folder", "import os")]) == []


@pytest.mark.parametrize(
    "text",
    [
        "n = 0\ndef f():\n    global n\n    n = 1",
        "seen = []\ndef f(x):\n    seen.append(x)",
        "seen = {}\ndef f(x):\n    seen[x] = 1",
        "seen: dict[str, int] = {}\ndef f(x):\n    del seen[x]",
        "seen = set()\nclass A:\n    def f(self):\n        seen.add(1)",
    ],
)
def test_keeping_state_would_be_caught(text):
    assert keeps_state([module_of("loomwright.heat.wire", text)])


def test_what_is_a_functions_own_is_let_pass():
    text = "seen = ()\ndef f():\n    seen = []\n    seen.append(1)\n    return seen\ndef g(seen):\n    seen.add(1)"
    assert keeps_state([module_of("loomwright.heat.wire", text)]) == []
