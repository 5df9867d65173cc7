"""What does each fuse carry, and what goes dead when it is out?

Both are solved, not read off the drawing. *Most* is the largest current through it in the states of the paper.
*Goes dead*: each state is solved again with the fuse open, every relay and controller settling anew; a part is on the
list where a load of it drew at least half its rated current before and no longer does. What only that fuse feeds is
therefore there, what has a second way is not, and a main relay's coil fuse takes all that hangs on the relay with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import id_order
from loomwright.handover.asking import Asked
from loomwright.handover.records import FuseLine
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.quantities import for_print
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind, resolve_settings

__all__ = ["fuses_of"]

_NOTHING_A = 1e-6
"""A fuse with less current carries none. [A]"""


def fuses_of(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, columns: Sequence[Asked], nearby: Sequence[Asked]
) -> tuple[FuseLine, ...]:
    """The fuses, links and breakers, by id.

    Args:
        columns: the states of the paper.
        nearby: states in which one more thing is switched, so that every load works in one of them.
    """
    protection = [part for part in job.parts if part.fitted != "removed" and _duty(part, kinds) == "protection"]
    places = {place.id: place.name or place.id for place in job.places}
    asked = [*columns, *nearby]
    values = np.array([values_of(compiled, one.state) for one in asked], np.int64)
    before = solve_many(compiled, values)
    return tuple(
        _line(part, kinds[part.kind], places, columns, _dying(compiled, part.id, before))
        for part in sorted(protection, key=lambda part: id_order(part.id))
    )


def _line(
    part: Part, kind: Kind, places: Mapping[str, str], columns: Sequence[Asked], dies: tuple[str, ...]
) -> FuseLine:
    settings = resolve_settings(kind, part.settings)
    rating = settings.get("rating_a")
    carried = [(_amps(one, part.id), one.title) for one in columns]
    amps, title = max(carried, key=lambda pair: pair[0], default=(0.0, ""))
    return FuseLine(
        id=part.id,
        name=part.name or kind.title,
        rating=f"{for_print(float(rating))} A" if rating not in (None, "") else "not decided",
        family=str(settings.get("family", kind.title)),
        place=", ".join(piece for piece in (places.get(part.place, part.place), *_way(settings)) if piece),
        most=f"{for_print(amps, side='up')} A, {title}" if amps >= 0.001 else "none",
        dies=dies,
    )


def _way(settings: Mapping[str, float | str]) -> tuple[str, ...]:
    box, way = (str(settings.get(name, "") or "") for name in ("box", "way"))
    return (f"box {box}" if box else "", f"way {way}" if way else "")


def _amps(asked: Asked, part: str) -> float:
    return max((abs(amps) for name, amps in asked.solved.amps.items() if name.split(".")[0] == part), default=0.0)


def _dying(compiled: Compiled, part: str, before: Batch) -> tuple[str, ...]:
    """The parts of which a load works in one of the states, and no longer does once this fuse is open."""
    held = [index for index, device in enumerate(compiled.network.devices) if _is_fuse(device.name, device.what, part)]
    elements = compiled.network.elements
    own = [index for index, element in enumerate(elements) if element.part == part]
    # a fuse that carries nothing in a state changes nothing there by being out
    rows = np.flatnonzero((np.abs(before.amps[:, own]) > _NOTHING_A).any(axis=1))
    if not held or not len(rows):
        return ()
    stuck = compiled.arrays.stuck.copy()
    stuck[held] = 1
    without = replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))
    after = solve_many(without, before.values[rows])
    lost = (_working(compiled, before.amps[rows]) & ~_working(compiled, after.amps)).any(axis=0)
    return tuple(sorted({elements[index].part for index in np.flatnonzero(lost)}, key=id_order))


def _is_fuse(name: str, what: str, part: str) -> bool:
    return what == "fuse" and name.split(".")[0] == part


def _working(compiled: Compiled, amps: type_f) -> NDArray[np.bool_]:
    """Which elements are loads that draw at least half their rated current, one row a state."""
    rated_a = np.array([element.rated_a or np.inf for element in compiled.network.elements])
    loads = np.array([element.load for element in compiled.network.elements])
    total = np.zeros_like(amps)
    for indices in compiled.elements_of.values():
        total[:, indices] = np.abs(amps[:, indices].sum(axis=1, keepdims=True))
    return loads & (total >= constant("works_frac") * rated_a)


def _duty(part: Part, kinds: Mapping[str, Kind]) -> str:
    return kinds[part.kind].duty if part.kind in kinds else ""
