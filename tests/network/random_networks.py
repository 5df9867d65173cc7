"""Random networks straight from element records, built like a car: supply, feeds, earths, loads, islands.

The generator takes the random source, so that a seed gives the same network again and Hypothesis can shrink one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random

from loomwright.job.variables import Variable
from loomwright.network.records import Device, Element, Guard, Law, Network, Selector, Sense

__all__ = ["MODES", "random_network"]

MODES = ("off", "dim", "on")
"""Values of the one state variable of a random network."""
_AMBIENT = ("-10", "40")

Figures = tuple[float, ...]


def _lamp(rng: Random) -> Figures:
    watt = rng.choice((1.2, 2.2, 5.0, 10.0, 21.0, 55.0))
    return 12.0, watt / 12.0, 12.0 * 12.0 / watt / 12.0


def _diode(rng: Random) -> Figures:
    return rng.choice((0.3, 0.7, 6.0)), 0.035, 50.0


def _clamp(rng: Random) -> Figures:
    driver = (1.0 / rng.choice((0.05, 0.15, 0.4)), 0.0, -3.0, 3.0, 1e-3)
    sensor_supply = (10.0, 5.0, -rng.uniform(0.02, 0.3), 0.0, 1e-3)
    alternator = (200.0, rng.uniform(13.5, 14.5), -rng.uniform(5.0, 80.0), 0.0, 1e-3)
    return rng.choice((driver, sensor_supply, alternator))


def _battery(rng: Random) -> Figures:
    emf_v, ohm = rng.uniform(11.5, 12.8), rng.uniform(0.005, 0.05)
    return emf_v, 1.0 / ohm, emf_v + rng.uniform(0.2, 1.0), 0.1 / ohm, 1e-3


def _current(rng: Random) -> Figures:
    return rng.uniform(0.01, 4.0), 6.0


def _power(rng: Random) -> Figures:
    # small enough to have one answer behind the resistances there are
    return rng.uniform(1.0, 20.0), 6.0


def _motor(rng: Random) -> Figures:
    return rng.uniform(1.0, 15.0) / 12.0, 1.5


def _linear(rng: Random) -> Figures:
    return 1.0 / rng.choice((0.5, 4.0, 85.0, 1000.0, 1e6)), rng.choice((0.0, 0.0, 0.0, 5.0))


FIGURES: dict[Law, Callable[[Random], Figures]] = {
    Law.LINEAR: _linear,
    Law.LAMP: _lamp,
    Law.DIODE: _diode,
    Law.CLAMP: _clamp,
    Law.BATTERY: _battery,
    Law.CURRENT: _current,
    Law.POWER: _power,
    Law.MOTOR: _motor,
}


def random_network(rng: Random, laws: Sequence[Law] = tuple(Law), *, relays: int = 0, islands: bool = True) -> Network:
    """A network with a supply, a feed side and an earth side of wires, and loads of the given laws between them.

    Args:
        laws: each is used at least once.
        relays: relays whose coil and contact lie among the loads. [-]
        islands: whether some nodes hang on nothing, or on a diode alone.
    """
    feeds, earths = rng.randint(2, 6), rng.randint(1, 4)
    feed = [f"feed{k}" for k in range(feeds)]
    earth = [f"earth{k}" for k in range(earths)]
    names = ["minus", *feed, *earth]
    elements: list[Element] = []
    devices: list[Device] = []

    def node(name: str) -> int:
        if name not in names:
            names.append(name)
        return names.index(name)

    def add(name: str, a: str, b: str, law: Law, *rows: Figures, **more: object) -> int:
        elements.append(Element(name=name, a=node(a), b=node(b), law=law, figures=rows, **more))  # type: ignore[arg-type]
        return len(elements) - 1

    def wire(a: str, b: str) -> None:
        ohm = rng.uniform(0.001, 0.1)
        # two rows, cold and hot, chosen by the ambient: one element in three is a copper wire
        rows = ((1.0 / ohm, 0.0), (0.8 / ohm, 0.0)) if rng.random() < 0.3 else ((1.0 / ohm, 0.0),)
        add(f"W{len(elements)}", a, b, Law.LINEAR, *rows, selector=0 if len(rows) > 1 else -1, type="wire")

    def guard() -> tuple[Guard, ...]:
        if rng.random() < 0.7:
            return ()
        held = frozenset(k for k in range(len(MODES)) if rng.random() < 0.6)
        return (Guard(((0, held),)),)

    add("supply", "feed0", "minus", Law.BATTERY, _battery(rng))
    for k in range(1, feeds):
        wire(feed[rng.randrange(k)], feed[k])
    wire("minus", "earth0")
    for k in range(1, earths):
        wire(earth[rng.randrange(k)], earth[k])
    wanted = [*laws, *(rng.choice(tuple(laws)) for _ in range(rng.randint(1, 6)))]
    rng.shuffle(wanted)
    for count, law in enumerate(wanted):
        name = f"{law.name.lower()}{count}"
        a, b = rng.choice(feed), rng.choice(earth)
        if rng.random() < 0.2 and law not in (Law.BATTERY, Law.CLAMP):
            b = rng.choice(feed)
        if law in (Law.LAMP, Law.DIODE, Law.CLAMP, Law.LINEAR, Law.BATTERY):
            # through a node of its own: a diode on a rail alone would be a short
            middle = f"between{count}"
            far = rng.choice((1.0, 10.0, 60.0)) if law in (Law.DIODE, Law.BATTERY) else rng.uniform(0.005, 0.5)
            ends = (a, middle) if rng.random() < 0.5 else (middle, b)
            other = (middle, b) if ends[0] == a else (a, middle)
            if law == Law.DIODE and rng.random() < 0.4:
                ends = ends[::-1]
            add(name, *ends, law, FIGURES[law](rng), guards=guard())
            add(f"R{count}", *other, Law.LINEAR, (1.0 / far, 0.0), guards=guard())
        else:
            add(name, a, b, law, FIGURES[law](rng), guards=guard())
    for count in range(relays):
        coil = add(f"coil{count}", rng.choice(feed), f"switched{count}", Law.LINEAR, (1.0 / 85.0, 0.0))
        add(f"key{count}", f"switched{count}", rng.choice(earth), Law.LINEAR, (200.0, 0.0), guards=guard())
        devices.append(Device(name=f"relay{count}", what="relay", senses=(Sense(coil, -1, -1, 0.085, 0.014),)))
        need = ((count, rng.random() < 0.7),)
        add(f"contact{count}", rng.choice(feed), f"load{count}", Law.LINEAR, (333.0, 0.0), needs=need)
        add(f"relay_lamp{count}", f"load{count}", rng.choice(earth), Law.LAMP, _lamp(rng))
    if islands:
        add("island", "island0", "island1", Law.LINEAR, (0.1, 0.0))
        add("one_way", "island1", rng.choice(feed), Law.DIODE, _diode(rng))
        add("hanging", rng.choice(earth), "stub", Law.LINEAR, (1.0, 0.0), guards=guard())
    order = list(range(len(names)))
    return Network(
        nodes=tuple(names),
        elements=tuple(elements),
        devices=tuple(devices),
        selectors=(Selector(1, -1, tuple((k,) for k in range(len(_AMBIENT)))),),
        variables=(
            Variable(name="mode", values=MODES, rest="off"),
            Variable(name="ambient_c", values=_AMBIENT, rest="40", numeric=True),
        ),
        reference=order[0],
        thermal=0,
    )
