"""What protects which wire, and what does each stand? The part of the brute-force table that needs no state.

Everything that passes a current without being a load is a graph, metals left out and every contact closed. A wire has
no guard where a source reaches it over fuses that are all rated above what it stands; a motor that is held fast lets a
source through to the wire at its other terminal, if it then draws more than that wire stands. Amps a conductor stands:
the boat table of the package at 105 °C and 30 °C, by the root of the rise that is left at the place. Wires of starting
circuits are judged by what warms them to 105 °C in 30 s, and a tap of up to 300 mm by 1.35 times the fuse it ends in,
as the contract says.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise

import networkx as nx
import numpy as np

from loomwright.car import Car

__all__ = ["Guarding", "guarding_of"]

CRANKS_S = 30.0
TAP, TAP_MM = 1.35, 300.0
MADE_A = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 200, 250, 300, 400, 500)
"""Ratings that blade and strip fuses are sold in, all families together."""
_CONDUCTS = ("wire", "joint", "switch", "contact", "fuse", "bolted")


@dataclass(frozen=True, slots=True, kw_only=True)
class Guarding:
    """stands: amps for ever. [A]  unguarded: wires. short_times: amps of a dead short over the smallest fuse before it.

    fuse_of: the fuses before a wire, the nearest first. not_made: fuses nobody sells.
    """

    stands: Mapping[str, float]
    unguarded: frozenset[str]
    short_times: Mapping[str, float]
    fuse_of: Mapping[str, tuple[str, ...]]
    not_made: frozenset[str]


def guarding_of(car: Car) -> Guarding:
    """The guarding of a car's wires."""
    stands = _stands(car)
    graph = _live_graph(car)
    ways = nx.single_source_dijkstra_path(graph, "source", weight="ohm")
    ohms = nx.single_source_dijkstra_path_length(graph, "source", weight="ohm")
    fuses = [e for e in car.compiled.network.elements if e.type == "fuse" and e.rating_a]
    return Guarding(
        stands=stands,
        unguarded=_unguarded(car, stands),
        short_times=_short_times(car, graph, ways, ohms),
        fuse_of=_fuses(car, graph, ways),
        not_made=frozenset(e.part for e in fuses if e.rating_a not in MADE_A),
    )


def _live_graph(car: Car) -> nx.Graph:
    """All that passes a current without being a load, metals left out; every contact closed; ohms."""
    network = car.compiled.network
    metals = {"body", "engine", "gearbox", "axle", *(metal.id for metal in car.job.metals)}
    graph = nx.Graph()
    for element in network.elements:
        a, b = network.nodes[element.a], network.nodes[element.b]
        if element.type not in _CONDUCTS or a in metals or b in metals:
            continue
        ohm = 1.0 / max(row[0] for row in element.figures)
        graph.add_edge(a, b, ohm=ohm, element=element)
    for post in ("BAT.+", "ALT.B+"):
        graph.add_edge("source", post, ohm=0.005, element=None)
    return graph


def _too_large(element: object, stands_a: float) -> bool:
    rating = getattr(element, "rating_a", None)
    return getattr(element, "type", "") != "fuse" or rating is None or rating > stands_a


def _unguarded(car: Car, stands: Mapping[str, float]) -> frozenset[str]:
    """Wires that a source reaches over fuses that are all rated above what the wire stands."""
    graph = _live_graph(car)
    nodes = car.compiled.network.nodes
    held = _held_fast(car)
    found = set()
    for element in car.compiled.network.elements:
        if not element.is_wire or not math.isfinite(stands[element.name]):
            continue
        kept = nx.subgraph_view(
            graph, filter_edge=lambda a, b, most=stands[element.name]: _too_large(graph[a][b]["element"], most)
        )
        ends = {nodes[element.a], nodes[element.b]}
        ends |= {other for end in ends for other, amps in held.get(end, ()) if amps > stands[element.name]}
        ends &= set(graph)
        tapped_a = _tapped(car, nodes[element.a], nodes[element.b], element.name)
        if ends and ends & nx.node_connected_component(kept, "source") and not stands[element.name] >= TAP * tapped_a:
            found.add(element.name)
    return frozenset(found)


def _held_fast(car: Car) -> dict[str, list[tuple[str, float]]]:
    """For each terminal of a motor its other one, and the amps the motor draws while it does not turn."""
    nodes = car.compiled.network.nodes
    found: dict[str, list[tuple[str, float]]] = {}
    for element in car.compiled.network.elements:
        if element.type == "motor" and element.law.name == "LINEAR":
            amps = 12.6 * max(row[0] for row in element.figures)
            a, b = nodes[element.a], nodes[element.b]
            found.setdefault(a, []).append((b, amps))
            found.setdefault(b, []).append((a, amps))
    return found


def _tapped(car: Car, a: str, b: str, name: str) -> float:
    """The rating of the fuse that a wire of up to 300 mm ends in; past all where it is no such tap. [A]"""
    wire = next(wire for wire in car.taken.job.wires if wire.id == name)
    if wire.length_mm is None or wire.length_mm > TAP_MM:
        return math.inf
    nodes = car.compiled.network.nodes
    rated = [
        one.rating_a
        for one in car.compiled.network.elements
        if one.type == "fuse" and one.rating_a and {nodes[one.a], nodes[one.b]} & {a, b}
    ]
    return min(rated, default=math.inf)


def _fuses(car: Car, graph: nx.Graph, ways: Mapping[str, list[str]]) -> dict[str, tuple[str, ...]]:
    """The fuses on the shortest way from a source to each wire, the nearest first."""
    nodes = car.compiled.network.nodes
    found = {}
    for element in car.compiled.network.elements:
        ends = [nodes[end] for end in (element.a, element.b) if nodes[end] in ways] if element.is_wire else []
        if ends:
            found[element.name] = tuple(
                one.part for way in [min((ways[end] for end in ends), key=len)] for one in _fuses_on(graph, way)
            )[::-1]
    return found


def _fuses_on(graph: nx.Graph, way: list[str]) -> list[object]:
    along = [graph[a][b]["element"] for a, b in pairwise(way)]
    return [one for one in along if one is not None and one.type == "fuse" and one.rating_a]


def _short_times(
    car: Car, graph: nx.Graph, ways: Mapping[str, list[str]], ohms: Mapping[str, float]
) -> dict[str, float]:
    """Amps of a dead short at each wire's far end, as times the smallest fuse on its way."""
    nodes = car.compiled.network.nodes
    found = {}
    for element in car.compiled.network.elements:
        ends = [nodes[end] for end in (element.a, element.b)] if element.is_wire else []
        if not ends or not all(end in ways for end in ends):
            continue
        far = max(ends, key=lambda end: ohms[end])
        ratings = [one.rating_a for one in _fuses_on(graph, ways[far])]
        if ratings:
            found[element.name] = 12.6 / (ohms[far] + 0.01) / min(ratings)
    return found


@cache
def _boat() -> tuple[tuple[float, float], ...]:
    """(mm2, amps at 30 °C) of the 105 °C class, thin to thick."""
    folder = files("loomwright") / "tables"
    rows = csv.DictReader((folder / "ampacity_boat.csv").read_text(encoding="utf-8").splitlines())
    found = [(_area_mm2(row["awg"]), float(row["insulation_105_a"])) for row in rows]
    for row in csv.DictReader((folder / "ampacity_small.csv").read_text(encoding="utf-8").splitlines()):
        scale = math.sqrt((105.0 - 30.0) / (105.0 - float(row["ambient_c"])))
        found.append((float(row["size_mm2"]), float(row["insulation_105_a"]) * scale))
    return tuple(sorted(found))


def _area_mm2(awg: str) -> float:
    """Area of a gauge number: the diameter falls by the 39th root of 92 a number, 0.127 mm at 36."""
    number = 1 - len(awg) if set(awg) == {"0"} else int(awg)
    diameter = 0.127 * 92.0 ** ((36 - number) / 39)
    return math.pi / 4.0 * diameter**2


def _stands(car: Car) -> dict[str, float]:
    """Amps each wire stands for ever at the hotter of its ends."""
    ambient = {place.id: place.ambient_c for place in car.job.places}
    place_of = {part.id: part.place for part in car.job.parts}
    classes = {circuit.id: circuit.class_ for circuit in car.job.circuits}
    starting = {wire.id for wire in car.job.wires if classes.get(wire.circuit or "") == "starting"}
    sizes, amps = zip(*_boat(), strict=True)
    found = {}
    for wire in car.taken.job.wires:
        ends = [place_of.get(end.split(".")[0]) for end in (wire.from_, wire.to)]
        warm = max([ambient.get(end or "") or 40.0 for end in ends])
        at_30 = math.exp(np.interp(math.log(wire.size_mm2), np.log(sizes), np.log(amps)))
        stands_a = at_30 * math.sqrt(max(0.0, 105.0 - warm) / 75.0)
        found[wire.id] = stands_a * (_short_time(wire.size_mm2, stands_a, warm) if wire.id in starting else 1.0)
    return found


def _short_time(size_mm2: float, stands_a: float, warm_c: float) -> float:
    """How many times what it stands for ever a wire stands for the time of a crank: one exponential rise."""
    area_m2 = size_mm2 * 1e-6
    watt_per_m = stands_a**2 * 2.3e-8 / area_m2
    slow_s = 3.45e6 * area_m2 * (105.0 - warm_c) / watt_per_m
    return 1.0 / math.sqrt(1.0 - math.exp(-CRANKS_S / slow_s))
