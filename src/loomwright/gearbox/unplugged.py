"""What is left with the gearbox's loom off, asked of the car's own network: which solenoids still carry a current?

Every solenoid of the table that is a part of the job is looked at three times: with the solenoids' own plugs off, with
the controller's plugs off, with their fuse out; engine at idle, selector in its highest range. What still carries more
than a twentieth of an ampere is on: a wire that touches, a second feed, a plug that parts one of them only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from loomwright.findings import Finding
from loomwright.gearbox.box import Box, rpm_in
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.network.records import Changes

__all__ = ["AmpsWith", "unplugged_findings"]

AmpsWith = Callable[[Changes], Mapping[str, float]]
"""Wire -> current with something off, engine at idle. [A]"""
_ON_A = 0.05
_ROAD_KMH = 100.0


def unplugged_findings(box: Box, job: Job, amps_with: AmpsWith) -> tuple[Finding, ...]:
    """What the network says of the gear and the pressure that are left; nothing where the job has no such part.

    Args:
        amps_with: current of every wire with something off.
    """
    if box.pattern is None:
        return ()
    parts = {one.id: one for one in job.parts if one.fitted != "removed"}
    names = [name for name in (*box.pattern.names, box.pattern.pressure) if name in parts]
    if not names:
        return ()
    found: list[Finding] = []
    for words, changes in _cuts(job, names, parts):
        amps = amps_with(changes)
        on = {name: through for name in names if (through := _through_a(job, name, amps)) > _ON_A}
        found += _told(box, words, on)
    return tuple(found) or (
        Finding(
            rule="GEA-11",
            severity="note",
            at=tuple(names),
            when=(("unplugged", "gearbox, controller, fuse, one at a time"),),
            wrong="no solenoid carries a current, as the network has it: the gear with all of them off is left",
            mend="Prove it on the stands at idle, and tell the owner",
        ),
    )


def _cuts(job: Job, names: list[str], parts: Mapping[str, object]) -> Iterator[tuple[str, Changes]]:
    yield "the plugs of the gearbox", Changes(unplugged=tuple(names))
    touching = [one for one in job.wires if one.fitted != "removed" and any(_ends_at(one, name) for name in names)]
    kinds = {one.id: one.kind for one in job.parts}
    far = {end.partition(".")[0] for one in touching for end in (one.from_, one.to) if end}
    for name in sorted(far & {one for one in parts if kinds[one] == "controller"}):
        yield f"the plugs of {name}", Changes(unplugged=(name,))
    circuits = {one.circuit for one in job.parts if one.id in names and one.circuit}
    for one in job.parts:
        if one.kind == "fuse" and one.circuit in circuits and one.fitted != "removed":
            yield f"the fuse {one.id}", Changes(pulled=(one.id,))


def _through_a(job: Job, name: str, amps: Mapping[str, float]) -> float:
    """What goes right through it: the most in a wire at each terminal, and the least of those."""
    most: dict[str, float] = {}
    for wire in job.wires:
        for point in (wire.from_, wire.to):
            if wire.fitted != "removed" and point and point.partition(".")[0] == name:
                most[point] = max(most.get(point, 0.0), abs(amps.get(wire.id, 0.0)))
    return min(most.values()) if len(most) > 1 else 0.0


def _ends_at(wire: Wire, name: str) -> bool:
    return any(point.partition(".")[0] == name for point in (wire.from_, wire.to) if point)


def _told(box: Box, words: str, on: Mapping[str, float]) -> Iterator[Finding]:
    pattern = box.pattern
    if pattern is None or not on:
        return
    states = tuple(name in on for name in pattern.names)
    gear = next((gear for gear, row in sorted(pattern.gears.items()) if row == states), None)
    if any(states):
        left = (
            f"gear {gear} is left, {rpm_in(box, gear, _ROAD_KMH):.0f} 1/min at {_ROAD_KMH:.0f} km/h"
            if gear
            else ("no gear of the table is left")
        )
        yield Finding(
            rule="GEA-11",
            severity="fault",
            at=tuple(name for name in pattern.names if name in on),
            when=(("unplugged", words),),
            wrong=f"it still carries a current: {left}",
            found=max(on[name] for name in pattern.names if name in on),
            allowed=_ON_A,
            unit="A",
            mend="Find the second way to earth or to a feed, and part it",
        )
    if pattern.pressure in on:
        yield Finding(
            rule="GEA-11",
            severity="fault",
            at=(pattern.pressure,),
            when=(("unplugged", words),),
            wrong="the pressure solenoid still carries a current: the pressure is not what it is without one",
            found=on[pattern.pressure],
            allowed=_ON_A,
            unit="A",
            mend="Find the second way to earth or to a feed, and part it",
        )
