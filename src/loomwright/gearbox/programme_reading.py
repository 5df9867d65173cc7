"""Which programmes does the gearbox have, and what is each drawn from?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.gearbox.box import Programme
from loomwright.gearbox.figures_read import Faults, figure
from loomwright.job.nearest import nearest
from loomwright.tables.load import read_rows

__all__ = ["OWN", "programmes_of", "wishes"]

OWN = "own"
"""The wish of a programme that names its own figures."""
_LIMITS: Mapping[str, tuple[float, float]] = {
    "light": (0.8, 2.5),
    "full_frac": (0.4, 1.0),
    "bend": (0.4, 4.0),
    "gap_frac": (0.02, 0.6),
    "kick_frac": (0.5, 1.0),
    "lock_from": (1.0, 10.0),
    "lock_rpm": (800.0, 6000.0),
    "min_gap_s": (0.2, 5.0),
    "min_back_s": (0.2, 10.0),
}
_USUAL_TIMES = {"min_gap_s": 1.0, "min_back_s": 2.0}


def wishes() -> tuple[str, ...]:
    """The wishes there are figures for."""
    return tuple(row["wish"] for row in read_rows("gear_wishes"))


def programmes_of(faults: Faults, entries: Mapping[str, Any], gears: int) -> tuple[Programme, ...]:
    """The programmes of a file; `normal` alone where it names none.

    Args:
        gears: of the box. [-]
    """
    named = entries or {"normal": {"wish": "normal"}}
    return tuple(_programme(faults, name, faults.table(named, name, "programmes."), gears) for name in named)


def _programme(faults: Faults, name: str, entries: Mapping[str, Any], gears: int) -> Programme:
    under = f"programmes.{name}."
    faults.strange(entries, ("wish", "highest", *_LIMITS), under)
    wish = str(entries.get("wish", name if name in wishes() else "normal"))
    if wish not in (*wishes(), OWN):
        near = nearest(wish, wishes())
        mend = f"Write {near}" if near else f"Write {OWN} and give its figures"
        faults.add(under + "wish", wish, " ".join((*wishes(), OWN)), mend)
        wish = "normal"
    row = next(row for row in read_rows("gear_wishes") if row["wish"] == ("normal" if wish == OWN else wish))
    found = {
        word: figure(faults, entries, word, *limits, under=under, usual=_USUAL_TIMES.get(word) or float(row[word]))
        for word, limits in _LIMITS.items()
    }
    highest = figure(faults, entries, "highest", 1.0, float(gears), under=under, usual=0.0)
    if highest != int(highest):
        faults.add(f"{under}highest", f"{highest:g}", f"a gear, 1 to {gears}", "Type a whole number")
    return Programme(
        name=name,
        wish=wish,
        light=found["light"],
        full_frac=found["full_frac"],
        bend=found["bend"],
        gap_frac=found["gap_frac"],
        kick_frac=found["kick_frac"],
        lock_from=int(found["lock_from"]),
        lock_rpm=found["lock_rpm"],
        min_gap_s=found["min_gap_s"],
        min_back_s=found["min_back_s"],
        highest=int(highest),
    )
