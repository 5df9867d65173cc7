"""Big looms for the benchmarks: supply lines that branch like trees, loads at their tips, one in twenty fed twice.

The same for a seed. Made of element records, without sheets: what is measured is the solver.
"""

from __future__ import annotations

from random import Random

from loomwright.job.variables import Variable
from loomwright.network.records import Element, Guard, Law, Network, Selector

__all__ = ["MODES", "loom"]

MODES = ("off", "some", "all")
_FEEDS = 8
_CROSS = 20
_BRANCHES = 4


def loom(wires: int, seed: int) -> Network:
    """A loom of about so many wires.

    Args:
        wires: how many. [-]
        seed: another one makes another loom. [-]
    """
    rng = Random(seed)
    names = ["minus", "plus", "body"]
    elements: list[Element] = []

    def node(name: str) -> int:
        names.append(name)
        return len(names) - 1

    def add(name: str, a: int, b: int, law: Law, *rows: tuple[float, ...], **more: object) -> None:
        elements.append(Element(name=name, a=a, b=b, law=law, figures=rows, **more))  # type: ignore[arg-type]

    def wire(a: int, b: int) -> None:
        ohm = rng.uniform(0.002, 0.05)
        add(f"W{len(elements)}", a, b, Law.LINEAR, (1.0 / ohm, 0.0), (0.8 / ohm, 0.0), selector=0, type="wire")

    add("battery", 1, 0, Law.BATTERY, (12.6, 100.0, 13.0, 10.0, 1e-3))
    add("strap", 2, 0, Law.LINEAR, (2000.0, 0.0))
    feeds = []
    for k in range(_FEEDS):
        feed = node(f"feed{k}")
        add(f"fuse{k}", 1, feed, Law.LINEAR, (200.0, 0.0), type="fuse")
        feeds.append(feed)
    tips = [[feed] for feed in feeds]
    earths = [2]
    made = 0
    while made < wires:
        tree = rng.choice(tips)
        # a switch or a relay's contact at the root of every branch, then a chain of wires with a load at its end
        before = rng.choice(tree[-_BRANCHES:])
        gate = node(f"gate{made}")
        values = frozenset(k for k in range(len(MODES)) if rng.random() < 0.5)
        add(f"contact{made}", before, gate, Law.LINEAR, (200.0, 0.0), guards=(Guard(((0, values),)),), type="switch")
        last = gate
        for _ in range(rng.randint(2, 6)):
            now = node(f"n{made}")
            wire(last, now)
            made += 1
            last = now
        tree.append(last)
        if rng.random() < 1.0 / _CROSS:
            wire(last, rng.choice(rng.choice(tips)))
            made += 1
        earth = node(f"earth{made}")
        wire(earth, rng.choice(earths[-_BRANCHES:]))
        made += 1
        earths.append(earth)
        watt = rng.choice((1.2, 5.0, 10.0, 21.0))
        kind = rng.random()
        if kind < 0.5:
            add(f"lamp{made}", last, earth, Law.LAMP, (12.0, watt / 12.0, 12.0 / watt), type="lamp")
        elif kind < 0.8:
            add(f"load{made}", last, earth, Law.LINEAR, (watt / 144.0, 0.0), type="resistor")
        elif kind < 0.9:
            add(f"motor{made}", last, earth, Law.MOTOR, (watt / 120.0, 1.5), type="motor")
        else:
            add(f"box{made}", last, earth, Law.CURRENT, (watt / 24.0, 6.0), type="constant_current")
    return Network(
        nodes=tuple(names),
        elements=tuple(elements),
        devices=(),
        selectors=(Selector(1, -1, ((0,), (1,))),),
        variables=(
            Variable(name="mode", values=MODES, rest="off"),
            Variable(name="ambient_c", values=("-10", "40"), rest="40", numeric=True),
        ),
        reference=0,
        thermal=0,
    )
