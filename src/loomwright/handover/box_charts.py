"""Which fuses and relays sit together, so that one chart can be taped inside one lid?

In: the fuse and relay lines. Out: one chart a place, its fuses by box and way, then its relays; the place with most of
them first.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.findings import id_order
from loomwright.handover.pack_records import BoxChart
from loomwright.handover.records import FuseLine
from loomwright.handover.relay_list import RelayLine

__all__ = ["BoxChart", "box_charts"]

_NOWHERE = "place not given"


def box_charts(fuses: Sequence[FuseLine], relays: Sequence[RelayLine]) -> tuple[BoxChart, ...]:
    """The charts of a job."""
    places = dict.fromkeys([one.at for one in fuses] + [one.place for one in relays])
    charts = []
    for place in places:
        here = tuple(one for one in fuses if one.at == place)
        there = tuple(one for one in relays if one.place == place)
        boxes = dict.fromkeys(one.box for one in here if one.box)
        charts.append(BoxChart(place=place or _NOWHERE, boxes=tuple(boxes), fuses=here, relays=there))
    return tuple(sorted(charts, key=lambda chart: (-len(chart.fuses) - len(chart.relays), id_order(chart.place))))
