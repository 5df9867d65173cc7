"""`loomwright board`: the loom laid flat at true size, as sheets to join and as a drawing for a plotter."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, counted, show, show_hanging, told, write_file
from loomwright.drawings.board.board_sheets import MARGIN_MM, PAPERS, BoardPrint, board_print
from loomwright.pages.paper_files import board_files

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the layout board: the loom flat at true size, as sheets to join (PDF) and for a plotter (DXF)"

_MOST_TOLD = 12


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--out",
        metavar="FOLDER",
        default="",
        help="where board.pdf and board.dxf go; nothing is written where left out",
    )
    parser.add_argument("--page-size", choices=sorted(PAPERS), default="a4", help="of the sheets; a4 where left out")
    parser.add_argument(
        "--margin", metavar="MM", type=float, default=MARGIN_MM, help="what the printer leaves white round a sheet"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something is not on the board."""
    if arguments.out and Path(arguments.out).is_file():
        raise told(f"{arguments.out}: a file of that name is there", "a folder", "Name another folder")
    car = open_car(arguments.job)
    made = board_print(car.board(), paper=arguments.page_size, margin_mm=arguments.margin)
    written = _written(Path(arguments.out), made) if arguments.out else []
    if arguments.json:
        as_json({"written": written, **_plain(made, car)})
    else:
        _show(made, written)
    return 1 if made.board.missing else 0


def _written(folder: Path, made: BoardPrint) -> list[str]:
    files = board_files(made)
    for name, data in files.items():
        write_file(folder / name, data)
    return [str(folder / name) for name in files]


def _plain(made: BoardPrint, car: Car) -> dict[str, object]:
    board = made.board
    pegs = board.flat.pegs
    return {
        "width_mm": round(board.width_mm, 1),
        "height_mm": round(board.height_mm, 1),
        "runs_mm": round(board.length_mm, 1),
        "paper": made.paper,
        "sheets": [one.name for one in made.sheets],
        "says": made.says or None,
        "pegs": [
            {"place": one.place, "x_mm": round(one.x_mm, 1), "y_mm": round(one.y_mm, 1), "again": one.is_again}
            for one in pegs
        ],
        "runs": [
            {"run": one.run, "from": pegs[one.start].place, "to": pegs[one.end].place, "length_mm": one.length_mm}
            for one in board.flat.branches
        ],
        "sleeving": [
            {"turn": one.number, "run": one.run, "how": one.how, "covering": one.covering or None}
            for one in board.sleeves
        ],
        "ends": [
            {
                "place": one.place,
                "to": one.to,
                "wires": list(one.wires),
                "reach_mm": None if one.reach_mm is None else round(one.reach_mm, 1),
                "short": list(one.short),
            }
            for one in board.ends
        ],
        "missing": [{"what": one.what, "id": one.id, "why": one.why, "mend": one.mend} for one in board.missing],
    }


def _show(made: BoardPrint, written: list[str]) -> None:
    board = made.board
    show(
        f"{board.width_mm / 1000:.2f} m by {board.height_mm / 1000:.2f} m of bench, {board.length_mm / 1000:.1f} m of "
        f"runs, {counted(len(board.flat.branches), 'run')}; "
        f"{counted(len(made.sheets), 'sheet')} of {made.paper.upper()}"
    )
    if made.says:
        show(made.says)
    for one in board.sleeves:
        show(f"{one.number:3}  {one.run}: {one.length_mm:g} mm, {one.how} {one.covering}".rstrip())
    if board.missing:
        show("")
        show("Not on the board:")
    for missing in board.missing[:_MOST_TOLD]:
        show_hanging(f"  {missing.what} {missing.id}: {missing.why} {missing.mend}", "    ")
    if len(board.missing) > _MOST_TOLD:
        show(f"  and {len(board.missing) - _MOST_TOLD} more; --json tells all")
    for path in written:
        show(f"wrote {path}")
