"""What should the table say next?

In: cells and, where there is one, the table as it is. Out: a factor for every cell and why.
Method: over the cells with data the proposed logs p make least  sum((p - c)² / s²) + sum((p_i - p_j)² / step²)  over
neighbours that both have data: what is well known stays, what is thin leans on its neighbours. A cell whose interval
holds "no change" and whose smoothed figure lies within it stays as it was; none is changed by more than the limit of
one pass; one without data stays as it was and says so. Nothing is carried into cells that were not driven.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.logs.cells import Cell, Grid

__all__ = ["Proposed", "proposed"]

_STEP = 0.03
_TO_SPREAD = 2.0 * 1.96


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposed:
    """What one cell is to become.

    rpm: engine speed of its breakpoint.   load: manifold pressure of it, kPa. [-]   factor: on what stands there. [-]
    old, new: the table's figure. [-]   says: why.
    """

    rpm: float
    load: float
    factor: float
    says: str
    old: float | None = None
    new: float | None = None


def proposed(
    cells: Sequence[Cell], grid: Grid, limits: Mapping[str, float], table: Sequence[Sequence[float]] | None = None
) -> tuple[Proposed, ...]:
    """A factor for every cell, in the order of the cells.

    Args:
        cells: of the grid, low loads first.
        grid: the breakpoints.
        limits: `most_change`.
        table: what stands there now, a row a load. [-]
    """
    known = [k for k, cell in enumerate(cells) if cell.factor is not None]
    smooth = dict(zip(known, _smoothed(cells, known, len(grid.rpm)), strict=True))
    most = limits["most_change"]
    found = []
    for k, cell in enumerate(cells):
        factor, says = 1.0, f"as it was: {cell.why}"
        if k in smooth:
            wanted = float(np.exp(smooth[k]))
            factor = min(max(wanted, 1.0 - most), 1.0 + most)
            says = f"smoothed from {cell.visits} visits"
            if not cell.is_clear:
                factor, says = 1.0, "as it was: the interval holds no change"
            elif factor != wanted:
                says = f"wants {100.0 * (wanted - 1.0):+.1f} %, held to {100.0 * most:g} % a pass"
        old = None if table is None else table[k // len(grid.rpm)][k % len(grid.rpm)]
        new = None if old is None else old * factor
        found.append(Proposed(rpm=cell.rpm, load=cell.load, factor=factor, says=says, old=old, new=new))
    return tuple(found)


def _smoothed(cells: Sequence[Cell], known: Sequence[int], width: int) -> list[float]:
    if not known:
        return []
    place = {k: number for number, k in enumerate(known)}
    told = np.array([np.log(cells[k].factor or 1.0) for k in known])
    spread = np.array([np.log((cells[k].high or 1.0) / (cells[k].low or 1.0)) / _TO_SPREAD for k in known])
    normal = np.diag(1.0 / spread**2)
    for k in known:
        beside = [k + width] + ([k + 1] if (k + 1) % width else [])
        for other in beside:
            if other in place:
                a, b = place[k], place[other]
                normal[[a, b], [a, b]] += 1.0 / _STEP**2
                normal[a, b] -= 1.0 / _STEP**2
                normal[b, a] -= 1.0 / _STEP**2
    return [float(figure) for figure in np.linalg.solve(normal, told / spread**2)]
