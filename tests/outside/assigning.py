"""The engine that gives pins, asked assignment problems that others print: by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.allocation.engine import Alternative, Goal, Limit, Puzzle, Unit
from loomwright.allocation.placing import Placed, place

__all__ = ["ASSIGNING", "assigned"]


def assigned(costs: list[list[int]], teams: list[list[int]] | None = None, most: int = 0) -> Placed:
    """Tasks given to workers at least cost; rows are workers."""
    tasks = range(len(costs[0]))
    seats = {f"t{task}": {f"w{worker}": (f"w{worker}",) for worker in range(len(costs))} for task in tasks}
    units = tuple(Unit(name=f"t{task}", alternatives=(Alternative(name="", items=(f"t{task}",)),)) for task in tasks)
    goals = (
        Goal(name="built", left_out={unit.name: 1 for unit in units}),
        Goal(name="cost", seats={(f"t{t}", f"w{w}"): row[t] for w, row in enumerate(costs) for t in tasks}),
    )
    limits = tuple(
        Limit(name=f"team {number}", most=most, takes={(f"t{t}", f"w{w}"): 1 for w in team for t in tasks})
        for number, team in enumerate(teams or [])
    )
    found = place(Puzzle(units=units, seats=seats, goals=goals, limits=limits))
    assert found is not None
    assert found.left_out == ()
    assert all(found.proved)
    return found


def _rows(text: str) -> list[list[int]]:
    return [[int(word) for word in row.split()] for row in text.split("/")] if text else []


def _cost(costs: str, teams: str = "", most: str = "0") -> float:
    return float(assigned(_rows(costs), _rows(teams), int(most)).costs[1])


def _worker(costs: str, task: str, teams: str = "", most: str = "0") -> float:
    return float(assigned(_rows(costs), _rows(teams), int(most)).placed[f"t{task}"][1:])


ASSIGNING: Mapping[str, Callable[..., float]] = {"assignment_cost": _cost, "assigned_to": _worker}
"""Name of a figure -> what gives it."""
