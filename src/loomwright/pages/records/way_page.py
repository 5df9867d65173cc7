"""What does the page of a way show: nothing but the wires and parts a finding's current takes, step by step?"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import way_laid
from loomwright.drawings.painting.way_marks import shown_way
from loomwright.drawings.screens import screens_of
from loomwright.findings import Finding, as_plain
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.finding_ways import FindingWay, way_of
from loomwright.pages.mending import mark_of
from loomwright.pages.records.circuit_page import CircuitPage, drawn_sheet, lit_of
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_words import trouble_of
from loomwright.pages.records.touched_things import PartLine, WireLine, part_lines, seen_in, wire_lines
from loomwright.pages.records.way_shown import way_shown
from loomwright.trials.mend import every_finding

__all__ = ["state_of_way", "way_marked", "way_page", "way_plain"]


def way_marked(car: Car, findings: Iterable[Finding], mark: str) -> FindingWay | None:
    """The way of the finding of that mark; None where there is none of it, or it takes no wire."""
    finding = next((one for one in every_finding(findings) if one.path and mark_of(one) == mark), None)
    if finding is None:
        return None
    way = way_of(car, finding)
    return way if way.steps else None


def state_of_way(way: FindingWay) -> StateAsked:
    """The state a way was found in, as an address asks for it."""
    return StateAsked(state=way.state, before=way.before, unplugged=way.unplugged)


def way_page(car: Car, way: FindingWay, links: JobLinks) -> CircuitPage:
    """A way by itself, in the state it was found in."""
    asked = state_of_way(way)
    seen = seen_in(car, asked, links)
    laid, name = way_laid(car.laid.wiring, way.steps)
    taken = {step.wire for step in way.steps}
    wires = [wire for wire in car.filled.wires if wire.id in taken]
    shown = shown_way(car.laid.wiring, way.steps)
    wire_rows = wire_lines(seen, wires, {})
    part_rows = part_lines(seen, [part for part in shown.things if part in car.laid.wiring.parts], {}, wires)
    told: dict[str, WireLine | PartLine] = {**{one.id: one for one in part_rows}, **{one.id: one for one in wire_rows}}
    screens = screens_of(laid, name, lit_of(car, seen.look), shown)
    return CircuitPage(
        id=way.finding.rule,
        name="the way its current takes",
        class_="",
        feed="",
        says=asked.says,
        strip=None,
        stands="",
        trouble=trouble_of(seen.look.solved),
        drawings=tuple(drawn_sheet(screen, told) for screen in screens),
        wires=wire_rows,
        parts=part_rows,
        findings=(),
        car_href=job_path(links.job, "car", query=asked.query),
        findings_href=links.findings(),
        before=("", ""),
        after=("", ""),
        links=seen.links,
        way=way_shown(car, way, seen.links, here=None),
    )


def way_plain(way: FindingWay) -> dict[str, Any]:
    """A way as plain lists and words."""
    return {
        "finding": as_plain(way.finding),
        "state": dict(way.state),
        "before": dict(way.before),
        "unplugged": list(way.unplugged),
        "steps": [
            {
                "number": step.number,
                "wire": step.wire,
                "leaves": step.leaves,
                "enters": step.enters,
                "circuit": step.circuit,
                "is_directed": step.is_directed,
            }
            for step in way.steps
        ],
    }
