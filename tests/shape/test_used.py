"""Names: what a module defines is used; what nobody uses is taken out, what only tests use is named with its reason."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterable, Iterator

from tests.shape.source import ROOT, Function, Module, module_of, modules, settings

OTHERS = ("tests", "benchmarks", "tools")
TESTS_ALONE: dict[str, str] = settings("exceptions.toml")["tests_alone"]
_WORD = re.compile(r"[A-Za-z_]\w*")


def names_defined(module: Module) -> Iterator[str]:
    """The names that a module defines at its top. A function under a decorator is used by that: a route, a command."""
    for node in module.tree.body:
        if (isinstance(node, Function) and not node.decorator_list) or isinstance(node, ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            yield from (one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name))


def names_read(module: Module) -> set[str]:
    """The names that a module reads."""
    return {node.id for node in ast.walk(module.tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)}


def unused(source: Iterable[Module], beside: Iterable[str] = ()) -> list[str]:
    """Names that no module uses, those with an underscore in their own; `beside`: other texts that may use them."""
    known = list(source)
    words = [set(_WORD.findall(module.text)) for module in known]
    in_modules = Counter(word for each in words for word in each)
    elsewhere = {word for text in beside for word in _WORD.findall(text)}
    found = []
    for module in known:
        read = names_read(module)
        for name in names_defined(module):
            is_private = name.startswith("_")
            is_used_by_others = not is_private and (in_modules[name] > 1 or name in elsewhere)
            if name not in read and not is_used_by_others and not name.startswith("__"):
                found.append(f"{module.name}.{name}")
    return found


def test_every_name_is_used():
    texts = [path.read_text(encoding="utf-8") for folder in OTHERS for path in (ROOT / folder).rglob("*.py")]
    texts += [path.read_text(encoding="utf-8") for path in (ROOT / "tools").iterdir() if path.is_file()]
    assert unused(modules(), texts) == []


def test_what_only_tests_use_is_named_with_its_reason():
    assert sorted(unused(modules())) == sorted(TESTS_ALONE)
    assert all(TESTS_ALONE.values())


def test_a_name_that_nobody_uses_would_be_caught():
    one = module_of("loomwright.job.one", '__all__ = ["cut", "drop"]\n_LEAST = 1\n_MOST = 2\n\ndef cut(): return _MOST')
    other = module_of("loomwright.job.other", "from loomwright.job.one import cut")
    assert unused([one, other], ["cut()"]) == ["loomwright.job.one._LEAST"]
    more = module_of("loomwright.job.more", "def drop(): pass\n\n@route\ndef page(): pass\n\nclass Row: pass")
    assert unused([more]) == ["loomwright.job.more.drop", "loomwright.job.more.Row"]
    assert unused([more], ["drop() Row()"]) == []
