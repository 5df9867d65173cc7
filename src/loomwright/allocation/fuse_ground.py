"""What does each fuse hang on, what hangs on it, and what must not die together?

A *branch* is a wire that leaves the load side of a fuse, with every load that dies with it: through splices, plugs,
switches and relay contacts, as far as the next fuse. A fuse's *key state* is what it hangs on: 30 (the battery), 15,
50, 75 … (a contact of the key switch), `main_relay`, another relay by its name, or a contact of another switch. What
hangs on those two is live when they close, whatever its circuit is fed from, so it keeps that.

What must not die together is found by what the parts are: two lamps of one circuit and kind, left and right; two fuel
pumps; two cooling fans. Source: common practice, no source.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import Kinds, split_point
from loomwright.job.rows import Part, SwitchContact, Wire
from loomwright.job.wire_ends import other_end, point_at

__all__ = ["FUSES", "Branch", "FuseWay", "Grid", "Twins", "grid_of"]

FUSES = ("fuse", "fusible_link", "circuit_breaker")
"""Part kinds that open when too much flows."""

_LAMPS = ("lamp", "lamp_case", "lamp_head", "lamp_tail", "led_lamp")
_MIRROR_MM = 500.0
_STATES = ("15", "30", "50", "75", "58", "P", "R", "15x")


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseWay:
    """A fuse. state: what it hangs on, empty where no way leads to a source.   rating_a: typed; None = open. [A]

    box: the one it sits in, else its place.   kept: wires that stay on it.   feeds: other fuses: it is a main fuse.
    """

    id: str
    place: str
    box: str
    state: str
    family: str
    kept: tuple[str, ...]
    rating_a: float | None
    load_side: str
    feeds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A wire that leaves a fuse. loads: what dies with it.   to: the part it goes to first.   amps: through it. [A]

    wanted: the key state its circuit asks for; the fuse's where it asks for none, or goes to a relay.
    is_fixed: it leads to further fuses.   is_switched: it goes to a switch, behind which its loads are one circuit.
    """

    wire: str
    fuse: str
    end: str
    to: str
    loads: tuple[str, ...]
    amps: float | None
    wanted: str
    is_fixed: bool
    is_switched: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Twins:
    """Two parts that must not die together, and why."""

    one: str
    other: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Fuses, branches, twins, and relays with the loads behind their contacts, each by id."""

    fuses: Mapping[str, FuseWay]
    branches: Mapping[str, Branch]
    twins: tuple[Twins, ...]
    relays: Mapping[str, tuple[str, ...]]


def grid_of(job: Job, kinds: Kinds, amps: Mapping[str, float]) -> Grid:
    """What the sheets say of fuses and what hangs on them.

    Args:
        job: with its pins filled in.
        amps: wire -> the most that flows in it, where that is known. [A]
    """
    walk = _Walk(job, kinds)
    fuses = {}
    for part in sorted(walk.parts.values(), key=lambda each: id_order(each.id)):
        if part.kind in FUSES:
            fuses[part.id] = _fuse(part, walk)
    branches = {}
    for fuse in fuses.values():
        for wire, end in walk.wires_at(f"{fuse.id}.{fuse.load_side}"):
            branches[wire.id] = _branch(job, walk, fuse, wire, end, amps)
    relays = {
        part.id: walk.behind([f"{part.id}.87", f"{part.id}.87a"], part.id)[0]
        for part in sorted(walk.parts.values(), key=lambda each: id_order(each.id))
        if part.kind == "relay"
    }
    return Grid(fuses=fuses, branches=branches, twins=tuple(_twins(job, walk.parts)), relays=relays)


class _Walk:
    """The wires of a job by the points they end at."""

    def __init__(self, job: Job, kinds: Kinds) -> None:
        self.kinds = kinds
        self.parts: dict[str, Part] = {part.id: part for part in job.parts if part.fitted != "removed"}
        self.at: dict[str, list[tuple[Wire, str]]] = {}
        self.points: dict[str, list[str]] = {}
        self.contacts: dict[str, list[SwitchContact]] = {}
        for row in job.contacts:
            self.contacts.setdefault(row.part, []).append(row)
        for wire in job.wires:
            if wire.fitted == "removed":
                continue
            for end, point in (("from", wire.from_), ("to", wire.to)):
                if point:
                    self.at.setdefault(point, []).append((wire, end))
                    self.points.setdefault(split_point(point)[0], []).append(point)

    def wires_at(self, point: str) -> list[tuple[Wire, str]]:
        """The wires that end at a point, each with the end that is there."""
        return self.at.get(point, [])

    def across(self, point: str) -> Iterator[str]:
        """The points at the far ends of the wires of a point."""
        for wire, end in self.wires_at(point):
            far = point_at(wire, other_end(end))
            if far:
                yield far

    def joined(self, point: str) -> tuple[str, ...]:
        """The points a join passes on to: all of a splice, the other side of a way."""
        name, terminal = split_point(point)
        part = self.parts.get(name)
        if part is None:
            return ()
        if part.kind in ("busbar", "splice"):
            return tuple(each for each in self.points.get(name, ()) if each != point)
        if part.kind == "inline_connector":
            return (f"{name}.{terminal[:-1]}{'s' if terminal.endswith('p') else 'p'}",)
        return ()

    def source(self, point: str, without: str) -> str:
        """The nearest source a point hangs on, in the words of key states; empty where there is none."""
        seen, queue = {point}, deque([point])
        while queue:
            at = queue.popleft()
            for far in self.across(at):
                name, terminal = split_point(far)
                part = self.parts.get(name)
                if far in seen or part is None or name == without:
                    continue
                seen.add(far)
                found = _source(part, terminal) or self._switched(part, far)
                if found:
                    return found
                steps = self.joined(far)
                if part.kind in FUSES:
                    steps = (f"{name}.{'2' if terminal == '1' else '1'}",)
                queue.extend((far, *(each for each in steps if each not in seen)))
                seen.update(steps)
        return ""

    def _switched(self, part: Part, point: str) -> str:
        """A switch that is no key: what hangs on it lives when its own contact is closed, and moves nowhere else.

        So is a starter's second contact, which feeds a coil past its ballast while it cranks.
        """
        if part.kind not in self.kinds or part.kind == "key_switch":
            return ""
        kind, terminal = self.kinds[part.kind], split_point(point)[1]
        own = any(one.type == "contact" and terminal in one.between for one in kind.elements)
        return point if own or kind.duty == "switch" else ""

    def behind(self, points: list[str], without: str) -> tuple[tuple[str, ...], bool]:
        """The loads behind the wires of some points, and whether a further fuse is there."""
        return self.reached([far for point in points for far in self.across(point)], without)

    def reached(self, points: list[str], without: str) -> tuple[tuple[str, ...], bool]:
        """The loads that points lead to, themselves included, and whether a further fuse is there."""
        loads: dict[str, None] = {}
        fused = False
        seen, queue = set(points), deque(points)
        while queue:
            point = queue.popleft()
            name, terminal = split_point(point)
            part = self.parts.get(name)
            if part is None or name == without:
                continue
            fused = fused or part.kind in FUSES
            if part.kind in self.kinds and self.kinds[part.kind].duty in ("load", "controller", "gauge"):
                loads[name] = None
            onward = self._onward(part, point, terminal)
            seen.update(onward)  # left through it: not to be come back in by
            fars = [far for step in (point, *onward) for far in self.across(step)]
            queue.extend(far for far in dict.fromkeys(fars) if far not in seen)
            seen.update(fars)
        return tuple(sorted(loads, key=id_order)), fused

    def _onward(self, part: Part, point: str, terminal: str) -> tuple[str, ...]:
        """Where the current goes on to inside a part: through joins, closed switches and relay contacts."""
        if part.kind == "relay":
            return (f"{part.id}.87", f"{part.id}.87a") if terminal == "30" else ()
        if part.kind in self.kinds and self.kinds[part.kind].duty == "switch":
            return tuple(f"{part.id}.{each}" for each in self._closed(part, terminal))
        return self.joined(point)

    def _closed(self, part: Part, terminal: str) -> tuple[str, ...]:
        """The terminals that a switch joins with one of its own in some position: not those of its other gangs."""
        rows = self.contacts.get(part.id)
        if rows:
            groups = [set(group) for row in rows for group in row.joins]
        else:
            groups = [set(one.between) for one in self.kinds[part.kind].elements if one.type == "switch"]
        return tuple(
            sorted({each for group in groups if terminal in group for each in group} - {terminal}, key=id_order)
        )


def _source(part: Part, terminal: str) -> str:
    """The key state a terminal gives: `KEY.15` gives 15."""
    if (part.kind == "battery" and terminal == "+") or (part.kind == "alternator" and terminal == "B+"):
        return "30"
    if part.kind == "key_switch" and terminal != "30":
        return terminal
    if part.kind == "relay" and terminal in ("87", "87a", "87b"):
        return "main_relay" if part.role == "main_relay" else part.id
    return ""


def _fuse(part: Part, walk: _Walk) -> FuseWay:
    states = {side: walk.source(f"{part.id}.{side}", part.id) for side in ("1", "2")}
    load_side = "1" if states["2"] and not states["1"] else "2"
    typed = part.settings.get("rating_a", "")
    return FuseWay(
        id=part.id,
        place=part.place or "",
        box=part.settings.get("box", "") or part.place or "",
        kept=tuple(part.settings.get("kept_wires", "").split()),
        state=states["2" if load_side == "1" else "1"],
        family=part.settings.get("family", "blade_c") if part.kind == "fuse" else "",
        rating_a=float(typed) if typed else None,
        load_side=load_side,
        feeds=walk.behind([f"{part.id}.{load_side}"], part.id)[1],
    )


def _branch(job: Job, walk: _Walk, fuse: FuseWay, wire: Wire, end: str, amps: Mapping[str, float]) -> Branch:
    kinds = walk.kinds
    far = point_at(wire, other_end(end))
    name, terminal = split_point(far)
    part = walk.parts.get(name)
    loads, fused = walk.reached([far], fuse.id)
    circuit = next((row for row in job.circuits if row.id == wire.circuit), None)
    asked = circuit.feed if circuit is not None and circuit.feed in (*_STATES, "main_relay") else ""
    # a relay's coil need not hang where its circuit's load is fed from, nor what a contact takes
    on_contact = part is not None and (part.kind == "relay" or (part.kind == "key_switch" and terminal == "30"))
    is_its_own = bool(fuse.state) and fuse.state not in (*_STATES, "main_relay")
    return Branch(
        wire=wire.id,
        fuse=fuse.id,
        end=end,
        to=name,
        loads=loads,
        amps=amps.get(wire.id),
        wanted=fuse.state if on_contact or is_its_own or not asked else asked,
        is_fixed=fused,
        is_switched=part is not None
        and part.kind != "relay"
        and part.kind in kinds
        and kinds[part.kind].duty == "switch",
    )


def _twins(job: Job, parts: Mapping[str, Part]) -> Iterator[Twins]:
    where = {row.id: (row.x_mm, row.y_mm) for row in job.places}
    ordered = sorted(parts.values(), key=lambda each: id_order(each.id))
    for one, other in combinations(ordered, 2):
        if (
            one.kind == other.kind
            and one.kind in _LAMPS
            and one.circuit == other.circuit
            and _mirrored(one, other, where)
        ):
            yield Twins(one=one.id, other=other.id, says="left and right lamp")
        elif _is(one, "fuel_pump") and _is(other, "fuel_pump"):
            yield Twins(one=one.id, other=other.id, says="both fuel pumps")
        elif _is(one, "cooling_fan") and _is(other, "cooling_fan"):
            yield Twins(one=one.id, other=other.id, says="both cooling fans")


def _is(part: Part, role: str) -> bool:
    return part.role == role or (part.kind == role == "fuel_pump")


def _mirrored(one: Part, other: Part, where: Mapping[str, tuple[float | None, float | None]]) -> bool:
    """Whether two parts sit at one height of the car, one to the left and one to the right."""
    x, y = where.get(one.place or "", (None, None))
    far_x, far_y = where.get(other.place or "", (None, None))
    if x is None or y is None or far_x is None or far_y is None:
        return False
    return y * far_y < 0.0 and abs(x - far_x) <= _MIRROR_MM
