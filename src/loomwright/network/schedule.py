"""In which order are the nodes eliminated, and which edges does each elimination touch?

Over every element that could ever act, so that one order serves every state. Nodes that touch only elements that never
change (wires, joints, straps) come first: they are eliminated once a job, not once a state; then those that touch
contacts but only straight lines: once for each way the contacts lie, not once a Newton step; then the rest. Method:
star-mesh, see `kernel`. Each part goes by least degree, and a node whose degree has grown past a bound is left to the
next, where a node with open contacts costs nothing. What is left at last, the core of a loom with cross-feeds, goes by
least fill, the edges a node would newly make (Tinney and Walker's third scheme, 1967, from memory): a tenth to a third
fewer pairs than by least degree in the looms of the benchmarks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import combinations

__all__ = ["Schedule", "plan_elimination"]

_MOST_NEIGHBOURS = 4
_BENT = 2


@dataclass(frozen=True, slots=True)
class Schedule:
    """The order and its edges.

    first_live: number of steps that are done once a job. first_bent: number done by the time only nodes of elements
    that are no straight line are left.
    """

    order: tuple[int, ...]
    first_live: int
    first_bent: int
    near: tuple[tuple[tuple[int, int], ...], ...]
    pairs: tuple[tuple[int, ...], ...]
    edges: tuple[tuple[int, int], ...]


def plan_elimination(
    nodes: int, touches: Iterable[tuple[int, int]], ranks: Sequence[int], tied: Collection[int] = ()
) -> Schedule:
    """The order of elimination and, step by step, the neighbours and the edges between them.

    Args:
        nodes: count of nodes, the reference not among them. [-]
        touches: node pairs joined by an element; pairs with the reference left out.
        ranks: for each node 0 where nothing that changes touches it, 1 where contacts do, 2 where an element that is no
            straight line does.
        tied: nodes that nothing cuts off the reference; of equal ones they go last, so that a load behind an open
            contact is met from the end that hangs (`held`).
    Returns:
        The schedule; neighbours as (node, edge), pairs as edges in the order (1,2) (1,3) ... (2,3) ...
    """
    still: list[set[int]] = [set() for _ in range(nodes)]
    edge_of: dict[tuple[int, int], int] = {}
    for a, b in touches:
        if a != b:
            still[a].add(b)
            still[b].add(a)
            edge_of.setdefault((min(a, b), max(a, b)), len(edge_of))
    order: list[int] = []
    near: list[tuple[tuple[int, int], ...]] = []
    done = [False] * nodes

    def edge(a: int, b: int) -> int:
        return edge_of.setdefault((min(a, b), max(a, b)), len(edge_of))

    def remove(node: int) -> None:
        around = sorted(still[node])
        near.append(tuple((other, edge(node, other)) for other in around))
        for one in around:
            still[one].update(around)
            still[one] -= {one, node}
        order.append(node)
        done[node] = True

    def run(among: set[int], most: int) -> None:
        heap = [(len(still[node]), node in tied, node) for node in among]
        heapify(heap)
        while heap:
            degree, _, node = heappop(heap)
            if done[node] or degree != len(still[node]) or degree > most:
                continue  # stale: pushed again below whenever its degree changed
            around = tuple(still[node])
            remove(node)
            for other in around:
                if other in among:
                    heappush(heap, (len(still[other]), other in tied, other))

    run({node for node in range(nodes) if ranks[node] == 0}, _MOST_NEIGHBOURS)
    first_live = len(order)
    run({node for node in range(nodes) if not done[node] and ranks[node] < _BENT}, _MOST_NEIGHBOURS)
    first_bent = len(order)
    run({node for node in range(nodes) if not done[node]}, _MOST_NEIGHBOURS)
    for node in _by_least_fill(still, [node for node in range(nodes) if not done[node]], tied):
        remove(node)
    # neighbours in the order they go: so edges that are touched one after the other lie side by side more often
    turn = {node: step for step, node in enumerate(order)}
    sorted_near = [tuple(sorted(group, key=lambda item: turn[item[0]])) for group in near]
    pairs = [tuple(edge(a, b) for (a, _), (b, _) in combinations(group, 2)) for group in sorted_near]
    ends = sorted(edge_of, key=lambda pair: edge_of[pair])
    return Schedule(tuple(order), first_live, first_bent, tuple(sorted_near), tuple(pairs), tuple(ends))


def _by_least_fill(around: Sequence[set[int]], left: Sequence[int], tied: Collection[int]) -> Iterator[int]:
    """The nodes that are left in their order: always the one that newly joins the fewest pairs of its neighbours.

    Neighbours are bits of a whole number, so that those two nodes share are counted in one step. Only what touches the
    node that goes is counted anew; further off a count may be too high for a while, which costs a little fill.
    """
    place = {node: k for k, node in enumerate(left)}
    near = [sum(1 << place[other] for other in around[node]) for node in left]

    def fill(k: int) -> tuple[int, int, bool]:
        own = near[k]
        degree = own.bit_count()
        joined_twice = sum((near[other] & own).bit_count() for other in _bits(own))
        return (degree * (degree - 1) - joined_twice) // 2, degree, left[k] in tied

    now = [fill(k) for k in range(len(left))]
    heap = [(count, k) for k, count in enumerate(now)]
    heapify(heap)
    done = [False] * len(left)
    while heap:
        count, k = heappop(heap)
        if done[k] or count != now[k]:
            continue  # stale: pushed again below whenever its count changed
        done[k] = True
        own = near[k]
        for other in _bits(own):
            near[other] = (near[other] | own) & ~(1 << other | 1 << k)
        for other in _bits(own):
            now[other] = fill(other)
            heappush(heap, (now[other], other))
        yield left[k]


def _bits(whole: int) -> Iterator[int]:
    """The places of the bits that are set. [-]"""
    while whole:
        last = whole & -whole
        yield last.bit_length() - 1
        whole ^= last
