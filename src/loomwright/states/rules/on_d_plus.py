"""Does a relay's coil hang on the alternator's terminal D+ that should not? SUP-5.

D+ is at earth, through the field, until the alternator charges, and as live as B+ while it does, whatever the key says.

    against the field  the coil lies between a feed and D+, as the charge lamp does: it is in while nothing charges, its
                       current wakes the alternator, and it lets go as soon as that charges. A fault
    on D+              the coil lies between D+ and earth: it is in only while the alternator charges, and dead with a
                       broken belt. A fault where the circuit of what it works names another feed; a warning where it
                       names none and the car needs what it works
    not told           of what may work so: the circuit's feed is D+, or its class is charging, warning or accessories

Read off the sheets: where each end of a coil could lead, the field left out.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding, Severity
from loomwright.job.rows import Circuit
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.tracing import Ways, ways_of
from loomwright.states.rules.bridges import first_four
from loomwright.states.rules.coil_ends import coils_of
from loomwright.states.rules.feeds import feed_name
from loomwright.states.rules.load_elements import LoadElement, load_elements
from loomwright.states.rules.wrong_feeds import taken_off

__all__ = ["d_plus_findings"]

_MAY = ("charging", "warning", "accessories")
"""Classes of what may work only while the alternator charges, or only while it does not."""


def d_plus_findings(scene: Scene) -> Iterator[Told]:
    """Every relay's coil that hangs on a D+ and should not."""
    elements = scene.compiled.network.elements
    trios = {k: scene.ends(k)[1] for k, element in enumerate(elements) if element.type == "trio"}
    if not trios:
        return
    joined, ways = joined_of(scene), ways_of(scene)
    fields = frozenset(k for k, element in enumerate(elements) if element.type == "field")
    for node in trios.values():
        net = joined.net_of[node]
        nets = _over_diodes(scene, joined, net)
        for index, element in enumerate(elements):
            part = scene.parts.get(element.part)
            if element.type != "coil" or part is None or scene.kind(part.id).group != "relays":
                continue
            for end, other in (scene.ends(index), scene.ends(index)[::-1]):
                region = ways.region(other, fields)
                leads = (region.reaches_plus, region.reaches_minus)
                if joined.net_of[end] in nets and leads == (True, False):
                    yield from _told(ways, index, end, node, against=True)
                elif joined.net_of[end] == net and leads == (False, True):
                    yield from _told(ways, index, end, node, against=False)


def _over_diodes(scene: Scene, joined: Joined, net: int) -> frozenset[int]:
    """A net, and those that a diode of its own lets current come from."""
    found = {net}
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type == "diode" and element.part in scene.parts and scene.parts[element.part].kind == "diode":
            anode, cathode = joined.nets(scene, index)
            near, far = (cathode, anode) if joined.polarity > 0 else (anode, cathode)
            if near == net:
                found.add(far)
    return frozenset(found)


def _told(ways: Ways, coil: int, end: int, d_plus: int, *, against: bool) -> Iterator[Told]:
    scene = ways.scene
    loads = _worked_by(ways, coil)
    circuits = [circuit for load in loads if (circuit := _circuit(scene, load)) is not None]
    feeds = {name for load in loads if (name := feed_name(scene, ways, load))}
    if any(circuit.class_ in _MAY for circuit in circuits) or _names_d_plus(ways, feeds, d_plus):
        return
    if not against and not feeds and not circuits:
        return
    relay, point = scene.element(coil).part, scene.name_of(d_plus)
    wires = tuple(wire.id for wire in scene.wires_at.get(scene.name_of(end), ()))
    names = " ".join(dict.fromkeys(load.part for load in loads)) or relay
    if against:
        wrong = (
            f"its coil lies against the field, at {point}: it pulls in while nothing charges, wakes the alternator "
            f"with its own current and lets {names} go as soon as that charges"
        )
    else:
        wrong = (
            f"its coil hangs on {point}: {names} works only while the alternator charges, whatever the key is at, and "
            "not at all with a broken belt"
        )
    severity: Severity = "fault" if against or feeds else "warning"
    where = f"terminal {min(feeds)}" if feeds else "the contact that should work it"
    finding = Finding(
        rule="SUP-5",
        severity=severity,
        at=first_four((relay, *wires)),
        touches=tuple(dict.fromkeys((*wires, *(load.part for load in loads), point.split(".")[0]))),
        label=f"{relay} ({scene.title(relay)})",
        wrong=wrong,
        source="common-practice",
        mend=_mend(wires, where, against),
    )
    yield Told(finding, None, taken_off(ways, end) if severity == "fault" else None)


def _mend(wires: tuple[str, ...], where: str, against: bool) -> str:
    what = wires[0] if len(wires) == 1 else "the wire of its coil"
    if against:
        return f"Take {what} from D+ to earth, and feed the other end of the coil from {where}"
    return f"Move {what} from D+ to {where}, or say in the sheet circuits that its feed is D+"


def _worked_by(ways: Ways, coil: int) -> tuple[LoadElement, ...]:
    """The loads that have a contact of the coil's relay on their way."""
    ends = set(ways.scene.ends(coil))
    return tuple(load for load in load_elements(ways.scene) if ends <= set(coils_of(ways, (load.a, load.b))))


def _circuit(scene: Scene, load: LoadElement) -> Circuit | None:
    own = scene.circuits.get(scene.parts[load.part].circuit or "")
    if own is not None:
        return own
    wires = (wire for node in (load.a, load.b) for wire in scene.wires_at.get(scene.name_of(node), ()))
    return next((scene.circuits[name] for wire in wires if (name := wire.circuit or "") in scene.circuits), None)


def _names_d_plus(ways: Ways, feeds: set[str], d_plus: int) -> bool:
    """True where a feed is a point on D+."""
    scene = ways.scene
    joined = joined_of(scene)
    nodes = [scene.compiled.node_of.get(scene.point(name)) for name in feeds if "." in name]
    return any(node is not None and joined.net_of[node] == joined.net_of[d_plus] for node in nodes)
