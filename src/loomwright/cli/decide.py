"""`loomwright decide`: everything that was left blank, in one go: pins, lengths, sizes, fuse ratings."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show
from loomwright.cli.telling import telling
from loomwright.job.blanks import BlankCell, ChangedDecision, blank_cells, changed_decisions
from loomwright.job.decided import adopted
from loomwright.quantities.printing import for_print

__all__ = ["HELP", "add_arguments", "run"]

HELP = "decide everything that was left blank: pins, lengths, sizes, fuse ratings"
_WORDS = {"pin": "pin", "length_mm": "length", "size_mm2": "size", "settings.rating_a": "rating"}


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    writing = parser.add_mutually_exclusive_group()
    writing.add_argument("--keep", action="store_true", help="keep what is decided with the job, as decisions")
    writing.add_argument("--adopt", action="store_true", help="write what is decided into the cells")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = container_of(arguments.job) if arguments.keep or arguments.adopt else None
    car = open_car(arguments.job)
    worked = car.worked_out(telling("steps"))
    changed, blank = changed_decisions(car.job, worked.job), blank_cells(worked.filled)
    if path is not None:
        job = adopted(worked.job, worked.job.decisions) if arguments.adopt else worked.job
        if job != car.job:
            write_back(job, path)
    if arguments.json:
        as_json(
            {
                "changed": [_changed_plain(one) for one in changed],
                "blank": [{"sheet": one.sheet, "row": one.row, "column": one.column} for one in blank],
                "written": None if path is None else str(path),
            }
        )
    else:
        _show(changed, blank)
        if path is not None:
            show(f"{'Written into their cells' if arguments.adopt else 'Kept as decisions'} in {path}.")
    return 1 if blank else 0


def _changed_plain(one: ChangedDecision) -> dict[str, object]:
    return {
        "sheet": one.sheet,
        "row": one.row,
        "column": one.column,
        "before": one.before or None,
        "now": one.now or None,
        "decided_by": one.decided_by,
    }


def _show(changed: tuple[ChangedDecision, ...], blank: tuple[BlankCell, ...]) -> None:
    wide = max((len(one.row) for one in changed), default=0)
    for one in changed:
        before = f", was {_figure(one.before)}" if one.before else ""
        by = f" ({one.decided_by.replace('_', ' ')})" if one.decided_by else ""
        word = _WORDS.get(one.column, one.column)
        show(f"{one.row:{wide}}  {word:6}  {_figure(one.now) or 'blank again'}{before}{by}")
    show()
    for column, word in _WORDS.items():
        count = sum(one.column == column and bool(one.now) for one in changed)
        if count:
            show(f"{counted(count, word)} decided anew.")
    if not changed:
        show("Nothing is decided otherwise than it was.")
    for left in blank:
        show(f"{left.row}: no {_WORDS.get(left.column, left.column)} could be decided.")


def _figure(text: str) -> str:
    try:
        return for_print(float(text))
    except ValueError:
        return text
