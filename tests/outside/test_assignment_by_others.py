"""Where nothing but costs is asked, the engine gives what another program's assignment solver gives.

Beside: `scipy.optimize.linear_sum_assignment`, a shortest augmenting path method (Crouse, 2016), another library and
another method.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from tests.outside.assigning import assigned


@pytest.mark.parametrize(("workers", "tasks", "seed"), [(6, 6, 1), (9, 7, 2), (15, 15, 3), (40, 30, 4), (60, 60, 5)])
def test_the_least_cost_is_that_of_another_solver(workers: int, tasks: int, seed: int) -> None:
    dice = Random(seed)
    costs = [[dice.randint(0, 500) for _ in range(tasks)] for _ in range(workers)]
    ours = assigned(costs)
    rows, columns = linear_sum_assignment(np.array(costs))
    assert ours.costs[1] == sum(costs[row][column] for row, column in zip(rows, columns, strict=True))
    assert sum(costs[int(worker[1:])][int(task[1:])] for task, worker in ours.placed.items()) == ours.costs[1]
    assert len(set(ours.placed.values())) == tasks
