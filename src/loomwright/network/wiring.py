"""What does each wire put into the network?

One element from point to point: resistance of the construction at working temperature times length, plus its two
crimps,
plus the contact of a connector where an end sits in a cavity. Blank size or length is taken provisionally and noted.
"""

from __future__ import annotations

from collections.abc import Mapping
from fnmatch import fnmatchcase

from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.network.draft import Draft
from loomwright.network.records import Element, Law
from loomwright.tables.conductors import hot_factor, ohm_per_m_20c
from loomwright.tables.joints import joint_ohm
from loomwright.tables.kinds import Kind
from loomwright.tables.limits import least_size_mm2

__all__ = ["PROVISIONAL_MM", "add_wires", "aliases_of", "wire_contacts", "wire_ohm_20c"]

PROVISIONAL_MM = 1000.0
"""Length taken for a wire nobody has measured. [mm]"""

_LOOKS_AT = ("id", "fitted", "from_", "to", "circuit", "length_mm", "size_mm2", "ohm_per_m")


def aliases_of(job: Job, kinds: Mapping[str, Kind]) -> dict[str, str]:
    """Parts with one terminal, which may be named without it, and the full name of that point."""
    return {
        part.id: f"{part.id}.{kinds[part.kind].terminals[0].name}"
        for part in all_looked_at(job.parts, ("id", "kind"))
        if part.kind in kinds and len(kinds[part.kind].terminals) == 1 and not kinds[part.kind].numbered
    }


def add_wires(draft: Draft, job: Job, kinds: Mapping[str, Kind], metals: frozenset[str]) -> None:
    """Add every wire that is fitted, with what the question changes in it."""
    added = dict(draft.changes.series)
    place_of = {part.id: part.place or "" for part in all_looked_at(job.parts, ("id", "place"))}
    one_terminal = aliases_of(job, kinds)
    contacts_of = wire_contacts(job, kinds)
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    thermal = draft.thermal()
    hot_in = {place: draft.temperatures_c(place) for place in {"", *place_of.values()}}
    contact_ohm, end_ohm = joint_ohm("connector_contact"), joint_ohm("wire_end")
    for wire in all_looked_at(job.wires, _LOOKS_AT):
        if wire.fitted == "removed" or not wire.from_ or not wire.to:
            continue
        ends = tuple(one_terminal.get(end, end) for end in (wire.from_, wire.to))
        contacts = sum(contact_ohm for _ in range(contacts_of[wire.id]))
        joints = 2 * end_ohm + contacts + added.get(wire.id, 0.0)
        cold = wire_ohm_20c(draft, wire, classes.get(wire.circuit or "", ""))
        hot = max((hot_in[place_of.get(end.split(".")[0], "")] for end in ends), key=max)
        rows = tuple((1.0 / (cold * hot_factor(temperature_c) + joints), 0.0) for temperature_c in hot)
        if wire.id in draft.changes.opened:
            rows = ((0.0, 0.0),) * len(rows)  # kept in place, so that nothing after it changes its number
        a, b = (draft.node(end) for end in ends)
        draft.add(
            Element(name=wire.id, a=a, b=b, law=Law.LINEAR, figures=rows, selector=thermal, type="wire")
        )  # fmt: skip


def wire_contacts(job: Job, kinds: Mapping[str, Kind]) -> dict[str, int]:
    """How many ends of each wire sit in the cavity of a connector. [-]"""
    one_terminal = aliases_of(job, kinds)
    plugged = _plugged(job)
    return {
        wire.id: sum(
            any(fnmatchcase(one_terminal.get(end, end), pattern) for pattern in plugged)
            for end in (wire.from_, wire.to)
            if end
        )
        for wire in all_looked_at(job.wires, ("id", "from_", "to"))
    }


def wire_ohm_20c(draft: Draft, wire: Wire, circuit_class: str) -> float:
    """Resistance of a wire's copper at 20 degC, blanks taken provisionally and noted. [ohm]"""
    length_mm = wire.length_mm
    if length_mm is None:
        length_mm = PROVISIONAL_MM
        draft.notes.append(f"{wire.id}: length not given, {PROVISIONAL_MM / 1000:g} m taken provisionally")
    if wire.ohm_per_m is not None:
        return wire.ohm_per_m * length_mm / 1000.0
    size_mm2 = wire.size_mm2
    if size_mm2 is None:
        size_mm2 = least_size_mm2(circuit_class or "supply")
        draft.notes.append(f"{wire.id}: size not given, {size_mm2:g} mm2 taken provisionally")
    return max(1e-6, ohm_per_m_20c(size_mm2) * length_mm / 1000.0)


def _plugged(job: Job) -> tuple[str, ...]:
    return tuple(f"{row.part}.{pattern}" for row in job.connectors for pattern in row.terminals)
