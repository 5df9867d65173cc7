"""Where does the copper line beside a wire run, and how thick is it?

It follows the wire at one side, the left where its label stands, so that the label to the right stays free. Its
thickness follows the current: a hair where there are volts and no current, then by the logarithm, since currents on
one drawing go from a sensor's milliamperes to a starter's hundreds of amperes.
"""

from __future__ import annotations

from itertools import pairwise
from math import log10

from loomwright.drawings.painting.wires import WIRE_MM
from loomwright.drawings.symbols.items import Points

__all__ = ["beside", "thickness_mm"]

_HAIR_MM = 0.28
_MOST_MM = 1.9
_FIRST_A = 0.1
_GAP_MM = 0.28


def thickness_mm(current_a: float) -> float:
    """How thick the copper line of a current is; a hair where there is none. [mm]

    Args:
        current_a: either way. [A]
    Example:
        >>> [round(thickness_mm(amps), 2) for amps in (0.0, 1.0, 10.0, 100.0)]
        [0.28, 0.85, 1.38, 1.9]
    """
    return min(_MOST_MM, _HAIR_MM + 0.548 * log10(1.0 + abs(current_a) / _FIRST_A))


def beside(points_mm: Points, wide_mm: float, label_mm: float | None = None) -> Points:
    """The corners of a line of that width beside a wire with these corners.

    Args:
        points_mm: corners of the wire, straight pieces across or down between them. [mm]
        wide_mm: of the line. [mm]
        label_mm: where across the wire's label stands; the piece there has the line on its left. [mm]
    Example:
        >>> beside(((10.0, 0.0), (10.0, 20.0)), 0.29)
        ((9.0, 0.0), (9.0, 20.0))
    """
    off = WIRE_MM / 2 + _GAP_MM + wide_mm / 2
    pieces = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points_mm)]
    if not pieces:
        return points_mm
    labelled = [piece for piece, (x, _) in zip(pieces, points_mm, strict=False) if piece[1] and x == label_mm]
    down = max(labelled or pieces, key=lambda piece: abs(piece[1]))[1]
    side = off if down >= 0 else -off
    normals = [_normal(piece, side) for piece in pieces]
    found = []
    for number, (x, y) in enumerate(points_mm):
        before, after = normals[max(0, number - 1)], normals[min(number, len(normals) - 1)]
        if before == after:
            found.append((x + before[0], y + before[1]))
        else:
            # a corner: each piece moves the corner along its own normal
            found.append((x + before[0] + after[0], y + before[1] + after[1]))
    return tuple((round(x, 3), round(y, 3)) for x, y in found)


def _normal(piece: tuple[float, float], off: float) -> tuple[float, float]:
    """How far a straight piece is moved to its side."""
    across, down = piece
    if abs(down) >= abs(across):
        return (-off if down >= 0 else off, 0.0)
    return (0.0, off if across >= 0 else -off)
