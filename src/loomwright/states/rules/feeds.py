"""Which contact does a circuit belong to, and when is it live?

The column `feed` of the sheet circuits names a contact (`30 75 15 50 58 56a 56b 54 49a main_relay pump_relay`) or a
part's terminal. Here it is found in the car: terminals 15, 75 and 50 on what the key moves, the lamp and flasher
terminals on the switches that have them, a relay by its role or by the pump it feeds. Where nobody has opened the old
key switch, 15, 75 and 50 go by the key's position. Terminal 30 is live always.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.load_elements import LoadElement

__all__ = ["Feed", "feed_end", "feed_name", "feed_of"]

_BY_KEY = {"15": ("run", "start"), "75": ("accessory", "run"), "50": ("start",)}
_DEAD_SHARE = 0.5
"""A feed below this share of the system's volts is not live, whatever half-live state it is in [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Feed:
    """One feed.

    nodes: the points that are it. keys: the key positions in which it is live, none where the key does not say.
    system_v: the car's volts. [V]
    """

    name: str
    nodes: tuple[int, ...]
    keys: tuple[str, ...]
    system_v: float

    def dead(self, answers: Answers) -> type_bool:
        """Where it is not live."""
        return answers.once(("dead", self.nodes, self.keys, self.system_v), self._dead)

    def _dead(self, answers: Answers) -> type_bool:
        if not self.nodes:
            return ~answers.at("key", *self.keys)
        live = np.zeros(answers.count, bool)
        for node in self.nodes:
            live = live | (np.abs(np.nan_to_num(answers.volts(node))) >= _DEAD_SHARE * self.system_v)
        return ~live


def feed_of(ways: Ways, name: str) -> Feed | None:
    """The feed of that name; None where the car shows no such contact, and for 30, which is never dead."""
    scene = ways.scene
    if not name or name == "30":
        return None
    nodes = tuple(dict.fromkeys(scene.node(point) for point in _points(ways, name) if point in scene.compiled.node_of))
    keys = _keys(scene, nodes) if nodes else _BY_KEY.get(name, ())
    if not nodes and (not keys or "key" not in scene.compiled.variable_of):
        return None
    return Feed(name=name, nodes=nodes, keys=keys, system_v=scene.vehicle.system_v)


def feed_name(scene: Scene, ways: Ways, load: LoadElement) -> str:
    """The feed a load's circuit names; nothing where none does or several do.

    A part with several loads goes by the wires at each, since its own row has one circuit only.
    """
    own = scene.circuits.get(scene.parts[load.part].circuit or "")
    many = len({scene.element(index).name for index in scene.elements_of[load.part] if scene.element(index).load}) > 1
    if own is not None and own.feed and not many:
        return own.feed
    end = feed_end(ways, load)
    wires = scene.wires_at.get(scene.name_of(end), ()) if end is not None else ()
    circuits = (scene.circuits.get(wire.circuit or "") for wire in wires)
    feeds = {circuit.feed for circuit in circuits if circuit is not None and circuit.feed}
    return feeds.pop() if len(feeds) == 1 else ""


def feed_end(ways: Ways, load: LoadElement) -> int | None:
    """The terminal of a load that a supply can reach while the other reaches earth; None where that cannot be told."""
    a, b = ways.side(load.a), ways.side(load.b)
    if a in ("plus", "both") and b == "minus":
        return load.a
    if b in ("plus", "both") and a == "minus":
        return load.b
    return load.a if (a, b) == ("plus", "both") else load.b if (a, b) == ("both", "plus") else None


def _points(ways: Ways, name: str) -> Iterator[str]:
    scene = ways.scene
    if "." in name:
        yield scene.point(name)
    elif name == "main_relay":
        yield from (f"{part.id}.87" for part in scene.role_of.get("main_relay", ()))
    elif name == "pump_relay":
        yield from _pump_relays(ways)
    elif name in _BY_KEY:
        yield from (point for point in _switched(scene, name) if _moved_by_key(scene, point))
    else:
        yield from _switched(scene, name)


def _switched(scene: Scene, terminal: str) -> Iterator[str]:
    """Wired terminals of that name on switches, flashers and relays."""
    for part in scene.parts.values():
        point = f"{part.id}.{terminal}"
        if scene.kinds[part.kind].duty == "switch" and point in scene.wires_at:
            yield point


def _moved_by_key(scene: Scene, point: str) -> bool:
    return bool(_keys(scene, (scene.node(point),)))


def _keys(scene: Scene, nodes: tuple[int, ...]) -> tuple[str, ...]:
    """The key positions in which a contact joins one of the nodes."""
    key = scene.compiled.variable_of.get("key")
    if key is None:
        return ()
    names = scene.compiled.network.variables[key].values
    found = {
        names[value]
        for index, element in enumerate(scene.compiled.network.elements)
        if element.type == "switch" and set(scene.ends(index)) & set(nodes)
        for guard in element.guards
        for variable, values in guard.holds
        if variable == key
        for value in values
    }
    return tuple(name for name in names if name in found)


def _pump_relays(ways: Ways) -> Iterator[str]:
    """The make contacts of relays that lead to a fuel pump."""
    scene = ways.scene
    pumps = {part.id for part in scene.role_of.get("fuel_pump", ())}
    for part in scene.parts.values():
        point = f"{part.id}.87"
        if scene.kinds[part.kind].group != "relays" or point not in scene.wires_at:
            continue
        own = frozenset(index for index in scene.elements_of[part.id] if scene.element(index).type == "contact")
        region = ways.region(scene.node(point), own)
        if any(scene.name_of(node).split(".", 1)[0] in pumps for node in region.nodes):
            yield point
