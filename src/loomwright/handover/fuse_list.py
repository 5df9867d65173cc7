"""What does each fuse carry, what colour is its blade, what hangs on it, and what goes dead when it is out?

*Most* is the largest current through it in all the states of the paper, those of the remarks too. What pulses is shown
while it is on, and a coil with its own igniter at its average; a fuse answers to neither but to what warms it, so that
is told beside it. *Goes dead* is solved (`outage`). *Feeds* are the far ends of the wires on its side away from the
supply: the side its largest current leaves by, the second terminal where it carries none. The order is that of a hand
over the box: place, box, way.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.asking import Asked
from loomwright.handover.outage import gauges_of, stops_with_fuse
from loomwright.handover.records import FuseLine
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.job.vehicle import vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.quantities import for_print
from loomwright.states.ratings.pulsed import Heating
from loomwright.tables.fuses import colour_of
from loomwright.tables.kinds import Kind, resolve_settings

__all__ = ["fuses_of", "in_box_order", "most_amps"]

_LEAST_A = 0.001
_ALIKE_FRAC = 0.995
_OTHER_FRAC = 0.02
"""What warms it is told where it is further than this from what is shown: our choice."""
_BLADES = "blade"
_ENDS = ("1", "2")


def fuses_of(
    job: Job,
    kinds: Mapping[str, Kind],
    compiled: Compiled,
    columns: Sequence[Asked],
    nearby: Sequence[Asked],
    *,
    before: Batch | None = None,
    numbers: Mapping[str, int] | None = None,
    heating: Heating | None = None,
) -> tuple[FuseLine, ...]:
    """The fuses, links and breakers, by place, box and way.

    Args:
        columns: the states of the paper.
        nearby: states in which one more thing is switched, so that every load works in one of them.
        before: the columns and then the nearby states, solved; worked out where left out.
        numbers: notes about decided ratings.
        heating: the pulses of the car; none are known where left out.
    """
    titles = [one.title for one in columns] + [f"with {one.title}" for one in nearby]
    if before is None:
        states = [one.state for one in (*columns, *nearby)]
        before = solve_many(compiled, np.array([values_of(compiled, state) for state in states], np.int64))
    live_sign = vehicle_of(job).live_sign
    ends, places = wire_ends(job, kinds), {place.id: place.name or place.id for place in job.places}
    protection = [part for part in job.parts if part.fitted != "removed" and _duty(part, kinds) == "protection"]
    gauges, lines = gauges_of(job, kinds), []
    for part in in_box_order(protection, kinds):
        amps, row = most_amps(compiled, part.id, before)
        is_back = amps * live_sign < -_LEAST_A  # what is left of the solving has a side too
        lines.append(
            _line(
                part,
                kinds[part.kind],
                place=places.get(part.place, part.place),
                most=f"{for_print(abs(amps), side='up')} A, {titles[row]}" if abs(amps) >= _LEAST_A else "none",
                feeds=_feeds(ends, part.id, away=_ENDS[0] if is_back else _ENDS[1]),
                dies=stops_with_fuse(compiled, part.id, before, gauges),
                note=(numbers or {}).get(f"{part.id}.rating_a", 0),
                warms=_warms(compiled, part.id, before, heating),
            )
        )
    return tuple(lines)


def in_box_order(parts: Sequence[Part], kinds: Mapping[str, Kind]) -> list[Part]:
    """Parts as a hand meets them: by place, box, way, then id."""

    def place(part: Part) -> tuple[object, ...]:
        settings = resolve_settings(kinds[part.kind], part.settings)
        box, way = (id_order(str(settings.get(name, "") or "")) for name in ("box", "way"))
        return id_order(part.place), box, way, id_order(part.id)

    return sorted(parts, key=place)


def most_amps(compiled: Compiled, part: str, before: Batch) -> tuple[float, int]:
    """The largest current through an element of a part, positive from its first node, and a state's row. [A, -]

    The state is the first that comes within half a percent, so that the plainest of several alike is named.
    """
    own = [k for k, element in enumerate(compiled.network.elements) if element.part == part]
    if not own or not len(before.amps):
        return 0.0, 0
    carried = before.amps[:, own]
    size = np.abs(carried)
    row, column = np.unravel_index(int(size.argmax()), carried.shape)
    first = int(np.flatnonzero((size >= _ALIKE_FRAC * size.max()).any(axis=1))[0])
    return float(carried[row, column]), first


def _line(
    part: Part,
    kind: Kind,
    *,
    place: str,
    most: str,
    feeds: tuple[str, ...],
    dies: tuple[str, ...],
    note: int,
    warms: str,
) -> FuseLine:
    settings = resolve_settings(kind, part.settings)
    rating = settings.get("rating_a")
    family = str(settings.get("family", kind.title))
    known = rating not in (None, "")
    box, way = (str(settings.get(name, "") or "") for name in ("box", "way"))
    where = (place, f"box {box}" if box else "", f"way {way}" if way else "")
    return FuseLine(
        id=part.id,
        name=part.name or kind.title,
        rating=f"{for_print(float(rating or 0.0))} A" if known else "not decided",
        family=family,
        place=", ".join(piece for piece in where if piece),
        most=most,
        dies=dies,
        colour=(colour_of(float(rating or 0.0)) or "") if known and family.startswith(_BLADES) else "",
        feeds=feeds,
        at=place,
        box=box,
        way=way,
        note=note,
        warms=warms,
    )


def _warms(compiled: Compiled, part: str, before: Batch, heating: Heating | None) -> str:
    """The most that warms a fuse, where pulses pass through it that are shown larger or smaller."""
    own = [k for k, element in enumerate(compiled.network.elements) if element.part == part]
    pulsed = [k for k in own if heating is not None and k in heating.through]
    if heating is None or not pulsed or not len(before.amps):
        return ""
    shown_a = float(np.abs(before.amps[:, pulsed]).max())
    warms_a = max(float(heating.of_rows(before.amps, k).max()) for k in pulsed)
    return f"{for_print(warms_a, side='up')} A" if abs(warms_a - shown_a) > _OTHER_FRAC * shown_a else ""


def _feeds(ends: Mapping[str, tuple[WireEnd, ...]], part: str, *, away: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(end.there for end in ends.get(f"{part}.{away}", ()) if end.there))


def _duty(part: Part, kinds: Mapping[str, Kind]) -> str:
    return kinds[part.kind].duty if part.kind in kinds else ""
