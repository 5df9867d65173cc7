"""How does each connector look from the wire side and from the mating side, and what sits in each cavity?

In: the rows of `connectors`, what is wired to their terminals. Out: one face a connector, its cavities in order, each
with its wires, and where it lies in rows and columns as seen from the wire side; the mating side is the same mirrored
left to right.

Which cavity is number 1 does not stand in the sheets. Taken is the usual: row by row from the top, left to right, seen
from the wire side; the numbers moulded into the connector win, and the face says so. A terminal that ends in a number
(`A12`) sits in the cavity of that number where no two would share one; otherwise the terminals stand in the order of
the sheet. A layout that is missing, or does not hold that many cavities, gives a plain strip.

Of two halves that go together the socket half is counted so, and the pin half the other way round, so that equal
numbers meet. A face is to scale where the layout names the pitch (`2x7, pitch 4 x 5 mm`) or a standard fixes that of
its family.

Source: the numbering order is common practice, no source; pitch: `connector_pitch.csv`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from loomwright.findings import id_order
from loomwright.handover.outage import gauges_of, stops_without_plug, with_wires_off
from loomwright.handover.pack_records import Cavity, ConnectorFace
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.connector_layout import layout_of
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.plugs import held_terminals
from loomwright.job.points import all_terminals
from loomwright.job.rows import Connector, ControllerPin
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.controller import pin_ability
from loomwright.network.records import Changes
from loomwright.network.solve import Batch
from loomwright.tables.connector_pitch import pitch_of
from loomwright.tables.kinds import Kind, load_abilities

__all__ = ["Cavity", "ConnectorFace", "cavities_of", "connector_faces", "with_what_dies"]

_LAST_NUMBER = re.compile(r"(\d+)\D*$")
_MOST_CAVITIES = 400
_ORDER = "Cavities are taken in the order in which the terminals stand in the sheets"
_BY_ORDER = ", taken by the order of the sheets: compare before pinning"


def connector_faces(job: Job, kinds: Mapping[str, Kind]) -> tuple[ConnectorFace, ...]:
    """The connectors of a job, those of controllers first, then by id."""
    ends, terminals = wire_ends(job, kinds), all_terminals(job, kinds)
    kind_of = {part.id: kinds[part.kind].duty for part in job.parts if part.kind in kinds}
    signals = {f"{pin.part}.{pin.terminal}": _signal(job, pin) for pin in job.controller_pins}
    told = sorted(job.connectors, key=lambda row: (kind_of.get(row.part) != "controller", id_order(row.id)))
    gone = {part.id for part in job.parts if part.fitted == "removed"}
    return tuple(
        _face(job, row, _held(job, row, terminals.get(row.part, ()), ends), ends, signals)
        for row in told
        if row.part not in gone
    )


def cavities_of(faces: Iterable[ConnectorFace]) -> Mapping[str, str]:
    """Point -> the number of its cavity as the paper has it, with the word of caution where the order is taken."""
    return FixedMap(
        {
            f"{face.part}.{one.terminal}": f"{one.number}{_BY_ORDER if _ORDER in face.counted else ''}"
            for face in faces
            for one in face.cavities
            if one.terminal
        }
    )


def with_what_dies(
    faces: Sequence[ConnectorFace], job: Job, kinds: Mapping[str, Kind], compiled: Compiled, before: Batch
) -> tuple[ConnectorFace, ...]:
    """The same, each with what stops once it is unplugged.

    Args:
        before: the states of the paper, solved.
    """
    variables = compiled.network.variables
    listens = {f"{pin.part}.{pin.terminal}": _signal(job, pin) for pin in job.controller_pins if _is_read(job, pin)}
    gauges, found = gauges_of(job, kinds), []
    for face in faces:
        wires = {end.wire for cavity in face.cavities for end in cavity.wires}
        if all(len(cavity.wires) < 2 for cavity in face.cavities):
            off = with_wires_off(compiled, wires)
        else:  # wires that share a cavity stay joined to each other
            points = tuple(f"{face.part}.{cavity.terminal}" for cavity in face.cavities if cavity.wires)
            off = compile_network(build_network(job, kinds, Changes(unplugged=points), variables))
        ends = [point for cavity in face.cavities for end in cavity.wires for point in (end.here, end.there)]
        unread = dict.fromkeys(listens[point] for point in ends if point in listens)
        dies = stops_without_plug(compiled, off, wires, before, gauges)
        found.append(replace(face, dies=dies, unread=tuple(unread)))
    return tuple(found)


def _is_read(job: Job, pin: ControllerPin) -> bool:
    ability = load_abilities().get(pin_ability(pin, job.needs))
    return ability is not None and ability.direction == "in"


def _held(job: Job, row: Connector, there: Sequence[str], ends: Mapping[str, tuple[WireEnd, ...]]) -> list[str]:
    """The terminals a connector holds; where its row names none, only the wired ones if it has fewer ways."""
    held = held_terminals(job, row, there)
    if not row.terminals and row.ways and len(held) > row.ways:
        return [name for name in held if f"{row.part}.{name}" in ends]
    return held


def _face(
    job: Job,
    row: Connector,
    held: Sequence[str],
    ends: Mapping[str, tuple[WireEnd, ...]],
    signals: Mapping[str, str],
) -> ConnectorFace:
    numbers, counted = _numbered(held, row.ways)
    ways = min(max(row.ways or 0, max(numbers.values(), default=0)), _MOST_CAVITIES)
    rows, columns, known, says = _layout(row.layout, ways)
    mate = _mate(job, row)
    is_turned = known and mate is not None and _is_counted_back(job, row, mate)
    pitch_mm, pitch_says = _pitch(row) if known else (None, "")
    at = {number: terminal for terminal, number in numbers.items()}
    part = next((one for one in job.parts if one.id == row.part), None)
    places = {place.id: place.name or place.id for place in job.places}
    return ConnectorFace(
        id=row.id,
        part=row.part,
        part_name=part.name if part else "",
        place=places.get(part.place, part.place) if part else "",
        family=row.family,
        side=row.side,
        mates=_mates(job, row),
        keying=row.keying,
        notes=row.notes,
        rows=rows,
        columns=columns,
        known=known,
        layout_says=says,
        counted=f"{counted} Counted the other way round, so that equal numbers meet." if is_turned else counted,
        pitch_mm=pitch_mm,
        pitch_says=pitch_says,
        mate="" if mate is None else mate.id,
        cavities=tuple(
            Cavity(
                number=number,
                row=(number - 1) // columns + 1,
                column=columns - (number - 1) % columns if is_turned else (number - 1) % columns + 1,
                terminal=at.get(number, ""),
                wires=(wires := ends.get(f"{row.part}.{at.get(number, '')}", ())),
                signal=signals.get(f"{row.part}.{at.get(number, '')}", "") or _circuits(job, wires),
            )
            for number in range(1, ways + 1)
        ),
    )


def _numbered(held: Sequence[str], ways: int | None) -> tuple[dict[str, int], str]:
    """Terminal -> cavity, and how that was found."""
    found = [(name, _LAST_NUMBER.search(name)) for name in held]
    own = {name: int(match.group(1)) for name, match in found if match is not None}
    alone = len(set(own.values())) == len(held) and len(own) == len(held)
    if alone and held and min(own.values()) >= 1 and max(own.values()) <= max(ways or 0, len(held)):
        return own, "The cavity is the number in the terminal's name."
    return (
        {name: place for place, name in enumerate(held, start=1)},
        f"{_ORDER}: compare before pinning.",
    )


def _layout(text: str, ways: int) -> tuple[int, int, bool, str]:
    """Rows, columns, whether they are known, and what to say of them."""
    found = layout_of(text)
    if found is None:
        says = "The sheets give no layout: a plain strip, not the shape of the face."
        return (
            1,
            max(ways, 1),
            False,
            f"The sheets give the layout {text}, which is not rows x columns." if text else says,
        )
    rows, columns = found.rows, found.columns
    if not rows * columns or rows * columns < ways:
        return 1, max(ways, 1), False, f"The layout {text} holds {rows * columns} cavities, not {ways}: a plain strip."
    return rows, columns, True, f"{rows} rows of {columns}." if rows > 1 else f"One row of {columns}."


def _mates(job: Job, row: Connector) -> str:
    return ", ".join(one.id for one in _halves(job, row)) or row.part


def _halves(job: Job, row: Connector) -> list[Connector]:
    return [one for one in job.connectors if one.id != row.id and (one.id == row.mates or one.mates == row.id)]


def _mate(job: Job, row: Connector) -> Connector | None:
    """Its other half, where it has exactly one, and that one no other."""
    halves = _halves(job, row)
    return halves[0] if len(halves) == 1 and len(_halves(job, halves[0])) == 1 else None


def _is_counted_back(job: Job, row: Connector, mate: Connector) -> bool:
    """Whether this half is the one that is counted the other way round: the pins, else the later row."""
    if row.side != mate.side and "pin" in (row.side, mate.side):
        return row.side == "pin"
    order = [one.id for one in job.connectors]
    return order.index(row.id) > order.index(mate.id)


def _pitch(row: Connector) -> tuple[tuple[float, float] | None, str]:
    """The pitch along a row and from row to row, and where it is from."""
    typed = layout_of(row.layout)
    if typed is not None and typed.across_mm is not None and typed.down_mm is not None:
        across, down = typed.across_mm, typed.down_mm
        return (across, down), f"pitch {across:g} x {down:g} mm, as the sheet says"
    known = pitch_of(row.family)
    if known is None:
        return None, ""
    return (known.across_mm, known.down_mm), f"pitch {known.across_mm:g} x {known.down_mm:g} mm, {known.place}"


def _signal(job: Job, pin: ControllerPin) -> str:
    """What runs on a controller's pin: what its need does, else what the pin can do."""
    points = (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")
    need = next((need for need in job.needs if need.pin and need.pin in points), None)
    if need is not None and need.does:
        return need.does.replace("_", " ")
    ability = load_abilities().get(pin_ability(pin, job.needs))
    return ability.title if ability else ""


def _circuits(job: Job, wires: Sequence[WireEnd]) -> str:
    names = {circuit.id: circuit.name or circuit.id for circuit in job.circuits}
    return ", ".join(dict.fromkeys(names.get(end.circuit, end.circuit) for end in wires if end.circuit))
