"""Over which ways can a node be joined to another at all, whatever the state?

A changeover contact lies on a ring of wires without ever closing it: what comes in at one of its throws leaves at its
common, never at the other throw. So a way counts only where one state could close every contact on it: guards that
contradict each other, and a relay needed both in and out, make none.

In: the edges of a piece of a network with what can close each, and the node from which ways are counted. Out: what the
contacts on the ways to each other node hang on. Method: every way without a node twice, depth first; in a piece with
too many of them, no way is ruled out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from loomwright.network.records import Element, Guard

__all__ = ["Edge", "HangsOn", "Lead", "Term", "leads_of", "ways_from"]

Edge = tuple[int, int]
"""Two nodes, the lower number first [-]."""
Term = tuple[int, frozenset[int]]
"""A variable, and the values of it that some guard tells apart from the others [-]."""

_STEPS_MOST = 4000
"""After so many steps every way is taken to be possible [-]."""


class HangsOn(NamedTuple):
    """What contacts hang on: terms of variables, and devices. [-]"""

    terms: frozenset[Term] = frozenset()
    devices: frozenset[int] = frozenset()

    def with_(self, other: HangsOn) -> HangsOn:
        """Both; the very same where the other adds nothing."""
        if other.terms <= self.terms and other.devices <= self.devices:
            return self
        return HangsOn(self.terms | other.terms, self.devices | other.devices)


@dataclass(frozen=True, slots=True)
class Lead:
    """One way of closing an edge: the values each variable may have then, and how devices must lie. [-]"""

    values: tuple[tuple[int, frozenset[int]], ...]
    lying: tuple[tuple[int, bool], ...]
    on: HangsOn

    @property
    def is_free(self) -> bool:
        """Whether it is closed in every state."""
        return not self.values and not self.lying


def leads_of(element: Element, devices: frozenset[int]) -> tuple[Lead, ...]:
    """In which ways an element can let current through; none where no state ever closes it.

    Args:
        devices: those that count; what hangs on others is passed over. [-]
    """
    lying = tuple((device, on) for device, on in element.needs if device in devices)
    named = frozenset(device for device, _ in lying)
    on = HangsOn(frozenset(term for guard in element.guards for term in guard.holds), named)
    guards = element.guards or (Guard(()),)
    return tuple(Lead(guard.holds, lying, on) for guard in guards if all(values for _, values in guard.holds))


def ways_from(start: int, edges: Mapping[Edge, Sequence[Lead]]) -> Mapping[int, HangsOn]:
    """What the contacts on all ways from a node to each other node of a piece hang on.

    Args:
        edges: those of the piece, with what can close each.
    """
    near: dict[int, list[tuple[int, Sequence[Lead]]]] = {}
    for (a, b), leads in edges.items():
        near.setdefault(a, []).append((b, leads))
        near.setdefault(b, []).append((a, leads))
    every = _all_of(lead for leads in edges.values() for lead in leads)
    if len(edges) == 1:
        return dict.fromkeys(near.keys() - {start}, every)
    found: dict[int, HangsOn] = {}
    waiting: list[tuple[int, frozenset[int], _Held, HangsOn]] = [(start, frozenset({start}), _Held({}, {}), HangsOn())]
    steps = 0
    while waiting:
        node, passed, held, on = waiting.pop()
        for other, leads in near[node]:
            if other in passed:
                continue
            steps += 1
            if steps > _STEPS_MOST:
                return dict.fromkeys(near.keys() - {start}, every)
            can = [lead for lead in leads if held.lets(lead)]
            if not can:
                continue
            further = on.with_(_all_of(can))
            found[other] = found[other].with_(further) if other in found else further
            free = any(lead.is_free for lead in can)
            for held_then in (held,) if free else [held.also(lead) for lead in can]:
                waiting.append((other, passed | {other}, held_then, further))
    # what no state joins is asked of everything that might
    return {node: found.get(node, every) for node in near if node != start}


def _all_of(leads: Iterable[Lead]) -> HangsOn:
    every = HangsOn()
    for lead in leads:
        every = every.with_(lead.on)
    return every


class _Held(NamedTuple):
    """What a way has asked of the state so far."""

    values: Mapping[int, frozenset[int]]
    lying: Mapping[int, bool]

    def lets(self, lead: Lead) -> bool:
        """Whether a state could close this lead as well."""
        return all(self.lying.get(device, on) == on for device, on in lead.lying) and not any(
            variable in self.values and self.values[variable].isdisjoint(values) for variable, values in lead.values
        )

    def also(self, lead: Lead) -> _Held:
        """With a lead that is closed as well."""
        values = dict(self.values)
        for variable, more in lead.values:
            values[variable] = values[variable] & more if variable in values else more
        return _Held(values, {**self.lying, **dict(lead.lying)})
