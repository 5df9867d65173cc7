"""Which reading would tell most of where the fault is, for its trouble?

What an instrument shows is counted in steps of three times its usual error, each fault weighing what it is likely. How
much a reading tells is the entropy of that, less what is left of it within one place: that a wire has 1 ohm or 3 in it
changes nothing about where to put a hand. Every switch to be moved takes 0.15 bit off, a second probe or a clamp 0.05.
Where no reading of the car as it stands tells much, something is taken off first (`opened_points`), or the battery
(`ohms_next`); in a state in which a wire may burn meanwhile none is asked for, and a fuse that would blow is trouble.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import isinf

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.bits_told import bits_told, left_bits
from loomwright.proving.fault_table import FaultTable, table_of
from loomwright.proving.fitting import Probe, usual_error
from loomwright.proving.live_shorts import FUSE_BITS, is_too_risky, may_burn
from loomwright.proving.ohms_between import OhmsBetween
from loomwright.proving.put_off import LAMP
from loomwright.proving.suspects import Suspect
from loomwright.proving.within_reach import WithinReach, within_reach
from loomwright.quantities import for_print
from loomwright.states.asking.scene import Scene

__all__ = [
    "AT_REST",
    "MOST_NEXT",
    "MOST_WEIGHED",
    "REACH_BITS",
    "TURN_BITS",
    "Block",
    "NextPoint",
    "best_points",
    "blocks_of",
    "is_read",
    "likeliest",
    "next_points",
    "places_of",
    "shown_as",
    "shown_there",
]

AT_REST = "everything at rest"
MOST_NEXT = 5
"""Readings that are offered [-]."""
TURN_BITS = 0.15
"""Trouble of one switch to be moved, against what a reading tells [bit]."""
Figures = NDArray[np.float64]
Numbers = NDArray[np.int64]
_KEPT_FRAC = 1e-6
MOST_WEIGHED = 300
"""Faults a next reading is weighed by [-]."""
_LEFT_FRAC = 0.002
"""Odds of all the faults together that a next reading need not tell apart [0..1]."""
_FIRST = 3
_MOST_OF_BLOCK = 6
_LEAST_BITS = 0.02
REACH_BITS = 0.05
"""Trouble of a second probe or a clamp, against what a reading tells [bit]."""
_MILLIVOLTS_V, _MILLI = 0.2, 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NextPoint:
    """A reading worth taking. point: or the wire the clamp is round, or the terminal whose wires are all in it.
    to: the second probe, else the battery's post; of a clamp, the end it is at, where that matters.

    measure: `volts`, `clamp` or `ohms`.   when: the state.   off: what comes off first, as in the sheet `readings`.
    put: the same in words.   bits: what it is expected to tell of the place. [-]
    worth: the same less the trouble of it. [-]   expected: with no fault, in `unit`.
    """

    point: str
    to: str = ""
    measure: str = "volts"
    when: str = AT_REST
    off: tuple[str, ...] = ()
    put: str = ""
    bits: float
    worth: float
    expected: float
    unit: str = "V"

    @property
    def does(self) -> str:
        """What the instrument is put to, in words."""
        if self.measure == "clamp":
            wires = f"all wires at {self.point} together" if "." in self.point else self.point
            return f"clamp round {wires}" + (f" at {self.to}" if self.to else "")
        if self.measure == "ohms":
            return f"ohms from {self.point} to {self.to}"
        return f"{self.point} to {self.to}" if self.to else self.point

    @property
    def says(self) -> str:
        """The reading in words: what comes off, where the instrument goes, and what is there if it is sound."""
        first = f"{self.put}; " if self.put else ""
        return f"{first}{self.does}, {self.when}; {shown_as(self.expected, self.unit)} if that is sound"

    @property
    def state(self) -> str:
        """The state as a condition, blank at rest."""
        return "" if self.when == AT_REST else self.when


def shown_as(value: float, unit: str) -> str:
    """A figure as the instrument shows it, small volts in millivolts, ohms that are none as open.

    Args:
        value: in `unit`.
    Example:
        >>> shown_as(0.01234, "V"), shown_as(12.6, "V"), shown_as(0.4, "A"), shown_as(4700.0, "ohm")
        ('12.3 mV', '12.60 V', '0.40 A', '4700 Ω')
    """
    if unit == "ohm":
        return "open" if isinf(value) else f"{for_print(value)} Ω"
    if unit == "V" and 0.0 < abs(value) < _MILLIVOLTS_V:
        return f"{_MILLI * value:.1f} mV"
    return f"{value:.2f} {unit}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Readings of one manner in one state. shown: by reading and fault, the sound car first. [V, A]

    points: what each is put to, and the second probe.
    """

    manner: str
    shown: Figures
    points: Sequence[tuple[str, str]]


def next_points(
    scene: Scene,
    table: FaultTable,
    odds: Figures,
    probes: Sequence[Probe],
    between: OhmsBetween,
    reach: WithinReach | None = None,
) -> list[NextPoint]:
    """The readings that tell most of the places that are left apart, less the trouble of taking them.

    Args:
        odds: of each fault of the table. [0..1]
        probes: what was read already; the car stands as it did for the last of them.
        between: the ohms of joints that have gone high, as far as they are known.
        reach: what can be read, where it is known already.
    """
    reach = within_reach(scene) if reach is None else reach
    likely, weights = likeliest(odds, _LEFT_FRAC, min(MOST_WEIGHED, int((odds > _KEPT_FRAC).sum())))
    places = places_of([table.suspects[int(k)] for k in likely])
    rows, left = np.array([0, *likely]), left_bits(weights, places)
    now: Mapping[str, str] = probes[-1].state if probes else {}
    found: list[NextPoint] = []
    for trouble, s, away in _by_trouble(table, now):
        if len(found) == MOST_NEXT and left - trouble < found[_FIRST - 1].worth:
            break  # nothing read there can be worth more than those that are shown first
        volts, amps, second = shown_there(scene, table, between, rows, s, reach.burns_a)
        if is_too_risky(np.maximum(np.abs(amps), np.abs(second)), reach.burns_a, weights):
            continue
        blown = FUSE_BITS * float(weights[table.blown[likely, s]].sum())
        by_point = [np.ascontiguousarray(side.T) for side in (volts, amps, second)]
        for block in blocks_of(reach, by_point[0], by_point[1], by_point[2], ()):
            for (point, to), bits, expected in best_points(block, weights, places):
                clamp = "clamp" in block.manner
                one = NextPoint(
                    point=point,
                    to=to,
                    measure="clamp" if clamp else "volts",
                    when=", ".join(f"{name}={value}" for name, value in away.items()) or AT_REST,
                    bits=bits,
                    worth=bits - trouble - blown - (REACH_BITS if to or clamp else 0.0),
                    expected=expected,
                    unit="A" if clamp else "V",
                )
                if not is_read(one, probes):
                    found.append(one)
        found = sorted(found, key=_first_comes)[:MOST_NEXT]
    return found


def shown_there(
    scene: Scene, table: FaultTable, between: OhmsBetween, rows: Numbers, state: int, burns_a: Figures
) -> tuple[Figures, Figures, Figures]:
    """Volts by fault and node in a state, and amps at either end of each wire: of a joint at its ohms. [V, A, A]

    A line that leads on to amps no wire would hold is no answer: a starter lets go, or a relay, before that. Such a
    joint is solved at its ohms instead.

    Args:
        rows: the faults, by number, the sound car first. [-]
        state: of the table. [-]
        burns_a: what each wire may carry beyond its share in the sound car. [A]
    """
    volts, amps, second = (
        between.mixed(partial(shown, state=state), rows)
        for shown in (table.volts_of, table.amps_of, table.second_amps_of)
    )
    burns = may_burn(np.maximum(np.abs(amps), np.abs(second)), burns_a)
    led = 1 + np.flatnonzero(burns & (between.part[rows[1:]] < 0.0))
    if len(led):
        there = [table.suspects[0], *(between.at_its_ohms(table.suspects, int(k)) for k in rows[led])]
        solved, these = table_of(scene, there, table.states[[state]]), np.arange(1, len(there))
        volts[led], amps[led] = solved.volts_of(these, 0), solved.amps_of(these, 0)
        second[led] = solved.second_amps_of(these, 0)
    return volts, amps, second


def likeliest(odds: Figures, left_frac: float, most: int) -> tuple[Numbers, Figures]:
    """The likeliest faults, by number, and what each counts among them. [0..1]

    Args:
        odds: of all. [0..1]
        left_frac: odds of all together that are left out. [0..1]
        most: how many at most. [-]
    """
    order = np.argsort(-odds, kind="stable")
    enough = int(np.searchsorted(np.cumsum(odds[order]), 1.0 - left_frac)) + 1
    likely = order[: min(most, enough)]
    return likely, odds[likely] / odds[likely].sum()


def _by_trouble(table: FaultTable, now: Mapping[str, str]) -> list[tuple[float, int, Mapping[str, str]]]:
    """The states of a table, those first that take the fewest switches to be moved: trouble, number, what is moved."""
    aways = [table.away(s) for s in range(len(table.states))]
    turns = [sum(away.get(name) != now.get(name) for name in {*away, *now}) for away in aways]
    return [(TURN_BITS * turns[s], s, aways[s]) for s in sorted(range(len(aways)), key=lambda s: (turns[s], s))]


def _first_comes(one: NextPoint) -> tuple[float, int, str, str]:
    return (-round(one.worth, 6), len(one.off), one.point, one.to)


def is_read(one: NextPoint, probes: Sequence[Probe]) -> bool:
    """Whether it was read already."""
    return any(
        probe.reading.point == one.point
        and probe.reading.to == one.to
        and bool(probe.clamped) == (one.measure == "clamp")
        and probe.is_ohms == (one.measure == "ohms")
        and sorted(probe.off) == sorted(one.off)
        and sorted(f"{name}={value}" for name, value in probe.state.items())
        == sorted(one.state.split(", ") if one.state else ())
        for probe in probes
    )


def places_of(suspects: Sequence[Suspect]) -> Numbers:
    """A number for where each fault is and what sort it is of, whatever its ohms. [-]"""
    seen: dict[tuple[str, tuple[str, ...]], int] = {}
    return np.array([seen.setdefault((one.kind, one.at), len(seen)) for one in suspects], np.int64)


def blocks_of(
    reach: WithinReach, volts: Figures, amps: Figures, second: Figures, off: Sequence[str]
) -> Iterator[Block]:
    """What every instrument would show at all that is in reach, with each fault.

    Args:
        volts: by node and fault, the sound car first. [V]
        amps: by wire and fault, at its first end. [A]
        second: the same at its second end. [A]
        off: what is off meanwhile.
    """
    lamp = f" {LAMP}" if LAMP in off else ""
    volts = volts - volts[-1]
    if not lamp:  # the post stands behind the lamp then
        yield Block(manner="volts", shown=volts[reach.nodes], points=[(name, "") for name in reach.names])
    yield Block(manner=f"drop{lamp}", shown=volts[reach.first] - volts[reach.second], points=reach.pairs)
    yield Block(manner=f"clamp{lamp}", shown=np.abs(amps), points=[(name, "") for name in reach.clamped])
    own = np.flatnonzero((amps != second).any(axis=1))
    ends = [(reach.clamped[k], reach.second_ends[k]) for k in own]
    yield Block(manner=f"clamp{lamp}", shown=np.abs(second[own]), points=ends)
    together = np.empty((len(reach.bunches), amps.shape[1]))
    for k, (into, out_of) in enumerate(zip(reach.into, reach.out_of, strict=True)):
        together[k] = np.abs(second[into].sum(axis=0) - amps[out_of].sum(axis=0))
    yield Block(manner=f"clamp{lamp}", shown=together, points=[(name, "") for name in reach.bunches])


def best_points(block: Block, weights: Figures, places: Numbers) -> Iterator[tuple[tuple[str, str], float, float]]:
    """The readings of a block that tell most: what they are put to, bits, and what the sound car shows. [bit]

    Args:
        weights: of the faults, the sound car of the first column left out. [0..1]
        places: a number for the place of each. [-]
    """
    told = bits_told(block.shown[:, 1:], *usual_error(block.manner), weights, places, _MOST_OF_BLOCK)
    for k in np.argsort(-told, kind="stable")[:_MOST_OF_BLOCK]:
        if told[k] > _LEAST_BITS:
            yield block.points[int(k)], float(told[k]), float(block.shown[k, 0])
