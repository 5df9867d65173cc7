"""The shop's own recipes: one file beside the shelf, `recipes.toml`, offered with those that ship.

The file is written whole and put in its place at once, so that it is never half a file; a shop may write in it by hand.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from loomwright.brief.from_circuit import OWN_CHAPTER, recipe_as_text
from loomwright.brief.recipe import Recipe, load_recipes, recipes_from_text
from loomwright.refusals import OutOfReach
from loomwright.store.shelf_file import refused

__all__ = ["FILE_NAME", "keep_recipe", "known_recipes", "own_recipes"]

FILE_NAME = "recipes.toml"
"""Where they stand in the folder of the shelf."""


def own_recipes(folder: Path) -> tuple[Recipe, ...]:
    """The recipes of a shop; none where it has kept none.

    Raises:
        BadDocument: the file cannot be read.
        TableFault: it holds something that is no recipe.
    """
    found = recipes_from_text(FILE_NAME, _text(folder))
    return tuple(replace(one, chapter=OWN_CHAPTER) for one in found)


def known_recipes(folder: Path) -> dict[str, Recipe]:
    """The recipes that ship, and after them the shop's own."""
    return dict(load_recipes()) | {one.id: one for one in own_recipes(folder)}


def keep_recipe(folder: Path, recipe: Recipe) -> Path:
    """Put a recipe with the shop's own; gives the file.

    Raises:
        OutOfReach: there is one of that name already.
        BadDocument: the disk does not take it; nothing is changed.
    """
    if recipe.id in known_recipes(folder):
        raise OutOfReach("name of a recipe", recipe.id, "a name no recipe has yet")
    text = recipe_as_text(recipe)
    recipes_from_text(FILE_NAME, text)  # whatever is kept can be read again
    path, aside = folder / FILE_NAME, folder / f"{FILE_NAME}.being-made"
    before = _text(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with aside.open("w", encoding="utf-8") as file:
            file.write(f"{before}\n{text}" if before.strip() else text)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
    except OSError as fault:
        aside.unlink(missing_ok=True)
        mend = "Make room there, or mend its rights"
        raise refused(f"{path}: {fault.strerror}", "a folder that can be written in", mend) from fault
    return path


def _text(folder: Path) -> str:
    path = folder / FILE_NAME
    try:
        return path.read_text(encoding="utf-8") if path.exists() else ""
    except (OSError, UnicodeDecodeError) as fault:
        raise refused(f"{path} cannot be read", "a file of recipes (.toml)", "Mend it, or move it away") from fault
