"""Which wires end at each earth point and each splice, and how good should the earth be?

*Ohms to the post*: from the earth point to the battery's earthed post through straps, metals and joints, battery off,
solved with typical joints. *Most volts*: the largest between the point and that post in the states of the paper: what a
meter should not pass there with the engine cranking or everything on. *Goes dead* is solved
with the bolt off (`outage`).

Source: joints.csv, a bolted earth: typical figure and the limit where it wants work, common practice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.asking import Asked
from loomwright.handover.outage import gauges_of, stops_without_part
from loomwright.handover.pack_records import EarthLine, Earths, SpliceLine
from loomwright.handover.probing import ohms_between
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch
from loomwright.quantities import for_print
from loomwright.tables.joints import joint_limit_ohm
from loomwright.tables.kinds import Kind, resolve_settings

__all__ = ["EarthLine", "Earths", "SpliceLine", "earths_of"]

_EARTH = "earth_point"
_JOINS = ("splice", "busbar")
_MILLI = 1000.0
_HIGH_OHM = 1.0


def earths_of(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, before: Batch, asked: Sequence[Asked]) -> Earths:
    """The earth points, metals that wires end on directly among them, and the splices of a job.

    Args:
        before: the states of the paper, solved.
        asked: the same with their titles.
    """
    ends = wire_ends(job, kinds)
    places = {place.id: place.name or place.id for place in job.places}
    parts = sorted((part for part in job.parts if part.fitted != "removed"), key=lambda part: id_order(part.id))
    points = {part.id: f"{part.id}.1" for part in parts if part.kind == _EARTH}
    there = {name: point for name, point in points.items() if point in compiled.node_of}
    metals = sorted((point for point in ends if "." not in point and point in compiled.node_of), key=id_order)
    post = compiled.network.nodes[compiled.network.reference]
    probed = [*there.values(), *metals]
    ohms = dict(zip(probed, ohms_between(job, kinds, compiled, [(point, post) for point in probed]), strict=True))
    by_id, gauges = {part.id: part for part in parts}, gauges_of(job, kinds)
    lines = [
        EarthLine(
            id=name,
            name=by_id[name].name if name in by_id else "the metal itself",
            place=places.get(by_id[name].place, by_id[name].place) if name in by_id else "",
            metal=_metal(by_id[name], kinds) if name in by_id else name,
            wires=ends.get(point, ()),
            ohms=_ohms_text(ohms[point].forward_ohm),
            most=_most(compiled, before, asked, point),
            dies=stops_without_part(compiled, name, before, gauges) if name in by_id else (),
        )
        for name, point in (*there.items(), *((metal, metal) for metal in metals))
    ]
    return Earths(
        earths=tuple(lines),
        splices=tuple(_splice(part, kinds, ends, places) for part in parts if part.kind in _JOINS),
        limit=f"{for_print(joint_limit_ohm('bolted_earth') * _MILLI)} mΩ",
    )


def _metal(part: Part, kinds: Mapping[str, Kind]) -> str:
    return str(resolve_settings(kinds[part.kind], part.settings).get("on", ""))


def _ohms_text(ohm: float | None) -> str:
    if ohm is None:
        return "open"
    return (
        f"{for_print(ohm, side='up')} Ω" if ohm >= _HIGH_OHM else f"{for_print(ohm * _MILLI, side='up', digits=2)} mΩ"
    )


def _most(compiled: Compiled, before: Batch, asked: Sequence[Asked], point: str) -> str:
    node = compiled.node_of[point]
    volts = np.where(before.floating[:, node] == 1, 0.0, np.abs(before.v[:, node]))
    if not len(volts):
        return ""
    row = int(volts.argmax())
    return f"{for_print(float(volts[row]) * _MILLI, side='up', digits=2)} mV, {asked[row].title}"


def _splice(
    part: Part, kinds: Mapping[str, Kind], ends: Mapping[str, tuple[WireEnd, ...]], places: Mapping[str, str]
) -> SpliceLine:
    points = sorted((point for point in ends if point.split(".")[0] == part.id), key=id_order)
    wires = [end for point in points for end in ends[point]]
    sizes = [end.size.split(" ")[0] for end in wires]
    total_mm2 = sum(float(size) for size in sizes) if all(sizes) else 0.0
    return SpliceLine(
        id=part.id,
        name=part.name,
        kind=kinds[part.kind].title,
        place=places.get(part.place, part.place),
        wires=tuple(wires),
        size=for_print(total_mm2, side="up") if total_mm2 else "",
    )
