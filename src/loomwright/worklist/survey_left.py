"""Which reading is taken next on which old wire?

In: the survey. Out: one thing for each reading that is worth taking: those the survey asks for first, then for every
other wire the one that would change the mind. What the reading makes of all the others is worked out when it comes in.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.job.job import Job
from loomwright.job.rows import OldWire
from loomwright.job.vehicle import vehicle_of
from loomwright.proving.taking import most_meant
from loomwright.survey.looks_of_wires import stretches_of
from loomwright.survey.records import NextReading, OldWireSaid, Survey
from loomwright.tables.old_wires import SEEN
from loomwright.worklist.thing import Asks, Thing

__all__ = ["PROBES", "survey_things"]

PROBES: Mapping[str, str] = {
    "volts": "Meter on volts, its red lead on the wire, the black one on clean metal of the body.",
    "lamp": "Test lamp from the wire to the body. If it stays dark, from the battery’s live post to the wire.",
    "seen": "Test lamp from the wire to the body: what lights, moves or sounds on the car?",
    "ohms": "Battery off. Meter on ohms, from the load stub to clean metal of the body.",
}
"""What is measured -> how."""

_LAMP = ("full", "dim", "dark", "pulsing")
_UNITS = {"volts": "V", "ohms": "ohm"}
_EXTRA = {"volts": ("pulsing",), "ohms": ("open",)}


def survey_things(job: Job, survey: Survey) -> tuple[Thing, ...]:
    """The readings to take, best first.

    Args:
        job: with its old wires.
        survey: what its readings say so far.
    """
    said = {one.id: one for one in survey.wires}
    first = {one.wire: one for one in reversed(survey.following) if one.wire in said}
    order = [one.wire for one in survey.following if one.wire in said]
    order += [one.id for one in survey.wires if one.change_mind is not None and not one.is_live_proved]
    readings = {**{one.id: one.change_mind for one in survey.wires}, **first}
    found = []
    for name in dict.fromkeys(order):
        reading = readings[name]
        if reading is not None:
            found.append(_thing(job, said[name], reading))
    return tuple(found)


def _thing(job: Job, said: OldWireSaid, reading: NextReading) -> Thing:
    row = next((one for one in job.old_wires if one.id == said.id), OldWire(id=said.id))
    names = {place.id: place.name or place.id for place in job.places}
    kind = reading.look if reading.look in PROBES else "volts"
    where = names.get(row.where, row.where)
    words = _EXTRA.get(kind) or (SEEN if kind == "seen" else _LAMP)
    system_v = vehicle_of(job).system_v
    cells = {"old_wire": said.id, "when": reading.when, "measure": "lamp" if kind in ("lamp", "seen") else kind}
    if kind == "ohms":
        cells["stub"] = "load"
    facts = (
        ("set", reading.words.partition(", test lamp")[0].partition(", wire earthed")[0]),
        ("plug", row.plug),
        ("segment", row.segment),
        ("so far", f"{said.best.words}, {said.how_sure}"),
        ("note", row.notes),
    )
    return Thing(
        id=f"survey/{said.id}/{reading.look}",
        work="survey",
        group=where or "where it has no place yet",
        does=PROBES[kind],
        sheet="readings",
        cells=cells,
        wire=said.id,
        colour=next(iter(stretches_of(row)), row.colour),
        here=said.id,
        there="body",
        place=where,
        facts=tuple(pair for pair in facts if pair[1]),
        cautions=(*(one.says for one in said.cautions), *((reading.warning,) if reading.warning else ())),
        asks=Asks(
            kind="figure" if kind in _UNITS else "words",
            unit=_UNITS.get(kind, ""),
            most=most_meant(_UNITS[kind], system_v) if kind in _UNITS else None,
            words=words,
            measure=kind,
        ),
        photo=("old_wires", said.id),
    )
