"""Does a wire join two terminals that are marked as different things? NET-7, a warning.

Terminals of switches, relays, flashers and motors carry the numbers and letters of the trade: 53 is a wiper's slow
brush and 53b its fast one, 56a the main beam and 56b the dipped, 49 goes into a flasher and 49a comes out, L and R are
the sides, D a dynamo's armature and F its field, as on its control box. Within one such family a wire joins like to
like. A wire from another family, or from a terminal without such a mark, is asked only where the part at its other end
has that mark too, wired to something else: the brush 53b on the washer's terminal of a stalk that has a 53b. A joint or
a controller has no marks.

Source: din-72552 for the numbers; that like goes to like is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.points import split_point
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene

__all__ = ["mark_findings"]

_FAMILIES = (
    frozenset({"53", "53a", "53b", "53e"}),
    frozenset({"49", "49a"}),
    frozenset({"56a", "56b"}),
    frozenset({"L", "R"}),
)
_OF_DYNAMO = ("D", "F")
_MARKS = frozenset().union(*_FAMILIES)
_PLAIN = ("join", "controller")


def mark_findings(scene: Scene) -> Iterator[Told]:
    """Wires between two marks of one family."""
    for wire in all_looked_at(scene.wires.values(), ("id", "from_", "to")):
        one, other = (split_point(scene.point(end)) if end else ("", "") for end in (wire.from_, wire.to))
        if one[0] == other[0] or not all(part in scene.parts for part, _ in (one, other)):
            continue
        if any(scene.kind(part).duty in _PLAIN for part, _ in (one, other)) or one[1] == other[1]:
            continue
        are_two = any({one[1], other[1]} <= family for family in _FAMILIES)
        if are_two or _has_its_own(scene, one, other) or _between_dynamo_and_box(scene, one, other):
            yield Told(_crossed(scene, wire.id, ".".join(one), ".".join(other)), None, None)


def _between_dynamo_and_box(scene: Scene, one: tuple[str, str], other: tuple[str, str]) -> bool:
    """True where a dynamo's armature or field goes to another letter of its control box than its own."""
    ends = {scene.parts[part].kind: terminal for part, terminal in (one, other)}
    return set(ends) == {"dynamo", "control_box"} and ends["dynamo"] in _OF_DYNAMO


def _has_its_own(scene: Scene, one: tuple[str, str], other: tuple[str, str]) -> bool:
    """True where a mark of a family goes to another terminal of a part on which that mark is wired.

    A mark with a letter more (56br beside 56b: its right-hand outlet) is no other one.
    """
    return any(
        mark in _MARKS and not there.startswith(mark) and f"{part}.{mark}" in scene.wires_at
        for (_, mark), (part, there) in ((one, other), (other, one))
    )


def _crossed(scene: Scene, wire: str, one: str, other: str) -> Finding:
    return Finding(
        rule="NET-7",
        severity="warning",
        at=(wire, one, other),
        touches=tuple(dict.fromkeys((split_point(one)[0], split_point(other)[0]))),
        label=f"{wire} (wire, {one} to {other})",
        wrong="joins two terminals whose marks say different things",
        source="din-72552",
        mend=f"Look which of {one} and {other} it belongs to: each mark goes to the same mark",
    )
