"""Which dead tests belong to the test plan, as figures with their bands?

Wire by wire: end to end, with the probe in the cavity whose number is moulded in the plug, so a wire that reads through
sits in its cavity; each near end to the body; each cavity of a controller, and of a part with a row in `connectors`, to
the supply; each cavity of a plug of three wires or more to the one beside it. Plug by plug: cavities by their numbers
and a tug at each wire; at a controller and in `connectors` also a mating pin, and a wiggle with the ohmmeter on.

A hand meter does not resolve a wire's milliohms: it proves that the wire is there; four leads prove its ohms. Both
figures are told. One strand reads as good by either: `earths` and `outputs` prove wires under load.

Source: `dead_tests` for a wire's ohms, solved ohms to the body and between cavities; tug, drag and wiggle: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
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
_SHORT_HANDS = 2
"""How many of those a plug without a row in `connectors` gets. [-]"""
_MANY = 3
"""From so many wires on two of them may be in each other's cavity. [-]"""
_NO_PLUG = ("busbar", "earth_point", "splice", "battery")
"""Kinds whose terminals are studs and joints, not cavities."""


def dead_plan(job: Job, kinds: Mapping[str, Kind], compiled: Compiled) -> tuple[PlannedTest, ...]:
    """The dead tests, in order of wire and point.

    Args:
        job: with what was decided filled in.
        compiled: its network.
    """
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    plugs = [name for name, part in parts.items() if _is_controller(part, kinds)]
    wires = list(_wires(job, kinds, plugs))
    found = [test for wire, near, far in wires if (test := _ends(job, wire, near, far, parts, plugs)) is not None]
    points = {near: wire for wire, near, _ in reversed(wires)}
    pairs = [(point, "body") for point in sorted(points, key=id_order)]
    at = {end: wire for wire, near, far in reversed(wires) for end in (far, near)}
    cavities = _cavities(at, plugs, parts)
    faced = {*plugs, *(row.part for row in job.connectors)}
    post = next((f"{one.id}.{_live_post(job)}" for one in parts.values() if one.kind == "battery"), "")
    pairs += [(point, post) for plug, mine in cavities.items() if plug in faced and post for point in mine]
    for mine in cavities.values():
        pairs += pairwise(mine)
    pairs = [pair for pair in pairs if all(point in compiled.node_of for point in pair)]
    for (one, other), ohms in zip(pairs, ohms_between(job, kinds, compiled, pairs), strict=True):
        found.append(_between(one, other, ohms, at[one], parts, post, plugs))
    return (*found, *_by_hand(at, cavities, faced, parts))


def _shown(ohms: Ohms, high: float | None) -> str:
    """The ohms, or where they are no more than leads may add, what they stay under."""
    if ohms.forward_ohm is not None and high is not None and ohms.forward_ohm < LEADS_OHM / 2.0:
        return f"under {for_print(high, side='up', digits=2)} Ω"
    return ohms_text(ohms)


def _cavities(at: Mapping[str, Wire], plugs: Sequence[str], parts: Mapping[str, Part]) -> dict[str, list[str]]:
    """Plug -> its wired cavities, controllers first: those of three wires or more, and every controller's."""
    found: dict[str, list[str]] = {plug: [] for plug in plugs}
    for point in sorted(at, key=id_order):
        part = split_point(point)[0]
        if part in parts and parts[part].kind not in _NO_PLUG:
            found.setdefault(part, []).append(point)
    return {plug: mine for plug, mine in found.items() if plug in plugs or len(mine) >= _MANY}


def _wires(job: Job, kinds: Mapping[str, Kind], plugs: Sequence[str]) -> Iterator[tuple[Wire, str, str]]:
    """Each wire to be tested, its end at a controller first."""
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)):
        if wire.fitted in _TESTED and wire.from_ and wire.to:
            ends = [canonical_point(one, terminals, metals) for one in (wire.from_, wire.to)]
            ends.sort(key=lambda point: split_point(point)[0] not in plugs)
            yield wire, ends[0], ends[1]


def _ends(
    job: Job, wire: Wire, near: str, far: str, parts: Mapping[str, Part], plugs: Sequence[str]
) -> PlannedTest | None:
    band = whole_wire_ohm(wire, vehicle_of(job).design_ambient_c)
    if band is None:
        return None
    least, most = band
    four = f"{for_print(least * _MILLI, side='down', digits=2)} to {for_print(most * _MILLI, side='up', digits=2)} mΩ"
    high = most + LEADS_OHM
    return PlannedTest(
        id=f"dead/ends/{wire.id}",
        stage="dead",
        does="end to end: in its cavity at both ends",
        point=near,
        to=far,
        measure="ohms",
        put=_PUT,
        off=tuple(plugs),
        expected=(least + most) / 2.0,
        low=0.0,
        high=high,
        unit="ohm",
        says=f"under {for_print(high, side='up', digits=2)} Ω, leads nulled; {four} with four leads",
        wires=(wire.id,),
        circuit=wire.circuit,
        place=_place(near, parts),
    )


def _between(
    one: str, other: str, ohms: Ohms, wire: Wire, parts: Mapping[str, Part], post: str, plugs: Sequence[str]
) -> PlannedTest:
    filament = any(name in parts and parts[name].kind.startswith(_FILAMENTS) for name in ohms.through)
    low, high = ohms_band(ohms.forward_ohm, filament=filament)
    what = {"body": "body", post: "supply"}.get(other, "beside")
    words = {"body": "to the body", "supply": "to the battery's live lead, off its post"}
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
        off=tuple(plugs),
        expected=ohms.forward_ohm,
        low=low,
        high=high,
        unit="ohm",
        word="open" if is_open else "",
        says="open: over 1 MΩ" if is_open else f"{_shown(ohms, high)}{through}",
        wires=(wire.id,),
        circuit=wire.circuit,
        place=_place(one, parts),
    )


def _by_hand(
    at: Mapping[str, Wire], cavities: Mapping[str, Sequence[str]], faced: Collection[str], parts: Mapping[str, Part]
) -> Iterator[PlannedTest]:
    for plug, mine in cavities.items():
        names = " ".join(split_point(point)[1] for point in mine)
        for what, does in _HANDS if plug in faced else _HANDS[:_SHORT_HANDS]:
            yield PlannedTest(
                id=f"dead/{what}/{plug}",
                stage="dead",
                does=does,
                point=plug,
                measure="hand",
                put=_PUT,
                word="yes",
                says=f"yes, at each of {names}",
                wires=tuple(dict.fromkeys(at[point].id for point in mine)),
                circuit=parts[plug].circuit,
                place=parts[plug].place,
            )


def _live_post(job: Job) -> str:
    return vehicle_of(job).live_post


def _is_controller(part: Part, kinds: Mapping[str, Kind]) -> bool:
    return part.kind in kinds and kinds[part.kind].duty == "controller"


def _place(point: str, parts: Mapping[str, Part]) -> str:
    part = parts.get(split_point(point)[0])
    return "" if part is None else part.place
