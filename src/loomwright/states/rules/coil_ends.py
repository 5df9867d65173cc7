"""Which coils work the contacts on the way of a load?"""

from __future__ import annotations

from loomwright.states.paths.tracing import Ways, part_of

__all__ = ["coils_of", "dead_coil", "worked_from"]

_RELAYS_MOST = 3
"""How many relays one behind the other are followed [-]."""


def coils_of(ways: Ways, nodes: tuple[int, ...]) -> tuple[int, ...]:
    """The ends of the coils that work the contacts on the ways of some nodes."""
    scene = ways.scene
    ends: list[int] = []
    for end in nodes:
        region = ways.region(end)
        for index in (*region.way_to(region.plus), *region.way_to(region.minus)):
            for device, _ in scene.element(index).needs:
                ends.extend(
                    node
                    for sense in scene.compiled.network.devices[device].senses
                    if sense.element >= 0 and scene.compiled.network.devices[device].what == "relay"
                    for node in scene.ends(sense.element)
                )
    return tuple(ends)


def worked_from(ways: Ways, nodes: tuple[int, ...]) -> int | None:
    """The live end of the coil that works all others on the way of some nodes; None where no relay is on it."""
    found = None
    for _ in range(_RELAYS_MOST):
        nodes = coils_of(ways, nodes)
        live = [node for node in nodes if ways.side(node) in ("plus", "both")]
        found = live[0] if live else found
    return found


def dead_coil(ways: Ways, nodes: tuple[int, ...]) -> tuple[str, str, str] | None:
    """A relay on the way of some nodes whose coil has an end that leads to neither feed nor earth.

    Returns:
        The relay, that end, and the last point on the way from it: where the wire is missing.
    """
    scene = ways.scene
    for _ in range(_RELAYS_MOST):
        nodes = coils_of(ways, nodes)
        for node in nodes:
            region = ways.region(node)
            if region.is_lost:
                named = [name for inner in region.nodes if "._" not in (name := scene.name_of(inner))]
                return part_of(scene, node), scene.name_of(node), named[-1]
    return None
