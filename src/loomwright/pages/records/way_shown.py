"""What stands beside the drawing of a way: the finding it is of, and its wires one after the other?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.drawings.content.way_steps import WayStep
from loomwright.pages.addresses import JobLinks
from loomwright.pages.finding_ways import FindingWay, circuits_of
from loomwright.pages.mending import mark_of
from loomwright.pages.records.finding_lines import FindingLine, line_of

__all__ = ["StepLine", "WayShown", "way_shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    """One wire of the way. number: on the drawing. [-]   through: the part it comes to.   is_here: it is drawn here."""

    number: int
    wire: str
    href: str
    colour: str
    size: str
    leaves: str
    enters: str
    arrow: str
    circuit: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WayShown:
    """The way. drawings: the circuits it goes through, each with its address; empty where that is this page.

    alone: the drawing of nothing but the way; empty on that page.   bare: this page without the way.
    """

    finding: FindingLine
    steps: tuple[StepLine, ...]
    drawings: tuple[tuple[str, str], ...]
    alone: str
    bare: str


def way_shown(car: Car, way: FindingWay, links: JobLinks, *, here: str | None) -> WayShown:
    """What is told of a way.

    Args:
        here: the circuit whose drawing shows it; None where it is drawn by itself.
    """
    mark = mark_of(way.finding)
    return WayShown(
        finding=line_of(way.finding, 0, links),
        steps=tuple(_lines(car, way.steps, links, here)),
        drawings=tuple(
            (circuit, "" if circuit == here else links.way(mark, circuit))
            for circuit in circuits_of(way.steps)
            if circuit
        ),
        alone="" if here is None else links.way(mark),
        bare="" if here is None else links.page("circuit", here),
    )


def _lines(car: Car, steps: Iterable[WayStep], links: JobLinks, here: str | None) -> Iterable[StepLine]:
    for step in steps:
        wire = car.laid.wiring.wires[step.wire]
        yield StepLine(
            number=step.number,
            wire=step.wire,
            href=links.page("wire", step.wire),
            colour=wire.colour,
            size="" if wire.size_mm2 is None else f"{wire.size_mm2:g} mm²",
            leaves=step.leaves,
            enters=step.enters,
            arrow="to" if step.is_directed else "and",
            circuit=step.circuit,
            is_here=here is None or step.circuit == here,
        )
