"""What is a recipe? A circuit that is added in one go: what it asks, and the rows it makes of the answers.

Recipes are data (`tables/recipes/*.toml`), as part kinds are; a shop keeps its own in a file of the same form. A row's
cells are texts in which `{name}` stands for an answer; a row with `only` is made where an answer is one of those named.
Nothing a recipe makes is special: the rows are ordinary ones, edited afterwards like any other.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import cast

from loomwright.job.columns import columns_of
from loomwright.job.schema import SHEETS
from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.load import read_toml, table_names

__all__ = ["TAKES", "Ask", "Recipe", "RecipeRow", "load_recipes", "names_in", "recipe_called", "recipes_from_text"]

TAKES = ("new part", "new circuit", "place", "feed", "earth", "part", "number", "choice", "when", "words")
"""What an answer may be: an id not used yet, a place of the job, a point to take current from, an earth point, a part
of certain kinds, a figure, one of a list, a condition, plain words."""

_NAMED = re.compile(r"\{([a-z_0-9]+)\}")
_SHEETS_MADE = (
    "vehicle", "places", "runs", "circuits", "parts", "wires", "controller_pins", "needs", "drives", "requirements",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One thing a recipe must know.

    usual: the answer where none is given; blank = it must be given. `@only` is the one part of its kinds, `@near:name`
    the earth point nearest to the place answered under that name, `@place:name` the place of the part answered there.
    kinds: part kinds that may be named.   allowed: the words of a choice.
    typical: the usual figure is generic, not this car's.
    """

    name: str
    says: str
    takes: str
    usual: str = ""
    unit: str = ""
    kinds: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()
    typical: bool = False
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeRow:
    """A row to make. cells: heading -> text with `{name}` in it.   only: answer -> the words that call for the row."""

    sheet: str
    cells: Mapping[str, str]
    only: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A circuit that is added in one go.

    gives: what it adds, in a sentence.   cautions: said before its rows are made.   chapter: where it stands in a list.
    """

    id: str
    chapter: str
    title: str
    gives: str
    cautions: tuple[str, ...]
    asks: tuple[Ask, ...]
    rows: tuple[RecipeRow, ...]


@cache
def load_recipes() -> Mapping[str, Recipe]:
    """The recipes that ship, by id, in the order of their chapters.

    Raises:
        TableFault: a recipe file that does not hold together.
    Example:
        >>> load_recipes()["horn_on_relay"].asks[0].name
        'horn'
    """
    found: dict[str, Recipe] = {}
    for name in table_names("recipes", "toml"):
        for recipe in _recipes_of(name, read_toml("recipes", name)):
            if recipe.id in found:
                raise TableFault(f"recipes/{name}", 1, recipe.id, "two recipes of one id")
            found[recipe.id] = recipe
    return found


def recipes_from_text(name: str, text: str) -> tuple[Recipe, ...]:
    """The recipes of a shop's own file.

    Args:
        name: the file, for what is said of it.
    Raises:
        TableFault: it is not TOML, or not a recipe.
    """
    try:
        entries = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise TableFault(name, 1, "file", str(fault)) from fault
    return tuple(_recipes_of(name, entries))


def recipe_called(name: str, recipes: Mapping[str, Recipe] | None = None) -> Recipe:
    """The recipe of an id.

    Raises:
        OutOfReach: there is none, with those there are.
    """
    known = load_recipes() if recipes is None else recipes
    if name not in known:
        raise OutOfReach("a recipe", name, ", ".join(sorted(known)))
    return known[name]


def names_in(text: str) -> tuple[str, ...]:
    """The answers a text asks for: `names_in("{fan}.+")` is `("fan",)`."""
    return tuple(_NAMED.findall(text))


def _recipes_of(file: str, entries: Mapping[str, object]) -> Iterable[Recipe]:
    for identity, entry in entries.items():
        if not isinstance(entry, dict):
            raise TableFault(file, 1, identity, "a recipe is a table: [its_id]")
        yield _recipe(file, identity, entry)


def _recipe(file: str, identity: str, entry: Mapping[str, object]) -> Recipe:
    asks = tuple(_ask(file, identity, each) for each in _tables(file, identity, entry, "asks"))
    known: set[str] = set()
    for ask in asks:
        unknown = [name for name in names_in(ask.usual) if name not in known]
        if unknown:
            raise TableFault(file, 1, identity, f"{ask.name} rests on {unknown[0]}, which is not asked before it")
        known.add(ask.name)
    rows = tuple(_row(file, identity, each, known) for each in _tables(file, identity, entry, "rows"))
    if not rows:
        raise TableFault(file, 1, identity, "a recipe that makes no row")
    return Recipe(
        id=identity,
        chapter=file.rsplit("/", 1)[-1].removesuffix(".toml"),
        title=_text(file, identity, entry, "title"),
        gives=_text(file, identity, entry, "gives"),
        cautions=_words(entry, "cautions"),
        asks=asks,
        rows=rows,
    )


def _ask(file: str, identity: str, entry: Mapping[str, object]) -> Ask:
    takes = _text(file, identity, entry, "takes")
    if takes not in TAKES:
        raise TableFault(file, 1, identity, f"takes {takes}, allowed: {', '.join(TAKES)}")
    ask = Ask(
        name=_text(file, identity, entry, "name"),
        says=_text(file, identity, entry, "says"),
        takes=takes,
        usual=str(entry.get("usual", "")),
        unit=str(entry.get("unit", "")),
        kinds=_words(entry, "kinds"),
        allowed=_words(entry, "allowed"),
        typical=bool(entry.get("typical", False)),
        source=str(entry.get("source", "")),
    )
    if takes == "choice" and ask.usual not in ask.allowed:
        raise TableFault(file, 1, identity, f"{ask.name} is a choice whose usual answer is not allowed")
    if takes == "number" and not ask.source:
        raise TableFault(file, 1, identity, f"{ask.name} is a figure without a source")
    return ask


def _row(file: str, identity: str, entry: Mapping[str, object], known: set[str]) -> RecipeRow:
    sheet = _text(file, identity, entry, "sheet")
    if sheet not in _SHEETS_MADE:
        raise TableFault(file, 1, identity, f"makes a row of {sheet}, allowed: {', '.join(_SHEETS_MADE)}")
    headings = {column.name for column in columns_of(SHEETS[sheet])}
    cells = {name: str(text) for name, text in entry.items() if name not in ("sheet", "only")}
    for heading, text in cells.items():
        if heading not in headings:
            raise TableFault(file, 1, identity, f"{sheet} has no column {heading}")
        for name in names_in(text):
            if name not in known:
                raise TableFault(file, 1, identity, f"{sheet}.{heading} names {name}, which is not asked")
    only = cast(Mapping[str, list[str]], entry.get("only", {}))
    for name in only:
        if name not in known:
            raise TableFault(file, 1, identity, f"a row is only made for {name}, which is not asked")
    return RecipeRow(sheet=sheet, cells=cells, only={name: tuple(words) for name, words in only.items()})


def _tables(file: str, identity: str, entry: Mapping[str, object], name: str) -> list[Mapping[str, object]]:
    found = entry.get(name, [])
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        raise TableFault(file, 1, identity, f"{name} are tables: [[{identity}.{name}]]")
    return found


def _text(file: str, identity: str, entry: Mapping[str, object], name: str) -> str:
    found = entry.get(name)
    if not isinstance(found, str) or not found:
        raise TableFault(file, 1, identity, f"{name} is missing")
    return found


def _words(entry: Mapping[str, object], name: str) -> tuple[str, ...]:
    return tuple(str(word) for word in cast(list[object], entry.get(name, [])))
