"""What does the job look like after a way out? Each change as edits of rows.

- another pin: the need's pin, and the pin's end of its wire, are blanked, to be decided anew.
- stand-in, pull-up: a resistor from the need's point to 5 V, and the need asks for the other kind of pin.
- stand-in, side: the pin is set to that side, and the need asks for it so.
- stand-in, relay: a relay at the part's place; its contact takes over the load, its coil becomes the need's point. A
  load that is switched to earth has its feed already; for one that is fed, the feed's wire is left open to be chosen.
- share: the second load's wire is led to the first's point, and its row goes: one driver switches both.
- leave out: the need's row goes, with its drives and the wire that waited for its pin; with the last need of a circuit
  all that the circuit was to have goes too, so that no sensor or switch stays behind without its way to the controller;
  with that of a sensor's signal its heater's circuit as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from loomwright.job.decided import is_at_need, without_decisions
from loomwright.job.edits import find_row
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.new_colours import with_colours
from loomwright.job.points import split_point
from loomwright.job.reading import problems_of
from loomwright.job.rows import Need, Part, Wire
from loomwright.job.wire_ids import next_wire_ids
from loomwright.tables.kinds import load_abilities
from loomwright.tables.stand_ins import STAND_INS

__all__ = ["Change", "ChangeKind", "freed", "point_of", "with_changes"]

ChangeKind = Literal["another pin", "stand-in", "share", "leave out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change. needs: those it is about.   stand_in: key of the table.   pin: where the need then is.

    carrier: the need whose driver is shared.   supply: the 5 V point a pull-up goes to.
    feed: what feeds the load, for a relay's coil.   earth: where a relay's contact or coil is earthed.
    """

    kind: ChangeKind
    needs: tuple[str, ...]
    says: str
    loses: str
    stand_in: str = ""
    pin: str = ""
    carrier: str = ""
    supply: str = ""
    feed: str = ""
    earth: str = "body"


def point_of(need: Need) -> str:
    """The point a need is at."""
    return f"{need.part}.{need.terminal}" if need.terminal else need.part


def with_changes(job: Job, changes: Iterable[Change]) -> Job:
    """The job with all changes of a way out made, its new wires in the colours of the sheets.

    Raises:
        OutOfReach: a need that is no longer there.
    """
    before = {wire.id for wire in job.wires}
    for change in changes:
        for name in change.needs:
            find_row(job, "needs", name)
        job = without_decisions(job, [("needs", name, "pin") for name in change.needs])
        job = _made(job, change)
    return with_colours(job, {wire.id for wire in job.wires} - before)


def _made(job: Job, change: Change) -> Job:
    if change.kind == "leave out":
        return _left_out(job, change.needs)
    if change.kind == "share":
        return _shared(job, change)
    if change.kind == "another pin":
        return freed(job, change.needs)
    how = STAND_INS[change.stand_in].how
    if how == "pull_up":
        return _pulled(job, change)
    return _relayed(job, change) if how == "relay" else _sided(job, change)


def _need(job: Job, name: str) -> Need:
    return job.needs[find_row(job, "needs", name)]


def _with_need(job: Job, name: str, new: Need) -> Job:
    return replace(job, needs=tuple(new if row.id == name else row for row in job.needs))


def freed(job: Job, names: Iterable[str]) -> Job:
    """The job in which needs may have any pin: their cells and the pins' ends of their wires are blank."""
    points = {f"{pin.part}.{pin.terminal}" for pin in job.controller_pins}
    for name in names:
        need = _need(job, name)
        job = _with_need(job, name, replace(need, pin=""))
        wires = []
        for wire in job.wires:
            if is_at_need(need, wire.from_) and wire.to in points:
                wire = replace(wire, to="")
            elif is_at_need(need, wire.to) and wire.from_ in points:
                wire = replace(wire, from_="")
            wires.append(wire)
        job = replace(job, wires=tuple(wires))
    return job


def _without(job: Job, names: Iterable[str]) -> Job:
    gone = tuple(names)
    job = freed(job, gone)
    rows = [_need(job, name) for name in gone]
    kept = tuple(
        replace(
            row,
            together=tuple(one for one in row.together if one not in gone),
            apart=tuple(one for one in row.apart if one not in gone),
        )
        for row in job.needs
        if row.id not in gone
    )
    wires = tuple(wire for wire in job.wires if not any(_waits(row, wire) for row in rows))
    drives = tuple(drive for drive in job.drives if drive.output not in gone)
    return replace(job, needs=kept, wires=wires, drives=drives)


def _left_out(job: Job, names: Iterable[str]) -> Job:
    """The job without needs, and without what was there for them alone: new parts and wires of their circuits."""
    gone = tuple(names)
    rows = [_need(job, name) for name in gone]
    circuits = {wire.circuit for wire in freed(job, gone).wires if any(_waits(row, wire) for row in rows)} - {""}
    bare = _without(job, gone)
    # a sensor with a heater has a circuit for each: without its signal it is of no use, heater and all
    circuits |= {_circuit(job, row.part) for row in rows if row.ability.endswith("_input")} - {""}
    return _without_circuits(bare, circuits - _asked_for(bare) - _begun(bare))


def _asked_for(job: Job) -> set[str]:
    """The circuits in which a need has its part, or a wire that waits for its pin."""
    found = {_circuit(job, need.part) for need in job.needs}
    return found | {wire.circuit for wire in job.wires if any(_waits(need, wire) for need in job.needs)}


def _begun(job: Job) -> set[str]:
    """The circuits of which something is there already, or is built."""
    built = {row.wire for row in job.progress}
    return {
        *(row.circuit for row in job.parts if row.fitted != "new"),
        *(row.circuit for row in job.wires if row.fitted != "new" or row.id in built),
    }


def _without_circuits(job: Job, circuits: set[str]) -> Job:
    """The job without the parts and wires of circuits; as it is where something else rests on them."""
    parts = {row.id for row in job.parts if row.circuit in circuits}
    ends = {wire.id: {split_point(point)[0] for point in (wire.from_, wire.to)} for wire in job.wires}
    if any(ends[wire.id] & parts and wire.circuit not in circuits for wire in job.wires):
        return job
    wires = {wire.id for wire in job.wires if wire.circuit in circuits}
    thinner = replace(
        job,
        parts=tuple(row for row in job.parts if row.id not in parts),
        wires=tuple(row for row in job.wires if row.id not in wires),
        connectors=tuple(row for row in job.connectors if row.part not in parts),
        contacts=tuple(row for row in job.contacts if row.part not in parts),
        requirements=tuple(
            row for row in job.requirements if not {split_point(row.point)[0], row.point} & (parts | wires)
        ),
        decisions=tuple(row for row in job.decisions if row.row not in parts | wires),
        reasons=tuple(row for row in job.reasons if row.row not in parts | wires),
    )
    # a drive or a requirement elsewhere may ask for a switch of the circuit
    return thinner if len(problems_of(thinner)) <= len(problems_of(job)) else job


def _waits(need: Need, wire: Wire) -> bool:
    """Whether a wire has one end at a need's point and the other blank."""
    return bool(wire.from_) != bool(wire.to) and is_at_need(need, wire.from_ or wire.to)


def _shared(job: Job, change: Change) -> Job:
    second = _need(job, change.needs[0])
    to = point_of(_need(job, change.carrier))
    waiting = [wire for wire in freed(job, change.needs).wires if _waits(second, wire)]
    bare = _without(job, change.needs)
    if waiting:
        joined = replace(waiting[0], from_=waiting[0].from_ or to, to=waiting[0].to or to)
    else:
        joined = Wire(id=next(next_wire_ids(job)), from_=point_of(second), to=to, fitted="new")
    return replace(bare, wires=(*bare.wires, joined))


def _sided(job: Job, change: Change) -> Job:
    one = STAND_INS[change.stand_in]
    side = "low" if one.how == "active_low" else "high"
    pins = tuple(replace(pin, active=side) if pin.id == change.pin else pin for pin in job.controller_pins)
    job = freed(job, change.needs)
    need = _need(job, change.needs[0])
    # the pin is one of several halves of bridges, and only this one is set to that side
    return _with_need(replace(job, controller_pins=pins), need.id, replace(need, ability=one.by, active=side))


def _pulled(job: Job, change: Change) -> Job:
    one = STAND_INS[change.stand_in]
    job = freed(job, change.needs)
    need = _need(job, change.needs[0])
    ohm = load_abilities()[one.ability].source_ohm
    name = _new(job, f"R_{need.id}")
    part = Part(
        id=name,
        kind="resistor",
        name=f"pull-up for {need.id}",
        place=_place(job, need.part),
        circuit=_circuit(job, need.part),
        settings=FixedMap({"ohm": f"{ohm:g}"}),
        fitted="new",
    )
    ids = next_wire_ids(job)
    wires = (
        Wire(id=next(ids), circuit=part.circuit, from_=f"{name}.1", to=point_of(need), fitted="new"),
        Wire(id=next(ids), circuit=part.circuit, from_=f"{name}.2", to=change.supply, fitted="new"),
    )
    job = replace(job, parts=(*job.parts, part), wires=(*job.wires, *wires))
    return _with_need(job, need.id, replace(need, ability=one.by))


def _relayed(job: Job, change: Change) -> Job:
    one = STAND_INS[change.stand_in]
    job = freed(job, change.needs)
    need = _need(job, change.needs[0])
    name = _new(job, f"K_{need.id}")
    circuit = _circuit(job, need.part)
    part = Part(
        id=name, kind="relay", name=f"relay for {need.id}", place=_place(job, need.part), circuit=circuit, fitted="new"
    )
    # a switch to earth pulls 85 down against a fed 86; a switch to supply feeds 86 against an earthed 85
    pin_end, other = ("85", change.feed) if one.by == "low_side" else ("86", change.earth)
    other_end = "86" if pin_end == "85" else "85"
    contact = change.earth if one.ability == "low_side" else ""
    ends = ((f"{name}.{other_end}", other), (f"{name}.30", contact), (f"{name}.87", point_of(need)))
    new = tuple(
        Wire(id=wire, circuit=circuit, from_=end, to=to, fitted="new")
        for wire, (end, to) in zip(next_wire_ids(job), ends, strict=False)
    )
    wires = []
    for wire in job.wires:
        if _waits(need, wire):
            wire = replace(wire, from_=f"{name}.{pin_end}") if wire.from_ else replace(wire, to=f"{name}.{pin_end}")
        wires.append(wire)
    job = replace(job, parts=(*job.parts, part), wires=(*wires, *new))
    return _with_need(
        job, need.id, replace(need, part=name, terminal=pin_end, ability=one.by, load_a=None, written=FixedMap({}))
    )


def _place(job: Job, part: str) -> str:
    return next((row.place for row in job.parts if row.id == part), "")


def _circuit(job: Job, part: str) -> str:
    return next((row.circuit for row in job.parts if row.id == part), "")


def _new(job: Job, name: str) -> str:
    """A name that no part and no wire has."""
    taken = {row.id for row in job.parts} | {row.id for row in job.wires}
    while name in taken:
        name += "_"
    return name
