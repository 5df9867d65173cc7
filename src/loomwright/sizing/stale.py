"""JOB-4: which kept decisions rest on rows that have changed since?

Sizes and ratings are chosen together, so all of them carry one digest of the electrical sheets with what is decided
filled in: a decision that was written into its sheet changes nothing. Lengths carry digests of their own
(`routes.decisions`). What is cut already is not asked: it is frozen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.allocation.pin_decisions import stale_pins
from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.decided import cut_wires, digest_of, still_blank, with_decided
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import Part, StockRow
from loomwright.job.schema import rows_of
from loomwright.job.shop_terms import SHOP_PROPERTIES
from loomwright.job.vehicle import PROPERTIES
from loomwright.routes.decisions import stale_lengths
from loomwright.routes.records import Routes
from loomwright.sizing.open_cells import RATING, SIZE, stocked_mm2

__all__ = ["ELECTRICAL", "size_digest", "stale_findings", "stale_sizes"]

ELECTRICAL = (
    "vehicle",
    "places",
    "runs",
    "parts",
    "circuits",
    "contacts",
    "metals",
    "bonds",
    "cables",
    "connectors",
    "controller_pins",
    "needs",
    "drives",
    "requirements",
    "kinds",
    "stock",
    "variables",
    "wires",
)
"""The sheets that sizes and ratings rest on."""

_MOST_PLACES = 4
_WORDS_ONLY = ("title", "notes", "earth_found", *SHOP_PROPERTIES)
_DRY_ONLY = frozenset(("sealed",))
"""Settings that keep water out and move no current."""
_LOOKS_ONLY = {"wires": ("colour", "seal_from", "seal_to")}


def size_digest(job: Job) -> str:
    """What sizes and ratings rest on, in short: the sheets with what is decided filled in.

    What the shop takes for an hour, whose car it is, and what a reel costs decide no size: they do not count.

    Args:
        job: with its decisions kept beside it.
    """
    return _digest_of_filled(with_decided(job))


def _digest_of_filled(filled: Job) -> str:
    settings = [part.settings for part in all_looked_at(filled.parts, ("settings",))]
    parts = tuple(
        part if _DRY_ONLY.isdisjoint(own) else _wetted(part) for part, own in zip(filled.parts, settings, strict=True)
    )
    vehicle = tuple(row for row in filled.vehicle if row.name in PROPERTIES and row.name not in _WORDS_ONLY)
    stock = tuple(StockRow(item="wire", size_mm2=size_mm2) for size_mm2 in stocked_mm2(filled))
    sheets = (*ELECTRICAL, "crimps") if filled.crimps else ELECTRICAL
    counted = {sheet: rows_of(filled, sheet) for sheet in sheets} | {"parts": parts, "vehicle": vehicle, "stock": stock}
    return digest_of(Job(**counted), sheets, but=_LOOKS_ONLY)  # type: ignore[arg-type]


def _wetted(part: Part) -> Part:
    """The part without the settings that keep water out of it."""
    left = {name: text for name, text in part.settings.items() if name not in _DRY_ONLY}
    return replace(part, settings=FixedMap(left))


def stale_sizes(job: Job, filled: Job | None = None) -> tuple[str, ...]:
    """The cells whose kept size or rating rests on rows that have changed, as `W5.size_mm2`, in the order kept.

    Args:
        filled: the job with what is decided filled in, where it is known already.
    """
    cut = cut_wires(job)
    cells = (("wires", SIZE), ("parts", RATING))
    decisions = all_looked_at(job.decisions, ("sheet", "row", "column", "digest"))
    asked = [one for one in decisions if (one.sheet, one.column) in cells and one.row not in cut]
    kept = still_blank(job, asked)
    if not kept:
        return ()
    digest = size_digest(job) if filled is None else _digest_of_filled(filled)
    return tuple(f"{one.row}.{one.column.removeprefix('settings.')}" for one in kept if one.digest != digest)


def stale_findings(job: Job, kinds: Kinds, routes: Routes, filled: Job | None = None) -> Iterator[Finding]:
    """JOB-4, one note for all of them.

    Args:
        filled: the job with what is decided filled in, where it is known already.
    """
    if not job.decisions:
        return
    sizes = stale_sizes(job, filled)
    lengths = tuple(f"{wire}.length_mm" for wire in stale_lengths(job, kinds, routes, filled))
    pins = tuple(f"{need}.pin" for need in stale_pins(job))
    cells = (*sizes, *lengths, *pins)
    if not cells:
        return
    rows = tuple(dict.fromkeys(cell.partition(".")[0] for cell in cells))
    what = "1 kept decision rests" if len(cells) == 1 else f"{len(cells)} kept decisions rest"
    by_sheet = "loomwright route JOB --keep" if lengths else "loomwright allocate JOB --keep"
    command = "loomwright size JOB --keep" if sizes else by_sheet
    yield Finding(
        rule="JOB-4",
        severity="note",
        at=rows[:_MOST_PLACES],
        touches=rows[_MOST_PLACES:],
        label=" ".join(cells[:_MOST_PLACES]) + (" …" if len(cells) > _MOST_PLACES else ""),
        wrong=f"{what} on rows that have changed since",
        mend=f"Have them worked out anew: {command}",
    )
