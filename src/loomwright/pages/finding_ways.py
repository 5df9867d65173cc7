"""Which way does the current of a finding take, and how is it drawn?

In: a car, a finding with a path. Out: the state it is found in, the steps, the drawings. The same for the page, the
command and the papers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import painted_circuit, way_laid
from loomwright.drawings.content.way_steps import WayStep, way_steps
from loomwright.drawings.painting.way_marks import shown_way
from loomwright.drawings.symbols.items import Drawing
from loomwright.findings import Finding, when_text
from loomwright.network.records import Changes
from loomwright.pages.records.finding_lines import state_in
from loomwright.refusals import Refusal

__all__ = ["FindingWay", "circuits_of", "way_drawings", "way_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingWay:
    """The way of a finding's current. state, before, unplugged: what it is told in.   steps: wire by wire."""

    finding: Finding
    state: Mapping[str, str]
    before: Mapping[str, str]
    unplugged: tuple[str, ...]
    steps: tuple[WayStep, ...]


def way_of(car: Car, finding: Finding) -> FindingWay:
    """The way of a finding's current; no steps where it has no path, or no wire of it is fitted.

    Where the state cannot be solved the path alone says which way.
    """
    state, before, unplugged = state_in(finding.when, car.variables)
    try:
        amps = car.solve(state, before=before or None, changes=Changes(unplugged=unplugged)).amps
    except Refusal:
        amps = {}
    steps = way_steps(car.laid.wiring, finding.path, amps)
    return FindingWay(finding=finding, state=state, before=before, unplugged=unplugged, steps=steps)


def circuits_of(steps: Iterable[WayStep]) -> tuple[str, ...]:
    """The circuits a way goes through, in the order in which it comes to them."""
    return tuple(dict.fromkeys(step.circuit for step in steps))


def way_drawings(car: Car, way: FindingWay, circuit: str | None = None) -> tuple[Drawing, ...]:
    """A way on the drawing of a circuit; by itself, with nothing but its own wires and parts, where none is named."""
    shown = shown_way(car.laid.wiring, way.steps)
    finding = way.finding
    label = finding.label or (finding.at[0] if finding.at else "")
    name = ", ".join(word for word in (f"{finding.rule} {label}".strip(), when_text(finding.when)) if word)
    if circuit is not None:
        return painted_circuit(car.laid, circuit, shown, name)
    laid, own = way_laid(car.laid.wiring, way.steps)
    return painted_circuit(laid, own, shown, name)
