"""The package's own source as the tests of its shape read it: modules, syntax trees, imports."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src"
PACKAGE = "loomwright"
CLOSED_LEVELS = range(8)  # levels that open nothing, keep nothing and know no time

Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """One module: its dotted name, whether it is a package's `__init__`, its text and its syntax tree."""

    name: str
    is_package: bool
    text: str
    tree: ast.Module

    @property
    def lines(self) -> int:
        """How many lines it has. [-]"""
        return len(self.text.splitlines())

    @property
    def room(self) -> str:
        """The folder or module under the package's top that it belongs to, as `layers.toml` lists it."""
        pieces = self.name.split(".")
        return pieces[1] if len(pieces) > 1 else "__init__"


def module_of(name: str, text: str, *, is_package: bool = False) -> Module:
    """A module from its text, as the self-tests make them."""
    return Module(name=name, is_package=is_package, text=text, tree=ast.parse(text))


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package, in order of name; read once a run."""
    found = []
    for path in sorted((SRC / PACKAGE).rglob("*.py")):
        pieces = path.relative_to(SRC).with_suffix("").parts
        is_package = pieces[-1] == "__init__"
        name = ".".join(pieces[:-1] if is_package else pieces)
        found.append(module_of(name, path.read_text(encoding="utf-8"), is_package=is_package))
    return tuple(found)


def settings(name: str) -> dict[str, Any]:
    """One of the lists beside this file."""
    return tomllib.loads((Path(__file__).parent / name).read_text(encoding="utf-8"))


def imports(module: Module) -> Iterator[tuple[int, str]]:
    """Every import, wherever it stands (in functions and type-checking blocks too): (line, dotted target).

    `from a.b import c` gives `a.b.c`: whether `c` is a module or a name in one is for the reader to see.
    """
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            stem = _absolute(module, node)
            yield from ((node.lineno, f"{stem}.{alias.name}") for alias in node.names)
        elif isinstance(node, ast.Call) and _called(node) in ("__import__", "import_module", "importlib.import_module"):
            yield node.lineno, _text_of(node.args[0]) if node.args else "?"


def own_imports(module: Module) -> Iterator[tuple[int, str]]:
    """The imports of our own package."""
    return ((line, target) for line, target in imports(module) if target.split(".")[0] == PACKAGE)


def definitions(module: Module) -> Iterator[tuple[str, Definition]]:
    """Every class and function outside functions, with its dotted name."""
    return _defined(module.tree.body, module.name)


def public_definitions(module: Module) -> Iterator[tuple[str, Definition]]:
    """The classes, functions and methods that others may use: no part of their name begins with an underscore."""
    for name, node in definitions(module):
        if not any(piece.startswith("_") for piece in name.removeprefix(f"{module.name}.").split(".")):
            yield name, node


def called(node: ast.Call) -> str:
    """The dotted name that a call names, as far as it can be read: `np.random.normal`."""
    return _called(node)


def _defined(body: Iterable[ast.stmt], prefix: str) -> Iterator[tuple[str, Definition]]:
    for node in body:
        if isinstance(node, Definition):
            yield f"{prefix}.{node.name}", node
        if isinstance(node, ast.ClassDef):
            yield from _defined(node.body, f"{prefix}.{node.name}")
        if isinstance(node, ast.If | ast.Try):
            yield from _defined([*node.body, *node.orelse], prefix)


def _absolute(module: Module, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    pieces = module.name.split(".")
    up = node.level - 1 if module.is_package else node.level
    stem = ".".join(pieces[: len(pieces) - up])
    return f"{stem}.{node.module}" if node.module else stem


def _called(node: ast.Call) -> str:
    pieces: list[str] = []
    target: ast.expr = node.func
    while isinstance(target, ast.Attribute):
        pieces.append(target.attr)
        target = target.value
    if isinstance(target, ast.Name):
        pieces.append(target.id)
    return ".".join(reversed(pieces))


def _text_of(node: ast.expr) -> str:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else "?"
