"""What is there to build, from which revision, and what was done to it?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from loomwright.findings import id_order
from loomwright.job.fixed_map import NOTHING
from loomwright.job.points import split_point
from loomwright.job.rows import Part, Place, Progress, Wire
from loomwright.loom.built_steps import WireSteps, steps_of
from loomwright.pages.records.stage_lines import TypedRows
from loomwright.store.snapshot import Snapshot

__all__ = ["BuiltView", "built_view"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltView:
    """The wires to build as one revision has them, with what was done to each.

    revision: it is built from. [-]   wires_to_build: new ones, and others that have progress, in order of id.
    lasts: wire -> the key of its newest progress row and what that says.   places: part -> where it is.
    """

    revision: int
    wires_to_build: tuple[Wire, ...]
    steps: Mapping[str, WireSteps]
    lasts: Mapping[str, tuple[int, Progress]]
    places: Mapping[str, str]
    place_names: Mapping[str, str]

    def place_of(self, point: str) -> str:
        """The place of a point; empty where it has none."""
        return self.places.get(split_point(point)[0].removeprefix("~"), "")


def built_view(now: Snapshot, of: Snapshot, renamed: Mapping[str, str] = NOTHING) -> BuiltView:
    """What is there to build.

    Args:
        now: the newest revision, whose progress counts.
        of: the revision that is built from.
        renamed: what a wire was called when it was built -> what it is called now.
    """
    progress = [
        (key, replace(row.typed, wire=renamed.get(row.typed.wire, row.typed.wire)))
        for key, row in now.taken.get("progress", {}).items()
        if isinstance(row.typed, Progress)
    ]
    steps = steps_of(row for _, row in progress)
    rows = TypedRows(of)
    decided = {
        (cells.get("row", ""), cells.get("column", "")): cells.get("value", "")
        for cells in (row.cells for row in of.rows.get("decisions", ()))
        if cells.get("sheet") == "wires"
    }
    wires = [_filled(wire, decided) for wire in rows.of("wires", Wire)]
    kept = [wire for wire in wires if wire.fitted == "new" or (wire.id in steps and wire.fitted != "removed")]
    return BuiltView(
        revision=of.revision,
        wires_to_build=tuple(sorted(kept, key=lambda wire: id_order(wire.id))),
        steps=steps,
        lasts={row.wire: (key, row) for key, row in progress},
        places={part.id: part.place for part in rows.of("parts", Part)},
        place_names={place.id: place.name or place.id for place in rows.of("places", Place)},
    )


def _filled(wire: Wire, decided: Mapping[tuple[str, str], str]) -> Wire:
    """The wire with what was decided for its blank cells."""
    found: dict[str, Any] = {}
    for column in ("length_mm", "size_mm2"):
        text = decided.get((wire.id, column), "")
        if getattr(wire, column) is None and text:
            found[column] = float(text)
    return replace(wire, **found) if found else wire
