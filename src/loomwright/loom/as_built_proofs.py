"""Which proofs no longer stand, once wires they rest on are worked on?

In: the sheet `proofs` and what is asked of built wires. Out: the proofs to take again, each with the wires that are
why. A proof rests on every wire of the circuits that end at its point, since the current it judged flows through them
all. Only the last proof of a test counts, and only one that passed. Work written down later than a proof of its point
takes it away too, where both have a time that can be read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Proof, Wire
from loomwright.loom.as_built_records import BuiltWire, ProofAgain
from loomwright.loom.as_built_view import View

__all__ = ["proofs_again"]

_IDLE = ("shorten", "re-label", "look", "prove")
_WORK = ("cut", "crimped", "seated")


def proofs_again(
    job: Job, now: View, earlier: Mapping[int, View], wires: Iterable[BuiltWire], *, minutes: float
) -> tuple[ProofAgain, ...]:
    """The proofs to take again, in the order of their sheet.

    Args:
        job: as the sheets have it now.
        now: what it asks of its wires.
        earlier: revision -> what it asked then.
        wires: what is asked of those that are built.
        minutes: for one proof. [min]
    """
    built = tuple(wires)
    worked = {wire.wire: wire for wire in built if any(ask.does not in _IDLE for ask in wire.asks)}
    later = {wire.wire: _last_work(wire) for wire in built}
    last: dict[tuple[str, str, str], int] = {
        (proof.test, proof.point, proof.to): row for row, proof in enumerate(job.proofs)
    }
    found = []
    for row, proof in enumerate(job.proofs):
        if last[(proof.test, proof.point, proof.to)] != row or proof.verdict != "passed":
            continue
        points = {point for point in (proof.point, proof.to) if point}
        touched = {name for name, wire in worked.items() if _rests_on(points, wire, now, earlier)}
        redone = {
            name for name, time in later.items() if time is not None and _is_before(proof.time, time)
            and _ends_here(points, now.wires.get(name))
        }  # fmt: skip
        names = tuple(sorted(touched | redone, key=id_order))
        if names:
            found.append(_again(row, proof, names, bool(touched), minutes))
    return tuple(found)


def _again(row: int, proof: Proof, names: tuple[str, ...], is_asked: bool, minutes: float) -> ProofAgain:
    said = ", ".join(names)
    why = f"{said} {'is' if len(names) == 1 else 'are'} worked on" if is_asked else f"{said} was worked on after it"
    return ProofAgain(
        row=row,
        test=proof.test,
        point=proof.point,
        to=proof.to,
        wires=names,
        says=f"{proof.test}{f' at {proof.point}' if proof.point else ''}: take it again, {why}.",
        minutes=minutes,
    )


def _rests_on(points: set[str], built: BuiltWire, now: View, earlier: Mapping[int, View]) -> bool:
    """Whether a proof at some points rests on a wire: at its ends, or on its circuit, now or when it was built."""
    views = [(now, built.name)]
    if built.since is not None and built.since in earlier:
        views.append((earlier[built.since], built.wire))
    for view, name in views:
        wire = view.wires.get(name)
        if wire is None:
            continue
        if _ends_here(points, wire):
            return True
        others = (each for each in view.wires.values() if each.circuit == wire.circuit) if wire.circuit else ()
        if any(_ends_here(points, each) for each in others):
            return True
    return False


def _ends_here(points: set[str], wire: Wire | None) -> bool:
    """Whether a wire ends at one of some points; a part alone stands for each of its terminals."""
    if wire is None:
        return False
    ends = {wire.from_, wire.to} - {""}
    return bool(points & ends) or any(
        split_point(point)[0] == split_point(end)[0] and "" in (split_point(point)[1], split_point(end)[1])
        for point in points
        for end in ends
    )


def _last_work(wire: BuiltWire) -> str | None:
    """When a wire was last cut, crimped or seated; None where nobody wrote it down."""
    rows = [wire.steps.cut, *(row for end in wire.steps.ends.values() for row in end.values())]
    times = [row.time for row in rows if row is not None and row.step in _WORK and row.time]
    return max(times, key=lambda text: _moment(text) or datetime.min, default=None)


def _is_before(one: str, other: str) -> bool:
    """Whether a time lies before another; no, where one of them cannot be read."""
    first, second = _moment(one), _moment(other)
    return first is not None and second is not None and first < second


def _moment(text: str) -> datetime | None:
    """A time that was written down; its zone is left out, since clocks of one shop agree."""
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        return None
