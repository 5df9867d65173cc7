"""What do the rows of a table say that holds several ways of building a car side by side?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.loom.weighing import Weighed
from loomwright.pages.records.loom_words import bar_of, degrees
from loomwright.quantities.printing import for_print, with_unit

__all__ = ["HEADINGS", "Measure", "WeighedLine", "runs_that_differ", "weighed_line"]

HEADINGS = ("copper", "wire", "most lost", "warmest", "materials", "hours")
_HOUR = 60.0
_ABOUT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One figure of a row. bar: beside the others, a hundred at most; 0 where it has none.   note: beside it.

    is_least: less than anywhere else.   is_over: more than may be.
    bar: its length, of the longest. [-]
    """

    word: str
    figure: str
    note: str = ""
    bar: float = 0.0
    is_least: bool = False
    is_over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedLine:
    """One place or one job. measures: in the order of the headings.   objections: what speaks against it."""

    name: str
    href: str
    air: str
    measures: tuple[Measure, ...]
    objections: tuple[str, ...]


def _figures(one: Weighed) -> tuple[tuple[str, float | None, str, str, bool], ...]:
    """What is weighed: word, figure, as printed, what stands beside it, whether it is more than may be."""
    loss, warm = one.loss, one.warmest
    return (
        ("copper", one.copper_g, f"{for_print(one.copper_g, side='up', digits=_ABOUT)} g", "", False),
        ("wire", one.wire_m, with_unit(one.wire_m, "m", side="up", digits=_ABOUT), "", False),
        (
            "most lost",
            None if loss is None else loss.used_frac,
            "" if loss is None else f"{for_print(loss.lost_v, side='up', digits=2)} V",
            "" if loss is None else f"of {for_print(loss.allowed_v)} V to {loss.load}",
            loss is not None and loss.is_too_much,
        ),
        (
            "warmest",
            None if warm is None else warm.copper_c,
            "" if warm is None else degrees(warm.copper_c),
            "" if warm is None else f"{warm.wire}, stands {warm.class_c:g} °C",
            warm is not None and warm.copper_c > warm.class_c,
        ),
        ("materials", one.material_price, f"{one.material_price:.2f}", "", False),
        ("hours", one.work_minutes, f"{one.work_minutes / _HOUR:.1f} h", "", False),
    )


def weighed_line(one: Weighed, rows: Sequence[Weighed], href: str) -> WeighedLine:
    """One row of the table.

    Args:
        rows: all of them, this one among them.
        href: where its name leads; empty where nowhere.
    """
    measures = []
    for place, (word, value, figure, note, is_over) in enumerate(_figures(one)):
        others = [told for told in (_figures(row)[place][1] for row in rows) if told is not None]
        most, least = max(others, default=0.0), min(others, default=0.0)
        shown = [_figures(row)[place][2] for row in rows]
        measures.append(
            Measure(
                word=word,
                figure=figure,
                note=note,
                bar=0.0 if value is None else bar_of(value, most),
                is_least=value is not None and value <= least and shown.count(figure) == 1 and len(shown) > 1,
                is_over=is_over,
            )
        )
    return WeighedLine(
        name=one.name,
        href=href,
        air="" if one.air_c is None else f"{one.air_c:g} °C",
        measures=tuple(measures),
        objections=one.objections,
    )


def runs_that_differ(rows: Sequence[Weighed]) -> list[tuple[str, str, tuple[str, ...]]]:
    """Runs in which the number of wires differs from row to row: the run, its hole, a number for each row."""
    if not rows:
        return []
    holes = {hole.run: f"{hole.hole_mm:g} mm" for hole in rows[0].holes}
    counted = {run: [row.conductors.get(run, 0) for row in rows] for run in rows[0].conductors}
    return [
        (run, holes.get(run, ""), tuple(str(number) for number in each))
        for run, each in counted.items()
        if len({*each}) > 1
    ]
