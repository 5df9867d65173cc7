"""What should the ohmmeter read at each new wire before the battery goes on?

In: the job and its network. Out: one test a wire, grouped by where the probe sits: at the controllers' plugs first,
then place by place. Battery off, controllers unplugged, all else plugged in, key out, everything at rest.

*End to end*: a band for a sound wire by itself.

    least   copper of full size:        resistivity * length / size
    most    the table's worst copper, hot as the car is designed for, and two crimps at the limit where they want work

*To the body*: what the whole network lets through at rest, solved with the meter in it (`probing`): `open` where that
is over a megohm. Where a diode makes the two ways round differ both are told.

Source: copper_resistivity_ohm_mm2_per_m and joints.csv, from memory; iec-60228, class 5 plain, for the most. Over a
megohm is open: our choice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.findings import id_order
from loomwright.handover.pack_records import DeadGroup, DeadTest
from loomwright.handover.probing import Ohms, ohms_between
from loomwright.handover.records import WireMark
from loomwright.handover.wire_ends import size_text
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point, split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.vehicle import metals_of, vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.quantities import for_print
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import hot_factor, ohm_per_m_20c
from loomwright.tables.constants import constant
from loomwright.tables.joints import joint_limit_ohm
from loomwright.tables.kinds import Kind

__all__ = ["DeadGroup", "DeadTest", "dead_tests", "ohms_text", "whole_wire_ohm"]

_TESTED = ("new", "donor")
_SAME_FRAC = 0.2
"""Two readings that differ by less are one. [0..1]"""
_KILO, _MILLI = 1000.0, 1000.0
_MOST_PARTS = 3
_NOT_NAMED = ("join", "protection")


def dead_tests(job: Job, kinds: Mapping[str, Kind], compiled: Compiled) -> tuple[DeadGroup, ...]:
    """The dead tests of a job, in the order of walking.

    Args:
        job: with what was decided filled in.
        compiled: its network.
    """
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    parts = {part.id: part for part in job.parts}
    groups: dict[tuple[int, str], list[tuple[Wire, str, str]]] = {}
    for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)):
        if wire.fitted not in _TESTED or not wire.from_ or not wire.to:
            continue
        ends = [canonical_point(one, terminals, metals) for one in (wire.from_, wire.to)]
        ends.sort(key=lambda point: not _at_controller(point, parts, kinds))
        groups.setdefault(_group(ends[0], parts, kinds), []).append((wire, ends[0], ends[1]))
    told = [(key, _in_order(key, groups[key])) for key in sorted(groups, key=lambda key: (key[0], id_order(key[1])))]
    points = [near for _, tests in told for _, near, _ in tests]
    readings = dict(zip(points, ohms_between(job, kinds, compiled, [(point, "body") for point in points]), strict=True))
    places = {place.id: place.name or place.id for place in job.places}
    return tuple(
        DeadGroup(
            title=_title(key, parts, places),
            tests=tuple(_test(job, wire, near, far, readings[near], parts, kinds) for wire, near, far in tests),
        )
        for key, tests in told
    )


def whole_wire_ohm(wire: Wire, design_ambient_c: float) -> tuple[float, float] | None:
    """Least and most ohms of a sound wire from end to end; None where its size or length is open. [ohm]

    Args:
        wire: with what was decided filled in.
        design_ambient_c: the hottest it is tested at. [C]
    Example:
        >>> least, most = whole_wire_ohm(Wire(id="W1", size_mm2=2.5, length_mm=1000.0), 20.0) or (0.0, 0.0)
        >>> round(least, 5), round(most, 5)
        (0.0069, 0.00898)
    """
    if wire.length_mm is None or (wire.size_mm2 is None and wire.ohm_per_m is None):
        return None
    length_m = wire.length_mm / _MILLI
    crimps_ohm = 2 * joint_limit_ohm("wire_end")
    if wire.ohm_per_m is not None:
        return wire.ohm_per_m * length_m, wire.ohm_per_m * length_m * hot_factor(design_ambient_c) + crimps_ohm
    size_mm2 = wire.size_mm2 or 0.0
    try:
        worst_ohm = ohm_per_m_20c(size_mm2) * length_m
    except OutOfReach:  # a size no table has
        return None
    best_ohm = constant("copper_resistivity_ohm_mm2_per_m") * length_m / size_mm2
    return min(best_ohm, worst_ohm), worst_ohm * max(1.0, hot_factor(design_ambient_c)) + crimps_ohm


def ohms_text(ohms: Ohms) -> str:
    """What the meter should read, both ways round where they differ.

    Example:
        >>> ohms_text(Ohms(forward_ohm=85.04, backward_ohm=85.04, through=()))
        '85 Ω'
    """
    one, other = ohms.forward_ohm, ohms.backward_ohm
    if _alike(one, other):
        return _text(one)
    return f"{_text(one)} with red on the wire, {_text(other)} with black on it"


def _alike(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= _SAME_FRAC * max(one, other)


def _text(ohm: float | None) -> str:
    if ohm is None:
        return "open"
    if ohm >= _KILO:
        return f"{for_print(ohm / _KILO)} kΩ"
    return f"{for_print(round(ohm, 1 if ohm < 1 else 6))} Ω"


def _group(near: str, parts: Mapping[str, Part], kinds: Mapping[str, Kind]) -> tuple[int, str]:
    part = split_point(near)[0]
    if _at_controller(near, parts, kinds):
        return 0, part
    return 1, parts[part].place if part in parts else ""


def _in_order(key: tuple[int, str], tests: Sequence[tuple[Wire, str, str]]) -> list[tuple[Wire, str, str]]:
    return sorted(tests, key=lambda test: id_order(test[1])) if key[0] == 0 else list(tests)


def _title(key: tuple[int, str], parts: Mapping[str, Part], places: Mapping[str, str]) -> str:
    rank, name = key
    if rank == 0:
        return f"{name}, at its plugs" + (f": {parts[name].name}" if parts[name].name else "")
    return places.get(name, name) or "place not given"


def _test(
    job: Job,
    wire: Wire,
    near: str,
    far: str,
    ohms: Ohms,
    parts: Mapping[str, Part],
    kinds: Mapping[str, Kind],
) -> DeadTest:
    band = whole_wire_ohm(wire, vehicle_of(job).design_ambient_c)
    to_body = ohms_text(ohms)
    named = [name for name in ohms.through if name in parts and _is_named(parts[name], kinds)]
    more = " …" if len(named) > _MOST_PARTS else ""
    return DeadTest(
        mark=WireMark(id=wire.id, colour=wire.colour),
        size=size_text(wire),
        near=near,
        far=far,
        whole=_band_text(band),
        to_body=to_body,
        through=" ".join(named[:_MOST_PARTS]) + more if to_body != "open" else "",
    )


def _band_text(band: tuple[float, float] | None) -> str:
    """The band in milliohms, rounded outwards."""
    if band is None:
        return "length or size open"
    least, most = (ohm * _MILLI for ohm in band)
    return f"{for_print(least, side='down', digits=2)} to {for_print(most, side='up', digits=2)} mΩ"


def _is_named(part: Part, kinds: Mapping[str, Kind]) -> bool:
    return part.kind in kinds and part.kind != "earth_point" and kinds[part.kind].duty not in _NOT_NAMED


def _at_controller(point: str, parts: Mapping[str, Part], kinds: Mapping[str, Kind]) -> bool:
    part = parts.get(split_point(point)[0])
    return part is not None and part.kind in kinds and kinds[part.kind].duty == "controller"
