"""A car that is not quite as written, with one fault in it, and a meter that is not quite right: the other side of a
trial. It shares the network's solver with the tool, and nothing of how the tool ranks faults.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from zlib import crc32

import numpy as np

from loomwright.car import Car
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Changes, Element, Law, Network, Short
from loomwright.network.solve import Solved, solve

METER_OHM = 10e6
"""A meter rests on every wired point at once: together they draw some microamps."""


class FaultyCar:
    """One car: figures strayed, one thing wrong. Things come off it for a reading, and go back.

    wrong: as the fields of `Changes`; `silent` elements carry nothing; `weak` are elements and the ohms added in them;
    `touching` is a wire, what it touches somewhere along its length, and the ohms there; `crossed` two wires and the
    points at which they have changed places; `lame` relays do not pull in; `rerated` fuses have another rating.
    share: how far along it a wire touches; drawn where left out. [0..1]
    """

    def __init__(
        self,
        car: Car,
        wrong: dict[str, object],
        rng: np.random.Generator,
        stray: float = 0.05,
        share: float | None = None,
    ) -> None:
        self._rng, self._seed = rng, int(rng.integers(1 << 30))
        self._car, self._wrong, self._stray = car, wrong, stray
        drawn = float(np.random.default_rng([self._seed, 7]).uniform(0.1, 0.9))
        self._share = drawn if share is None else share
        self._wires = {wire.id: wire for wire in car.filled.wires}
        self._post = next(part.id for part in car.filled.parts if part.kind == "battery") + ".-"
        self._compiled: dict[tuple[str, ...], tuple[Compiled, Mapping[str, str]]] = {}
        self._solved: dict[object, Solved] = {}

    def shown(self, point: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What is between a point and the battery's earthed post. [V]"""
        solved, aliases = self._at(state, off)
        return solved.volts.get(aliases.get(point, point)) or 0.0

    def volts(self, point: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What the meter shows of it. [V]"""
        return round(self.shown(point, state, off) * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01), 2)

    def drop(self, point: str, to: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float:
        """What the meter shows between two points, in its range of millivolts where that holds it. [V]"""
        volts = self.shown(point, state, off) - self.shown(to, state, off)
        coarse = abs(volts) > 0.2
        shown = volts * self._rng.normal(1.0, 0.005) + self._rng.normal(0.0, 0.01 if coarse else 0.0002)
        return round(shown, 2 if coarse else 4)

    def clamp(self, wire: str, state: dict[str, str], off: tuple[str, ...] = (), end: str = "") -> float:
        """What a clamp shows, to 10 mA, 1.5 % and 20 mA off: round a wire at its first end, or the one named; round all
        wires of a terminal together. [A]
        """
        found, aliases = self._at(state, off)
        found = found.amps
        if wire not in self._wires:
            ends = [
                (one.id, aliases.get(one.from_, one.from_), aliases.get(one.to, one.to)) for one in self._wires.values()
            ]
            point = aliases.get(wire, wire)
            into = sum(found.get(f"{name} behind", found[name]) for name, _, to in ends if to == point)
            amps = abs(into - sum(found[name] for name, begins, _ in ends if begins == point))
            return round(abs(amps * self._rng.normal(1.0, 0.015) + self._rng.normal(0.0, 0.02)), 2)
        first = not end or end == self._wires[wire].from_
        amps = abs(found[wire] if first else found.get(f"{wire} behind", found[wire]))
        return round(abs(amps * self._rng.normal(1.0, 0.015) + self._rng.normal(0.0, 0.02)), 2)

    def ohms(self, point: str, to: str, state: dict[str, str], off: tuple[str, ...] = ()) -> float | str:
        """What an ohmmeter shows, the battery off: to a tenth, 1 % and 0.05 ohm off; or open. [ohm]"""
        compiled, aliases = self._with_off(off, (point, to))
        solved = solve(compiled, state)
        amps = -solved.amps["ohmmeter.1"]
        one, other = (solved.volts.get(aliases.get(name, name)) for name in (point, to))
        shown = (one - other) / amps if one is not None and other is not None and amps > 1e-9 else np.inf
        shown = abs(shown * self._rng.normal(1.0, 0.01) + self._rng.normal(0.0, 0.05))
        return "open" if shown > 2e7 else round(shown, 1)

    def _at(self, state: dict[str, str], off: tuple[str, ...]) -> tuple[Solved, Mapping[str, str]]:
        if off not in self._compiled:
            self._compiled[off] = self._with_off(off)
        compiled, aliases = self._compiled[off]
        key = (off, *sorted(state.items()))
        if key not in self._solved:
            self._solved[key] = solve(compiled, state)
        return self._solved[key], aliases

    def _with_off(
        self, off: tuple[str, ...], ohms: tuple[str, str] | None = None
    ) -> tuple[Compiled, Mapping[str, str]]:
        """The car with things off: wires let go, parts unplugged, the battery's earth lead through a lamp; or with no
        battery, and an ohmmeter between two points.
        """
        job, wrong, post = self._car.filled, self._wrong, self._post
        parts = {part.id for part in job.parts}
        ends = dict.fromkeys(end for wire in job.wires for end in (wire.from_, wire.to) if "." in end and end != post)
        lamp = "lamp" in off
        changes = Changes(
            opened=wrong.get("opened", ()),
            pulled=tuple(wrong.get("pulled", ())),
            series=tuple(wrong.get("series", ())),
            shorts=(*wrong.get("shorts", ()), *(Short(end, post, METER_OHM if ohms is None else 1e9) for end in ends)),
            removed=tuple(wrong.get("removed", ())),
            stuck=tuple(wrong.get("stuck", ())),
            unplugged=(*(name for name in off if name in parts), *((post,) if lamp else ())),
            lamps=((f"~{post}", post, 21.0),) if lamp else (),
            without_battery=ohms is not None,
            tested=() if ohms is None else ((*ohms, 0.001, 2.0),),
        )
        for part, rating in wrong.get("rerated", ()):
            job = replace(job, parts=tuple(_rerated(one, rating) if one.id == part else one for one in job.parts))
        network = build_network(job, self._car.kinds, changes, self._car.variables)
        for crossed in wrong.get("crossed", ()):
            network = _crossed(network, *crossed)
        network = _weak_and_lame(network, dict(wrong.get("weak", ())), set(wrong.get("lame", ())))
        silent = frozenset(wrong.get("silent", ()))
        network = _strayed(network, self._seed, self._stray, silent) if self._stray or silent else network
        for wire, there, ohm in wrong.get("touching", ()):
            network = _touching(network, wire, there, ohm, self._share)
        loose = {self._piece_off(name, network) for name in off if name not in parts and name != "lamp"}
        elements = tuple(_carrying_nothing(one) if one.name in loose else one for one in network.elements)
        return compile_network(replace(network, elements=elements)), network.aliases

    def _piece_off(self, name: str, network: Network) -> str:
        """The piece of wire at the terminal that is let go: of a wire that touches, what is behind that stays on."""
        wire, _, end = name.partition(":")
        first = not end or end == self._wires[wire].from_
        behind = f"{wire} behind"
        return wire if first or behind not in {one.name for one in network.elements} else behind


def _rerated(part, rating_a: float):
    """The holder with another fuse in it."""
    return replace(part, settings={**part.settings, "rating_a": f"{rating_a:g}"})


def _crossed(network: Network, one: str, there: str, other: str, here: str) -> Network:
    """Each wire with its end where the other's was."""
    points = {network.aliases.get(there, there): network.aliases.get(here, here)}
    points |= {b: a for a, b in points.items()}
    swap = {network.nodes.index(a): network.nodes.index(b) for a, b in points.items()}
    moved = tuple(
        replace(element, a=swap.get(element.a, element.a), b=swap.get(element.b, element.b))
        if element.name in (one, other)
        else element
        for element in network.elements
    )
    return replace(network, elements=moved)


def _weak_and_lame(network: Network, weak: dict[str, float], lame: set[str]) -> Network:
    """Joints that have gone high in resistance, relays that do not move."""
    elements = tuple(
        replace(one, figures=tuple((row[0] / (1.0 + weak[one.name] * row[0]), *row[1:]) for row in one.figures))
        if one.name in weak
        else one
        for one in network.elements
    )
    devices = tuple(
        replace(one, stuck=False) if one.what == "relay" and one.name.split(".")[0] in lame else one
        for one in network.devices
    )
    return replace(network, elements=elements, devices=devices)


def _touching(network: Network, wire: str, there: str, ohm: float, share: float) -> Network:
    """The wire in two pieces, and where they meet on what it touches."""
    index = next(k for k, one in enumerate(network.elements) if one.name == wire)
    whole, middle = network.elements[index], len(network.nodes)
    pieces = [
        replace(whole, name=name, a=a, b=b, figures=tuple((row[0] / part, *row[1:]) for row in whole.figures))
        for name, a, b, part in (
            (wire, whole.a, middle, share),
            (f"{wire} behind", middle, whole.b, 1.0 - share),
        )
    ]
    touch = Element(
        name=f"{wire} bare", a=middle, b=network.node(there), law=Law.LINEAR, figures=((1.0 / ohm, 0.0),), type="bridge"
    )
    elements = (*network.elements[:index], pieces[0], *network.elements[index + 1 :], pieces[1], touch)
    return replace(network, nodes=(*network.nodes, f"{wire} bare"), elements=elements)


def _carrying_nothing(element: Element) -> Element:
    """The element as it is when nothing flows in it."""
    nothing = tuple((1e-12, *[0.0] * (len(row) - 1)) for row in element.figures)
    return replace(element, law=Law.LINEAR, figures=nothing)


def _strayed(network, seed: int, stray: float, silent: frozenset[str]):
    """The same network, every straight line, lamp and constant load a little off, always in the same way; what is
    silent carries nothing.
    """
    elements = []
    for element in network.elements:
        own = np.random.default_rng([seed, crc32(element.name.encode())])
        share = float(own.normal(1.0, stray))
        if element.name in silent:
            elements.append(_carrying_nothing(element))
            continue
        place = {Law.LINEAR: 0, Law.LAMP: 1, Law.CURRENT: 0, Law.POWER: 0}.get(element.law)
        if place is not None and not element.name.startswith(("bridge", "ohmmeter")):
            rows = tuple(tuple(v * share if k == place else v for k, v in enumerate(row)) for row in element.figures)
            element = replace(element, figures=rows)
        elements.append(element)
    return replace(network, elements=tuple(elements))
