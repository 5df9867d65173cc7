"""Where does a hand go for a fault: which plug, fuse, earth, relay, splice or run of a wire, and how far is it off?"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.plugs import held_terminals
from loomwright.job.rows import Connector
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene

__all__ = ["Hand", "hands_of", "joints_from"]

_FUSES = ("fuse", "breaker", "link")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """A place. sort: fuse, earth, plug, relay, splice, wire, part.   at: its id.   says: in words.

    where: on the car.   wet: water reaches it.
    """

    sort: str
    at: str
    says: str
    where: str
    wet: bool


def hands_of(scene: Scene, suspect: Suspect, end_frac: float, run_frac: float) -> Iterator[tuple[Hand, float]]:
    """The places of a fault, each with its share of it.

    Args:
        end_frac: of a wire's fault at each of its ends. [0..1]
        run_frac: within its run. [0..1]
    """
    name = suspect.at[0]
    wire = scene.wires.get(name)
    if wire is None:
        yield _at_end(scene, name) if "." in name else _at_part(scene, name), 1.0
    elif suspect.kind in ("open", "resistance"):
        yield _at_end(scene, wire.from_), end_frac
        yield _at_end(scene, wire.to), end_frac
        yield _run(scene, name), run_frac
    elif suspect.kind in ("neighbour", "swapped"):
        yield _at_end(scene, _shared(scene, suspect.at)), 1.0
    else:
        yield _run(scene, name), 1.0


def joints_from(scene: Scene, wires: Sequence[str]) -> Mapping[str, int]:
    """How many wires and contacts lie between the dead part and every part and wire; no way leads through the metal."""
    metal = {scene.compiled.node_of[name] for name in scene.compiled.node_of if "." not in name}
    start = [node for name in wires for k in scene.compiled.elements_of.get(name, ()) for node in scene.ends(k)]
    far: dict[int, int] = dict.fromkeys(start, 0)
    queue = deque(node for node in far if node not in metal)
    found: dict[str, int] = {}
    while queue:
        node = queue.popleft()
        for element, other in scene.at.get(node, ()):
            owner = scene.element(element).name.partition(".")[0]
            found.setdefault(owner, far[node])
            if other not in far:
                far[other] = far[node] + 1
                if other not in metal:
                    queue.append(other)
    return found


def _at_end(scene: Scene, point: str) -> Hand:
    part = scene.point(point).partition(".")[0]
    if part not in scene.parts:
        return Hand(sort="earth", at=part, says=f"bolt to the {part}", where="", wet=False)
    return _at_part(scene, part, scene.point(point).partition(".")[2])


def _at_part(scene: Scene, part: str, terminal: str = "") -> Hand:
    row, where, wet = scene.parts[part], _where(scene, part), _is_wet(scene, part)
    kind, title = scene.kind(part), scene.title(part)
    if any(scene.element(k).type in _FUSES for k in scene.elements_of.get(part, ())):
        return Hand(sort="fuse", at=part, says=f"fuse {part} and its holder ({title})", where=where, wet=wet)
    if row.kind == "earth_point":
        return Hand(sort="earth", at=part, says=f"earth {part}, bolt and ring ({title})", where=where, wet=wet)
    if kind.group == "relays":
        return Hand(sort="relay", at=part, says=f"relay {part} and its socket ({title})", where=where, wet=wet)
    if row.kind == "splice":
        return Hand(sort="splice", at=part, says=f"splice {part} ({title})", where=where, wet=wet)
    connector = _connector(scene, part, terminal) if terminal else None
    if connector is not None:
        return Hand(sort="plug", at=connector.id, says=f"plug {connector.id} of {part} ({title})", where=where, wet=wet)
    return Hand(sort="part", at=part, says=f"{part} and its plug or terminals ({title})", where=where, wet=wet)


def _run(scene: Scene, name: str) -> Hand:
    wire = scene.wires[name]
    ends = [scene.parts.get(end.partition(".")[0]) for end in (wire.from_, wire.to)]
    places = dict.fromkeys(_where(scene, part.id) for part in ends if part is not None)
    colour = f", {wire.colour}" if wire.colour else ""
    says = f"wire {name}{colour}, within its run from {wire.from_} to {wire.to}"
    wet = any(_is_wet(scene, part.id) for part in ends if part is not None)
    return Hand(sort="wire", at=name, says=says, where=" to ".join(place for place in places if place), wet=wet)


def _shared(scene: Scene, names: Sequence[str]) -> str:
    """The point of the first wire at the part where two wires lie side by side."""
    wires = [scene.wires[name] for name in names if name in scene.wires]
    first, *rest = wires
    beside = {end.partition(".")[0] for one in rest for end in (one.from_, one.to)}
    return next((end for end in (first.from_, first.to) if end.partition(".")[0] in beside), first.from_)


def _connector(scene: Scene, part: str, terminal: str) -> Connector | None:
    rows = [one for one in scene.job.connectors if one.part == part]
    return next((row for row in rows if terminal in held_terminals(scene.job, row, (terminal,))), None)


def _where(scene: Scene, part: str) -> str:
    place = scene.parts[part].place or ""
    return next((one.name or one.id for one in scene.job.places if one.id == place), place)


def _is_wet(scene: Scene, part: str) -> bool:
    place = scene.parts[part].place
    return any(one.wet for one in scene.job.places if one.id == place)
