"""What does an idea know of the car: the job as typed, its network solved in sample states, and what is free?

The *sample* is what is looked at before anything is searched: every state where few are, else every combination of key,
engine and ambient with one other variable away from rest, or from loaded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.job.new_colours import with_colours
from loomwright.job.points import split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.wire_ends import other_end, point_at
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.routes.wire_routes import wire_routes
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.plan import Space, plan_states
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.paths.conduction import Conduction, conduction_of
from loomwright.tables.kinds import Kind
from loomwright.trials.edits import AddedRow, ChangedCell, Edit, applied, cell_text
from loomwright.trials.mend import every_finding
from loomwright.trials.when import covered

__all__ = ["Bench", "sample_of"]

_ALL_BELOW = 3000
_LIVE_SHARE = 0.75
_ROUND_MM = 10.0


def sample_of(space: Space) -> type_i:
    """The states looked at before a search: one or none of the lesser variables away from rest or loaded."""
    if space.raw <= _ALL_BELOW:
        return plan_states(space, (), _ALL_BELOW)
    core = set(space.core)
    states = plan_states(space, (), 0)
    away = np.array([k for k in range(len(space.values)) if k not in core], np.int64)
    from_rest = (states[:, away] != space.rest[away]).sum(axis=1)
    from_loaded = (states[:, away] != space.loaded[away]).sum(axis=1)
    return np.asarray(states[(from_rest <= 1) | (from_loaded <= 1)])


@dataclass(frozen=True, eq=False)
class Bench:
    """The car on the bench. job: as typed.   scene: what is solved.   findings: of the last check, folded ones too."""

    job: Job
    kinds: Mapping[str, Kind]
    scene: Scene
    findings: tuple[Finding, ...]

    @property
    def compiled(self) -> Compiled:
        """Its network."""
        return self.scene.compiled

    @cached_property
    def conduction(self) -> Conduction:
        """What passes current on."""
        return conduction_of(self.scene)

    @cached_property
    def sample(self) -> Answers:
        """The sample states, solved."""
        return answers_of(self.compiled, sample_of(self.scene.space))

    @cached_property
    def every(self) -> tuple[Finding, ...]:
        """All findings, folded ones in their place."""
        return every_finding(self.findings)

    def covers(self, finding: Finding) -> type_bool:
        """The sample states that a finding's conditions describe, those that cannot occur left out."""
        return covered(self.sample, finding.when) & self.sample.possible

    def live(self, point: str) -> type_bool | None:
        """In which sample states a point has its volts; None where the network has no such point."""
        node = self.node(point)
        if node is None:
            return None
        volts = np.nan_to_num(self.sample.volts(node))
        return np.asarray(np.abs(volts) >= _LIVE_SHARE * self.scene.vehicle.system_v)

    def node(self, point: str) -> int | None:
        """The node of a point; None where there is none."""
        return self.compiled.node_of.get(self.scene.point(point))

    def part_of(self, point: str) -> Part | None:
        """The fitted part a point is on."""
        return self.scene.parts.get(split_point(point)[0])

    def duty(self, point: str) -> str:
        """What the part of a point is for; nothing for a metal."""
        part = self.part_of(point)
        return self.kinds[part.kind].duty if part is not None else ""

    def place_of(self, point: str) -> str:
        """Where a point is; nothing where nobody says."""
        part = self.part_of(point)
        return part.place if part is not None else ""

    def wires_at(self, point: str) -> tuple[Wire, ...]:
        """The wires that end at a point."""
        return self.scene.wires_at.get(self.scene.point(point), ())

    def wires_of(self, part: str) -> tuple[Wire, ...]:
        """The wires that end at any terminal of a part."""
        return tuple(
            wire for wire in self.scene.wires.values() if part in (split_point(wire.from_)[0], split_point(wire.to)[0])
        )

    def upper_end(self, wire: Wire) -> str:
        """The end of a wire that is nearer the supplies: `from` or `to`, by contacts and fuses between."""
        depths = []
        for end in (wire.from_, wire.to):
            node = self.node(end) if end else None
            depths.append(self._hops.get(node, len(self._hops)) if node is not None else len(self._hops))
        return "from" if depths[0] <= depths[1] else "to"

    def upper(self, wire: Wire) -> str:
        """The point of a wire that is nearer the supplies."""
        return point_at(wire, self.upper_end(wire))

    def lower(self, wire: Wire) -> str:
        """The point of a wire that is farther from the supplies."""
        return point_at(wire, other_end(self.upper_end(wire)))

    def is_reached(self, point: str) -> bool:
        """Whether contacts and fuses can lead from the battery's live post to a point, no load and no metal passed."""
        return self.node(point) in self._hops

    def hops(self, point: str) -> int:
        """How many elements lie between the battery's live post and a point; past all where none lead. [-]"""
        node = self.node(point)
        return self._hops.get(node, len(self._hops) + 1) if node is not None else len(self._hops) + 1

    @cached_property
    def _hops(self) -> Mapping[int, int]:
        """Elements between the battery's live post and each node, metals not passed."""
        conduction = self.conduction
        hops = {conduction.live_post: 0}
        waiting = [conduction.live_post]
        for node in waiting:
            for _, other in conduction.at.get(node, ()):
                if other not in hops and other not in conduction.earth:
                    hops[other] = hops[node] + 1
                    waiting.append(other)
        return hops

    def open_terminals(self, part: str) -> tuple[str, ...]:
        """Points of a part that no wire ends at, numbered kinds left out."""
        kind = self.kinds[self.scene.parts[part].kind]
        if kind.numbered:
            return ()
        points = (f"{part}.{terminal.name}" for terminal in kind.terminals if "*" not in terminal.name)
        return tuple(point for point in points if not self.wires_at(point))

    def next_terminal(self, part: str) -> str:
        """The next free number of a part whose terminals are counted, as a point."""
        used = {
            int(terminal)
            for wire in self.job.wires
            for end in (wire.from_, wire.to)
            for owner, terminal in [split_point(end)]
            if owner == part and terminal and terminal.isdigit()
        }
        return f"{part}.{max(used, default=0) + 1}"

    def new_part(self, stem: str) -> str:
        """An id for a new part that nothing has yet."""
        job = self.job
        used = {part.id for part in job.parts} | {wire.id for wire in job.wires} | {metal.id for metal in job.metals}
        used |= {place.id for place in job.places} | {circuit.id for circuit in job.circuits}
        used |= {one.id for one in job.connectors} | {one.id for one in job.cables}
        number = 1
        name = stem
        while name in used:
            number += 1
            name = f"{stem}{number}"
        return name

    def new_wires(self, count: int, beside: str) -> tuple[str, ...]:
        """Ids for new wires, the next free ones after that of a wire."""
        stem = beside.rstrip("0123456789")
        digits = beside[len(stem) :]
        used = {each.id for each in self.job.wires} | {each.id for each in self.job.parts}
        number = int(digits or "0")
        found: list[str] = []
        while len(found) < count:
            number += 1
            name = f"{stem}{number:0{len(digits)}d}"
            if name not in used:
                found.append(name)
        return tuple(found)

    def changed(self, sheet: str, row: str, column: str, new: str) -> ChangedCell:
        """An edit of a cell, with what stands there now."""
        return ChangedCell(sheet=sheet, row=row, column=column, old=cell_text(self.job, sheet, row, column), new=new)

    def moved(self, wire: Wire, end: str, point: str) -> tuple[ChangedCell, ...]:
        """The edits that put one end of a wire at another point; its length follows where runs say it."""
        moved = self.changed("wires", wire.id, end, point)
        old = point_at(wire, end)
        if self.place_of(old) == self.place_of(point) or not cell_text(self.job, "wires", wire.id, "length_mm"):
            return (moved,)
        blank = self.changed("wires", wire.id, "length_mm", "")
        routed = self._lengths((moved, blank)).get(wire.id)
        if routed is None:
            return (moved,)
        return (moved, self.changed("wires", wire.id, "length_mm", f"{routed:g}"))

    def completed(self, edits: Sequence[Edit], other_mm: Mapping[str, float] | None = None) -> tuple[Edit, ...]:
        """The edits, the new wires with the lengths that the runs give and the colours that the sheets give.

        Args:
            other_mm: the lengths taken where no run says one. [mm]
        """
        routed = self._lengths(edits)
        new = {edit.row for edit in edits if isinstance(edit, AddedRow) and edit.sheet == "wires"}
        colours = {wire.id: wire.colour for wire in with_colours(applied(self.job, edits), new).wires}
        found: list[Edit] = []
        for edit in edits:
            if isinstance(edit, AddedRow) and edit.row in new:
                length_mm = routed.get(edit.row) or (other_mm or {}).get(edit.row)
                known = {"colour": colours[edit.row], "length_mm": f"{length_mm:g}" if length_mm else ""}
                more = {name: text for name, text in known.items() if text and name not in edit.cells}
                edit = AddedRow(sheet="wires", cells={**edit.cells, **more})
            found.append(edit)
        return tuple(found)

    def _lengths(self, edits: Sequence[Edit]) -> Mapping[str, float]:
        """The lengths of the touched wires by their routes. [mm]"""
        names = {edit.row for edit in edits if edit.sheet == "wires"}
        tried = applied(self.job, edits)
        # only the wires that are asked about: the others' ways do not change them
        few = _only(tried, names)
        routes = wire_routes(few, self.kinds)
        return {
            name: max(_ROUND_MM, round(routes.wires[name].length_mm / _ROUND_MM) * _ROUND_MM)
            for name in names
            if name in routes.wires
        }


def _only(job: Job, wires: Iterable[str]) -> Job:
    kept = set(wires)
    return replace(job, wires=tuple(wire for wire in job.wires if wire.id in kept))
