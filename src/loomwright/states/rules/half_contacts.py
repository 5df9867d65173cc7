"""Is there a contact with a wire on one side only? Part of NET-1, a warning.

Asked of what the sheet contacts says a switch joins, and of the contacts inside a part that is itself a load (a wiper's
park contact): with one terminal wired and the other not, that position does nothing. Where neither is wired nobody
wants it. Contacts that a kind of switch brings along are not asked: many a gear selector has positions nobody reads.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene

__all__ = ["half_contacts"]


def half_contacts(scene: Scene) -> Iterator[Told]:
    """Open terminals of contacts that are wired on their other side, each told once."""
    found: dict[str, tuple[str, str]] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type != "switch" or element.part not in scene.parts:
            continue
        kind = scene.kind(element.part)
        if kind.duty != "load" and not any(row.part == element.part for row in scene.job.contacts):
            continue
        ends = [scene.name_of(node) for node in scene.ends(index)]
        needed = {f"{element.part}.{terminal.name}" for terminal in kind.terminals if terminal.required}
        for point, other in (ends, ends[::-1]):
            # what is wired anyway (a wiper's earth) says nothing of whether its contact is wanted
            is_half = point not in scene.wires_at and other in scene.wires_at and other not in needed
            if is_half and "." in point and "._" not in point:
                found.setdefault(point, (element.part, other))
    for point, (part, other) in found.items():
        yield Told(_half(scene, point, part, other), None, None)


def _half(scene: Scene, point: str, part: str, other: str) -> Finding:
    return Finding(
        rule="NET-1",
        severity="warning",
        at=(point,),
        touches=(part, other),
        label=f"{point} ({scene.title(part)})",
        wrong=f"a contact joins it to {other}, and no wire ends here: what hung on it is dead",
        mend=f"Wire {point}, or take the contact out of the sheet contacts",
    )
