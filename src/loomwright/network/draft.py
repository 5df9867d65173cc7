"""The network while it is being put together: nodes by name, elements, devices, selectors.

The only mutable thing in this folder; it is made, filled and finished inside `build_network` and never leaves it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.job.conditions import Condition, Term
from loomwright.job.variables import Variable
from loomwright.network.records import Changes, Device, Element, Guard, Selector

__all__ = ["Draft", "guards_for", "term_values"]

TURNING = ("idle", "running")
_NEVER = Guard(((0, frozenset()),))


@dataclass(slots=True, kw_only=True)
class Draft:
    """Nodes, elements and devices so far, with what is needed to add more.

    live_sign: -1 where the battery's plus post is earthed.
    """

    variables: tuple[Variable, ...]
    design_ambient_c: float
    changes: Changes
    nodes: dict[str, int] = field(default_factory=dict)
    elements: list[Element] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    selectors: list[Selector] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    ambient_of: Mapping[str, float] = field(default_factory=dict)
    live_sign: int = 1

    def node(self, name: str) -> int:
        """The index of a node, made on first use."""
        return self.nodes.setdefault(name, len(self.nodes))

    def variable(self, name: str) -> int:
        """The index of a state variable, -1 where the job has none of that name."""
        return next((k for k, variable in enumerate(self.variables) if variable.name == name), -1)

    def add(self, element: Element) -> int:
        """Add an element; gives its index."""
        self.elements.append(element)
        return len(self.elements) - 1

    def add_device(self, device: Device) -> int:
        """Add a device; one named among the stuck things is held on."""
        part = device.name.split(".")[0]
        held = part in self.changes.stuck and device.what in ("relay", "alive")
        if held:
            device = Device(
                name=device.name, what=device.what, senses=device.senses, guards=device.guards, stuck=True
            )  # fmt: skip
        self.devices.append(device)
        return len(self.devices) - 1

    def reserve_device(self) -> int:
        """The index the next device will get, for elements that must name it before it is complete."""
        return len(self.devices)

    def by_variable(self, name: str) -> int:
        """A selector with one row for each value of a variable; -1 where there is no such variable."""
        index = self.variable(name)
        if index < 0:
            return -1
        rows = tuple((row,) for row in range(len(self.variables[index].values)))
        return self._selector(Selector(index, -1, rows))

    def thermal(self) -> int:
        """The selector of wire temperature: one row for each ambient, engine turning or not."""
        ambient, engine = self.variable("ambient_c"), self.variable("engine")
        turning = [int(value in TURNING) for value in self.variables[engine].values]
        rows = tuple(tuple(2 * k + on for on in turning) for k in range(len(self.variables[ambient].values)))
        return self._selector(Selector(ambient, engine, rows))

    def temperatures_c(self, place: str) -> tuple[float, ...]:
        """Temperature of a place for each thermal row: its excess over the car's ambient holds while the engine turns. [degC]"""  # noqa: E501
        excess = self.ambient_of.get(place, self.design_ambient_c) - self.design_ambient_c
        ambient = self.variables[self.variable("ambient_c")]
        return tuple(float(value) + share * excess for value in ambient.values for share in (0.0, 1.0))

    def _selector(self, selector: Selector) -> int:
        if selector in self.selectors:
            return self.selectors.index(selector)
        self.selectors.append(selector)
        return len(self.selectors) - 1


def term_values(term: Term, variable: Variable) -> frozenset[int]:
    """The value indices of a variable at which a term of a condition holds."""
    found = set()
    for index, value in enumerate(variable.values):
        if term.op == "=":
            match = value in term.values or _equal_numbers(value, term.values)
        elif term.op == "!=":
            match = value not in term.values and not _equal_numbers(value, term.values)
        else:
            match = _compares(float(value), term.op, float(term.number or 0.0))
        if match:
            found.add(index)
    return frozenset(found)


def guards_for(draft: Draft, conditions: Iterable[Condition]) -> tuple[Guard, ...] | None:
    """The guards under which any of the conditions holds; None where nothing limits it."""
    guards: list[Guard] = []
    for condition in conditions:
        if condition.fixed == "always":
            return None
        if condition.fixed == "never":
            continue
        holds = _guard(draft, condition.terms)
        if holds is not None:
            if not holds.holds:
                return None
            guards.append(holds)
    return tuple(guards) or (_NEVER,)


def _guard(draft: Draft, terms: Sequence[Term]) -> Guard | None:
    holds = []
    for term in terms:
        if term.variable == "unplugged":
            off = set(draft.changes.unplugged) & set(term.values)
            if bool(off) != (term.op == "="):
                return None
            continue
        index = draft.variable(term.variable)
        if index < 0 or term.before:
            return None
        holds.append((index, term_values(term, draft.variables[index])))
    return Guard(tuple(holds))


def _equal_numbers(value: str, wanted: Sequence[str]) -> bool:
    try:
        return any(float(value) == float(text) for text in wanted)
    except ValueError:
        return False


def _compares(value: float, op: str, limit: float) -> bool:
    return {">=": value >= limit, "<=": value <= limit, ">": value > limit, "<": value < limit}[op]
