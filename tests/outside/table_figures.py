"""Cells of our tables, limits of joints and stretches, colours, bundles, and how a figure is printed: for the cases."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.job.colours import parse_colour
from loomwright.quantities.printing import for_print
from loomwright.routes.bundles import bundle_mm
from loomwright.tables.joints import joint_limit_ohm, joint_ohm
from loomwright.tables.limits import segment_limit_v
from loomwright.tables.load import read_rows

__all__ = ["CELLS"]

MILLI = 1000.0


def _cell(table: str, row: str, column: str) -> float | str:
    """One cell of a table, by the text of its row's first column."""
    cells = next(cells for cells in read_rows(table) if next(iter(cells.values())) == row)
    try:
        return float(cells[column])
    except ValueError:
        return cells[column]


def _segment_limit_v(segment: str, amps: str = "0") -> float:
    return segment_limit_v(segment, float(amps))


def _joint_mohm(joint: str) -> float:
    return joint_ohm(joint) * MILLI


def _joint_limit_mohm(joint: str) -> float:
    return joint_limit_ohm(joint) * MILLI


def _colour(text: str) -> str:
    return parse_colour(text) or "refused"


def _bundle_mm(wires: str) -> float:
    """The circle round wires, `6x2.4 2x3.7`: how many of which diameter."""
    return bundle_mm(_diameters(wires))[1]


def _bundle_least_mm(wires: str) -> float:
    return bundle_mm(_diameters(wires))[0]


def _bundle_most_mm(wires: str) -> float:
    return bundle_mm(_diameters(wires))[2]


def _diameters(wires: str) -> list[float]:
    groups = (group.split("x") for group in wires.split())
    return [float(each_mm) for count, each_mm in groups for _ in range(int(count))]


def _printed_down(value: str, digits: str) -> float:
    """A current that may be carried, as we print it."""
    return float(for_print(_product(value), side="down", digits=int(digits)))


def _printed_up(value: str, digits: str) -> float:
    """A drop, as we print it."""
    return float(for_print(_product(value), side="up", digits=int(digits)))


def _product(text: str) -> float:
    """`47 x 0.91 x 0.6` worked out."""
    product = 1.0
    for factor in text.split(" x "):
        product *= float(factor)
    return product


CELLS: Mapping[str, Callable[..., float | str]] = {
    "cell": _cell,
    "segment_limit_v": _segment_limit_v,
    "joint_mohm": _joint_mohm,
    "joint_limit_mohm": _joint_limit_mohm,
    "colour": _colour,
    "bundle_mm": _bundle_mm,
    "bundle_least_mm": _bundle_least_mm,
    "bundle_most_mm": _bundle_most_mm,
    "printed_down": _printed_down,
    "printed_up": _printed_up,
}
