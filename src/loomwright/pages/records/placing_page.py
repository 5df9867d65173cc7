"""What does the page of other places say: parts tried at several places, weighed side by side?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.loom.weighing import Weighed, ending_at, movable
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.weighed_lines import HEADINGS, WeighedLine, runs_that_differ, weighed_line
from loomwright.quantities.printing import for_print
from loomwright.refusals import OutOfReach
from loomwright.routes.splice_places import SplicePlace, splice_says

__all__ = [
    "PlaceChoice",
    "PlacingPage",
    "SpliceLine",
    "moved_by",
    "placing_page",
    "placing_path",
]

MOST_PLACES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChoice:
    """A part or a place that may be picked. says: it in words."""

    name: str
    says: str
    is_picked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceLine:
    """Where a splice lies, and where it takes the least copper. is_barred: it lies where none may.   says: why."""

    splice: str
    href: str
    now: str
    best: str
    moves: bool
    is_barred: bool
    saves: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacingPage:
    """The page. headings: of the table.   through: runs whose wires differ: run, its hole, a figure for each place.

    splices: where each takes the least copper.
    waiting: it is being worked out; done, of: states. [-]   open: new wires that are routed and sized anew.
    """

    parts: tuple[PlaceChoice, ...]
    picked_places: tuple[PlaceChoice, ...]
    at: tuple[PlaceChoice, ...]
    action: str
    moved: tuple[str, ...]
    open: int
    asked: bool
    headings: tuple[str, ...]
    lines: tuple[WeighedLine, ...]
    through: tuple[tuple[str, str, tuple[str, ...]], ...]
    is_unpriced: bool
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    splices: tuple[SpliceLine, ...]
    links: JobLinks


def placing_path(job: str, what: str, parts: Sequence[str], at: Sequence[str]) -> str:
    """An address of the page, or of one of its buttons, with what is asked.

    Example:
        >>> placing_path("van", "stop", ["K1"], ["panel", "box"])
        '/j/van/placing/stop?part=K1&at=panel&at=box'
    """
    asked = urlencode([*(("part", one) for one in parts), *(("at", one) for one in at)])
    path = job_path(job, "placing", what) if what else job_path(job, "placing")
    return f"{path}?{asked}" if asked else path


def moved_by(car: Car, parts: Sequence[str], at: Sequence[str]) -> tuple[str, ...]:
    """The parts that are moved, where what is asked can be meant.

    Raises:
        OutOfReach: a part or place the job does not have, one at which nothing sits, or too many places.
    """
    places = [place.id for place in car.job.places]
    known = {part.id for part in car.job.parts} | {*places}
    for name in parts:
        if name not in known:
            raise OutOfReach("part", name, "a part, or a place at which parts sit")
    for name in at:
        if name not in places:
            raise OutOfReach("at", name, " ".join(places) or "none in this job")
    if len(at) > MOST_PLACES:
        raise OutOfReach("places to try", len(at), f"{MOST_PLACES} at a time")
    moved = movable(car.job, parts)
    if parts and not moved:
        raise OutOfReach("part", " ".join(parts), "a place at which parts sit")
    return moved


def placing_page(
    car: Car,
    weighed: Sequence[Weighed] | None,
    links: JobLinks,
    *,
    parts: Sequence[str],
    at: Sequence[str],
    moved: tuple[str, ...],
    stopped: bool = False,
    refused: str = "",
    done: int = 0,
    of: int = 0,
) -> PlacingPage:
    """The page.

    Args:
        weighed: where they are now, then each place; None while it is worked out, or where nothing is asked.
        parts: as asked.
        at: places asked for.
        moved: the parts that those words mean.
        stopped: a person stopped it.
        refused: why there is no answer; empty where it is not so.
        done: states looked at. [-]
        of: states to look at. [-]
    """
    asked = bool(parts and at)
    rows = tuple(weighed or ())
    fitted = [part for part in car.job.parts if part.fitted != "removed" and part.place]
    sits = sorted({part.place for part in fitted}, key=id_order)
    return PlacingPage(
        parts=tuple(
            PlaceChoice(name=part.id, says=part.name or part.kind.replace("_", " "), is_picked=part.id in parts)
            for part in sorted(fitted, key=lambda one: id_order(one.id))
        ),
        picked_places=tuple(PlaceChoice(name=name, says="", is_picked=name in parts) for name in sits),
        at=tuple(PlaceChoice(name=place.id, says=place.name, is_picked=place.id in at) for place in car.job.places),
        action=job_path(links.job, "placing"),
        moved=moved,
        open=len(ending_at(car.job, moved)),
        asked=asked,
        headings=HEADINGS,
        lines=tuple(weighed_line(one, rows, links.thing(one.name)) for one in rows),
        through=tuple(runs_that_differ(rows)),
        is_unpriced=any(one.unpriced for one in rows),
        waiting=asked and weighed is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=placing_path(links.job, "stop", parts, at),
        again=placing_path(links.job, "again", parts, at),
        splices=tuple(_splice(one, links) for one in car.splice_places()),
        links=links,
    )


def _splice(one: SplicePlace, links: JobLinks) -> SpliceLine:
    saved_g = 0.0 if one.now_g is None or one.best_g is None else one.now_g - one.best_g
    saves = f"{for_print(saved_g, side='down', digits=2)} g less" if one.moves and saved_g > 0.0 else ""
    return SpliceLine(
        splice=one.splice,
        href=links.thing(one.splice),
        now=one.now or "nowhere yet",
        best="" if one.best is None else one.best.called,
        moves=one.moves,
        is_barred=bool(one.now_barred),
        saves=saves,
        says=splice_says(one),
    )
