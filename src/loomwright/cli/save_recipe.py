"""`loomwright save-recipe`: a circuit that exists kept as a recipe of the shop's own, for its next car."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.brief.from_circuit import recipe_as_text, recipe_of_circuit
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.store.own_recipes import keep_recipe

__all__ = ["HELP", "add_arguments", "run"]

HELP = "keep a circuit of a job as a recipe of the shop's own, offered with those that ship"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("circuit", metavar="CIRCUIT", help="the circuit, by its short name")
    parser.add_argument("name", metavar="RECIPE", help="what the recipe is called: small letters, figures and _")
    parser.add_argument(
        "--title", default="", metavar="WORDS", help="the recipe in words; the circuit's name if left out"
    )
    parser.add_argument("--try", dest="only_try", action="store_true", help="show the recipe, and keep nothing")
    add_shelf(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    recipe = recipe_of_circuit(open_car(arguments.job).job, arguments.circuit, arguments.name, arguments.title)
    path = None if arguments.only_try else keep_recipe(folder_of(arguments), recipe)
    if arguments.json:
        plain = {"recipe": recipe.id, "title": recipe.title, "asks": [ask.name for ask in recipe.asks]}
        as_json({**plain, "rows": len(recipe.rows), "written": None if path is None else str(path)})
        return 0
    if path is None:
        show(recipe_as_text(recipe))
        return 0
    holds = f"{counted(len(recipe.rows), 'row')}, {counted(len(recipe.asks), 'thing')} asked"
    show(f"{recipe.id}: {holds}, kept in {path}.")
    show(f"Add it: loomwright add {recipe.id} JOB")
    return 0
