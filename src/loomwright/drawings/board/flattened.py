"""Where on the bench does each place lie, so that every run has its true length and none crosses another?

The runs are a map of the car and may close rings; a loom on the bench has none. Of a ring the run that fewest wires lie
in is opened: it is drawn as a branch of its full length, and the peg at its end bears the name of the place it comes
back to. What is left is a tree. Its longest way is the trunk, laid straight; the branches go to its two sides in turn,
where they share the half turn by how many ends each has, and so do the branches of branches within their share. Shares
of one corner do not overlap and every share is below a half turn, so that no two runs can cross, however long they are.

Source: the equal-angle drawing of a tree, Felsenstein, Inferring Phylogenies, 2004, chapter 34, from memory; the
straight trunk is ours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

import networkx as nx

__all__ = ["Branch", "Flattened", "Peg", "Piece", "flattened"]

_LEAN = pi / 9
"""No branch leaves the trunk flatter than this. [rad]"""

_APART_MM = 260.0
"""Between looms that no run joins, one under the other. [mm]"""

_AGAIN = "\0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One run as it goes into the loom. wires: how many lie in it. [-]   length_mm: true. [mm]"""

    run: str
    one: str
    other: str
    length_mm: float
    wires: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Peg:
    """A place on the bench. place: of the job.   is_again: the end of an opened ring; the place has its peg elsewhere.

    x_mm, y_mm: where, rightwards and down. [mm]   loom: which of those that nothing joins. [-]
    """

    place: str
    x_mm: float
    y_mm: float
    is_again: bool
    loom: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A run on the bench, from a peg nearer the start of the trunk to one further on. start, end: which pegs. [-]

    length_mm: true. [mm]
    """

    run: str
    start: int
    end: int
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flattened:
    """The loom on the bench. width_mm, height_mm: what the pegs span. [mm]"""

    pegs: tuple[Peg, ...]
    branches: tuple[Branch, ...]
    width_mm: float
    height_mm: float


def flattened(pieces: Sequence[Piece]) -> Flattened:
    """The runs laid flat; the upper left of all pegs is at nought.

    Example:
        >>> runs = [Piece(run="R1", one="a", other="b", length_mm=400.0, wires=3)]
        >>> flat = flattened(runs)
        >>> flat.width_mm, flat.height_mm, [peg.place for peg in flat.pegs]
        (400.0, 0.0, ['a', 'b'])
    """
    tree, runs = _opened(pieces)
    spots: dict[str, tuple[float, float]] = {}
    looms: dict[str, int] = {}
    edges: list[tuple[str, str]] = []
    below = 0.0
    for number, names in enumerate(sorted(nx.connected_components(tree), key=lambda one: min(one))):
        found, ways = _laid(tree.subgraph(names))
        top = min(y for _, y in found.values())
        left = min(x for x, _ in found.values())
        high = max(y for _, y in found.values()) - top
        spots |= {name: (x - left, y - top + below) for name, (x, y) in found.items()}
        looms |= dict.fromkeys(found, number)
        edges += ways
        below += high + _APART_MM
    order = {name: number for number, name in enumerate(spots)}
    pegs = tuple(
        Peg(
            place=name.partition(_AGAIN)[0],
            x_mm=x,
            y_mm=y,
            is_again=_AGAIN in name,
            loom=looms[name],
        )
        for name, (x, y) in spots.items()
    )
    branches = tuple(
        Branch(
            run=runs[frozenset((one, other))].run,
            start=order[one],
            end=order[other],
            length_mm=runs[frozenset((one, other))].length_mm,
        )
        for one, other in edges
    )
    return Flattened(
        pegs=pegs,
        branches=branches,
        width_mm=max((peg.x_mm for peg in pegs), default=0.0),
        height_mm=max((peg.y_mm for peg in pegs), default=0.0),
    )


def _opened(pieces: Sequence[Piece]) -> tuple[nx.Graph[str], Mapping[frozenset[str], Piece]]:
    """The tree of places, rings opened where fewest wires lie, and the run of each of its edges."""
    tree: nx.Graph[str] = nx.Graph()
    runs: dict[frozenset[str], Piece] = {}
    joined: nx.utils.UnionFind[str] = nx.utils.UnionFind()
    for piece in sorted(pieces, key=lambda one: (-one.wires, one.length_mm, one.run)):
        end = piece.other
        if joined[piece.one] == joined[end]:
            end = f"{end}{_AGAIN}{piece.run}"
        joined.union(piece.one, end)
        tree.add_edge(piece.one, end, length_mm=piece.length_mm)
        runs[frozenset((piece.one, end))] = piece
    return tree, runs


def _laid(tree: nx.Graph[str]) -> tuple[dict[str, tuple[float, float]], list[tuple[str, str]]]:
    """One loom: where each peg lies, and its branches outward from the start of the trunk."""
    trunk = _trunk(tree)
    spots = {trunk[0]: (0.0, 0.0)}
    edges: list[tuple[str, str]] = []
    for one, other in pairwise(trunk):
        spots[other] = (spots[one][0] + tree.edges[one, other]["length_mm"], 0.0)
        edges.append((one, other))
    on_trunk = set(trunk)
    sides: tuple[list[tuple[str, str, int]], list[tuple[str, str, int]]] = ([], [])
    for name in trunk:
        for child in sorted(set(tree[name]) - on_trunk):
            ends = _ends(tree, child, name)
            lighter = min(sides, key=lambda side: sum(one[2] for one in side))
            lighter.append((name, child, ends))
    for side, up in zip(sides, (-1.0, 1.0), strict=True):
        whole = sum(ends for *_, ends in side)
        at = pi - _LEAN
        for name, child, ends in side:
            share = (pi - 2 * _LEAN) * ends / whole
            _spread(tree, (name, child), (at - share, at), up, spots, edges)
            at -= share
    return spots, edges


def _spread(
    tree: nx.Graph[str],
    first: tuple[str, str],
    share: tuple[float, float],
    up: float,
    spots: dict[str, tuple[float, float]],
    edges: list[tuple[str, str]],
) -> None:
    """A branch and all beyond it, within its share of the half turn."""
    waiting = [(first, share)]
    while waiting:
        (name, child), (low, high) = waiting.pop()
        x, y = spots[name]
        long_mm, turn = tree.edges[name, child]["length_mm"], (low + high) / 2
        spots[child] = (x + long_mm * cos(turn), y + up * long_mm * sin(turn))
        edges.append((name, child))
        further = [other for other in sorted(tree[child]) if other != name]
        ends = {other: _ends(tree, other, child) for other in further}
        at, whole = high, sum(ends.values())
        for other in further:
            part = (high - low) * ends[other] / whole
            waiting.append(((child, other), (at - part, at)))
            at -= part


def _ends(tree: nx.Graph[str], name: str, before: str) -> int:
    """How many ends hang at a place, seen from the one before it."""
    count, waiting = 0, [(name, before)]
    while waiting:
        here, came = waiting.pop()
        further = [(other, here) for other in tree[here] if other != came]
        count += not further
        waiting += further
    return count


def _trunk(tree: nx.Graph[str]) -> list[str]:
    """The longest way from one end of a tree to another."""
    far = _farthest(tree, min(tree))
    other = _farthest(tree, far)
    return list(nx.shortest_path(tree, *sorted((far, other))))


def _farthest(tree: nx.Graph[str], name: str) -> str:
    long = nx.single_source_dijkstra_path_length(tree, name, weight="length_mm")
    return max(sorted(long), key=lambda one: long[one])
