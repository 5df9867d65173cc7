"""What are the gear-change lines of one programme, and what is each of them called?

One line up and one down a pair of gears, one to lock and one to unlock the converter a gear: road speeds at pedal
breakpoints. Their names are the same in files, sheets, findings and on the chart: `up 1-2`, `down 2-1`, `lock 3`,
`unlock 3`, and `kick 2-1` for the speed below which a kick-down takes the lower gear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["Lines", "NamedLine", "line_places", "named_lines"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The lines of one programme; road speeds at the pedal breakpoints.

    pedal_frac: the breakpoints, rising from 0 to 1. [0..1]
    up_kmh, down_kmh: for each pair of gears, 1-2 first, one speed a breakpoint. [km/h]
    kick_kmh: for each pair, below which a kick-down takes the lower gear. [km/h]   kick_frac: pedal for it. [0..1]
    lock_kmh, unlock_kmh: for each gear; a gear without lock-up has noughts. [km/h]
    min_gap_s, min_back_s: least time between changes, and before one is undone. [s]
    highest: gear this programme uses; 0 for all, less where overdrive is kept out. [-]
    """

    programme: str
    pedal_frac: tuple[float, ...]
    up_kmh: tuple[tuple[float, ...], ...]
    down_kmh: tuple[tuple[float, ...], ...]
    kick_kmh: tuple[float, ...]
    kick_frac: float
    lock_kmh: tuple[tuple[float, ...], ...]
    unlock_kmh: tuple[tuple[float, ...], ...]
    min_gap_s: float = 1.0
    min_back_s: float = 2.0
    highest: int = 0


class NamedLine(NamedTuple):
    """One line by its name. kind: up, down, lock or unlock.   gear: that the car is in at it. [-]"""

    name: str
    kind: str
    gear: int
    speeds_kmh: tuple[float, ...]


def named_lines(lines: Lines) -> tuple[NamedLine, ...]:
    """Every line but the kick-downs: up, down, lock, unlock, each from the lowest gear on."""
    tables = {"up": lines.up_kmh, "down": lines.down_kmh, "lock": lines.lock_kmh, "unlock": lines.unlock_kmh}
    return tuple(
        NamedLine(name, kind, place + (2 if kind == "down" else 1), tables[kind][place])
        for name, kind, place in line_places(len(lines.lock_kmh))
        if kind in tables
    )


def line_places(gears: int) -> Iterator[tuple[str, str, int]]:
    """Name, kind and place in its table of every line of a box, kick-downs last.

    Args:
        gears: of the box. [-]
    Example:
        >>> [name for name, _, _ in line_places(2)]
        ['up 1-2', 'down 2-1', 'lock 1', 'lock 2', 'unlock 1', 'unlock 2', 'kick 2-1']
    """
    yield from ((f"up {k}-{k + 1}", "up", k - 1) for k in range(1, gears))
    yield from ((f"down {k + 1}-{k}", "down", k - 1) for k in range(1, gears))
    yield from ((f"{kind} {gear}", kind, gear - 1) for kind in ("lock", "unlock") for gear in range(1, gears + 1))
    yield from ((f"kick {k + 1}-{k}", "kick", k - 1) for k in range(1, gears))
