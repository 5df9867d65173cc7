"""What pull must a crimp stand?

By gauge, as printed in newtons and in pounds; a row whose units differ is told (`at_odds`) and its pounds count, which
are the round figure. A size between two rows is asked what the next thicker row asks, which is the safe side.

Source: crimp-sheets, per row of `crimp_pull.csv`.
"""

from __future__ import annotations

from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import gauge_number
from loomwright.tables.load import read_rows

__all__ = ["at_odds", "is_at_odds", "least_pull_n"]

_LB_N = 4.448222
_ROUND_FRAC = 0.01
_SAME = 1.0 - 1e-3


def at_odds() -> tuple[str, ...]:
    """Gauges whose printed newtons and pounds differ by more than a hundredth.

    Example:
        >>> at_odds()
        ('00',)
    """
    return tuple(
        row["awg"]
        for row in read_rows("crimp_pull")
        if is_at_odds(float(row["commercial_n"]), float(row["commercial_lb"]))
    )


def is_at_odds(pull_n: float, pounds: float) -> bool:
    """Whether a pull printed in newtons and in pounds differs from itself by more than a hundredth.

    Args:
        pull_n: as printed. [N]
        pounds: as printed beside it, in pounds of force. [-]
    Example:
        >>> is_at_odds(1235.0, 300.0), is_at_odds(222.5, 50.0)
        (True, False)
    """
    return abs(pull_n - pounds * _LB_N) > _ROUND_FRAC * pounds * _LB_N


def least_pull_n(size_mm2: float) -> float:
    """The pull a crimp on a size of wire must stand. [N]

    Args:
        size_mm2: conductor area. [mm2]
    Raises:
        OutOfReach: thinner than 26 or thicker than 00 AWG.
    Source:
        crimp-sheets, commercial column.
    Example:
        >>> least_pull_n(2.081), round(least_pull_n(67.4), 1)
        (222.5, 1334.5)
    """
    rows = [(gauge_size_mm2(gauge_number(row["awg"])), row) for row in read_rows("crimp_pull")]
    rows.sort(key=lambda one: one[0])
    if not rows[0][0] * _SAME <= size_mm2 <= rows[-1][0] / _SAME:
        raise OutOfReach("size_mm2", size_mm2, f"{rows[0][0]:.3g} to {rows[-1][0]:.3g} mm2")
    row = next(row for area_mm2, row in rows if area_mm2 / _SAME >= size_mm2)
    return float(row["commercial_lb"]) * _LB_N if row["awg"] in at_odds() else float(row["commercial_n"])
