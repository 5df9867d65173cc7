"""What can volts not show about signal wires, that the sheets say?

SGN-3, warnings, each only where the sheets say enough:

    pairs     the two wires of a coil sensor, and of a bus, lie twisted, in one cable or in one screen
    screens   joined to earth at one end: not at both, not at none, and never used as a return
    noise     a coil sensor's wires keep out of runs that are marked as noisy, unless paired
    buses     two end resistors, at the two ends, and 60 ohm between the wires with the power off; wires not crossed

Source: manual-bus-resistors for the bus; the rest is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.findings import Finding
from loomwright.job.rows import Cable, Wire
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.surroundings import wire_label
from loomwright.states.signals.buses import Bus, bus_span, buses_of
from loomwright.states.signals.earth_nets import wired_nodes
from loomwright.tables.constants import constant

__all__ = ["signal_sheet_findings"]

_COIL_SENSOR = {"+", "-", "screen"}
_TOLERANCE = 0.1
"""An end resistor this share off is still one [-]."""


def signal_sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """SGN-3 of pairs, screens and buses."""
    found = [*_coil_pairs(scene), *_screens(scene), *_buses(scene)]
    return tuple(Told(finding, None, None) for finding in found)


def _warn(at: str, label: str, wrong: str, mend: str, touches: tuple[str, ...], **figures: object) -> Finding:
    return Finding(
        rule="SGN-3",
        severity="warning",
        at=(at,),
        label=label,
        wrong=wrong,
        mend=mend,
        touches=tuple(name for name in dict.fromkeys(touches) if name != at),
        **figures,  # type: ignore[arg-type]
    )


def _coil_pairs(scene: Scene) -> Iterator[Finding]:
    """Coil sensors: their two wires together all the way, and out of noise."""
    for part in scene.parts:
        kind = scene.kind(part)
        if kind.duty != "sensor" or {terminal.name for terminal in kind.terminals} != _COIL_SENSOR:
            continue
        plus, minus = (_wires_on(scene, f"{part}.{terminal}") for terminal in "+-")
        yield from _apart(scene, part, plus, minus)
        noisy = {run.id for run in scene.job.runs if run.noise}
        for wire in (*plus, *minus):
            through = noisy.intersection(wire.via)
            if through and not (wire.screen or wire.cable):
                run = sorted(through)[0]
                yield _warn(
                    wire.id,
                    wire_label(scene, wire.id),
                    f"a coil sensor's wire without a screen lies in run {run}, which is marked as noisy",
                    "Lead it another way, or in a screened cable",
                    (part, run),
                )


def _apart(scene: Scene, part: str, one: tuple[Wire, ...], other: tuple[Wire, ...]) -> Iterator[Finding]:
    """The wires of a pair that are neither twisted, cabled nor screened with one of the other side."""
    if not one or not other:
        return
    for wire in one:
        if wire.length_mm is not None and wire.length_mm <= constant("pair_untwisted_mm"):
            continue
        if not any(_together(wire, mate) for mate in other):
            yield _warn(
                wire.id,
                wire_label(scene, wire.id),
                f"the pair of {part} is neither twisted nor screened: what lies beside it gets into the signal",
                "Twist the two wires all the way, or use a screened pair",
                (part, *(mate.id for mate in other)),
            )
            return


def _together(one: Wire, other: Wire) -> bool:
    return any(
        word and word == mate
        for word, mate in ((one.twist, other.twist), (one.cable, other.cable), (one.screen, other.screen))
    )


def _wires_on(scene: Scene, point: str) -> tuple[Wire, ...]:
    """Wires that splices and connectors join to a terminal, its own among them."""
    if point not in scene.compiled.node_of:
        return ()
    nodes, _ = wired_nodes(scene, (scene.node(point),))
    found = {wire.id: wire for node in sorted(nodes) for wire in scene.wires_at.get(scene.name_of(node), ())}
    return tuple(found.values())


def _screens(scene: Scene) -> Iterator[Finding]:
    for cable in scene.job.cables:
        cores = [wire for wire in scene.wires.values() if wire.cable == cable.id]
        if not cores:
            continue
        ends = _screen_ends(scene, cores)
        yield from _screen_joined(scene, cable, cores, ends)
    yield from _screen_returns(scene)


def _screen_joined(
    scene: Scene, cable: Cable, cores: list[Wire], ends: Mapping[str, tuple[str, ...]]
) -> Iterator[Finding]:
    """Where the screen of a cable meets earth: once is right."""
    label = f"{cable.id} (cable, {cable.kind})" if cable.kind else f"{cable.id} (cable)"
    touches = (*(wire.id for wire in cores), *(name for names in ends.values() for name in names))
    joined = [*([cable.drain_to] if cable.drain_to else []), *ends]
    places = {name.split(".")[0] for name in joined}
    if len(joined) > 1 and len(places) > 1:
        yield _warn(
            cable.id,
            label,
            f"its screen is joined to earth at both ends, {' and '.join(joined)}: earth current flows along it",
            "Open it at the sensor's end",
            touches,
        )
    if not joined and "screen" in cable.kind.lower():
        yield _warn(
            cable.id,
            label,
            "its screen is joined to earth nowhere, and keeps nothing out",
            "Join it to a sensor earth at the controller's end",
            touches,
        )


def _screen_ends(scene: Scene, cores: list[Wire]) -> Mapping[str, tuple[str, ...]]:
    """Screen terminals at the ends of a cable's cores that a wire takes to earth, and those wires."""
    parts = dict.fromkeys(end.split(".")[0] for wire in cores for end in (wire.from_, wire.to) if "." in end)
    found = {}
    for part in parts:
        point = f"{part}.screen"
        wires = [wire for wire in scene.wires_at.get(point, ()) if wire not in cores]
        if wires and _is_earthed(scene, point):
            found[point] = tuple(wire.id for wire in wires)
    return found


def _is_earthed(scene: Scene, point: str) -> bool:
    nodes, shared = wired_nodes(scene, (scene.node(point),))
    pins = {
        scene.element(k).name.removesuffix(".earth")
        for k in range(len(scene.compiled.network.elements))
        if scene.element(k).type == "pin" and scene.element(k).name.endswith(".earth")
    }
    return bool(shared) or any(scene.name_of(node) in pins for node in nodes)


def _screen_returns(scene: Scene) -> Iterator[Finding]:
    """A screen that a sensor's own current comes back through."""
    for wire in scene.wires.values():
        ends = [scene.point(end) for end in (wire.from_, wire.to)]
        screens = [end for end in ends if end.endswith(".screen")]
        others = [end for end in ends if not end.endswith(".screen")]
        if len(screens) != 1 or not others or "." not in others[0]:
            continue
        part = others[0].split(".")[0]
        if part in scene.parts and scene.kind(part).duty == "sensor":
            yield _warn(
                wire.id,
                wire_label(scene, wire.id),
                "makes a screen the return of a sensor: what the screen catches lies in the signal",
                "Give the sensor a return of its own",
                (part, screens[0]),
            )


def _buses(scene: Scene) -> Iterator[Finding]:
    for bus in buses_of(scene):
        yield from _crossed(scene, bus)
        yield from _ends_of(scene, bus)
        yield from _apart(scene, bus.nodes[0], *bus.wires)


def _crossed(scene: Scene, bus: Bus) -> Iterator[Finding]:
    if not bus.crossed:
        return
    at = bus.crossed[0]
    yield _warn(
        at,
        f"{at} ({scene.title(at)})",
        "its two bus wires are exchanged, and nothing on the bus hears it",
        "Exchange H and L at its plug",
        (*bus.crossed[1:], *(wire.id for side in bus.wires for wire in side)),
    )


def _ends_of(scene: Scene, bus: Bus) -> Iterator[Finding]:
    """End resistors: two, of the right size, at the ends."""
    end_ohm = constant("bus_end_ohm")
    touches = (*bus.nodes, *(wire.id for side in bus.wires for wire in side))
    at = (bus.ends or bus.nodes)[0]
    label = f"{at} ({scene.title(at)})"
    right = [part for part in bus.ends if abs(bus.ohms[part] / end_ohm - 1.0) <= _TOLERANCE]
    if len(bus.ends) != 2 or len(right) != 2:
        yield _warn(
            at,
            label,
            "the bus wants one end resistor at each of its two ends, and has not those",
            "Fit a resistor at each end and nowhere else; a controller that has one inside gets a row for it",
            touches,
            found=bus.between_ohm,
            allowed=constant("bus_ends_ohm"),
            unit="ohm",
            source="manual-bus-resistors",
        )
        return
    far = bus_span(scene, bus)
    if far is not None and far.beyond_mm > constant("bus_stub_mm"):
        yield _warn(
            far.part,
            f"{far.part} ({scene.title(far.part)})",
            "lies far beyond the end resistor of its bus: what it sends comes back from the open end",
            "Move the end resistor to this end",
            (far.resistor, *touches),
            found=far.beyond_mm,
            allowed=constant("bus_stub_mm"),
            unit="mm",
            source="common-practice",
        )
