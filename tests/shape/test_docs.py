"""The docs are true: paths they name exist, targets and commands they name are there, each command has its line."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.shape.source import PACKAGE, ROOT, SRC, Module, called, module_of, modules

TOP_PAGES = ("README.md", "CHANGELOG.md", "CONTRIBUTING.md")
LINE_PAGES = ("README.md", "docs/terms.md")
ENDS = (".md", ".py", ".toml", ".csv", ".lock", ".typ", ".cir", ".json", ".yml")
MADE_ON_THE_WAY = ("out/", "build/", ".venv/")  # folders that a command makes
_TICKED = re.compile(r"`([^`\n]+)`")
_LINK = re.compile(r"\[[^\]]*\]\(([^)#\s]+)(?:#[^)]*)?\)")
_FENCE = re.compile(r"^(```|~~~).*?^\1", re.MULTILINE | re.DOTALL)
_PATH = re.compile(r"[A-Za-z0-9_.*-]+(?:/[A-Za-z0-9_.*-]+)*/?")


def pages() -> list[Path]:
    """Every page of words in the checkout."""
    inside = [path for folder in ("docs", "src", "tests", "examples") for path in (ROOT / folder).rglob("*.md")]
    return [ROOT / name for name in TOP_PAGES] + sorted(inside)


def named_paths(text: str) -> list[str]:
    """What a page names that looks like a path of ours: in back-ticks with a slash or a known ending, or as a link."""
    prose = _FENCE.sub("", text)
    ticked = [word for word in _TICKED.findall(prose) if _PATH.fullmatch(word)]
    words = [word for word in ticked if word.endswith((*ENDS, "/")) or _is_ours(word)]
    links = [link for link in _LINK.findall(prose) if "://" not in link and not link.startswith("mailto:")]
    return [word for word in [*words, *links] if not word.startswith(MADE_ON_THE_WAY)]


def missing_paths(text: str, folder: Path) -> list[str]:
    """The paths a page in `folder` names that do not exist, seen from the page, the checkout, or the package."""
    above = [place for place in folder.parents if place.is_relative_to(SRC / PACKAGE)]
    places = (folder, *above, ROOT, SRC / PACKAGE, ROOT / "docs", ROOT / "tests")
    return [path for path in named_paths(text) if not any(_exists(place, path) for place in places)]


def missing_targets(text: str, makefile: str) -> list[str]:
    """The make targets a page names that the Makefile lacks."""
    there = set(re.findall(r"^([a-z][a-z-]*):", makefile, re.MULTILINE))
    return [
        name
        for name in re.findall(r"`make ([a-z-]+)`|^\s*make ([a-z-]+)", text, re.MULTILINE)
        for name in name
        if name and name not in there
    ]


def command_names(source: Iterable[Module]) -> set[str]:
    """The commands that the command line offers: the keys of its mapping, and names given to `add_parser`."""
    names: set[str] = set()
    for module in source:
        if module.room != "cli":
            continue
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call) and called(node).endswith("add_parser"):
                names |= _texts(node.args[:1])
            elif isinstance(node, ast.Assign | ast.AnnAssign) and isinstance(node.value, ast.Dict):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                if any(isinstance(target, ast.Name) and target.id == "COMMANDS" for target in targets):
                    names |= _texts(node.value.keys)
    return names


def without_line(names: Iterable[str], text: str) -> list[str]:
    """The commands that no table row or list item of the page explains."""
    lines = [line for line in text.splitlines() if line.lstrip().startswith(("|", "-"))]
    return [name for name in sorted(names) if not any(f"`{name}`" in line for line in lines)]


def _texts(nodes: Iterable[ast.expr | None]) -> set[str]:
    return {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}


def _is_ours(word: str) -> bool:
    return word.split("/")[0] in {"src", "tests", "docs", "tools", "benchmarks"} and "/" in word


def _exists(place: Path, path: str) -> bool:
    return any(place.glob(path.rstrip("/"))) if "*" in path else (place / path).exists()


def test_paths_named_in_the_docs_exist():
    missing = {
        page.relative_to(ROOT).as_posix(): found
        for page in pages()
        if (found := missing_paths(page.read_text(encoding="utf-8"), page.parent))
    }
    assert missing == {}


def test_make_targets_named_in_the_docs_exist():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    assert [name for page in pages() for name in missing_targets(page.read_text(encoding="utf-8"), makefile)] == []


def test_every_command_has_a_line():
    text = "\n".join((ROOT / page).read_text(encoding="utf-8") for page in LINE_PAGES)
    assert command_names(modules())
    assert without_line(command_names(modules()), text) == []


def test_the_pages_that_a_reader_starts_from_are_there():
    for name in (*TOP_PAGES, "LICENSE", "docs/architecture.md", "docs/terms.md"):
        assert (ROOT / name).read_text(encoding="utf-8").strip(), name


def test_a_path_that_is_not_there_would_be_caught(tmp_path):
    text = (
        "See `docs/nowhere.md`, [this](away.md#part), `src/loomwright/odd/` and `make nothing`.\n```\ndocs/x.md\n```\n"
    )
    assert missing_paths(text, tmp_path) == ["docs/nowhere.md", "src/loomwright/odd/", "away.md"]
    assert missing_targets(text, "test:\n\techo\n") == ["nothing"]


def test_what_is_no_path_or_is_there_is_let_pass(tmp_path):
    text = "`key=run`, `W104.size_mm2`, `WH/BU`, `53a`, `docs/terms.md`, `docs/decisions/0001-*.md`, [x](https://a.b/c)"
    assert missing_paths(text, tmp_path) == []


def test_a_command_without_a_line_would_be_caught():
    cli = module_of(
        "loomwright.cli.main", "def f(sub):\n    sub.add_parser('burn', help='x')\n    sub.add_parser('check')"
    )
    assert command_names([cli]) == {"burn", "check"}
    mapped = module_of("loomwright.cli.main", "COMMANDS = {'burn': 1}\nfor word in COMMANDS:\n    sub.add_parser(word)")
    assert command_names([mapped]) == {"burn"}
    assert without_line({"burn", "check"}, "| `check` | looks at a job | ours |\n\nburn and `burn` in prose") == [
        "burn"
    ]


@pytest.mark.parametrize("page", LINE_PAGES)
def test_tables_have_as_many_cells_in_every_row(page):
    width = 0
    for line in (ROOT / page).read_text(encoding="utf-8").splitlines():
        cells = len(re.findall(r"(?<!\\)\|", line)) if line.startswith("|") else 0
        assert not (width and cells) or cells == width, line
        width = cells
