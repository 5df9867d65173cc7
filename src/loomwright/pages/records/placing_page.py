"""What does the page of other places say: parts tried at several places, weighed side by side?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.loom.weighing import Weighed, ending_at, movable
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.loom_words import bar_of, degrees
from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach
from loomwright.routes.splice_places import SplicePlace, splice_says

__all__ = [
    "Measure",
    "PlaceChoice",
    "PlaceLine",
    "PlacingPage",
    "SpliceLine",
    "moved_by",
    "placing_page",
    "placing_path",
]

MOST_PLACES = 8
_HOUR = 60.0
_ABOUT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChoice:
    """A part or a place that may be picked. says: it in words."""

    name: str
    says: str
    is_picked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One figure of a place. bar: beside the others, a hundred at most; 0 where it has none.   note: beside it.

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
class PlaceLine:
    """One place. measures: in the order of the headings.   objections: what speaks against it."""

    name: str
    href: str
    air: str
    measures: tuple[Measure, ...]
    objections: tuple[str, ...]


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
    lines: tuple[PlaceLine, ...]
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
        headings=_HEADINGS,
        lines=tuple(_line(one, rows, links) for one in rows),
        through=tuple(_through(rows)),
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


_HEADINGS = ("copper", "wire", "most lost", "warmest", "materials", "hours")


def _line(one: Weighed, rows: Sequence[Weighed], links: JobLinks) -> PlaceLine:
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
    return PlaceLine(
        name=one.name,
        href=links.thing(one.name),
        air="" if one.air_c is None else f"{one.air_c:g} °C",
        measures=tuple(measures),
        objections=one.objections,
    )


def _through(rows: Sequence[Weighed]) -> list[tuple[str, str, tuple[str, ...]]]:
    """Runs in which the number of wires differs from place to place, and their holes."""
    if not rows:
        return []
    holes = {hole.run: f"{hole.hole_mm:g} mm" for hole in rows[0].holes}
    counted = {run: [row.conductors.get(run, 0) for row in rows] for run in rows[0].conductors}
    return [
        (run, holes.get(run, ""), tuple(str(number) for number in each))
        for run, each in counted.items()
        if len({*each}) > 1
    ]
