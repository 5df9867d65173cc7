"""Which needs have a pin, and which wires wait for one?

In: rows, whether or not they fit each other. A need has a pin where its row names one, where one
is decided for it, or where a wire is drawn from its point to a pin. A wire with one end at a need's point and the other
blank is led to that need's pin; while there is none it waits, and nobody has to type its end.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.choices import choice_groups, group_of
from loomwright.job.decided import is_at_need
from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin, Need, Wire

__all__ = ["PinsGiven", "pins_given", "pins_given_in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PinsGiven:
    """How far the pins are. missing: needs without one, a choice by its group; of: all, counted so. [-]

    led: wires whose blank end is led to a pin.   waiting: those whose need has none yet.
    """

    missing: tuple[str, ...]
    of: int
    led: frozenset[str]
    waiting: frozenset[str]

    @property
    def done(self) -> int:
        """How many have a pin. [-]"""
        return self.of - len(self.missing)


def pins_given_in(job: Job) -> PinsGiven:
    """How far the pins of a job are, with the decisions that it keeps."""
    kept = {(row.sheet, row.row, row.column) for row in job.decisions}
    wires = [row for row in job.wires if row.fitted != "removed"]
    return pins_given(job.needs, wires, job.controller_pins, kept)


def pins_given(
    needs: Sequence[Need],
    wires: Iterable[Wire],
    pins: Iterable[ControllerPin],
    decided: Collection[tuple[str, str, str]],
) -> PinsGiven:
    """How far the pins are.

    Args:
        decided: (sheet, row, column) of the decisions that are kept.
    """
    points = {f"{pin.part}.{pin.terminal}" for pin in pins}
    at_part: dict[str, list[Need]] = {}
    for need in needs:
        at_part.setdefault(need.part, []).append(need)
    have = {need.id for need in needs if need.pin or ("needs", need.id, "pin") in decided}
    open_ends: dict[str, list[str]] = {}
    for wire in wires:
        for end, other in ((wire.from_, wire.to), (wire.to, wire.from_)):
            if not end or (other and other not in points):
                continue
            met = [need.id for need in at_part.get(end.partition(".")[0], ()) if is_at_need(need, end)]
            if other:
                have.update(met)
            elif met:
                open_ends[wire.id] = met
    choices = choice_groups(needs)
    units: dict[str, bool] = {}
    for need in needs:
        unit = group_of(need) if group_of(need) in choices else need.id
        units[unit] = units.get(unit, False) or need.id in have
    led = frozenset(wire for wire, met in open_ends.items() if any(need in have for need in met))
    return PinsGiven(
        missing=tuple(sorted((unit for unit, given in units.items() if not given), key=id_order)),
        of=len(units),
        led=led,
        waiting=frozenset(open_ends) - led,
    )
