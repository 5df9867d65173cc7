"""Several ways of building a job side by side: whole jobs, or parts tried at several places.

Each is routed, sized and solved by itself; its quote says what it costs. The rows: `loom.weighing`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from loomwright.handover.quote import quote_of
from loomwright.job.job import Job
from loomwright.loom.weighing import Weighed, ending_at, moved, weighed
from loomwright.routes.records import Routes
from loomwright.sizing.open_cells import with_choice
from loomwright.sizing.sized import Sized
from loomwright.tables.kinds import Kind

__all__ = ["Asked", "placed_in", "weighed_car"]

Tell = Callable[[int, int], None]


class Asked(Protocol):
    """A car as far as it is weighed."""

    job: Job
    filled: Job
    kinds: Mapping[str, Kind]

    @property
    def routes(self) -> Routes:
        """Which runs each wire follows."""
        ...

    def sized(self, tell: Tell | None = None, look_at: Sequence[str] = ()) -> Sized:
        """Sizes and ratings for what is blank."""
        ...


def weighed_car(
    car: Asked, name: str, *, look_at: Sequence[str] | None = None, place: str = "", tell: Tell | None = None
) -> Weighed:
    """One row: what a job weighs, loses, warms and costs.

    Args:
        car: of the job.
        name: what the row is called.
        look_at: wires that volts and heat are asked of; every new wire where left out.
        place: where a part was moved to.
        tell: called with states done and to do; may raise Stopped.
    """
    asked = [wire.id for wire in car.job.wires if wire.fitted == "new"] if look_at is None else look_at
    sized = car.sized(tell, asked)
    filled = with_choice(car.filled, sized.sizes_mm2(), sized.ratings_a())
    quote = quote_of(filled, car.kinds, car.routes)
    return weighed(
        name,
        filled,
        car.routes,
        sized,
        material_price=sum(part.material_price for part in quote.parts),
        unpriced=sum(line.price is None for part in quote.parts for line in part.materials),
        work_minutes=sum(stage.all.usual_minutes for part in quote.parts for stage in part.stages),
        place=place,
    )


def placed_in(
    car: Asked,
    parts: Sequence[str],
    places: Sequence[str],
    car_of: Callable[[Job], Asked],
    tell: Tell | None = None,
) -> tuple[Weighed, ...]:
    """Parts at each of several places: where they are now first.

    Where they are now is weighed by the same rules: the wires that end at them are routed and sized anew there too.
    Everything else keeps the size and rating it has, or gets where they are now.

    Args:
        car: of the job.
        parts: those that are moved together.
        places: where they might sit.
        car_of: a car of another job.
        tell: called with states done and to do; may raise Stopped.
    """
    sized = car.sized(tell)
    settled = replace(with_choice(car.filled, sized.sizes_mm2(), sized.ratings_a()), decisions=(), reasons=())
    wires = ending_at(settled, parts)
    now = {part.id: part.place for part in car.job.parts}
    found = []
    for place in dict.fromkeys(["", *places]):
        job = settled
        for part in parts:
            job = moved(job, [part], place or now[part])
        name, at = place or "as it is", place or now[parts[0]]
        found.append(weighed_car(car_of(job), name, look_at=wires, place=at, tell=tell))
    return tuple(found)
