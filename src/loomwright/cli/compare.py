"""`loomwright compare`: several jobs, or several ways of one, side by side in one table."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, show, show_hanging
from loomwright.cli.telling import telling
from loomwright.loom.weighing import Weighed
from loomwright.quantities.printing import for_print, with_unit

__all__ = ["HELP", "add_arguments", "run", "show_weighed", "weighed_plain"]

HELP = "ways of building a job side by side: copper, volts, holes, heat, parts and cost of each"

_MOST = 12
_ABOUT = 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("others", nargs="+", metavar="JOB", help="more jobs, opened in the same way")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    names = [arguments.job, *arguments.others]
    cars = [open_car(name) for name in names]
    shown = telling()
    found = [car.weighed(name, tell=shown) for name, car in zip(names, cars, strict=True)]
    if arguments.json:
        as_json({"compared": weighed_plain(found)})
    else:
        show_weighed(found, "job")
    return 1 if any(one.objections for one in found) else 0


def weighed_plain(found: Sequence[Weighed]) -> list[dict[str, object]]:
    """The rows as plain lists and words, in the shape that `--json` prints."""
    return [
        {
            "name": one.name,
            "copper_g": round(one.copper_g, 1),
            "wire_m": round(one.wire_m, 3),
            "wires": one.wires,
            "parts": one.parts,
            "losses": [
                {"load": each.load, "lost_v": round(each.lost_v, 4), "allowed_v": each.allowed_v} for each in one.losses
            ],
            "warmest": None
            if one.warmest is None
            else {
                "wire": one.warmest.wire,
                "copper_c": round(one.warmest.copper_c, 1),
                "class_c": one.warmest.class_c,
            },
            "holes": [
                {
                    "run": hole.run,
                    "conductors": hole.conductors,
                    "hole_mm": hole.hole_mm,
                    "needed_mm": None if hole.needed_mm is None else round(hole.needed_mm, 1),
                    "too_small": hole.is_too_small,
                }
                for hole in one.holes
            ],
            "conductors": dict(one.conductors),
            "material_price": round(one.material_price, 2),
            "unpriced": one.unpriced,
            "work_minutes": round(one.work_minutes, 1),
            "air_c": one.air_c,
            "wet": one.wet,
            "sizes_mm2": dict(one.sizes_mm2),
            "objections": list(one.objections),
        }
        for one in found
    ]


def show_weighed(found: Sequence[Weighed], what: str) -> None:
    """Print the table, what goes through the holes, and what speaks against each.

    Args:
        what: one row is: a place or a job.
    """
    headings = (what, "copper", "wire", "new wires", "parts", "most lost", "warmest", "materials", "hours")
    _show_rows((headings, *(_row(one) for one in found)))
    holes = sorted({hole.run for one in found for hole in one.holes})
    if holes:
        show()
        _show_rows((("through the hole of", *(one.name for one in found)), *(_hole_row(run, found) for run in holes)))
    differing = [run for run in found[0].conductors if len({one.conductors.get(run, 0) for one in found}) > 1]
    if differing:
        show()
        rows = [(run, *(str(one.conductors.get(run, 0)) for one in found)) for run in differing]
        _show_rows((("wires in", *(one.name for one in found)), *rows))
    show()
    for one in found:
        for text in one.objections[:_MOST]:
            show_hanging(f"{one.name}: {text}.", "    ")
        if len(one.objections) > _MOST:
            show(f"{one.name}: and {len(one.objections) - _MOST} more.")
    if not any(one.objections for one in found):
        show("Nothing speaks against any of them.")
    if any(one.unpriced for one in found):
        show("Materials: only what the stock sheet has a price for.")


def _row(one: Weighed) -> tuple[str, ...]:
    loss = "–"
    if one.loss is not None:
        lost, allowed = for_print(one.loss.lost_v, side="up", digits=2), for_print(one.loss.allowed_v)
        loss = f"{lost} of {allowed} V to {one.loss.load}"
    warm = "–"
    if one.warmest is not None:
        warm = f"{for_print(one.warmest.copper_c, side='up', digits=3)} °C {one.warmest.wire}"
    air = "" if one.air_c is None else f" ({one.air_c:g} °C)"
    return (
        one.name + air,
        f"{for_print(one.copper_g, side='up', digits=_ABOUT)} g",
        with_unit(one.wire_m, "m", side="up", digits=_ABOUT),
        str(one.wires),
        str(one.parts),
        loss,
        warm,
        f"{one.material_price:.2f}",
        f"{one.work_minutes / 60.0:.1f}",
    )


def _hole_row(run: str, found: Sequence[Weighed]) -> tuple[str, ...]:
    cells = [run]
    for one in found:
        hole = next((each for each in one.holes if each.run == run), None)
        if hole is None:
            cells.append("–")
            continue
        needs = (
            "thickness not known" if hole.needed_mm is None else f"needs {hole.needed_mm:.0f} of {hole.hole_mm:g} mm"
        )
        cells.append(f"{hole.conductors} wires, {needs}" + (", too small" if hole.is_too_small else ""))
    return tuple(cells)


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
