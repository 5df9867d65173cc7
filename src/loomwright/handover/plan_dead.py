"""Which dead tests belong to the test plan, as figures with their bands?

Wire by wire: end to end, with the probe in the cavity whose number is moulded in the plug, so a wire that reads through
sits in its cavity; each near end to the body; each cavity of a controller to the supply and to the cavity beside it.
Plug by plug: every terminal looked at, tugged, tried with a mating pin, and wiggled with the ohmmeter on.

A hand meter does not resolve a wire's milliohms: it proves that the wire is there; four leads prove its ohms. Both
figures are told. One strand reads as good by either: `earths` and `outputs` prove wires under load.

Source: `dead_tests` for a wire's ohms, solved ohms to the body and between cavities; tug, drag and wiggle: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from loomwright.findings import id_order
from loomwright.handover.dead_tests import ohms_text, whole_wire_ohm
from loomwright.handover.probing import Ohms, ohms_between
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point, split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.vehicle import metals_of, vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.proving.bands import LEADS_OHM, ohms_band
from loomwright.proving.plan import PlannedTest
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind

__all__ = ["dead_plan"]

_TESTED = ("new", "donor")
_MILLI = 1000.0
_FILAMENTS = ("lamp",)
_PUT = "battery off, controllers unplugged, all else plugged in"
_HANDS = (
    ("cavity", "every wire in its cavity, by the numbers moulded in the plug"),
    ("tug", "each wire tugged: none moves in its cavity"),
    ("drag", "a mating pin drags in every socket"),
    ("wiggle", "the loom wiggled with the ohmmeter on: no figure jumps"),
)


def dead_plan(job: Job, kinds: Mapping[str, Kind], compiled: Compiled) -> tuple[PlannedTest, ...]:
    """The dead tests, in order of wire and point.

    Args:
        job: with what was decided filled in.
        compiled: its network.
    """
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    plugs = [name for name, part in parts.items() if _is_controller(part, kinds)]
    wires = list(_wires(job, kinds, plugs))
    found = [test for wire, near, far in wires if (test := _ends(job, wire, near, far, parts)) is not None]
    points = {near: wire for wire, near, _ in reversed(wires)}
    pairs = [(point, "body") for point in sorted(points, key=id_order)]
    cavities = [point for point in points if split_point(point)[0] in plugs]
    post = next((f"{one.id}.{_live_post(job)}" for one in parts.values() if one.kind == "battery"), "")
    pairs += [(point, post) for point in sorted(cavities, key=id_order) if post and point != post]
    for plug in plugs:
        mine = sorted((point for point in cavities if split_point(point)[0] == plug), key=id_order)
        pairs += pairwise(mine)
    pairs = [pair for pair in pairs if all(point in compiled.node_of for point in pair)]
    for (one, other), ohms in zip(pairs, ohms_between(job, kinds, compiled, pairs), strict=True):
        found.append(_between(one, other, ohms, points[one], parts, post))
    return (*found, *_by_hand(wires, plugs, parts))


def _wires(job: Job, kinds: Mapping[str, Kind], plugs: Sequence[str]) -> Iterator[tuple[Wire, str, str]]:
    """Each wire to be tested, its end at a controller first."""
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)):
        if wire.fitted in _TESTED and wire.from_ and wire.to:
            ends = [canonical_point(one, terminals, metals) for one in (wire.from_, wire.to)]
            ends.sort(key=lambda point: split_point(point)[0] not in plugs)
            yield wire, ends[0], ends[1]


def _ends(job: Job, wire: Wire, near: str, far: str, parts: Mapping[str, Part]) -> PlannedTest | None:
    band = whole_wire_ohm(wire, vehicle_of(job).design_ambient_c)
    if band is None:
        return None
    least, most = band
    four = f"{for_print(least * _MILLI, side='down', digits=2)} to {for_print(most * _MILLI, side='up', digits=2)} mΩ"
    high = most + LEADS_OHM
    return PlannedTest(
        id=f"dead/ends/{wire.id}",
        stage="dead",
        does="end to end, so it sits in its cavity at both ends",
        point=near,
        to=far,
        measure="ohms",
        put=_PUT,
        expected=(least + most) / 2.0,
        low=0.0,
        high=high,
        unit="ohm",
        says=f"under {for_print(high, side='up', digits=2)} Ω, leads nulled; {four} with four leads",
        wires=(wire.id,),
        circuit=wire.circuit,
        place=_place(near, parts),
    )


def _between(one: str, other: str, ohms: Ohms, wire: Wire, parts: Mapping[str, Part], post: str) -> PlannedTest:
    filament = any(name in parts and parts[name].kind.startswith(_FILAMENTS) for name in ohms.through)
    low, high = ohms_band(ohms.forward_ohm, filament=filament)
    what = {"body": "body", post: "supply"}.get(other, "beside")
    words = {"body": "to the body", "supply": "to the live lead of the battery, lead off its post"}
    is_open = ohms.forward_ohm is None
    through = "" if is_open or not ohms.through else f" through {' '.join(ohms.through[:3])}"
    return PlannedTest(
        id=f"dead/{what}/{one}" + (f"/{other}" if what == "beside" else ""),
        stage="dead",
        does=words.get(what, "to the cavity beside it"),
        point=one,
        to=other,
        measure="ohms",
        put=_PUT,
        expected=ohms.forward_ohm,
        low=low,
        high=high,
        unit="ohm",
        word="open" if is_open else "",
        says="open: over 1 MΩ" if is_open else f"{ohms_text(ohms)}{through}",
        wires=(wire.id,),
        circuit=wire.circuit,
        place=_place(one, parts),
    )


def _by_hand(
    wires: Sequence[tuple[Wire, str, str]], plugs: Sequence[str], parts: Mapping[str, Part]
) -> Iterator[PlannedTest]:
    for plug in plugs:
        mine = sorted({near for _, near, _ in wires if split_point(near)[0] == plug}, key=id_order)
        names = " ".join(split_point(point)[1] for point in mine)
        for what, does in _HANDS:
            yield PlannedTest(
                id=f"dead/{what}/{plug}",
                stage="dead",
                does=does,
                point=plug,
                measure="hand",
                put=_PUT,
                word="yes",
                says=f"yes, at each of {names}",
                wires=tuple(wire.id for wire, near, _ in wires if near in mine),
                circuit=parts[plug].circuit,
                place=parts[plug].place,
            )


def _live_post(job: Job) -> str:
    return "-" if vehicle_of(job).earth == "positive" else "+"


def _is_controller(part: Part, kinds: Mapping[str, Kind]) -> bool:
    return part.kind in kinds and kinds[part.kind].duty == "controller"


def _place(point: str, parts: Mapping[str, Part]) -> str:
    part = parts.get(split_point(point)[0])
    return "" if part is None else part.place
