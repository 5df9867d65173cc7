"""Does the sheet tell of something that the wires, or the contacts, leave out? Part of NET-1.

A figure typed for one filament or winding of a part (`brake_w=21`) says that it is there and is to work: where no wire
ends at its terminal it is told. A switch all of whose rows in the sheet contacts are one position can never be moved:
what it joins is joined for ever, a row is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.findings import Finding
from loomwright.job.rows import SwitchContact
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.tables.kind_records import KindElement

__all__ = ["told_but_open"]


def told_but_open(scene: Scene) -> Iterator[Told]:
    """Figures of something that has no wire, and switches with one position."""
    yield from _figures(scene)
    yield from _one_position(scene)


def _figures(scene: Scene) -> Iterator[Told]:
    for part in scene.parts.values():
        for element in scene.kinds[part.kind].elements:
            for terminal, words in element.only_if.items():
                typed = _typed(element, part.settings) if words == ("wired",) else ""
                point = f"{part.id}.{terminal}"
                if typed and point not in scene.wires_at:
                    yield Told(_unwired(scene, part.id, point, typed), None, None)


def _typed(element: KindElement, settings: Mapping[str, str]) -> str:
    """The setting of its own that is typed for an element, with its figure; empty where none is."""
    names = (str(param).removeprefix("$") for param in element.params.values() if str(param).startswith("$"))
    return next(
        (f"{name}={settings[name]}" for name in names if name.startswith(element.name) and settings.get(name)), ""
    )


def _unwired(scene: Scene, part: str, point: str, typed: str) -> Finding:
    return Finding(
        rule="NET-1",
        severity="fault",
        at=(point,),
        touches=(part,),
        label=f"{point} ({scene.title(part)})",
        wrong=f"no wire ends here, and the sheet parts says {typed}",
        mend=f"Wire {point}, or take {typed} out of its settings where it is not used",
    )


def _one_position(scene: Scene) -> Iterator[Told]:
    seen: set[tuple[str, str]] = set()
    for row in scene.job.contacts:
        if row.part not in scene.parts or (row.part, row.gang) in seen or not row.joins:
            continue
        if _positions(scene, row) == 1:
            seen.add((row.part, row.gang))
            yield Told(_never_moves(scene, row), None, None)


def _positions(scene: Scene, row: SwitchContact) -> int:
    """How many values the variable has that moves a gang; 0 where there is none. [-]"""
    part = scene.parts[row.part]
    own = part.settings.get("variable") or scene.kinds[part.kind].variable or part.id
    names = (row.variable,) if row.variable else (f"{part.id}.{row.gang}", own)
    found = next((k for name in names if (k := scene.compiled.variable_of.get(name)) is not None), None)
    return 0 if found is None else len(scene.compiled.network.variables[found].values)


def _never_moves(scene: Scene, row: SwitchContact) -> Finding:
    gang = f" {row.gang}" if row.gang else ""
    return Finding(
        rule="NET-1",
        severity="warning",
        at=(row.part,),
        label=f"{row.part} ({scene.title(row.part)})",
        wrong=f"its contacts{gang} know one position only, {row.position}: what they join is joined for ever",
        mend="Add the row of the position in which they are open to the sheet contacts; its joins stay blank",
    )
