"""Which circuits meet at nodes that neither a supply nor a metal always holds?

Two circuits act on each other through the volts of what always ties them, which all the rest of the car loads one way,
or where some node hangs on loads alone: a lost earth that lamps share, a coil between two switched feeds. Such nodes,
with all that joins them but for what is tied, are an *island*; what is switched on one decides nothing on another.

In: a compiled network, its tied nodes, what carries nothing in any state. Out: the elements at each island.
"""

from __future__ import annotations

from collections.abc import Container

import networkx as nx

from loomwright.network.compiled import Compiled

__all__ = ["islands_of"]


def islands_of(compiled: Compiled, tied: Container[int], idle: Container[int]) -> tuple[frozenset[int], ...]:
    """The elements of each island, those that end at what is tied with them. [-]

    Args:
        tied: nodes that are always joined to a battery's post.
        idle: elements that carry nothing in any state.
    """
    graph: nx.Graph[int] = nx.Graph()
    ends: list[tuple[int, list[int]]] = []
    for index, (a, b) in enumerate(zip(compiled.arrays.a.tolist(), compiled.arrays.b.tolist(), strict=True)):
        loose = [node for node in (a, b) if node not in tied]
        if index in idle or a == b or not loose:
            continue
        nx.add_path(graph, loose)
        ends.append((index, loose))
    island_of = {node: k for k, nodes in enumerate(nx.connected_components(graph)) for node in nodes}
    found: dict[int, set[int]] = {}
    for index, loose in ends:
        found.setdefault(island_of[loose[0]], set()).add(index)
    return tuple(frozenset(elements) for elements in found.values())
