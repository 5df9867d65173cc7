"""Which ways do the connectors between looms have, and what passes through each now?

A *crossing* is what passes through one way of an inline connector: its wires on the pin side and on the socket side,
which move together. A *plug* is the connector with its ways; plugs at the same place can take each other's crossings.
What a way takes comes from the width of its contact: typed in words in `family` ("1.5 mm, sealed"); where two widths
are named, `large_ways` says which ways have the larger.

A crossing whose number is beyond the ways its connector has sits nowhere yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.allocation.ground import is_made_up
from loomwright.findings import id_order
from loomwright.job.connector_layout import layout_of
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Circuit, Connector, Crimp, Part, Wire
from loomwright.job.wire_ends import terminal_at
from loomwright.tables.contact_widths import contact_widths, widths_in

__all__ = ["KIND", "Crossing", "Plug", "Way", "crossings_of", "plugs_of", "takes_wire"]

KIND = "inline_connector"
"""The part kind that joins two looms."""

_TERMINAL = re.compile(r"^\d+[ps]$")
_QUIET = ("sensor", "data")


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way. name: `X1.3`.   row, column: seen from the wire side, from 1. [-]   width_mm: its contact. [mm]

    most_a: what its contact carries, the low end of what makers print; None where nobody says. [A]
    is_large: it has the larger of two contacts.   is_kept: what sits in it stays there.
    """

    name: str
    plug: str
    number: int
    row: int
    column: int
    width_mm: float | None
    most_a: float | None
    is_large: bool
    is_kept: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plug:
    """A connector between looms. ways: its own, in order.   known: its layout stands in the sheets.

    is_sealed: its family says so.   counted: nobody says how many ways it has: as many as are wired.
    """

    id: str
    place: str
    family: str
    ways: tuple[Way, ...]
    known: bool
    is_sealed: bool
    counted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """What passes through one way. name: the way as it stands in the sheets.   ends: wire, which end, pin or socket.

    size_mm2: the thickest of its wires, None where none is known. [mm2]   amps: the most through it. [A]
    is_sensor: a sensor's or a bus's.   is_live: its circuit has a feed: battery volts may stand on it.
    twists: twisted pairs it belongs to.   is_built: an end of it is made up.
    crimps: the terminals its wires name there.
    """

    name: str
    plug: str
    ends: tuple[tuple[str, str, str], ...]
    circuits: tuple[str, ...]
    size_mm2: float | None
    amps: float | None
    is_sensor: bool
    is_live: bool
    twists: tuple[str, ...]
    is_built: bool
    crimps: tuple[str, ...]

    @property
    def wires(self) -> tuple[str, ...]:
        """Its wires, each once."""
        return tuple(dict.fromkeys(wire for wire, _, _ in self.ends))


def plugs_of(job: Job) -> Mapping[str, Plug]:
    """The connectors between looms that are fitted, by id, each with its ways."""
    rows = {row.part: row for row in job.connectors}
    numbers: dict[str, set[int]] = {}
    for point, *_ in _ends(job):
        part, number, _ = _way_of(point)
        numbers.setdefault(part, set()).add(number)
    parts = sorted(_fitted(job), key=lambda part: id_order(part.id))
    return {part.id: _plug(part, rows.get(part.id), numbers.get(part.id, set())) for part in parts}


def crossings_of(job: Job, amps: Mapping[str, float], plugs: Mapping[str, Plug]) -> Mapping[str, Crossing]:
    """What passes through each way, by the way's name as it stands in the sheets.

    Args:
        job: with its sizes filled in.
        amps: wire -> the most that flows in it, where that is known. [A]
    """
    held: dict[str, list[tuple[Wire, str, str]]] = {}
    for point, wire, end in _ends(job):
        part, number, side = _way_of(point)
        if part in plugs:
            held.setdefault(f"{part}.{number}", []).append((wire, end, side))
    circuits = {row.id: row for row in job.circuits}
    return {name: _crossing(job, name, held[name], amps, circuits) for name in sorted(held, key=id_order)}


def takes_wire(plug: Plug, way: Way, size_mm2: float | None, crimps: tuple[Crimp, ...]) -> tuple[bool, str]:
    """Whether a way takes a wire of a size, and by what: a crimp of the sheet, or the table for its width.

    Args:
        size_mm2: of the thickest wire of the crossing; None is taken by any. [mm2]
    """
    if way.width_mm is None or size_mm2 is None:
        return True, ""
    fitting = [row for row in crimps if way.width_mm in widths_in(row.terminal)]
    if fitting:
        right = [
            row
            for row in fitting
            if (row.size_from_mm2 or 0.0) <= size_mm2 <= (row.size_to_mm2 or size_mm2)
            and (row.seal or not plug.is_sealed)
        ]
        return bool(right), right[0].terminal if right else f"no crimp of {way.width_mm:g} mm takes it"
    width = contact_widths().get(way.width_mm)
    if width is None:
        return True, ""
    fits = width.from_mm2 <= size_mm2 <= width.to_mm2
    return fits, "" if fits else f"a {way.width_mm:g} mm contact takes {width.from_mm2:g} to {width.to_mm2:g} mm2"


def _fitted(job: Job) -> Iterator[Part]:
    return (part for part in job.parts if part.kind == KIND and part.fitted != "removed")


def _ends(job: Job) -> Iterator[tuple[str, Wire, str]]:
    for wire in job.wires:
        if wire.fitted == "removed":
            continue
        for end, point in (("from", wire.from_), ("to", wire.to)):
            if _TERMINAL.match(split_point(point)[1]):
                yield point, wire, end


def _way_of(point: str) -> tuple[str, int, str]:
    part, terminal = split_point(point)
    return part, int(terminal[:-1]), terminal[-1]


def _plug(part: Part, row: Connector | None, numbers: set[int]) -> Plug:
    typed = int(float(part.settings.get("ways", "") or 0)) or (row.ways if row and row.ways else 0)
    count = typed or max(numbers, default=0)
    family = part.settings.get("family", "") or (row.family if row else "")
    widths = widths_in(family)
    large = {int(word) for word in part.settings.get("large_ways", "").split() if word.isdigit()}
    layout = layout_of(row.layout) if row else None
    columns = layout.columns if layout and layout.rows * layout.columns >= count else max(count, 1)
    typed_a = part.settings.get("rating_a", "")
    kept = part.settings.get("kept_ways", "").split()
    ways = []
    for number in range(1, count + 1):
        width = _width(widths, number in large, bool(large))
        table = contact_widths().get(width) if width is not None else None
        is_large = number in large and len(widths) > 1
        most_a = float(typed_a) if typed_a and not is_large else table.low_a if table else None
        ways.append(
            Way(
                name=f"{part.id}.{number}",
                plug=part.id,
                number=number,
                row=(number - 1) // columns + 1,
                column=(number - 1) % columns + 1,
                width_mm=width,
                most_a=most_a,
                is_large=is_large,
                is_kept=str(number) in kept,
            )
        )
    return Plug(
        id=part.id,
        place=part.place or "",
        family=family,
        ways=tuple(ways),
        known=layout is not None and layout.rows * layout.columns >= count,
        is_sealed="sealed" in family and "unsealed" not in family,
        counted=not typed,
    )


def _width(widths: tuple[float, ...], is_large: bool, told: bool) -> float | None:
    """The width of a way's contact: the only one named, or by `large_ways`; None where nobody says which."""
    if len(widths) == 1:
        return widths[0]
    if len(widths) == 2 and told:
        return widths[1] if is_large else widths[0]
    return None


def _crossing(
    job: Job,
    name: str,
    held: list[tuple[Wire, str, str]],
    amps: Mapping[str, float],
    circuits: Mapping[str, Circuit],
) -> Crossing:
    wires = list({wire.id: wire for wire, _, _ in held}.values())
    own = tuple(dict.fromkeys(wire.circuit for wire in wires if wire.circuit))
    rows = [circuits[each] for each in own if each in circuits]
    sizes = [wire.size_mm2 for wire in wires if wire.size_mm2 is not None]
    flows = [amps[wire.id] for wire in wires if wire.id in amps]
    is_sensor = any(row.class_ in _QUIET for row in rows)
    crimps = (terminal_at(wire, end) for wire, end, _ in held)
    return Crossing(
        name=name,
        plug=name.rsplit(".", 1)[0],
        ends=tuple((wire.id, end, side) for wire, end, side in held),
        circuits=own,
        size_mm2=max(sizes, default=None),
        amps=max(flows, default=None),
        is_sensor=is_sensor,
        is_live=not is_sensor and any(row.feed for row in rows),
        twists=tuple(dict.fromkeys(wire.twist for wire in wires if wire.twist)),
        is_built=any(is_made_up(job, wire.id, end) for wire, end, _ in held),
        crimps=tuple(dict.fromkeys(word for word in crimps if word)),
    )
