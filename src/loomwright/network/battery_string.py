"""Which batteries stand in series between the earthed post and the live one?

A car of 24 V often has two batteries of 12 V: the live post of the first is joined to the earthed side of the second,
and the second's other post is the car's. A second battery beside the first, its own post earthed, is no string.
Followed are wires, splices, busbars and fuses; a string goes on where they reach the other pole of another battery.
Metal and the earth points on it end it: a second battery with its live post on the body is no string but a mistake.
Of several that stand beside each other that one is the car's whose post is on the body, in whichever row it stands.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.job.vehicle import vehicle_of

__all__ = ["battery_string"]

_PASSES = ("splice", "busbar", "fuse", "fusible_link")


def battery_string(job: Job, parts: Sequence[Part] | None = None) -> tuple[str, ...]:
    """The batteries in series that feed the car, the earthed one first; one only in most cars, none without any.

    Args:
        parts: the parts that are there; all fitted ones where left out.

    Example:
        >>> from loomwright.job.reading import job_from_text
        >>> batteries = [{"id": "B1", "kind": "battery"}, {"id": "B2", "kind": "battery"}]
        >>> wires = [{"id": "W1", "from": "B1.-", "to": "body"}, {"id": "W2", "from": "B1.+", "to": "B2.-"}]
        >>> battery_string(job_from_text({"vehicle": [], "parts": batteries, "wires": wires}))
        ('B1', 'B2')
    """
    there = [part for part in job.parts if part.fitted != "removed"] if parts is None else parts
    batteries = [part.id for part in there if part.kind == "battery"]
    if len(batteries) < 2:
        return tuple(batteries)
    vehicle = vehicle_of(job)
    live, earthed = vehicle.live_post, vehicle.earthed_post
    earths = {part.id for part in there if part.kind == "earth_point"}
    joined = _joined(job, {part.id for part in there if part.kind in _PASSES}, earths)
    string = [min(batteries, key=lambda battery: _off_the_body(job, f"{battery}.{earthed}", earths, joined))]
    while below := _other(batteries, string, f"{string[0]}.{earthed}", live, joined):
        string.insert(0, below)
    while above := _other(batteries, string, f"{string[-1]}.{live}", earthed, joined):
        string.append(above)
    return tuple(string)


def _joined(job: Job, passes: set[str], earths: set[str]) -> dict[str, set[str]]:
    """Points that are one piece with each other: ends of one wire; all terminals of a splice, busbar or fuse."""
    found: dict[str, set[str]] = {}
    for wire in job.wires:
        ends = [end.split(".")[0] if end.split(".")[0] in passes else end for end in (wire.from_, wire.to) if end]
        if any(end.split(".")[0] in earths or ("." not in end and end not in passes) for end in ends):
            continue  # metal
        for one in ends:
            found.setdefault(one, set()).update(ends)
    return found


def _off_the_body(job: Job, post: str, earths: set[str], joined: dict[str, set[str]]) -> int:
    """0 where a wire leads from a post to the body or an earth point, 1 where to another metal alone, else 2. [-]"""
    piece = _piece(post, joined)
    metals: set[str] = set()
    for wire in job.wires:
        for one, other in ((wire.from_, wire.to), (wire.to, wire.from_)):
            if other and (one in piece or one.split(".")[0] in piece):
                metals.update({"body"} if other.split(".")[0] in earths else {other} if "." not in other else ())
    return 0 if "body" in metals else 1 if metals - piece else 2


def _piece(start: str, joined: dict[str, set[str]]) -> set[str]:
    """The points that are one piece with a point."""
    seen, waiting = {start}, [start]
    while waiting:
        more = joined.get(waiting.pop(), set()) - seen
        seen |= more
        waiting.extend(more)
    return seen


def _other(
    batteries: Sequence[str], string: Sequence[str], post: str, pole: str, joined: dict[str, set[str]]
) -> str | None:
    """The battery, not yet in the string, whose other pole a post is joined to."""
    wanted = {f"{battery}.{pole}": battery for battery in batteries if battery not in string}
    return next((wanted[other] for other in sorted(_piece(post, joined)) if other in wanted), None)
