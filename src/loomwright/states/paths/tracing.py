"""Which way could current take from here, and which way does it take in this state?

In: a `Scene`. Two answers:

    ways      from a point through wires, joints, fuses and every contact or driver that could ever close, never
              through a load, up to what is always tied to a supply or to the battery's earthed post: which of the
              two is reached, over which wires and parts
    live_way  in one solved state, the wires and parts from the source to a live point, contacts as they lie there

Method: the elements that only conduct are the edges of a graph; a breadth-first walk stops at the tied nodes, so that
it never runs through a supply into other circuits. Resistors in series by design (ballast, series resistor, stabiliser,
an alternator's field) conduct too.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loomwright.network.records import Element, Law
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene

__all__ = ["Region", "Ways", "closed_at_rest", "conducts", "is_tied", "live_way", "names_of", "part_of", "ways_of"]

_PLAIN = ("wire", "joint", "case", "bond", "bolted", "bridge", "fuse", "breaker", "link", "switch", "contact", "field")
_BY_DESIGN_OHM = 20.0
"""A resistor of a part that is no load conducts up to here: ballasts and series resistors, not sensor tracks. [ohm]"""
_SERIES_DUTIES = ("passive", "supply", "gauge")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Region:
    """What a walk met. nodes: in order of distance. came_by: node -> (element, the node before it)."""

    start: int
    nodes: tuple[int, ...]
    came_by: Mapping[int, tuple[int, int]]
    plus: int | None
    minus: int | None

    @property
    def reaches_plus(self) -> bool:
        """A supply's live side can be reached."""
        return self.plus is not None

    @property
    def reaches_minus(self) -> bool:
        """The battery's earthed post can be reached."""
        return self.minus is not None

    @property
    def is_lost(self) -> bool:
        """Neither can."""
        return self.plus is None and self.minus is None

    def elements(self) -> tuple[int, ...]:
        """Every element walked over, nearest first."""
        return tuple(self.came_by[node][0] for node in self.nodes if node in self.came_by)

    def way_to(self, node: int | None) -> tuple[int, ...]:
        """The elements from the start to a node of the region; none where there is no such way."""
        way: list[int] = []
        while node is not None and node != self.start and node in self.came_by:
            element, node = self.came_by[node]
            way.append(element)
        return tuple(reversed(way))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """The graph of everything that only conducts.

    near: node -> (element, node at its other end). plus, minus: nodes always tied to a supply's live side, to earth.
    posts: where supplies themselves sit. tied: elements that nothing opens.
    """

    scene: Scene
    near: Mapping[int, tuple[tuple[int, int], ...]]
    plus: frozenset[int]
    minus: frozenset[int]
    posts: frozenset[int]
    tied: frozenset[int]
    _known: dict[int, Region] = field(default_factory=dict)
    _onward: dict[int, tuple[int, ...]] = field(default_factory=dict)

    def region(self, node: int, without: frozenset[int] = frozenset()) -> Region:
        """All that can be reached from a node.

        Args:
            without: elements that are taken out for this question.
        """
        if without:
            return self._walk(node, without)
        if node not in self._known:
            self._known[node] = self._walk(node, without)
        return self._known[node]

    def onward(self, node: int | None) -> tuple[int, ...]:
        """The elements from an always live node on to the battery's post, or to whatever else supplies it."""
        if node is None or node not in self.plus:
            return ()
        if node not in self._onward:
            self._onward[node] = self._to_post(node)
        return self._onward[node]

    def _to_post(self, node: int) -> tuple[int, ...]:
        came_by: dict[int, tuple[int, int]] = {}
        seen = {node}
        waiting = deque([node])
        while waiting:
            here = waiting.popleft()
            if here in self.posts:
                return Region(start=node, nodes=(), came_by=came_by, plus=None, minus=None).way_to(here)
            for element, other in self.near.get(here, ()):
                if other not in seen and other in self.plus:
                    seen.add(other)
                    came_by[other] = (element, here)
                    waiting.append(other)
        return ()

    def side(self, node: int) -> str:
        """`plus`, `minus`, `both` or nothing: what a node can be joined to."""
        region = self.region(node)
        if region.reaches_plus:
            return "both" if region.reaches_minus else "plus"
        return "minus" if region.reaches_minus else ""

    def side_through_loads(self, node: int) -> str:
        """The same, and where nothing is reached, what the far ends of the loads that hang there reach."""
        side = self.side(node)
        if side:
            return side
        inside = set(self.region(node).nodes)
        far = {
            self.side(other)
            for index, element in enumerate(self.scene.compiled.network.elements)
            if element.load or element.type == "coil"
            for one, other in (self.scene.ends(index), self.scene.ends(index)[::-1])
            if one in inside and other not in inside
        } - {""}
        return far.pop() if len(far) == 1 else ""

    def _walk(self, start: int, without: frozenset[int]) -> Region:
        came_by: dict[int, tuple[int, int]] = {}
        nodes = [start]
        seen = {start}
        found: dict[str, int | None] = {"plus": None, "minus": None}
        waiting = deque([start])
        while waiting:
            node = waiting.popleft()
            if node in self.plus or node in self.minus:
                side = "plus" if node in self.plus else "minus"
                if found[side] is None:
                    found[side] = node
                continue
            for element, other in self.near.get(node, ()):
                if other not in seen and element not in without:
                    seen.add(other)
                    came_by[other] = (element, node)
                    nodes.append(other)
                    waiting.append(other)
        return Region(start=start, nodes=tuple(nodes), came_by=came_by, **found)


def ways_of(scene: Scene) -> Ways:
    """The graph of a car."""
    # kept ways may come of an earlier car: its rows are not this one's
    return replace(scene.once("ways", _ways_of), scene=scene)


def _ways_of(scene: Scene) -> Ways:
    near: dict[int, list[tuple[int, int]]] = {}
    beside: dict[int, list[int]] = {}
    tied: set[int] = set()
    plus: set[int] = set()
    minus = {scene.compiled.arrays.nodes}
    for index, element in enumerate(scene.compiled.network.elements):
        a, b = scene.ends(index)
        if element.law == Law.BATTERY:
            plus |= {a, b} - minus
        elif element.type == "source" and any(row[1] for row in element.figures):
            plus.add(a)
        if a == b or not conducts(scene, element):
            continue
        near.setdefault(a, []).append((index, b))
        near.setdefault(b, []).append((index, a))
        if is_tied(scene, element):
            tied.add(index)
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
    tied_minus = _spread(minus, beside)
    return Ways(
        scene=scene,
        near={node: tuple(found) for node, found in near.items()},
        plus=frozenset(_spread(plus, beside) - tied_minus),
        minus=frozenset(tied_minus),
        posts=frozenset(plus - tied_minus),
        tied=frozenset(tied),
    )


def conducts(scene: Scene, element: Element) -> bool:
    """True where an element is no consumer: a wire, a joint, a contact, a driver, a resistor in series by design."""
    if element.type in _PLAIN:
        return True
    if element.type == "pin":
        is_way = element.name.endswith((".drive", ".earth"))
        return is_way and not any(row[1] for row in element.figures if len(row) == 2)
    if element.type == "source":
        return not any(row[1] for row in element.figures)
    if element.load or element.part not in scene.parts:
        return False
    kind = scene.kind(element.part)
    if element.type == "diode":
        # a diode of its own, or the one-way half of an LED; never a coil's suppressor or a driver's body diode
        return kind.id == "diode" or (kind.duty == "load" and "suppressor" not in element.name)
    if element.type == "resistor" and kind.duty in _SERIES_DUTIES:
        return max(row[0] for row in element.figures) * _BY_DESIGN_OHM >= 1.0
    return False


def is_tied(scene: Scene, element: Element) -> bool:
    """True where it only conducts and nothing opens it but a fuse or a battery isolator."""
    if not conducts(scene, element):
        return False
    devices = scene.compiled.network.devices
    if any(devices[device].what != "fuse" for device, _ in element.needs):
        return False
    if element.type in ("field", "diode", "source", "contact"):
        return False
    if not element.guards:
        return element.type != "resistor" or max(row[0] for row in element.figures) >= 1.0
    part = scene.parts.get(element.part)
    is_isolator = part is not None and (part.kind == "isolator" or "isolator" in (part.role or "").split())
    return is_isolator and closed_at_rest(scene, element)


def closed_at_rest(scene: Scene, element: Element) -> bool:
    """True where an element's guards hold with every variable at rest."""
    variables = scene.compiled.network.variables
    rest = [variable.values.index(variable.rest) for variable in variables]
    return not element.guards or any(
        all(rest[variable] in values for variable, values in guard.holds) for guard in element.guards
    )


def part_of(scene: Scene, node: int) -> str:
    """The part a node belongs to; empty for a metal."""
    part = scene.name_of(node).lstrip("~").split(".", 1)[0]
    return part if part in scene.parts else ""


def names_of(scene: Scene, elements: Iterable[int]) -> tuple[str, ...]:
    """The wires and parts that elements belong to, in order, each once."""
    names: dict[str, None] = {}
    for index in elements:
        element = scene.element(index)
        name = element.name if element.is_wire else element.part
        if name:
            names[name] = None
    return tuple(names)


def live_way(scene: Scene, answers: Answers, row: int, node: int) -> tuple[str, ...]:
    """The wires and parts from the source to a node, as the contacts lie in one state; empty where it is not live.

    Args:
        row: which state of the batch. [-]
    """
    values = answers.batch.values[row].tolist()
    devices = answers.batch.devices[row].tolist()
    volts_of, amps_of = answers.batch.v[row].item, answers.batch.amps[row].item
    volts = abs(volts_of(node))
    posts: set[int] = set()
    last = scene.compiled.arrays.nodes
    for index, element in enumerate(scene.compiled.network.elements):
        if element.law == Law.BATTERY:
            posts |= {*scene.ends(index)} - {last}
        gives = element.type == "alternator" or (element.type == "source" and any(r[1] for r in element.figures))
        if gives and _acts(element, values, devices):
            posts.add(scene.ends(index)[0])

    def passes(index: int) -> bool:
        element = scene.element(index)
        return _acts(element, values, devices) and (conducts(scene, element) or abs(amps_of(index)) > 1e-6)

    came_by: dict[int, tuple[int, int]] = {}
    waiting = deque([node])
    seen = {node, last}
    while waiting:
        here = waiting.popleft()
        if here in posts:
            return names_of(scene, _back(came_by, here, node))
        for index, other in scene.at.get(here, ()):
            # towards a source the volts never fall by more than rounding
            rises = abs(volts_of(other)) >= abs(volts_of(here)) - 1e-6
            if other not in seen and rises and volts > 0.0 and passes(index):
                seen.add(other)
                came_by[other] = (index, here)
                waiting.append(other)
    return ()


def _back(came_by: Mapping[int, tuple[int, int]], here: int, node: int) -> tuple[int, ...]:
    way = []
    while here != node:
        element, here = came_by[here]
        way.append(element)
    return tuple(way)


def _acts(element: Element, values: Sequence[int], devices: Sequence[int]) -> bool:
    if any(bool(devices[device]) != wanted for device, wanted in element.needs):
        return False
    return not element.guards or any(
        all(values[variable] in held for variable, held in guard.holds) for guard in element.guards
    )


def _spread(start: set[int], tied: Mapping[int, list[int]]) -> set[int]:
    seen = set(start)
    waiting = deque(start)
    while waiting:
        for other in tied.get(waiting.popleft(), ()):
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return seen
