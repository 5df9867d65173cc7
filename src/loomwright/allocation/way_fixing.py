"""What does the job look like once a circuit is led to its cavity or fuse, and kept there?

Edits of rows: wire ends, the settings `kept_ways` and `kept_wires`, and the rows of fuses that are added. A fuse that
is added takes its current where one of the same box and key state takes its own: the next free stud of a busbar or
splice, else the same point; its rating stays blank, to be decided.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count

from loomwright.allocation.fuse_ways import BranchSeat, FuseWays
from loomwright.findings import id_order
from loomwright.job.edits import set_setting
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.new_colours import with_colours
from loomwright.job.points import split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.wire_ids import next_wire_ids

__all__ = ["branch_fixed", "branch_let_go", "cavity_fixed", "cavity_let_go", "kept_in_cavity", "with_fuses_typed"]

_STUDS = ("busbar", "splice")


def cavity_fixed(job: Job, was: str, way: str) -> Job:
    """The job with a crossing led to a way and kept there; whatever sits there goes to its old way.

    Args:
        was: the crossing, by its way as it stands.
    """
    if was != way:
        ends = {f"{was}{side}": f"{way}{side}" for side in "ps"} | {f"{way}{side}": f"{was}{side}" for side in "ps"}
        wires = tuple(replace(w, from_=ends.get(w.from_, w.from_), to=ends.get(w.to, w.to)) for w in job.wires)
        job = replace(cavity_let_go(job, was), wires=wires)
    plug, number = way.rsplit(".", 1)
    return set_setting(job, plug, "kept_ways", _with(_setting(job, plug, "kept_ways"), number))


def cavity_let_go(job: Job, way: str) -> Job:
    """The job in which a crossing may be given another way again."""
    plug, number = way.rsplit(".", 1)
    kept = _setting(job, plug, "kept_ways")
    return set_setting(job, plug, "kept_ways", " ".join(one for one in kept if one != number)) if kept else job


def kept_in_cavity(job: Job, way: str) -> bool:
    """Whether what sits in a way stays there."""
    plug, _, number = way.rpartition(".")
    return number in _setting(job, plug, "kept_ways")


def branch_fixed(job: Job, answer: FuseWays, wire: str, fuse: str) -> Job:
    """The job with a branch led to a fuse and kept on it."""
    seat = next(each for each in answer.seats if each.wire == wire)
    job, name = _led(job, answer, replace(seat, fuse=fuse))
    job = branch_let_go(job, wire)
    return set_setting(job, name, "kept_wires", _with(_setting(job, name, "kept_wires"), wire))


def branch_let_go(job: Job, wire: str) -> Job:
    """The job in which a branch may be hung on another fuse again."""
    for part in job.parts:
        kept = _setting(job, part.id, "kept_wires")
        if wire in kept:
            job = set_setting(job, part.id, "kept_wires", " ".join(one for one in kept if one != wire))
    return job


def with_fuses_typed(job: Job, answer: FuseWays) -> Job:
    """The job with its branches led to the fuses they were given, those that are new added."""
    made: dict[str, str] = {}
    for seat in answer.moved:
        job, made[seat.fuse] = _led(job, answer, replace(seat, fuse=made.get(seat.fuse, seat.fuse)))
    return job


def _led(job: Job, answer: FuseWays, seat: BranchSeat) -> tuple[Job, str]:
    """The job with one branch on its fuse, and what that is called."""
    job, name = _with_fuse(job, answer, seat)
    side = answer.fuses[name].load_side if name in answer.fuses else "2"
    point = f"{name}.{side}"
    wires = tuple(
        w if w.id != seat.wire else replace(w, from_=point) if seat.end == "from" else replace(w, to=point)
        for w in job.wires
    )
    return replace(job, wires=wires), name


def _with_fuse(job: Job, answer: FuseWays, seat: BranchSeat) -> tuple[Job, str]:
    if any(part.id == seat.fuse for part in job.parts):
        return job, seat.fuse
    there = [one for one in answer.fuses.values() if one.state == seat.state]
    like = next(one for one in there if seat.fuse.endswith(f" at {one.box or 'no place'}"))
    old = next(part for part in job.parts if part.id == like.id)
    name = _free(job, "F")
    box = {"box": old.settings["box"]} if old.settings.get("box") else {}
    family = like.family if like.family.startswith("blade") else "blade_c"
    part = Part(
        id=name,
        kind="fuse",
        name=f"fuse of {' '.join(seat.loads) or seat.wire}",
        place=like.place,
        circuit=next((w.circuit for w in job.wires if w.id == seat.wire), ""),
        settings=FixedMap({"family": family, **box}),
        fitted="new",
    )
    end = f"{like.id}.{'1' if like.load_side == '2' else '2'}"
    fed = next((w for w in job.wires if end in (w.from_, w.to)), None)
    source = "" if fed is None else fed.to if fed.from_ == end else fed.from_
    circuit = "" if fed is None else fed.circuit
    feed = Wire(id=next(next_wire_ids(job)), circuit=circuit, from_=_stud(job, source), to=f"{name}.1", fitted="new")
    fed_job = replace(job, parts=(*job.parts, part), wires=(*job.wires, feed))
    return with_colours(fed_job, (feed.id,)), name


def _stud(job: Job, point: str) -> str:
    """The point itself, or the next free stud where it is one of a busbar or splice."""
    name, _ = split_point(point)
    if all(part.id != name or part.kind not in _STUDS for part in job.parts):
        return point
    taken = {end for wire in job.wires for end in (wire.from_, wire.to)}
    return next(f"{name}.{number}" for number in count(1) if f"{name}.{number}" not in taken)


def _free(job: Job, letters: str) -> str:
    taken = {row.id for row in job.parts} | {row.id for row in job.wires}
    return next(f"{letters}{number}" for number in count(1) if f"{letters}{number}" not in taken)


def _setting(job: Job, part: str, name: str) -> list[str]:
    return next((row.settings.get(name, "").split() for row in job.parts if row.id == part), [])


def _with(kept: list[str], one: str) -> str:
    return " ".join(sorted({*kept, one}, key=id_order))
