"""How much flows in a dead short at the far end of a wire, when does its fuse open, and how hot is the wire then?

The loop is the real one: battery, the least resistance from its live post to the fuse, the fuse, the least resistance
on to the wire's far end with wires hot, and from the body back to the other post.

    I = emf / (R_battery + R_to_fuse + R_fuse + R_to_far_end + R_earth)

The fuse may last as long as the gates of its family allow (`clearing_s`); below the lowest it need never open. The wire
starts at its class temperature. It stands the short if no heat at all need leave it (I^2 t <= k^2 S^2), or if with
the heat that does leave it stays below what its insulation stands for a moment.

Limits: one path, that of least resistance; parallel ways give more current and open the fuse sooner.
Source: worked-out; gates per row of `tables/fuse_gates.csv`; k-factor.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import pairwise
from math import inf, isfinite

from loomwright.network.records import Law
from loomwright.refusals import OutOfReach
from loomwright.sizing.fused import FUSES, Fuse
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import Conduction
from loomwright.states.paths.supply_cells import string_cells
from loomwright.states.ratings.wire_limits import WireLimit, adiabatic_k, after_c, damage_c, steady_c
from loomwright.tables.conductors import hot_factor
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families

__all__ = ["HotWays", "Loop", "clearing_s", "loop_of", "short_a", "short_c", "unfused_loop"]

_DIODE_OHM = 0.02
_SHORT_MULTIPLE = 3.5
"""A family whose gates end below this says nothing of dead shorts [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loop:
    """The part of a short's loop that all wires behind one fuse share, and the way on.

    emf_v: of the battery. [V]   before_ohm: battery, way to the fuse, fuse, and earth back. [ohm]
    onward_ohm: from the fuse to each node behind it. [ohm]
    """

    emf_v: float
    before_ohm: float
    onward_ohm: Mapping[int, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HotWays:
    """The ways of a car with its wires hot, the resistance of each worked out once for all fuses.

    limits: of the wires, for how hot their places are.
    """

    scene: Scene
    conduction: Conduction
    limits: Mapping[str, WireLimit]
    _ohms: dict[int, float] = field(default_factory=dict)
    _to_body_ohm: list[float] = field(default_factory=list)
    _from_live: list[tuple[Mapping[int, float], Mapping[int, int]]] = field(default_factory=list)

    def ohm(self, element: int) -> float:
        """Resistance of one way. [ohm]"""
        if element not in self._ohms:
            self._ohms[element] = _ohm(self.scene, element, self.limits)
        return self._ohms[element]

    def battery(self) -> tuple[float, float]:
        """What the battery drives and what it has inside; of several in series all, and the leads between. [V, ohm]"""
        cells = string_cells(self.scene)
        figures = [self.scene.element(k).figures[0] for k in cells]
        ohm = sum(1.0 / row[1] for row in figures)
        top, foot = (1, 0) if self.scene.vehicle.earth == "positive" else (0, 1)
        for one, other in pairwise(cells):
            start, end = self.scene.ends(one)[top], self.scene.ends(other)[foot]
            ohm += self.least_ohms(start, lambda _, node: node not in self.conduction.earth).get(end, 0.0)
        return sum(row[0] for row in figures), ohm

    def earth_ohm(self) -> float:
        """From the body back to the battery's earthed post; nothing where the body does not reach it. [ohm]"""
        if not self._to_body_ohm:
            reference = self.scene.compiled.arrays.nodes
            back = self.least_ohms(reference, lambda _, node: node in self.conduction.earth)
            self._to_body_ohm.append(back.get(self.scene.compiled.node_of.get("body", reference), 0.0))
        return self._to_body_ohm[0]

    def least_ohms(self, start: int, may_pass: Callable[[int, int], bool]) -> Mapping[int, float]:
        """Least resistance from a node to every node that ways reach. [ohm]

        Args:
            may_pass: whether an element may be passed into a node.
        """
        return self._least_ways(start, may_pass)[0]

    def to_fuse_ohm(self, fuse: int, node: int) -> float | None:
        """From the battery's live post to a node of a fuse by no way through it; None where there is none. [ohm]

        Args:
            fuse: its element.
        """
        live, earth = self.conduction.live_post, self.conduction.earth
        if not self._from_live:
            self._from_live.append(self._least_ways(live, lambda _, other: other not in earth))
        ohms, last = self._from_live[0]
        if last.get(node) != fuse:
            return ohms.get(node)

        def but_it(element: int, other: int) -> bool:
            return element != fuse and (other == live or other not in earth)

        # the least way comes through the fuse; what lies behind a fuse is little as a rule, so it is looked at first
        is_fed_beside = live in self.least_ohms(node, but_it)
        return self.least_ohms(live, but_it)[node] if is_fed_beside else None

    def _least_ways(
        self, start: int, may_pass: Callable[[int, int], bool]
    ) -> tuple[Mapping[int, float], Mapping[int, int]]:
        """The same, and the element by which the least way comes to each node but the first. [ohm]"""
        found: dict[int, float] = {}
        last: dict[int, int] = {}
        waiting = [(0.0, start, -1)]
        while waiting:
            so_far, node, by = heappop(waiting)
            if node in found:
                continue
            found[node] = so_far
            last[node] = by
            for element, other in self.conduction.at.get(node, ()):
                if other not in found and may_pass(element, other):
                    heappush(waiting, (so_far + self.ohm(element), other, element))
        return found, last


def loop_of(
    scene: Scene,
    conduction: Conduction,
    limits: Mapping[str, WireLimit],
    fuse: Fuse,
    ways: HotWays | None = None,
) -> tuple[Loop, ...]:
    """The loops through a fuse: one for each of its sides that the battery can feed.

    Args:
        limits: of the wires, for how hot their places are.
        ways: of the same car and limits, where they are at hand.
    """
    ways = ways or HotWays(scene=scene, conduction=conduction, limits=limits)
    if conduction.live_post < 0:
        return ()
    emf_v, inside_ohm = ways.battery()
    earth_ohm, fuse_ohm = ways.earth_ohm(), ways.ohm(fuse.element)

    def to_next_fuse(element: int, node: int) -> bool:
        return scene.element(element).type not in FUSES and node not in conduction.earth

    a, b = scene.ends(fuse.element)
    loops = []
    for near, far in ((a, b), (b, a)):
        to_fuse_ohm = None if far in conduction.earth else ways.to_fuse_ohm(fuse.element, near)
        if to_fuse_ohm is not None:
            onward = ways.least_ohms(far, to_next_fuse)
            before = inside_ohm + to_fuse_ohm + fuse_ohm + earth_ohm
            loops.append(Loop(emf_v=emf_v, before_ohm=before, onward_ohm=onward))
    return tuple(loops)


def unfused_loop(scene: Scene, conduction: Conduction, limits: Mapping[str, WireLimit]) -> tuple[Loop, ...]:
    """The battery's loop past no fuse at all; none where there is no battery.

    Args:
        limits: of the wires, for how hot their places are.
    """
    if conduction.live_post < 0:
        return ()

    def to_fuse(element: int, node: int) -> bool:
        return scene.element(element).type not in FUSES and node not in conduction.earth

    ways = HotWays(scene=scene, conduction=conduction, limits=limits)
    onward = ways.least_ohms(conduction.live_post, to_fuse)
    emf_v, inside_ohm = ways.battery()
    return (Loop(emf_v=emf_v, before_ohm=inside_ohm + ways.earth_ohm(), onward_ohm=onward),)


def short_a(loop: Loop, ends: tuple[int, int]) -> float | None:
    """Current of a dead short at the far end of a wire; None where the loop does not reach it. [A]

    Args:
        ends: the wire's nodes; it is itself one of the ways onward.
    """
    if any(node not in loop.onward_ohm for node in ends):
        return None
    return loop.emf_v / (loop.before_ohm + max(loop.onward_ohm[node] for node in ends))


def clearing_s(fuse: Fuse, amps: float) -> float | None:
    """The longest time a fuse may take to open; `inf` where nothing obliges it to, None where nobody printed it. [s]

    A gate lets the fuse last t_g at g times its rating. More current melts it with no more I^2 t than that, since less
    heat has time to leave it:  t <= t_g (g / m)^2  at m times the rating, and the least over all gates below m counts.

    Args:
        amps: through it, steady.
    Limits:
        A breaker's sheet, and a family whose highest gate is a low one, do not say how soon a dead short opens it.
    """
    if fuse.rating_a is None:
        return None
    multiple = amps / fuse.rating_a
    if fuse.what == "breaker":
        return inf if multiple < fuse.trips_at else None
    gates = [gate for gate in _gates(fuse, fuse.rating_a) if isfinite(gate[1])]
    highest = max((at for at, _ in gates), default=0.0)
    if multiple > highest and highest < _SHORT_MULTIPLE:
        return None
    return min((max_s * (at / multiple) ** 2 for at, max_s in gates if at <= multiple), default=inf)


def _gates(fuse: Fuse, rating_a: float) -> list[tuple[float, float]]:
    """Multiple and longest time of each gate, those of all ratings where none is printed for its own. [-, s]"""
    family = families().get(fuse.family)
    if family is None:
        return []
    try:
        return [(gate.multiple, gate.max_s) for gate in family.gates_for(rating_a)]
    except OutOfReach:
        return [(at, max_s) for at, _, max_s in family.gates]


def short_c(limit: WireLimit, *, amps: float, time_s: float) -> float:
    """Temperature of a wire after a short, from its class temperature. [C]

    Args:
        amps: that flow.
        time_s: until the fuse opens; `inf` for ever.
    Returns:
        What its insulation stands, or less, where the wire is not harmed.
    """
    most_c = damage_c(limit.insulation_c)
    if amps**2 * time_s <= (adiabatic_k(limit.insulation_c, most_c) * limit.size_mm2) ** 2:
        return most_c
    if time_s == inf:
        return steady_c(limit, amps=amps, ambient_c=limit.ambient_c)
    return after_c(limit, amps=amps, ambient_c=limit.ambient_c, start_c=limit.insulation_c, time_s=time_s)


def _ohm(scene: Scene, index: int, limits: Mapping[str, WireLimit]) -> float:
    """Resistance of a way, a wire's at the temperature a short is asked at or its place's, whichever is more. [ohm]"""
    element = scene.element(index)
    if element.law != Law.LINEAR:
        return _DIODE_OHM
    siemens = [row[0] for row in element.figures if row[0] > 0.0]
    ohm = 1.0 / min(siemens)
    limit = limits.get(element.name) if element.is_wire else None
    if limit is None:
        return ohm
    return ohm * max(1.0, hot_factor(constant("hot_wire_c")) / hot_factor(limit.ambient_c))
