"""`loomwright add`: a circuit added in one go from a recipe, tried on the network before it is taken in."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.brief.adding import Added, added
from loomwright.brief.recipe import Recipe, recipe_called, recipes_from_text
from loomwright.car import Car
from loomwright.cli.asking import open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging, told
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.cli.telling import telling
from loomwright.findings import as_plain, says
from loomwright.store.own_recipes import known_recipes
from loomwright.trials.accepting import Accepting, accepting

__all__ = ["HELP", "add_arguments", "added_plain", "run"]

HELP = "add a circuit in one go from a recipe; without a recipe, the list of them"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("recipe", metavar="RECIPE", nargs="?", help="the recipe; none lists them all")
    parser.add_argument("job", metavar="JOB", nargs="?", help="the job it is added to; none tells what the recipe asks")
    parser.add_argument(
        "answers", metavar="NAME=ANSWER", nargs="*", help="what the recipe asks, such as place=radiator"
    )
    parser.add_argument(
        "--recipes", metavar="FILE", help="one more file of recipes (.toml), beside those that ship and the shop's own"
    )
    add_shelf(parser)
    parser.add_argument("--try", dest="only_try", action="store_true", help="show what it makes, and write nothing")
    parser.add_argument("--anyway", action="store_true", help="take the rows in though the network finds a new fault")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    recipes = known_recipes(folder_of(arguments))
    if arguments.recipes:
        recipes |= {one.id: one for one in _own(Path(arguments.recipes))}
    if arguments.recipe is None:
        return _list(recipes, arguments.json)
    recipe = recipe_called(arguments.recipe, recipes)
    if arguments.job is None:
        return _asks(recipe, arguments.json)
    path = None if arguments.only_try else container_of(arguments.job)
    car = open_car(arguments.job)
    made = added(car.job, recipe, _answers(arguments.answers), car.kinds)
    report = telling("steps")
    verdict = accepting(car.check(report).findings, Car(made.job, car.kinds).worked_out(report).check(report).findings)
    taken = path is not None and (verdict.holds or arguments.anyway)
    if taken and path is not None:
        write_back(made.job, path)
    if arguments.json:
        as_json(added_plain(made, verdict) | {"written": arguments.job if taken else None})
    else:
        _show(made, verdict)
        _close(arguments, taken=taken, holds=verdict.holds)
    return 0 if verdict.holds else 1


def added_plain(made: Added, verdict: Accepting) -> dict[str, object]:
    """What a recipe made, as plain lists and words."""
    return {
        "recipe": made.recipe.id,
        "answers": dict(made.answers),
        "rows": [{"sheet": row.sheet, **row.cells} for row in made.rows],
        "assumed": list(made.assumed),
        "cautions": list(made.recipe.cautions),
        "new_findings": [as_plain(finding) for finding in verdict.new],
        "gone_findings": [as_plain(finding) for finding in verdict.gone],
    }


def _own(path: Path) -> tuple[Recipe, ...]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(path), "a file of recipes (.toml)", "See the form in docs/method/recipes.md") from fault
    return recipes_from_text(path.name, text)


def _answers(words: list[str]) -> dict[str, str]:
    found = {}
    for word in words:
        name, equals, answer = word.partition("=")
        if not equals:
            raise told(word, "NAME=ANSWER", "Write the name of what is asked, an equals sign and the answer")
        found[name.strip()] = answer.strip()
    return found


def _list(recipes: dict[str, Recipe], wants_json: bool) -> int:
    if wants_json:
        as_json([{"recipe": one.id, "chapter": one.chapter, "title": one.title} for one in recipes.values()])
        return 0
    wide = max(len(name) for name in recipes)
    chapter = ""
    for one in recipes.values():
        if one.chapter != chapter:
            chapter = one.chapter
            show(("" if chapter == next(iter(recipes.values())).chapter else "\n") + chapter.replace("_", " "))
        show_hanging(f"  {one.id:{wide}}  {one.title}", " " * (wide + 4))
    show("\nWhat one asks: loomwright add RECIPE")
    return 0


def _asks(recipe: Recipe, wants_json: bool) -> int:
    if wants_json:
        as_json(
            {
                "recipe": recipe.id,
                "title": recipe.title,
                "gives": recipe.gives,
                "cautions": list(recipe.cautions),
                "asks": [
                    {"name": ask.name, "says": ask.says, "takes": ask.takes, "usual": ask.usual, "unit": ask.unit}
                    for ask in recipe.asks
                ],
            }
        )
        return 0
    show(f"{recipe.title}\n  gives: {recipe.gives}")
    for caution in recipe.cautions:
        show_hanging(f"  caution: {caution}", " " * 11)
    wide = max(len(ask.name) for ask in recipe.asks)
    for ask in recipe.asks:
        usual = f", usually {ask.usual}{' ' + ask.unit if ask.unit else ''}" if ask.usual[:1] not in ("", "@") else ""
        finds = " (found in the job)" if ask.usual.startswith("@") else " (must be said)" if not ask.usual else ""
        allowed = f" [{', '.join(ask.allowed)}]" if ask.allowed else ""
        typical = ", typical" if ask.typical else ""
        show_hanging(f"  {ask.name:{wide}}  {ask.says}{allowed}{usual}{typical}{finds}", " " * (wide + 4))
    return 0


def _show(made: Added, verdict: Accepting) -> None:
    show(f"{made.recipe.title}: {counted(len(made.rows), 'row')}, {counted(made.pins, 'controller pin')}.")
    for row in made.rows:
        cells = ", ".join(f"{name} {text}" for name, text in row.cells.items() if name not in ("id", "fitted"))
        show_hanging(f"  {row.sheet:13} {row.id:12} {cells}", " " * 29)
    if made.assumed:
        show(f"Typical figures were taken for {', '.join(made.assumed)}: put the part's own there.")
    for caution in made.recipe.cautions:
        show_hanging(f"CAUTION  {caution}", " " * 9)
    for finding in verdict.new:
        show_hanging(f"new: {says(finding)}", " " * 5)
    for finding in verdict.gone:
        show_hanging(f"gone: {says(finding)}", " " * 6)


def _close(arguments: Namespace, *, taken: bool, holds: bool) -> None:
    if taken:
        show(f"Taken into {arguments.job}. What is blank is decided by: loomwright decide.")
    elif arguments.only_try:
        show("Tried, nothing written." if holds else "Tried: the network finds a new fault. Nothing written.")
    else:
        show("Not taken in: the network finds a new fault. Mend the answers, or say --anyway.")
