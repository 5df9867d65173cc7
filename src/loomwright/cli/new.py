"""`loomwright new`: an empty job to fill in, or a first set of sheets made from a page of answers."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path

from loomwright.brief.brief import answers_from_text, briefed, load_brief
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.refusals import OutOfReach
from loomwright.sheets.brief_workbook import answers_in_workbook, brief_workbook
from loomwright.sheets.empty_job import write_empty_folder, write_empty_workbook
from loomwright.sheets.opening import write_job

__all__ = ["HELP", "add_arguments", "run"]

HELP = "make an empty job to fill in (a workbook with a guide, or a folder of sheets), or one from a page of answers"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "job", metavar="JOB", nargs="?", help="NAME.xlsx, or a folder to make; nothing is ever written over"
    )
    parser.add_argument(
        "--brief",
        metavar="FILE",
        help="make a first set of sheets from answers in a file: name = answer, a line each; or a workbook",
    )
    parser.add_argument("--questions", action="store_true", help="print the page of questions, with the usual answers")
    parser.add_argument("--out", metavar="FILE.xlsx", help="with --questions: a workbook of them, the answers as lists")
    parser.add_argument("--json", action="store_true", help="the answer as JSON instead of sentences")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    if arguments.questions and arguments.out is not None:
        return _questions_workbook(arguments)
    if arguments.questions:
        return _questions(arguments.json)
    if arguments.job is None:
        raise OutOfReach("JOB", "", "NAME.xlsx for a workbook, or a folder name without an ending")
    if arguments.brief is not None:
        return _from_brief(arguments)
    path = Path(arguments.job)
    ending = path.suffix.lower()
    if ending == ".xlsx":
        write_empty_workbook(path)
        how = "Open it in a spreadsheet; its first sheet says how to fill it in."
    elif ending == "" and arguments.job:
        write_empty_folder(path)
        how = "Each sheet has its headings; fill in vehicle.csv, parts.csv and wires.csv first."
    else:
        raise OutOfReach("JOB", arguments.job, "NAME.xlsx for a workbook, or a folder name without an ending")
    if arguments.json:
        as_json({"written": arguments.job})
    else:
        show(f"wrote {arguments.job}. {how}")
        show(f"Then: loomwright check {arguments.job}")
    return 0


def _from_brief(arguments: Namespace) -> int:
    path, file = Path(arguments.job), Path(arguments.brief)
    if path.exists():
        raise OutOfReach("JOB", arguments.job, "a name that is not there yet: nothing is written over")
    made = briefed(_answers_of(file))
    write_job(made.job, path)
    counts = {"parts": len(made.job.parts), "wires": len(made.job.wires), "pins": made.pins}
    if arguments.json:
        recipes = [{"recipe": each.recipe.id, "answers": dict(each.answers)} for each in made.made]
        as_json({"written": arguments.job, **counts, "recipes": recipes, "cautions": list(made.cautions)})
        return 0
    show(
        f"wrote {arguments.job}: {counted(counts['parts'], 'part')}, {counted(counts['wires'], 'wire')}, "
        f"{counted(counts['pins'], 'controller pin')} asked for."
    )
    show("Places, runs, pins and figures are typical ones: put the car's own there.")
    for caution in made.cautions:
        show_hanging(f"CAUTION  {caution}", " " * 9)
    show(f"Then: loomwright decide {arguments.job} --keep, and loomwright check {arguments.job}.")
    return 0


def _answers_of(file: Path) -> Mapping[str, str]:
    if file.suffix.lower() == ".xlsx":
        return answers_in_workbook(file)
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise told(str(file), "a file of answers", "Make one: loomwright new --questions > brief.txt") from fault
    return answers_from_text(text, file.name)


def _questions_workbook(arguments: Namespace) -> int:
    path = Path(arguments.out)
    if path.suffix.lower() != ".xlsx" or path.exists():
        raise OutOfReach("--out", arguments.out, "NAME.xlsx that is not there yet: nothing is written over")
    write_file(path, brief_workbook(load_brief()))
    if arguments.json:
        as_json({"written": arguments.out})
    else:
        show(f"wrote {arguments.out}. Pick the answers in its second column; blank is the usual one.")
        show(f"Then: loomwright new --brief {arguments.out} my_job")
    return 0


def _questions(wants_json: bool) -> int:
    brief = load_brief()
    if wants_json:
        as_json(
            [
                {"chapter": each.chapter, "name": each.ask.name, "says": each.ask.says, "usual": each.ask.usual}
                | ({"allowed": list(each.ask.allowed)} if each.ask.allowed else {})
                for each in brief.asks
            ]
        )
        return 0
    chapter = ""
    for each in brief.asks:
        if each.chapter != chapter:
            chapter = each.chapter
            show(f"\n# {chapter}")
        allowed = f": {' / '.join(each.ask.allowed)}" if each.ask.allowed else ""
        unit = f" [{each.ask.unit}]" if each.ask.unit else ""
        show(f"# {each.ask.says}{unit}{allowed}")
        show(f"{each.ask.name} = {each.ask.usual}")
    return 0
