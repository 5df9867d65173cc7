"""Every bare number says its unit: at the end of its name, or as `[-]` in the docstring where it has none.

Looked at: arguments of public functions and fields of public records that are annotated as floats, alone or in a tuple
or a list. A name passes with an ending of `loomwright.quantities.ENDINGS`; without one where the docstring marks it
`[-]`; or where a `unit` stands beside it. The docstrings' own brackets must agree with the endings.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping

import pytest

from loomwright.quantities import ENDINGS, ending_of
from tests.shape.source import Function, Module, module_of, modules, public_definitions, settings

EXCEPTIONS = settings("exceptions.toml")
ANY_PLACE: Mapping[str, str] = EXCEPTIONS["unit_names"]
ONE_PLACE: Mapping[str, str] = EXCEPTIONS["units"]

# how a unit stands in brackets in a docstring, where that is not its ending with the underscores out
BRACKETS = {
    "ohm_per_m": "ohm/m",
    "mv_per_k": "mV/K",
    "kmh": "km/h",
    "deg_btdc": "deg BTDC",
    "rpm": "rpm",
    "a": "A",
    "v": "V",
    "w": "W",
    "ma": "mA",
    "c": "C",
    "k": "K",
    "kpa": "kPa",
    "ah": "Ah",
    "mh": "mH",
    "hz": "Hz",
    "n": "N",
    "nm": "Nm",
    "a2s": "A2s",
    "frac": "0..1",
    "minutes": "min",
    "hours": "h",
    "days": "d",
}
_HEAD = re.compile(r"\s*([a-z_][a-z0-9_]*(?:, [a-z_][a-z0-9_]*)*): ")
_ENTRY = re.compile(r"^( *)([a-z_][A-Za-z0-9_]*(?:, \*?[a-z_][A-Za-z0-9_]*)*): \S", re.MULTILINE)


def bracket_of(ending: str) -> str:
    """The unit of an ending as docstrings write it in brackets."""
    return BRACKETS.get(ending, ending)


def bare_numbers(source: Iterable[Module]) -> list[str]:
    """Floats whose name does not say their unit."""
    return [place for module in source for place in _bare(module) if place not in ONE_PLACE]


def wrong_brackets(source: Iterable[Module]) -> list[str]:
    """Docstring lines whose bracket says another unit than the name's ending."""
    wrong = []
    for module in source:
        for place, node in public_definitions(module):
            for name, bracket in documented(ast.get_docstring(node) or ""):
                ending = ending_of(name)
                if ending is not None and bracket in map(bracket_of, ENDINGS) and bracket != bracket_of(ending):
                    wrong.append(f"{place}.{name} [{bracket}]")
    return wrong


def strange_arguments(source: Iterable[Module]) -> list[str]:
    """Names under `Args:` that the signature does not have."""
    strange = []
    for module in source:
        for place, node in public_definitions(module):
            if isinstance(node, Function):
                has = {argument.arg for argument in _arguments(node)}
                strange.extend(f"{place}.{name}" for name in listed(ast.get_docstring(node) or "") if name not in has)
    return strange


def documented(docstring: str) -> Iterator[tuple[str, str]]:
    """Each name that the docstring gives a unit in brackets: (name, what stands in the brackets)."""
    for match in _lines_with_unit(docstring):
        for name in match[0].split(", "):
            yield name, match[1]


def listed(docstring: str) -> list[str]:
    """The names under `Args:`."""
    if "Args:\n" not in docstring:
        return []
    block = re.split(r"^\S.*:$", docstring.split("Args:\n", 1)[1], maxsplit=1, flags=re.MULTILINE)[0]
    entries = [(len(match.group(1)), match.group(2)) for match in _ENTRY.finditer(block)]
    margin = min((indent for indent, _ in entries), default=0)
    return [name.lstrip("*") for indent, names in entries if indent == margin for name in names.split(", ")]


def _lines_with_unit(docstring: str) -> list[tuple[str, str]]:
    """Each entry that ends in a bracket; entries begin a line or follow two spaces, and may run over several lines."""
    found = []
    entry = ""
    for piece in (piece for line in docstring.splitlines() for piece in re.split(r"(?<=\S) {2,}(?=\S)", line) or [""]):
        head = _HEAD.match(piece)
        entry = head.group(1) if head else entry if piece.strip() else ""
        unit = re.search(r"\[([^\[\]]+)\]\.?$", piece.rstrip())
        if entry and unit:
            found.append((entry, unit.group(1)))
            entry = ""
    return found


def _bare(module: Module) -> Iterator[str]:
    for place, node in public_definitions(module):
        pairs = list(_floats(node))
        without_unit = {name for name, bracket in documented(ast.get_docstring(node) or "") if bracket == "-"}
        beside = any(name == "unit" for name in _names(node))
        for name in pairs:
            if ending_of(name) is None and name not in without_unit and name not in ANY_PLACE and not beside:
                yield f"{place}.{name}"


def _floats(node: ast.AST) -> Iterator[str]:
    if isinstance(node, Function):
        yield from (argument.arg for argument in _arguments(node) if _is_float(argument.annotation))
    elif isinstance(node, ast.ClassDef):
        for field in node.body:
            if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and _is_float(field.annotation):
                yield field.target.id


def _names(node: ast.AST) -> Iterator[str]:
    if isinstance(node, Function):
        yield from (argument.arg for argument in _arguments(node))
    elif isinstance(node, ast.ClassDef):
        for field in node.body:
            if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                yield field.target.id


def _arguments(node: ast.FunctionDef | ast.AsyncFunctionDef) -> list[ast.arg]:
    inside = node.args
    extra = [argument for argument in (inside.vararg, inside.kwarg) if argument is not None]
    return [*inside.posonlyargs, *inside.args, *inside.kwonlyargs, *extra]


def _is_float(annotation: ast.expr | None) -> bool:
    if annotation is None:
        return False
    words = set(re.findall(r"[A-Za-z_]+", ast.unparse(annotation)))
    plain = {"float", "None", "tuple", "Sequence", "list", "Iterable", "Optional"}
    return "float" in words and words <= plain


def test_every_bare_number_says_its_unit():
    assert bare_numbers(modules()) == []


def test_brackets_agree_with_endings():
    assert wrong_brackets(modules()) == []


def test_docstrings_list_only_arguments_that_there_are():
    assert strange_arguments(modules()) == []


def test_the_lists_of_exceptions_are_needed():
    places = {place for module in modules() for place in _bare(module)}
    assert set(ONE_PLACE) <= places
    fields = {name for module in modules() for _, node in public_definitions(module) for name in _floats(node)}
    assert {name for name in ANY_PLACE if name not in fields and name not in ("volts", "amps")} == set()


@pytest.mark.parametrize(
    "text",
    [
        "def drop(current: float): ...",
        "def drop(*, current: float | None = None): ...",
        "def drop(lengths: tuple[float, ...]): ...",
        "class Run:\n    length: float = 0.0",
        "class Run:\n    '''A run.\n\n    length: how far. [mm]\n    '''\n    length: float",
    ],
)
def test_a_number_without_its_unit_would_be_caught(text):
    assert bare_numbers([module_of("m", text)])


@pytest.mark.parametrize(
    "text",
    [
        "def drop_v(current_a: float, n: int): ...",
        "def _line(x: float): ...",
        "class Run:\n    length_mm: float\n    name: str",
        "class Found:\n    figure: float\n    unit: str",
        "def scale(ratio: float):\n    '''Words.\n\n    Args:\n        ratio: a\n            share. [-]\n    '''",
    ],
)
def test_a_number_with_its_unit_is_let_pass(text):
    assert bare_numbers([module_of("m", text)]) == []


def test_a_bracket_with_another_unit_would_be_caught():
    text = "def drop(current_a: float):\n    '''Words.\n\n    Args:\n        current_a: steady. [{}]\n    '''"
    assert wrong_brackets([module_of("m", text.format("V"))]) == ["m.drop.current_a [V]"]
    assert wrong_brackets([module_of("m", text.format("A"))]) == []


def test_several_entries_on_a_line_are_told_apart():
    text = (
        "Words.\n\nlong_mm: how far. [mm]   r_ohm: of it. [ohm]\nshare: of\n    all. [-]  kind: what.\nrest_a: it. [V]"
    )
    assert list(documented(text)) == [("long_mm", "mm"), ("r_ohm", "ohm"), ("share", "-"), ("rest_a", "V")]


def test_an_argument_that_is_not_there_would_be_caught():
    text = (
        "def drop(a: int, *, b: int):\n    '''Words.\n\n    Args:\n        a: one: more\n            words: here\n"
        "        c: two.\n    Returns:\n        d: no.\n    '''"
    )
    assert strange_arguments([module_of("m", text)]) == ["m.drop.c"]


def test_every_ending_can_be_written_in_brackets():
    assert len({bracket_of(ending) for ending in ENDINGS}) == len(ENDINGS)
