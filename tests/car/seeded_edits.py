"""Edits of a job as somebody makes them, one after the other or each by itself, the same for a seed.

Rows are dropped and added, wires turned, moved, made thicker and longer, fuses changed, contacts of switches and
requirements too, and words that move no current. An edit after which the rows do not fit each other is left out; every
eighth takes the job back to an earlier form.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random

from loomwright.job.edits import add_row, drop_row, set_cell, set_setting
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.tables.kinds import load_kinds

__all__ = ["Edited", "edited", "single_edits"]

Edited = tuple[str, str, Job]
"""What was done, the row it was done to, the job after it."""

_SIZES = ("0.5", "0.75", "1", "1.5", "2.5", "4", "6")
_FUSES = ("5", "7.5", "10", "15", "20", "30")
_COLOURS = ("RD", "BU", "GN/YE", "PK", "WH/BK")
_BACK_EVERY = 8


def edited(job: Job, count: int, seed: int) -> Iterator[Edited]:
    """So many jobs, each one edit after the one before.

    Args:
        count: how many. [-]
        seed: another one makes other edits. [-]
    """
    rng = Random(seed)
    now, made, earlier = job, 0, [job]
    while made < count:
        name, do = rng.choice(_KINDS)
        try:
            if made % _BACK_EVERY == _BACK_EVERY - 1:
                name, row, new = "take back", "", rng.choice(earlier)
            else:
                row, new = do(now, rng)
        except (BadDocument, OutOfReach, IndexError, ValueError):
            continue
        if new is now or problems_of(new, load_kinds()):
            continue
        made, now = made + 1, new
        earlier = [*earlier[-3:], new]
        yield name, row, new


def single_edits(job: Job, count: int, seed: int) -> Iterator[Edited]:
    """So many jobs, each the same job after one edit.

    Args:
        count: how many. [-]
        seed: another one makes other edits. [-]
    """
    rng, made = Random(seed), 0
    while made < count:
        name, do = rng.choice(_KINDS)
        try:
            row, new = do(job, rng)
        except (BadDocument, OutOfReach, IndexError, ValueError):
            continue
        if new is not job and not problems_of(new, load_kinds()):
            made += 1
            yield name, row, new


def _drop_wire(job: Job, rng: Random) -> tuple[str, Job]:
    wire = rng.choice(job.wires).id
    return wire, drop_row(job, "wires", wire)


def _turn_wire(job: Job, rng: Random) -> tuple[str, Job]:
    wire = rng.choice(job.wires)
    for column, text in (("from", wire.to), ("to", wire.from_)):
        job = set_cell(job, "wires", wire.id, column, text)
    return wire.id, job


def _move_wire(job: Job, rng: Random) -> tuple[str, Job]:
    wire, other = rng.choice(job.wires), rng.choice(job.wires)
    return wire.id, set_cell(job, "wires", wire.id, "to", other.to)


def _size(job: Job, rng: Random) -> tuple[str, Job]:
    wire = rng.choice(job.wires).id
    return wire, set_cell(job, "wires", wire, "size_mm2", rng.choice(_SIZES))


def _length(job: Job, rng: Random) -> tuple[str, Job]:
    wire = rng.choice(job.wires).id
    return wire, set_cell(job, "wires", wire, "length_mm", str(rng.randrange(200, 4000, 50)))


def _fuse(job: Job, rng: Random) -> tuple[str, Job]:
    fuse = rng.choice([part for part in job.parts if part.kind == "fuse"]).id
    return fuse, set_setting(job, fuse, "rating_a", rng.choice(_FUSES))


def _add_wire(job: Job, rng: Random) -> tuple[str, Job]:
    one, other = rng.choice(job.wires), rng.choice(job.wires)
    number = next(n for n in range(900, 2000) if all(wire.id != f"W{n}" for wire in job.wires))
    cells = {"id": f"W{number}", "from": one.to, "to": other.from_, "size_mm2": "1", "length_mm": "800"}
    return f"W{number}", add_row(job, "wires", cells)


def _contact(job: Job, rng: Random) -> tuple[str, Job]:
    """Two positions of a switch change what they join."""
    one, other = rng.sample(range(len(job.contacts)), 2)
    rows = list(job.contacts)
    rows[one] = replace(rows[one], joins=job.contacts[other].joins)
    return rows[one].part, replace(job, contacts=tuple(rows))


def _requirement(job: Job, rng: Random) -> tuple[str, Job]:
    names = {row.id for row in job.requirements}
    if names and rng.random() < 0.4:
        row = rng.choice(sorted(names))
        return row, drop_row(job, "requirements", row)
    number = next(n for n in range(900, 2000) if f"Q{n}" not in names)
    must = rng.choice(("live", "dead", ">= 11 V"))
    cells = {"id": f"Q{number}", "point": rng.choice(job.wires).to, "when": "key=run", "must": must, "why": "asked"}
    return f"Q{number}", add_row(job, "requirements", cells)


def _colour(job: Job, rng: Random) -> tuple[str, Job]:
    wire = rng.choice(job.wires).id
    return wire, set_cell(job, "wires", wire, "colour", rng.choice(_COLOURS))


def _name(job: Job, rng: Random) -> tuple[str, Job]:
    part = rng.choice(job.parts).id
    return part, set_cell(job, "parts", part, "name", rng.choice(("Left one", "Right one", "")))


_KINDS: tuple[tuple[str, Callable[[Job, Random], tuple[str, Job]]], ...] = (
    ("drop a wire", _drop_wire),
    ("turn a wire", _turn_wire),
    ("move a wire", _move_wire),
    ("size", _size),
    ("length", _length),
    ("fuse", _fuse),
    ("add a wire", _add_wire),
    ("contact", _contact),
    ("requirement", _requirement),
    ("colour", _colour),
    ("name", _name),
)
