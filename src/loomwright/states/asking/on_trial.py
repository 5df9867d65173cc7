"""What is the network with some wires opened and some points bridged on trial?

In: the network as it stands, what is changed. Out: the network that its sheets would give with that change, without
reading them again: opened wires keep their places, bridges come last. What is changed otherwise must be built.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.network.records import Changes, Element, Law, Network, Short

__all__ = ["bridge", "on_trial"]


def on_trial(network: Network, trial: Changes) -> Network | None:
    """The network with a trial applied; None where it changes anything but wires and bridges between known points."""
    if trial != Changes(opened=trial.opened, shorts=trial.shorts):
        return None
    ends = {network.aliases.get(point, point) for short in trial.shorts for point in (short.a, short.b)}
    if not ends <= set(network.nodes):
        return None
    elements = [
        replace(one, figures=((0.0, 0.0),) * len(one.figures)) if one.is_wire and one.name in trial.opened else one
        for one in network.elements
    ]
    bridges = [bridge(network, count, short) for count, short in enumerate(trial.shorts, start=1)]
    return replace(network, elements=(*elements, *bridges))


def bridge(network: Network, count: int, short: Short) -> Element:
    """The element of a bridge between two points of a network; its name has the count."""
    a, b = network.node(short.a), network.node(short.b)
    figures = ((1.0 / short.ohm, 0.0),)
    return Element(name=f"bridge.{count}", a=a, b=b, law=Law.LINEAR, figures=figures, type="bridge")
