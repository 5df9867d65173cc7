"""Which rows are there for the sake of a wish, and what is the job without it?

A wish names circuits and parts. A part belongs to it that it names or that is of one of its circuits; a wire belongs
to a circuit, and goes with a part that goes. What two wishes name stays as long as one of them is in the job; what no
wish names is always in it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from loomwright.job.job import Job
from loomwright.job.rows import Wish

__all__ = ["Belongings", "belongings_of", "only_wished"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Belongings:
    """What hangs on some circuits and parts: their ids, in the order of the sheets."""

    circuits: tuple[str, ...]
    parts: tuple[str, ...]
    wires: tuple[str, ...]


def belongings_of(job: Job, circuits: Collection[str], parts: Collection[str]) -> Belongings:
    """What hangs on these circuits and parts: their parts, and the wires of either.

    Args:
        circuits: ids of circuits.
        parts: ids of parts.
    """
    mine = {part.id for part in job.parts if part.circuit in circuits or part.id in parts}
    return Belongings(
        circuits=tuple(row.id for row in job.circuits if row.id in circuits),
        parts=tuple(part.id for part in job.parts if part.id in mine),
        wires=tuple(
            wire.id
            for wire in job.wires
            if wire.circuit in circuits or _part(wire.from_) in mine or _part(wire.to) in mine
        ),
    )


def only_wished(job: Job, wanted: Collection[str]) -> Job:
    """The job without what is there only for wishes that are not wanted.

    Args:
        wanted: ids of the wishes that are in it.
    """
    off = [wish for wish in job.wishes if wish.id not in wanted]
    if not off:
        return job
    held = [wish for wish in job.wishes if wish.id in wanted]
    circuits = _circuits(off) - _circuits(held)
    stays = {part.id for part in job.parts if part.circuit in _circuits(held)} | _parts(held)
    named = _parts(off) | {part.id for part in job.parts if part.circuit in _circuits(off)}
    gone = belongings_of(job, circuits, named - stays)
    parts, wires = frozenset(gone.parts) - stays, frozenset(gone.wires)
    outputs = {row.id for row in job.needs if row.part in parts}
    return replace(
        job,
        circuits=tuple(row for row in job.circuits if row.id not in circuits),
        parts=tuple(part for part in job.parts if part.id not in parts),
        wires=tuple(wire for wire in job.wires if wire.id not in wires),
        contacts=tuple(row for row in job.contacts if row.part not in parts),
        connectors=tuple(row for row in job.connectors if row.part not in parts),
        needs=tuple(row for row in job.needs if row.part not in parts),
        drives=tuple(row for row in job.drives if row.output not in outputs),
        requirements=tuple(row for row in job.requirements if _part(row.point) not in parts),
    )


def _circuits(wishes: Iterable[Wish]) -> set[str]:
    return {circuit for wish in wishes for circuit in wish.circuits}


def _parts(wishes: Iterable[Wish]) -> set[str]:
    return {part for wish in wishes for part in wish.parts}


def _part(point: str) -> str:
    return point.partition(".")[0]
