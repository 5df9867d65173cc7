"""What should the meter read at each terminal, in the states that matter?

For every wired terminal of the controllers, fuses, relays, supplies and loads: volts against the battery's earthed
post, one column a state. A terminal with no path is `floating`, which is not 0 V. A terminal that none of the columns
makes live says which single change of the car does (`brake=on`), so that a lamp behind its own switch can be proved
too. Pins that pulse are shown while they are on; a meter shows a mean between that and the off-state, and the line
says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.handover.asking import Asked
from loomwright.handover.records import PartReadings, ReadingLine, WireMark
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point
from loomwright.job.rows import ControllerPin, Part
from loomwright.job.vehicle import metals_of, vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.network.controller import pin_ability
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = ["PULSES", "readings_of", "volts_text", "wires_at"]

PULSES = "pulses, the on-state is shown"
"""Said of a pin that is driven for a share of the time."""

_ORDER = ("controller", "protection", "relays", "supply", "load")
_PULSED = ("injector", "ignition", "pwm")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    """What every line needs. live_v: least volts of a live point. [V]"""

    columns: Sequence[Asked]
    nearby: Sequence[Asked]
    wires: Mapping[str, tuple[WireMark, ...]]
    pulsed: frozenset[str]
    live_v: float


def readings_of(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, columns: Sequence[Asked], nearby: Sequence[Asked]
) -> tuple[PartReadings, ...]:
    """The readings to expect, part by part: controllers, fuses, relays, supplies, then loads.

    Args:
        columns: the states, one a column.
        nearby: states in which one more thing is switched, asked where no column makes a point live.
    """
    wires = wires_at(job, kinds)
    bench = _Bench(
        columns=columns,
        nearby=nearby,
        wires=wires,
        pulsed=_pulsed(job, wires),
        live_v=constant("live_frac") * vehicle_of(job).system_v,
    )
    terminals = all_terminals(job, kinds)
    places = {place.id: place.name or place.id for place in job.places}
    there = set(compiled.node_of)
    found = []
    for part in sorted(_told(job, kinds), key=lambda part: (_rank(part, kinds), id_order(part.id))):
        points = [f"{part.id}.{name}" for name in terminals[part.id]]
        lines = tuple(_line(bench, point) for point in points if point in there and point in wires)
        if lines:
            name = part.name or kinds[part.kind].title
            place = places.get(part.place, part.place)
            thing, lies = _lies(bench, part.id)
            found.append(PartReadings(id=part.id, name=name, place=place, thing=thing, lies=lies, lines=lines))
    return tuple(found)


def volts_text(volts: float | None) -> str:
    """Volts as a meter shows them, or `floating`.

    Example:
        >>> volts_text(12.4267), volts_text(-0.001), volts_text(None)
        ('12.43', '0.00', 'floating')
    """
    return "floating" if volts is None else f"{round(volts, 2) + 0.0:.2f}"


def wires_at(job: Job, kinds: Mapping[str, Kind]) -> Mapping[str, tuple[WireMark, ...]]:
    """The wires that end at each point, in order of id; removed ones left out."""
    terminals, metals = all_terminals(job, kinds), metals_of(job)
    found: dict[str, list[WireMark]] = {}
    for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)):
        if wire.fitted == "removed":
            continue
        for end in (wire.from_, wire.to):
            if end:
                mark = WireMark(id=wire.id, colour=wire.colour)
                found.setdefault(canonical_point(end, terminals, metals), []).append(mark)
    return {point: tuple(marks) for point, marks in found.items()}


def _told(job: Job, kinds: Mapping[str, Kind]) -> Iterator[Part]:
    for part in job.parts:
        if part.fitted != "removed" and part.kind in kinds and _rank(part, kinds) < len(_ORDER):
            yield part


def _rank(part: Part, kinds: Mapping[str, Kind]) -> int:
    kind = kinds[part.kind]
    word = kind.group if kind.group == "relays" else kind.duty
    return _ORDER.index(word) if word in _ORDER else len(_ORDER)


def _line(bench: _Bench, point: str) -> ReadingLine:
    volts = [asked.solved.volts.get(point) for asked in bench.columns]
    live = tuple(_is_live(bench, value) for value in volts)
    remark = PULSES if point in bench.pulsed else ""
    if not any(live) and not remark:
        near = next((asked for asked in bench.nearby if _is_live(bench, asked.solved.volts.get(point))), None)
        remark = f"{volts_text(near.solved.volts[point])} with {near.title}" if near else ""
    return ReadingLine(
        terminal=point.split(".", 1)[1],
        wires=bench.wires[point],
        volts=tuple(volts_text(value) for value in volts),
        live=live,
        remark=remark,
    )


def _lies(bench: _Bench, part: str) -> tuple[str, tuple[str, ...]]:
    """How a relay or a controller lies in each column, or in which a fuse is blown; nothing for other parts."""
    solved = [asked.solved for asked in bench.columns]
    if any(part in one.relays for one in solved):
        return "relay", tuple(one.relays.get(part, "") for one in solved)
    if any(part in one.alive for one in solved):
        return "controller", tuple("alive" if one.alive.get(part) else "dead" for one in solved)
    if any(part in one.blown for one in solved):
        return "fuse", tuple("blown" if part in one.blown else "whole" for one in solved)
    return "", ()


def _is_live(bench: _Bench, volts: float | None) -> bool:
    return volts is not None and abs(volts) >= bench.live_v


def _pulsed(job: Job, wires: Mapping[str, tuple[WireMark, ...]]) -> frozenset[str]:
    """Pins that are driven for a share of the time, and the far ends of their wires."""
    pins = {f"{pin.part}.{pin.terminal}" for pin in job.controller_pins if _pulses(job, pin)}
    ids = {mark.id for point in pins for mark in wires.get(point, ())}
    far = {point for point, marks in wires.items() if len(marks) == 1 and marks[0].id in ids}
    return frozenset(far | pins)


def _pulses(job: Job, pin: ControllerPin) -> bool:
    point = f"{pin.part}.{pin.terminal}"
    needs = {need.id for need in job.needs if need.pin and need.pin in (pin.id, pin.terminal, point)}
    drives = [drive for drive in job.drives if drive.output in {pin.id, point, *needs} and drive.when.fixed != "never"]
    shared = any(drive.duty_frac is not None and 0.0 < drive.duty_frac < 1.0 for drive in drives)
    return shared or (bool(drives) and pin_ability(pin, job.needs) in _PULSED)
