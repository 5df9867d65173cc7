"""Which single faults could the car have?

A wire open, high in resistance, chafed to the body, touching a live one or its neighbour, changed over with it; a
busbar, a splice or a terminal bare on the body; a diode the wrong way round; an earth that makes no contact; a fuse
out, or one too small; a relay stuck or dead; a contact that does not make; a load burnt out. Each is a change of
figures in the network, or of which nodes an element joins, so that hundreds can be solved in turn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from loomwright.findings import id_order
from loomwright.job.rows import Connector
from loomwright.network.records import Element
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant
from loomwright.tables.fuses import family_named, fuse_ohm
from loomwright.tables.load import read_rows

__all__ = ["LEVELS_OHM", "PAIR", "TOUCHES", "Suspect", "fault_words", "paired", "suspects_of", "weight_of"]

LEVELS_OHM = (0.1, 1.0, 3.0, 10.0)
"""What a joint that has gone high is tried at [ohm]."""

PAIR = "two at once"
"""The kind of a pair of faults."""
TOUCHES = ("short to body", "bare", "short to live", "neighbour")
"""The kinds of fault in which metal lies on other metal."""
_FUSES = ("fuse", "breaker", "link")
_CONTACTS = ("contact", "switch")
_BODY = "body"
_SMALL_FRAC = 0.34
"""A fuse put in by mistake has at most this share of the rating it should have: ours [0..1]."""
_CHAFED_OHM = 0.05
"""A wire on bare metal, no weld [ohm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """One fault. kind: as in `fault_odds`.   at: ids or points, where to put a hand first.

    opened: elements that conduct no more.   added_ohm: (element, ohms in series). [ohm]   bridge: two nodes joined by
    `bridge_ohm`. [ohm]   along: the wire that touches anywhere along it, -1 where the bridge lies at a terminal. [-]
    along_frac: how far from its first end. [0..1]
    swapped: two (element, end) that have changed places.   held: device, and how it lies.
    blows: a fuse's device, and the amps it opens at. [A]
    lifted: wires that are off, each at one of its ends (0, 1).   both: the two faults of a pair, else none; what was
    done to the car for a reading is put beside a fault so too.
    """

    kind: str
    at: tuple[str, ...]
    opened: tuple[int, ...] = ()
    added_ohm: tuple[tuple[int, float], ...] = ()
    bridge: tuple[int, int] | None = None
    bridge_ohm: float = 0.0
    along: int = -1
    along_frac: float = 0.5
    swapped: tuple[tuple[int, int], tuple[int, int]] | None = None
    held: tuple[int, bool] | None = None
    blows: tuple[int, float] | None = None
    lifted: tuple[tuple[int, int], ...] = ()
    both: tuple[Suspect, ...] = ()

    @property
    def singles(self) -> tuple[Suspect, ...]:
        """The fault itself, or both of a pair."""
        return self.both or (self,)

    @property
    def says(self) -> str:
        """The fault in words."""
        if self.both:
            return ", and ".join(one.says for one in self.both)
        if self.kind == "none":
            return fault_words("none")
        extra = f" ({self.added_ohm[0][1]:g} ohm)" if self.kind == "resistance" else ""
        return f"{self.at[0]} {fault_words(self.kind)}{extra}"


def paired(one: Suspect, other: Suspect) -> Suspect:
    """Two faults at once, as one suspect."""
    return Suspect(kind=PAIR, at=(*one.at[:1], *other.at[:1]), both=(one, other))


def suspects_of(scene: Scene) -> tuple[Suspect, ...]:
    """Every single fault, `none` first, then in the order of ids."""
    found = [*_wires(scene), *_bare(scene), *_parts(scene), *_neighbours(scene), *_turned(scene)]
    return (Suspect(kind="none", at=()), *sorted(found, key=lambda one: (id_order(one.at[0]), one.kind)))


def fault_words(kind: str) -> str:
    """What a kind of fault is called: `fault_words("open")` is `is open`."""
    return next(row["says"] for row in read_rows("fault_odds") if row["kind"] == kind)


def weight_of(kind: str) -> float:
    """How often a kind of fault is met, against the others. [-]"""
    return next(float(row["weight"]) for row in read_rows("fault_odds") if row["kind"] == kind)


def _wires(scene: Scene) -> Iterator[Suspect]:
    live, body = _live(scene), _body(scene)
    for index, element in enumerate(scene.compiled.network.elements):
        if not element.is_wire or element.name not in scene.wires:
            continue
        yield Suspect(kind="open", at=(element.name,), opened=(index,))
        for ohm in LEVELS_OHM:
            yield Suspect(kind="resistance", at=(element.name,), added_ohm=((index, ohm),))
        far = scene.ends(index)[1]
        if body is not None and far != body:
            yield _touching("short to body", element, index, (far, body))
        if live is not None and far != live:
            yield _touching("short to live", element, index, (far, live))


def _touching(kind: str, element: Element, index: int, bridge: tuple[int, int]) -> Suspect:
    return Suspect(kind=kind, at=(element.name,), bridge=bridge, bridge_ohm=_CHAFED_OHM, along=index)


def _bare(scene: Scene) -> Iterator[Suspect]:
    """Bars and splices, and the terminals that wires go to, each on the body."""
    body = _body(scene)
    if body is None:
        return
    for part in scene.parts:
        ends = [scene.ends(k) for k in scene.elements_of.get(part, ())] if scene.kind(part).duty == "join" else []
        middle = set.intersection(*map(set, ends)) if len(ends) > 1 else set[int]()
        if len(middle) == 1 and body not in middle:
            yield _bare_at(part, middle.pop(), body)
    for point in scene.wires_at:
        part = point.partition(".")[0]
        node = scene.compiled.node_of.get(point, body)
        earthed = part not in scene.parts or scene.parts[part].kind == "earth_point" or point == _earthed_post(scene)
        if not earthed and node != body and scene.kind(part).duty != "join":
            yield _bare_at(point, node, body)


def _bare_at(name: str, node: int, body: int) -> Suspect:
    return Suspect(kind="bare", at=(name,), bridge=(node, body), bridge_ohm=_CHAFED_OHM)


def _parts(scene: Scene) -> Iterator[Suspect]:
    elements = scene.compiled.network.elements
    for part in scene.parts:
        mine = [(k, elements[k]) for k in scene.elements_of.get(part, ())]
        if scene.parts[part].kind == "earth_point":
            yield Suspect(kind="earth", at=(part,), opened=tuple(k for k, _ in mine))
            for ohm in LEVELS_OHM:
                yield Suspect(kind="resistance", at=(part,), added_ohm=tuple((k, ohm) for k, _ in mine))
            continue
        for k, element in mine:
            if element.type in _FUSES:
                yield Suspect(kind="fuse", at=(part,), opened=(k,))
                yield from _small_fuse(scene, part, k, element)
            elif element.type in _CONTACTS:
                yield Suspect(kind="contact", at=(part, element.name), opened=(k,))
        loads = tuple(k for k, element in mine if element.load)
        if loads:
            yield Suspect(kind="load", at=(part,), opened=loads)
        coils = tuple(k for k, element in mine if element.type == "coil" and scene.kind(part).group == "relays")
        if coils:
            yield Suspect(kind="coil", at=(part,), opened=coils)
    for index, device in enumerate(scene.compiled.network.devices):
        if device.what == "relay":
            part = device.name.split(".")[0]
            yield Suspect(kind="stuck", at=(part,), held=(index, True))
            yield Suspect(kind="dead", at=(part,), held=(index, False))


def _small_fuse(scene: Scene, part: str, index: int, element: Element) -> Iterator[Suspect]:
    """A fuse of the same family of at most a third of the rating, in its holder: it blows at what the circuit draws."""
    device = next((k for k, one in enumerate(scene.compiled.network.devices) if one.name == element.name), None)
    rating_a = element.rating_a
    if device is None or rating_a is None:
        return
    family = scene.parts[part].settings.get("family") or "blade_c"
    small = [one for one in family_named(family).ratings if one <= _SMALL_FRAC * rating_a]
    if small:
        made_a = max(small)
        more_ohm = fuse_ohm(family, made_a) - fuse_ohm(
            family, min(max(rating_a, made_a), family_named(family).ratings[-1])
        )
        yield Suspect(
            kind="small fuse",
            at=(part,),
            added_ohm=((index, max(more_ohm, 0.0)),),
            blows=(device, constant("blown_factor") * made_a),
        )


def _neighbours(scene: Scene) -> Iterator[Suspect]:
    """Wires in cavities that follow each other: touching, and changed over."""
    wire_at = _wire_elements(scene)
    for connector in scene.job.connectors:
        ends = [wire_at.get(f"{connector.part}.{terminal}") for terminal in _held(scene, connector.part, connector)]
        for one, other in pairwise(ends):
            if one is None or other is None or one[0] == other[0]:
                continue
            names = (one[1].name, other[1].name)
            nodes = (scene.ends(one[0])[one[2]], scene.ends(other[0])[other[2]])
            if nodes[0] != nodes[1]:
                ohm = constant("neighbour_short_low_ohm")
                yield Suspect(kind="neighbour", at=names, bridge=nodes, bridge_ohm=ohm)
                yield Suspect(kind="swapped", at=names, swapped=((one[0], one[2]), (other[0], other[2])))


def _turned(scene: Scene) -> Iterator[Suspect]:
    """Diodes the wrong way round: the wire at each end has changed places with that at the other."""
    wire_at = _wire_elements(scene)
    for part in scene.parts:
        one, other = (wire_at.get(f"{part}.{terminal}") for terminal in ("a", "k"))
        if scene.parts[part].kind == "diode" and one is not None and other is not None and one[0] != other[0]:
            yield Suspect(kind="reversed", at=(part,), swapped=((one[0], one[2]), (other[0], other[2])))


def _held(scene: Scene, part: str, connector: Connector) -> list[str]:
    terminals: list[str] = []
    for name in connector.terminals:
        if name.endswith("*"):
            rows = scene.job.controller_pins
            terminals += [row.terminal for row in rows if row.part == part and row.terminal.startswith(name[:-1])]
        else:
            terminals.append(name)
    return sorted(terminals, key=id_order)


def _wire_elements(scene: Scene) -> dict[str, tuple[int, Element, int]]:
    """Point -> the one wire element that ends there, and at which of its ends; points of several wires are left out."""
    number = {element.name: k for k, element in enumerate(scene.compiled.network.elements) if element.is_wire}
    found: dict[str, tuple[int, Element, int]] = {}
    for point, wires in scene.wires_at.items():
        if len(wires) == 1 and wires[0].id in number:
            k = number[wires[0].id]
            end = 0 if scene.point(wires[0].from_) == point else 1
            found[point] = (k, scene.element(k), end)
    return found


def _live(scene: Scene) -> int | None:
    """The node of the battery's live post."""
    return scene.compiled.node_of.get(_post(scene, scene.vehicle.live_post))


def _earthed_post(scene: Scene) -> str:
    return _post(scene, scene.vehicle.earthed_post)


def _post(scene: Scene, post: str) -> str:
    battery = next((part for part in scene.parts if scene.parts[part].kind == "battery"), None)
    return "" if battery is None else f"{battery}.{post}"


def _body(scene: Scene) -> int | None:
    return scene.compiled.node_of.get(_BODY)
