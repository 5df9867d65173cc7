"""What does a rule need to know about the car before it asks its question?

A `Scene` gathers the job, its kinds, the compiled network and the look-ups every rule wants: parts, wires at a
terminal, elements of a part, circuits, roles. Made once for a search. Of the states that rules look at before they ask
their questions it keeps the answers, so that none is solved twice, until it is told to let go of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from loomwright.job.job import Job
from loomwright.job.kept_answers import Answering
from loomwright.job.rows import Circuit, Part, Wire
from loomwright.job.vehicle import Vehicle, vehicle_of
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Element
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.beside import Beside
from loomwright.states.asking.cones import Cones, cones_of
from loomwright.states.asking.plan import Space, space_of
from loomwright.tables.kinds import Kind

__all__ = ["Scene", "scene_of", "scene_with"]

Ground = TypeVar("Ground")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scene:
    """The car as a rule sees it.

    parts: fitted parts by id. kind_of: their kinds. wires_at: wires by point (aliases resolved).
    points_of: those points by part. elements_of: element indices by part. ends_of: the two nodes of each element.
    at: by node the elements that join it to another, with that one.
    role_of: parts by role.
    cones: the variables that decide each element. space: the states there are.
    answering: of an edited car: what several rules look at is kept for the car after it.
    """

    job: Job
    kinds: Mapping[str, Kind]
    compiled: Compiled
    vehicle: Vehicle
    parts: Mapping[str, Part]
    kind_of: Mapping[str, Kind]
    wires: Mapping[str, Wire]
    wires_at: Mapping[str, tuple[Wire, ...]]
    points_of: Mapping[str, tuple[str, ...]]
    elements_of: Mapping[str, tuple[int, ...]]
    ends_of: tuple[tuple[int, int], ...]
    at: Mapping[int, tuple[tuple[int, int], ...]]
    circuits: Mapping[str, Circuit]
    role_of: Mapping[str, tuple[Part, ...]]
    cones: Cones
    space: Space
    answering: Answering | None = None
    _known: dict[str, object] = field(default_factory=dict, init=False, repr=False)
    _beside: Beside = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """No state is solved yet."""
        object.__setattr__(self, "_beside", Beside(self.compiled))

    def answers(self, values: type_i, before: type_i | None = None) -> Answers:
        """States solved, from rest or from those given; none twice, however many rules look at them.

        Args:
            values: value index of each variable, one row a state. [-]
            before: what each came from.
        """
        return self._beside.answers(values, before)

    def let_go(self) -> None:
        """Keep no answer; states are solved again when they are asked again."""
        self._beside.let_go()

    def once(self, name: str, make: Callable[[Scene], Ground]) -> Ground:
        """What several rules look at, worked out for the first of them; each of them rests on what was read for it.

        Args:
            name: the same for the same question.
            make: what it gives holds no row and no scene: it may be kept for the car after.
        """
        if self.answering is not None:
            return self.answering.of(f"ground {name}", (self.compiled, self.kinds), lambda: make(self))
        if name not in self._known:
            self._known[name] = make(self)
        found: Ground = self._known[name]  # type: ignore[assignment]
        return found

    def kind(self, part: str) -> Kind:
        """The kind of a part."""
        return self.kind_of[part]

    def element(self, index: int) -> Element:
        """An element of the network."""
        return self.compiled.network.elements[index]

    def point(self, name: str) -> str:
        """The full name of a point (a one-terminal part may be named without its terminal)."""
        return self.compiled.network.aliases.get(name, name)

    def node(self, point: str) -> int:
        """The node of a point in the compiled numbering. Raises KeyError where there is none."""
        return self.compiled.node_of[self.point(point)]

    def name_of(self, node: int) -> str:
        """The point a compiled node stands for."""
        names = self.compiled.network.nodes
        reference = self.compiled.network.reference
        if node == len(names) - 1:
            return names[reference]
        return names[node if node < reference else node + 1]

    def ends(self, index: int) -> tuple[int, int]:
        """The two nodes of an element in the compiled numbering."""
        return self.ends_of[index]

    def title(self, part: str) -> str:
        """What a part is, in words: its own name, else its kind's title."""
        row = self.parts[part]
        return row.name or self.kind(part).title


def scene_of(
    job: Job,
    kinds: Mapping[str, Kind],
    compiled: Compiled,
    known: tuple[Cones, Space] | None = None,
    answering: Answering | None = None,
) -> Scene:
    """The scene of a job and its compiled network.

    Args:
        known: the cones and the space of the network, where they are worked out already.
        answering: keeps what several rules look at for the car after an edit.
    """
    wires, at = _wires_of(job, compiled)
    elements: dict[str, list[int]] = {}
    for index, element in enumerate(compiled.network.elements):
        if element.part:
            elements.setdefault(element.part, []).append(index)
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    roles: dict[str, list[Part]] = {}
    for part in parts.values():
        for role in (part.role or "").split():
            roles.setdefault(role, []).append(part)
    cones, space = known or (cones_of(compiled), space_of(compiled))
    ends = tuple(zip(compiled.arrays.a.tolist(), compiled.arrays.b.tolist(), strict=True))
    return Scene(
        job=job,
        kinds=kinds,
        compiled=compiled,
        vehicle=vehicle_of(job),
        parts=parts,
        kind_of={part.id: kinds[part.kind] for part in parts.values()},
        wires=wires,
        wires_at=at,
        points_of=_points_of(at),
        elements_of={part: tuple(found) for part, found in elements.items()},
        ends_of=ends,
        at=_joins(ends),
        circuits={circuit.id: circuit for circuit in job.circuits},
        role_of={role: tuple(found) for role, found in roles.items()},
        cones=cones,
        space=space,
        answering=answering,
    )


def scene_with(scene: Scene, job: Job, compiled: Compiled) -> Scene:
    """The scene of the same car with other figures in its rows: what joins what, and what decides what, stays.

    Args:
        job: with the same rows as that of the scene.
        compiled: its network, elements numbered as those of the scene.
    """
    wires, at = _wires_of(job, compiled)
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    return replace(
        scene,
        job=job,
        compiled=compiled,
        wires=wires,
        wires_at=at,
        points_of=_points_of(at),
        parts=parts,
        answering=None,
    )


def _joins(ends: Sequence[tuple[int, int]]) -> dict[int, tuple[tuple[int, int], ...]]:
    at: dict[int, list[tuple[int, int]]] = {}
    for index, (a, b) in enumerate(ends):
        if a != b:
            at.setdefault(a, []).append((index, b))
            at.setdefault(b, []).append((index, a))
    return {node: tuple(found) for node, found in at.items()}


def _wires_of(job: Job, compiled: Compiled) -> tuple[dict[str, Wire], dict[str, tuple[Wire, ...]]]:
    """The wires that are not removed, by id and by the points they end at."""
    aliases = compiled.network.aliases
    wires = {wire.id: wire for wire in job.wires if wire.fitted != "removed"}
    at: dict[str, list[Wire]] = {}
    for wire in wires.values():
        for end in (wire.from_, wire.to):
            if end:
                at.setdefault(aliases.get(end, end), []).append(wire)
    return wires, {point: tuple(found) for point, found in at.items()}


def _points_of(wires_at: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """The points at which wires end by their parts; a metal, or a part named without a terminal, is its own."""
    found: dict[str, list[str]] = {}
    for point in wires_at:
        found.setdefault(point.split(".", 1)[0], []).append(point)
    return {part: tuple(points) for part, points in found.items()}
