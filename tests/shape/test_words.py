"""Words: nothing of the machine it was written on, and to a person no word that blames or scares."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.shape.source import PACKAGE, ROOT, SRC, Definition, Module, module_of, modules

FOLDERS = ("src", "tests", "docs", "tools", "benchmarks", "examples", ".ci")
TEXTS = {
    *(".py", ".md", ".toml", ".csv", ".typ", ".cir", ".json", ".txt", ".yml", ".html", ".css", ".js", ".lock"),
    "",
}

# written in pieces, so that this file does not hold what it looks for
_MACHINE = re.compile(
    r"(?:^|[^A-Za-z0-9.])/(?:" + "|".join(["wo" + "rk", "ro" + "ot", "ho" + "me", "t" + "mp"]) + r")/"
)
_HOSTS = re.compile(r"(?:py" + r"pi|python" + r"hosted|npm" + r"js|deb" + r"ian)\.[a-z]{2,4}\b", re.IGNORECASE)

_UNKIND = re.compile(r"\b(error|errors|invalid|success|successful|successfully|please|oops|sorry)\b", re.IGNORECASE)


def files() -> list[Path]:
    """Every text file of the checkout that is ours."""
    inside = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*") if path.is_file()]
    top = [path for path in ROOT.iterdir() if path.is_file()]
    return [p for p in sorted(inside + top) if p.suffix in TEXTS and "__pycache__" not in p.parts]


def machine_words(text: str) -> list[str]:
    """Places of a machine and registries' hosts in a text."""
    return [match.group(0).strip() for pattern in (_MACHINE, _HOSTS) for match in pattern.finditer(text)]


def unkind_words(source: Iterable[Module]) -> list[str]:
    """Strings of the code, docstrings apart, that hold a word no person should be told."""
    found = []
    for module in source:
        docs = _docstrings(module.tree)
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
                found.extend(f"{module.name}:{node.lineno} {word}" for word in _UNKIND.findall(node.value))
    return found


def _docstrings(tree: ast.Module) -> set[int]:
    """Strings that stand alone: docstrings and the lines beneath a constant."""
    return {
        id(statement.value)
        for node in ast.walk(tree)
        if isinstance(node, Definition | ast.Module)
        for statement in node.body
        if isinstance(statement, ast.Expr)
    }


def test_no_file_holds_a_place_of_a_machine():
    found = {path.name: words for path in files() if (words := machine_words(path.read_text(encoding="utf-8")))}
    assert found == {}


def test_no_string_of_the_code_blames_or_scares():
    assert unkind_words(modules()) == []


def test_no_shipped_table_blames_or_scares():
    shipped = [path for end in ("*.toml", "*.typ") for path in (SRC / PACKAGE).rglob(end)]
    assert [path.name for path in shipped if _UNKIND.search(path.read_text(encoding="utf-8"))] == []


def test_the_files_looked_at_are_there():
    names = {path.name for path in files()}
    assert {"README.md", "Makefile", "pyproject.toml", "refusals.py", "test_words.py", "requirements.lock"} <= names


@pytest.mark.parametrize("text", ["see /wo" + "rk/x", "`/t" + "mp/a`", "https://py" + "pi.org/simple"])
def test_a_place_of_a_machine_would_be_caught(text):
    assert machine_words(text)


@pytest.mark.parametrize("text", ["docs/work/x", "a/root/b", "the work done", "at home/away"])
def test_plain_words_are_let_pass(text):
    assert machine_words(text) == []


def test_a_scaring_word_would_be_caught():
    text = "'''Please.'''\ndef f():\n    '''Error.'''\n    raise ValueError(f'Invalid {1}')\nN = 1\n'''success'''\n"
    assert unkind_words([module_of("m", text)]) == ["m:4 Invalid"]
