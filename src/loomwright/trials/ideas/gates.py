"""Lead it through a contact that is there and not used: the range switch's for P and N, a switch beside.

A wire end at a point is put at the open terminal of a contact whose other terminal is joined to that point already, so
that nothing is bridged that was apart.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.trials.bench import Bench
from loomwright.trials.mend import Idea

__all__ = ["led_through"]

_ROLES = ("start_inhibit", "crash_switch")


def led_through(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A wire of the way led through an open contact that hangs at the same point."""
    wires = [bench.scene.wires[n] for n in (*finding.path, *finding.touches, *finding.at) if n in bench.scene.wires]
    for wire in dict.fromkeys(wires):
        for end, here in (("from", wire.from_), ("to", wire.to)):
            node = bench.node(here) if here else None
            if node is None:
                continue
            for open_point, joined in _contacts(bench):
                if split_point(open_point)[0] == split_point(here)[0]:
                    continue
                if joined == here or _is_joined(bench, joined, node):
                    title = bench.scene.title(split_point(open_point)[0])
                    yield Idea(
                        says=f"Lead {wire.id} through the contact {open_point} ({title}) instead of straight to {here}",
                        edits=bench.moved(wire, end, open_point),
                    )


def _contacts(bench: Bench) -> list[tuple[str, str]]:
    """(open terminal, wired terminal) of every switch contact with one of each, the interlocks' first."""
    found: dict[tuple[str, str], tuple[bool, str]] = {}
    for index, element in enumerate(bench.compiled.network.elements):
        if element.type != "switch" or element.part not in bench.scene.parts:
            continue
        ends = [bench.scene.name_of(node) for node in bench.scene.ends(index)]
        wired = [bool(bench.wires_at(end)) for end in ends]
        if wired[0] != wired[1]:
            role = bench.scene.parts[element.part].role or ""
            pair = (ends[1], ends[0]) if wired[0] else (ends[0], ends[1])
            found[pair] = (not any(word in role.split() for word in _ROLES), pair[0])
    return sorted(found, key=lambda pair: found[pair])


def _is_joined(bench: Bench, point: str, node: int) -> bool:
    """Whether only wires and joints lie between a point and a node, one or two of them."""
    start = bench.node(point)
    if start is None:
        return False
    return any(
        other == node and bench.scene.element(index).type in ("wire", "joint", "joined")
        for index, other in bench.conduction.at.get(start, ())
    )
