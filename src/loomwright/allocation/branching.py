"""What is the least of a sum under rows of whole numbers, where there are thousands of yes-or-noes?

The rows of a puzzle, as `placing` has them, told to a solver that lets the numbers be broken at first, which gives a
bound that no answer can go below, and then cuts and branches until an answer has reached it. Where sums are of
millimetres over hundreds of pins the bound lies within a thousandth of the best answer, which is why this proves in
seconds what a search by yes and no does not in minutes.

The solver reckons in floating point. So its answer is rounded and held against every row in whole numbers, and it
counts as proved only where the bound lies within half a unit of it: the sums are whole numbers.

Source: SCIP, as OR-tools carries it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["Bounded", "Rows", "least_of", "rows_of"]

_UNBOUNDED = 2**60
_HALF = 0.5
_SURE = 0.49
"""How far above the next whole sum the bound must lie, the solver's own rounding taken off. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Sums within bounds. bounds: of each variable.   rows: variables, what each counts, least and most of the sum."""

    bounds: tuple[tuple[int, int], ...]
    rows: tuple[tuple[tuple[int, ...], tuple[int, ...], int, int], ...]

    def hold(self, values: tuple[int, ...]) -> bool:
        """Whether values break no bound and no row."""
        if any(not low <= value <= high for value, (low, high) in zip(values, self.bounds, strict=True)):
            return False
        return all(
            low <= sum(values[one] * weight for one, weight in zip(which, weights, strict=True)) <= high
            for which, weights, low, high in self.rows
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounded:
    """What was found. values: of each variable, none where nothing was.   proved: that no answer has less."""

    values: tuple[int, ...] | None
    proved: bool


def rows_of(proto: Any) -> Rows:
    """The rows of a model made for CP-SAT: sums, sums that hold only where a yes is said, and one yes of several."""
    bounds = tuple((one.domain[0], one.domain[1]) for one in proto.variables)
    rows = []
    for each in proto.constraints:
        if each.has_bool_or():
            rows.append((tuple(each.bool_or.literals), (1,) * len(each.bool_or.literals), 1, _UNBOUNDED))
            continue
        which, weights = tuple(each.linear.vars), tuple(each.linear.coeffs)
        low, high = each.linear.domain[0], each.linear.domain[1]
        for yes in each.enforcement_literal:
            most = sum(weight * bounds[one][weight > 0] for one, weight in zip(which, weights, strict=True))
            which, weights, high = (*which, yes), (*weights, max(most - high, 0)), max(most, high)
        rows.append((which, weights, low, high))
    return Rows(bounds=bounds, rows=tuple(rows))


def least_of(
    asked: Rows,
    terms: tuple[tuple[int, int], ...],
    hint: Mapping[int, int],
    run: Callable[[Callable[[], Any], Callable[[], Any]], Any],
) -> Bounded:
    """Makes one sum least.

    Args:
        terms: variable -> what it counts.
        hint: an answer to begin with; none where none is known.
        run: given the work and how it is stopped, does it and gives what came of it; None where it was not begun.
    """
    # here, since loading it takes a while and most questions have no use for it
    from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]

    solver = pywraplp.Solver.CreateSolver("SCIP")
    ones = [solver.IntVar(float(low), float(high), "") for low, high in asked.bounds]
    for which, weights, low, high in asked.rows:
        row = solver.Constraint(
            float(low) if low > -_UNBOUNDED else -solver.infinity(),
            float(high) if high < _UNBOUNDED else solver.infinity(),
        )
        summed: dict[int, int] = {}
        for one, weight in zip(which, weights, strict=True):
            summed[one] = summed.get(one, 0) + weight
        for one, weight in summed.items():
            row.SetCoefficient(ones[one], float(weight))
    for one, weight in terms:
        solver.Objective().SetCoefficient(ones[one], float(weight))
    solver.Objective().SetMinimization()
    if hint:
        solver.SetHint([ones[one] for one in hint], [float(value) for value in hint.values()])
    # Ctrl+C stays Python's, which stops through `run`
    solver.SetSolverSpecificParametersAsString(f"limits/absgap = {_HALF}\nmisc/catchctrlc = FALSE\n")
    exact = pywraplp.MPSolverParameters()
    exact.SetDoubleParam(exact.RELATIVE_MIP_GAP, 0.0)
    status = run(lambda: solver.Solve(exact), solver.InterruptSolve)
    if status not in (solver.OPTIMAL, solver.FEASIBLE):
        return Bounded(values=None, proved=False)
    values = tuple(round(one.solution_value()) for one in ones)
    if not asked.hold(values):
        return Bounded(values=None, proved=False)
    cost = sum(weight * values[one] for one, weight in terms)
    # a bound less than one below a whole sum is that sum
    return Bounded(values=values, proved=solver.Objective().BestBound() > cost - 1 + _SURE)
