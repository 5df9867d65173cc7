"""Which wires does the current of a finding take, one after the other, and which way through each?

In: the car as its drawings look at it, the ids of a finding's path, and the amps of a state in which it holds. Out: one
`WayStep` a wire. Where a wire carries current its sign decides which way; else the neighbours in the path do: the end
at the one before is where it comes from. A path that was named against the current is turned round.

`way_wiring` gives the same car with nothing in it to be drawn but these wires and the parts they end at.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.drawings.content.wiring import Wiring
from loomwright.job.points import split_point

__all__ = ["WayStep", "things_on_way", "way_steps", "way_wiring"]

_CARRIES_A = 1e-3
_NO_AMPS: Mapping[str, float] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class WayStep:
    """One wire of a way.

    number: which step. [-]   leaves, enters: the point the current comes from, and the one it goes to.
    is_forward: it goes as the sheet has the wire, from `from` to `to`.   is_directed: which way is known.
    """

    number: int
    wire: str
    leaves: str
    enters: str
    circuit: str
    is_forward: bool
    is_directed: bool


def way_steps(wiring: Wiring, path: Sequence[str], amps: Mapping[str, float] = _NO_AMPS) -> tuple[WayStep, ...]:
    """The wires of a path in the order in which the current takes them; ids that are no fitted wire only tell the way.

    Args:
        path: ids of wires and parts, as a finding has them.
        amps: by wire, positive from `from` to `to`; those left out are told by the path alone. [A]
    """
    known = [name for name in path if name in wiring.wires or name in wiring.parts or name in wiring.metals]
    told = _senses(wiring, known)
    carried = {wire: amps.get(wire, 0.0) for wire in told}
    against = sum((sense > 0) != (carried[wire] > 0) for wire, sense in told.items() if sense and _flows(carried[wire]))
    along = sum((sense > 0) == (carried[wire] > 0) for wire, sense in told.items() if sense and _flows(carried[wire]))
    turned = against > along
    steps = []
    for number, wire in enumerate(reversed(told) if turned else told, start=1):
        sense = carried[wire] if _flows(carried[wire]) else -told[wire] if turned else told[wire]
        start, end = wiring.ends[wire]
        is_forward = sense >= 0
        steps.append(
            WayStep(
                number=number,
                wire=wire,
                leaves=start if is_forward else end,
                enters=end if is_forward else start,
                circuit=wiring.wires[wire].circuit,
                is_forward=is_forward,
                is_directed=bool(sense),
            )
        )
    return tuple(steps)


def things_on_way(wiring: Wiring, steps: Iterable[WayStep]) -> frozenset[str]:
    """The wires of a way and the parts and metals they end at."""
    found: set[str] = set()
    for step in steps:
        found |= {step.wire, *(_owner(point) for point in wiring.ends[step.wire])}
    return frozenset(found - {""})


def way_wiring(wiring: Wiring, steps: Iterable[WayStep], circuit: str) -> Wiring:
    """The same car with only a way's wires to be drawn, as one circuit of its own.

    Args:
        circuit: a name that no circuit of the job has.
    """
    order = [step.wire for step in steps]
    at: dict[str, list[str]] = {}
    for wire in order:
        for point in wiring.ends[wire]:
            if point:
                at.setdefault(point, []).append(wire)
    return replace(
        wiring,
        wires={wire: replace(wiring.wires[wire], circuit=circuit) for wire in order},
        at={point: tuple(found) for point, found in at.items()},
        home=dict.fromkeys(wiring.parts, circuit),
        of_circuit={circuit: tuple(order)},
    )


def _senses(wiring: Wiring, path: Sequence[str]) -> dict[str, int]:
    """Each wire of the path: 1 where it is taken from `from` to `to`, -1 the other way, 0 where nothing says which."""
    found: dict[str, int] = {}
    for place, name in enumerate(path):
        if name not in wiring.wires or name in found:
            continue
        start, end = (_owner(point) for point in wiring.ends[name])
        before = _owners(wiring, path[place - 1]) if place else frozenset()
        after = _owners(wiring, path[place + 1]) if place + 1 < len(path) else frozenset()
        says = (end in after) + (start in before) - (start in after) - (end in before)
        found[name] = (says > 0) - (says < 0)
    return found


def _owners(wiring: Wiring, name: str) -> frozenset[str]:
    """The parts and metals that a piece of a path is at."""
    if name in wiring.wires:
        return frozenset(_owner(point) for point in wiring.ends[name] if point)
    return frozenset({name})


def _owner(point: str) -> str:
    """The part a point is of; a metal is its own."""
    part, terminal = split_point(point)
    return part if terminal else point


def _flows(amps: float) -> bool:
    return abs(amps) >= _CARRIES_A
