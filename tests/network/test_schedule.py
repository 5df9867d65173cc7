"""The order of elimination: whole, true to what it joins, and by least fill where much touches much."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from loomwright.network.schedule import plan_elimination


def cross_fed(nodes: int, feeds: int, seed: int) -> list[tuple[int, int]]:
    """A tree with so many more joints between any two of its nodes."""
    drawn = random.Random(seed)
    tree = [(node, drawn.randrange(max(0, node - 6), node)) for node in range(1, nodes)]
    return tree + [(drawn.randrange(nodes), drawn.randrange(nodes)) for _ in range(feeds)]


@pytest.mark.parametrize("seed", range(5))
def test_each_node_goes_once_and_joins_the_neighbours_it_has_by_then(seed: int):
    touches = cross_fed(60, 12, seed)
    ranks = [random.Random(seed + 100).choice((0, 1, 2)) for _ in range(60)]
    plan = plan_elimination(60, touches, ranks)
    assert sorted(plan.order) == list(range(60))
    around: dict[int, set[int]] = {node: set() for node in range(60)}
    for a, b in touches:
        around[a] |= {b} - {a}
        around[b] |= {a} - {b}
    for node, near, pairs in zip(plan.order, plan.near, plan.pairs, strict=True):
        others = [other for other, _ in near]
        assert set(others) == around[node]
        assert [plan.edges[edge] for _, edge in near] == [(min(node, other), max(node, other)) for other in others]
        assert [set(plan.edges[edge]) for edge in pairs] == [{a, b} for a, b in combinations(others, 2)]
        for other in others:
            around[other] = (around[other] | around[node]) - {node, other}


def test_of_equal_degree_a_node_whose_neighbours_all_touch_goes_first():
    # six nodes that each touch six others, which do not touch; and seven that all touch: six neighbours each
    crossed = [(one, other) for one in range(6) for other in range(6, 12)]
    plan = plan_elimination(19, [*crossed, *combinations(range(12, 19), 2)], [2] * 19)
    assert set(plan.order[:7]) == set(range(12, 19))
