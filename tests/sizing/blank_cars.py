"""Examples with their sizes and ratings made blank again, so that there is something to decide in a whole car."""

from __future__ import annotations

from dataclasses import replace

from loomwright.examples.shelf import example_folder
from loomwright.job.decided import with_decided
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.sheets.csv_folder import open_folder

__all__ = ["as_typed", "with_blanks"]


def as_typed(name: str) -> Job:
    """An example with what was decided typed, so that nothing is open in it."""
    return replace(with_decided(open_folder(example_folder(name))), decisions=(), reasons=())


def with_blanks(job: Job, *, up_to_mm2: float, fuses: int, stock: bool = False) -> Job:
    """A job without the sizes of its new wires up to a size, and without the ratings of some of its fuses.

    Args:
        up_to_mm2: thicker ones keep theirs. [mm2]
        fuses: how many, spread over the sheet.
        stock: keep what the shop holds; else the standard row is open.
    """
    wires = tuple(
        replace(wire, size_mm2=None)
        if wire.fitted == "new" and wire.size_mm2 is not None and wire.size_mm2 <= up_to_mm2
        else wire
        for wire in job.wires
    )
    named = [part.id for part in job.parts if part.kind == "fuse" and part.settings.get("rating_a")]
    chosen = set(named[:: max(1, len(named) // fuses)][:fuses]) if fuses else set()
    parts = tuple(_unrated(part) if part.id in chosen else part for part in job.parts)
    return replace(job, wires=wires, parts=parts, stock=job.stock if stock else ())


def _unrated(part: Part) -> Part:
    settings = {name: text for name, text in part.settings.items() if name != "rating_a"}
    return replace(part, settings=FixedMap(settings))
