"""What is fitted next in the car, place by place: grommets, clips, earths, each with a picture of it?

In: the job. Out: a thing for the grommet of every run that goes through a hole, for every clip along a run, for every
earth point. Grommets of a place come before its clips, since the loom is drawn through before it is held. They stand on
record in the sheet `gates`, stage `loom`, and have no other row.

    clips of a run = length / 300 mm, up to a whole one       one where its length is not known

Limits: the clips are counted, not placed: where a bracket asks for another, that is the place for it.
Source: 300 mm between clips, a grommet in every hole through metal, bare bright metal under an earth: common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import ceil

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.rows import Part, Run
from loomwright.quantities.printing import for_print
from loomwright.routes.records import Routes
from loomwright.routes.run_map import HUNDREDTHS, run_map
from loomwright.worklist.thing import Thing, places_in_order

__all__ = ["FIT_STAGE", "fitting_things"]

FIT_STAGE = "loom"
"""The stage whose gates say what is fitted."""

CLIP_MM = 300.0
"""Most between two clips: common practice, no source. [mm]"""

_HAZARDS: Mapping[str, str] = {
    "hot": "It gets hot there: a hand's breadth off the exhaust, or a heat sleeve.",
    "sharp": "Sharp edges: gloves, and the edge covered before the loom is drawn over it.",
    "moving": "Something moves there: turn and pull it by hand through all its travel before the clip is shut.",
    "wet": "Water stands or sprays there: leave a low point before every plug.",
    "fuel": "Fuel is near: no drill, no flame, no spark; the battery off.",
}
_DRILL = "Before a drill: look what lies behind. Fuel, brake pipes, wires. Battery off."
_EARTH = ("Battery off before a lead or a bolt is touched.",)


def fitting_things(job: Job, routes: Routes) -> tuple[Thing, ...]:
    """Everything to fit, in the order that takes least walking.

    Args:
        job: it belongs to.
        routes: of the job: a run that no wire follows has no clips.
    """
    newest = {row.gate: row.verdict for row in job.gates if row.stage == FIT_STAGE}
    passed = {gate for gate, verdict in newest.items() if verdict in ("passed", "waived")}
    names = {place.id: place.name or place.id for place in job.places}
    metals = {part.id: part for part in job.parts if part.kind == "earth_point" and part.fitted == "new"}
    along = {name: one.hundredths / HUNDREDTHS for name, one in run_map(job).stretches.items()}
    used = {run for way in routes.wires.values() for run in way.runs}
    made: list[tuple[str, int, Thing]] = []
    for run in sorted((run for run in job.runs if run.id in used), key=lambda run: id_order(run.id)):
        made += [(run.from_, order, thing) for order, thing in _along(run, along.get(run.id), names)]
    made += [(part.place, 2, _earth(part, job, names)) for part in metals.values()]
    order = places_in_order([place for place, _, _ in made], job.places)
    stood = sorted(made, key=lambda one: (order.index(one[0]), one[1]))
    return tuple(_stands(thing, passed) for _, _, thing in stood)


def _along(run: Run, length_mm: float | None, names: Mapping[str, str]) -> Iterator[tuple[int, Thing]]:
    start, end = names.get(run.from_, run.from_), names.get(run.to, run.to)
    cautions = tuple(_HAZARDS[word] for word in run.hazards if word in _HAZARDS)
    if run.hole_mm is not None:
        yield (
            0,
            _fit(
                f"fit/grommet/{run.id}",
                f"Put the grommet of {run.id} in, then draw the loom through",
                start,
                facts=(("hole", f"{for_print(run.hole_mm)} mm"), ("covering", run.covering), ("note", run.notes)),
                here=start,
                there=end,
                cautions=(_DRILL, *cautions),
                photo=("runs", run.id),
            ),
        )
    many = 1 if length_mm is None else max(1, ceil(length_mm / CLIP_MM))
    for nth in range(1, many + 1):
        at = "" if length_mm is None else f"{for_print(length_mm * (nth - 0.5) / many, digits=2)} mm from {start}"
        yield (
            1,
            _fit(
                f"fit/clip/{run.id}/{nth}",
                f"Clip {nth} of {many} along {run.id}",
                start,
                facts=(("about", at), ("covering", run.covering)),
                here=start,
                there=end,
                cautions=cautions,
                photo=("runs", run.id),
            ),
        )


def _earth(part: Part, job: Job, names: Mapping[str, str]) -> Thing:
    wires = [wire.id for wire in job.wires if wire.fitted != "removed" and _ends_at(part.id, wire.from_, wire.to)]
    where = names.get(part.place, part.place)
    return _fit(
        f"fit/earth/{part.id}",
        f"Bolt the earth {part.id}: bright metal, bolt, then grease or paint over it",
        where,
        facts=(("wires", " ".join(wires)), ("part", part.name)),
        here=part.id,
        there=str(part.settings.get("on", "body")),
        cautions=_EARTH,
        photo=("parts", part.id),
    )


def _fit(
    name: str,
    does: str,
    place: str,
    *,
    facts: tuple[tuple[str, str], ...],
    here: str,
    there: str,
    cautions: tuple[str, ...],
    photo: tuple[str, ...],
) -> Thing:
    return Thing(
        id=name,
        work="fit",
        group=place or "where it has no place yet",
        does=does,
        sheet="gates",
        cells={"gate": name, "stage": FIT_STAGE},
        here=here,
        there=there,
        place=place,
        facts=tuple(pair for pair in facts if pair[1]),
        cautions=cautions,
        photo=photo,
    )


def _stands(thing: Thing, passed: set[str]) -> Thing:
    return replace(thing, is_done=thing.id in passed)


def _ends_at(part: str, *points: str) -> bool:
    return any(point.partition(".")[0] == part for point in points)
