"""What does the page of a circuit show: its drawing lit by the current of a state, and all that is touched there?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from loomwright.car import Car
from loomwright.drawings.painting.way_marks import shown_way
from loomwright.drawings.screens import Lit, Screen, Touched, screens_of
from loomwright.findings import Finding
from loomwright.handover.circuit_plan import CircuitState, homes_of
from loomwright.handover.state_look import CARRIES_A, StateLook
from loomwright.handover.taken_out import things_of
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.finding_ways import FindingWay
from loomwright.pages.records.car_page import NO_CIRCUIT, circuit_href
from loomwright.pages.records.finding_lines import FindingLine
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_strip import StateStrip, strip_of
from loomwright.pages.records.state_words import amps_text, trouble_of
from loomwright.pages.records.suspect_marks import NO_SUSPECTS, SuspectLine, struck, suspect_lines
from loomwright.pages.records.touched_things import PartLine, WireLine, part_lines, seen_in, wire_lines
from loomwright.pages.records.touching import findings_about
from loomwright.pages.records.way_shown import WayShown, way_shown
from loomwright.refusals import OutOfReach
from loomwright.writers.svg import svg_pieces

__all__ = ["CircuitPage", "SheetDrawn", "circuit_page", "drawn_sheet", "known_circuit", "lit_of"]

_PX_A_MM = 6.85
"""So large that the smallest letters of a drawing, 1.9 mm, are 13 px. [px/mm]"""

_HIT_MM = 3.6
_WIDE_PX = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetDrawn:
    """One sheet of the drawing, ready to be placed. wide_px, high_px: its own size. [px]

    is_wide: wider than most windows leave room for.   box: of its view, in mm."""

    sheet: int
    sheets: int
    wide_px: int
    high_px: int
    is_wide: bool
    box: str
    svg: Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitPage:
    """The page. says: the state in words.   class_, feed: of the sheet.   before, after: the circuits beside it."""

    id: str
    name: str
    class_: str
    feed: str
    says: str
    strip: StateStrip | None
    stands: str
    trouble: tuple[str, ...]
    drawings: tuple[SheetDrawn, ...]
    wires: tuple[WireLine, ...]
    parts: tuple[PartLine, ...]
    findings: tuple[FindingLine, ...]
    car_href: str
    findings_href: str
    before: tuple[str, str]
    after: tuple[str, str]
    links: JobLinks
    way: WayShown | None = None
    suspects: tuple[SuspectLine, ...] = ()


def known_circuit(car: Car, name: str) -> str:
    """The circuit that an address names; empty for the wires that belong to none.

    Raises:
        OutOfReach: there is no such circuit.
    """
    if name in (row.id for row in car.job.circuits):
        return name
    if name == NO_CIRCUIT and any(not wire.circuit for wire in car.job.wires):
        return ""
    raise OutOfReach("circuit", name, " ".join(row.id for row in car.job.circuits) or "none in this job")


def circuit_page(
    car: Car,
    circuit: str,
    asked: StateAsked,
    links: JobLinks,
    findings: tuple[Finding, ...],
    way: FindingWay | None = None,
    suspects: Mapping[str, int] = NO_SUSPECTS,
) -> CircuitPage:
    """A circuit in a state.

    Args:
        circuit: its id; empty: the wires of none.
        findings: of the whole job, as far as they are known.
        way: of a finding's current, to be shown heavier on the drawing.
        suspects: of the fault finder, struck on the drawing: thing -> rank.
    """
    seen = seen_in(car, asked, links)
    look = seen.look
    plan = car.in_states.plan(look)
    stops = car.in_states.stops(look, circuit)
    here = next((one for one in plan.circuits if one.id == circuit), None)
    row = next((one for one in car.job.circuits if one.id == circuit), None)
    wires = [wire for wire in car.filled.wires if wire.circuit == circuit and wire.fitted != "removed"]
    own = {wire.id for wire in wires}
    names = [name for name in things_of(car.filled, circuit) if name not in own]
    wire_rows = wire_lines(seen, wires, stops)
    part_rows = part_lines(seen, names, stops, wires)
    told: dict[str, WireLine | PartLine] = {**{one.id: one for one in part_rows}, **{one.id: one for one in wire_rows}}
    shown = shown_way(car.laid.wiring, way.steps) if way is not None else None
    screens = screens_of(car.laid, circuit, lit_of(car, look), shown)
    order = [one.id for one in plan.circuits]
    path = job_path(links.job, "circuit", circuit or NO_CIRCUIT)
    return CircuitPage(
        id=circuit or "no circuit",
        name=row.name if row is not None else "wires that belong to none",
        class_=row.class_.replace("_", " ") if row is not None else "",
        feed=row.feed if row is not None else "",
        says=asked.says,
        strip=strip_of(
            path,
            car.variables,
            state=asked.state,
            job=car.job,
            unplugged=asked.unplugged,
            before=asked.before,
            matters=_matters(car, names),
        ),
        stands=_stands(here) if here is not None else "",
        trouble=trouble_of(look.solved),
        drawings=tuple(drawn_sheet(screen, told, suspects) for screen in screens),
        suspects=suspect_lines(suspects),
        wires=wire_rows,
        parts=part_rows,
        findings=findings_about(findings, {*own, *_at_home(car, circuit)}, car.variables, links),
        car_href=job_path(links.job, "car", query=asked.query),
        findings_href=links.findings(circuit=circuit),
        before=_beside(order, circuit, -1, seen.links),
        after=_beside(order, circuit, 1, seen.links),
        links=seen.links,
        way=None if way is None else way_shown(car, way, seen.links, here=circuit),
    )


def _at_home(car: Car, circuit: str) -> set[str]:
    """The parts that are of the circuit, not those that only feed it."""
    return {part for part, home in homes_of(car.filled).items() if home == circuit}


def _matters(car: Car, parts: list[str]) -> set[str]:
    """The variables that the parts of the circuit, and the conditions of its controllers' needs, are moved by."""
    return {variable.name for variable in car.variables if set(variable.parts) & set(parts)}


def _stands(circuit: CircuitState) -> str:
    if not circuit.has_volts:
        return "dead"
    count = len(circuit.loads)
    works = f"{circuit.working} of {count} {'load works' if count == 1 else 'loads work'}, " if count else ""
    carries = circuit.carried_a >= CARRIES_A
    most = f"at most {amps_text(circuit.carried_a)} in {circuit.most_wire}" if carries else "no current"
    return f"{works}{circuit.energised} of {circuit.wires} wires energised, {most}"


def lit_of(car: Car, look: StateLook) -> Lit:
    """What a state does to a drawing."""
    plan = car.in_states.plan(look)
    return Lit(
        state=look.solved.state,
        amps=look.solved.amps,
        energised=frozenset(plan.energised),
        points={
            **{point: look.standing(point) for point in look.solved.volts},
            **{name: look.standing(point) for name, point in look.compiled.network.aliases.items()},
        },
        contacts=look.contacts,
        working=frozenset(load.part for circuit in plan.circuits for load in circuit.loads if load.works),
    )


def drawn_sheet(
    screen: Screen, told: Mapping[str, WireLine | PartLine], suspects: Mapping[str, int] = NO_SUSPECTS
) -> SheetDrawn:
    """A sheet ready to be placed; what is told of can be touched, what is suspected is struck."""
    pieces = [svg_pieces(screen.ground)]
    pieces += [_thing(one, told.get(one.about)) for one in screen.things]
    pieces.append(f'<g class="ends">{svg_pieces(screen.ends)}</g>')
    pieces.append(struck(screen, suspects))
    return SheetDrawn(
        sheet=screen.sheet,
        sheets=screen.sheets,
        wide_px=round(screen.width_mm * _PX_A_MM),
        high_px=round(screen.height_mm * _PX_A_MM),
        is_wide=screen.width_mm * _PX_A_MM > _WIDE_PX,
        box=f"0 0 {screen.width_mm:g} {screen.height_mm:g}",
        svg=Markup("".join(pieces)),
    )


def _thing(one: Touched, line: WireLine | PartLine | None) -> str:
    drawn = svg_pieces(one.items)
    if line is None:
        return f"<g>{drawn}</g>"
    if one.points_mm:
        corners = " ".join(f"{x:g},{y:g}" for x, y in one.points_mm)
        hit = f'<polyline class="hit" points="{corners}" fill="none" stroke="transparent" stroke-width="{_HIT_MM}"/>'
    else:
        hit = (
            f'<rect class="hit" x="{one.left_mm - 0.6:g}" y="{one.top_mm - 0.4:g}" width="{one.wide_mm + 1.2:g}"'
            f' height="{one.high_mm + 0.8:g}" fill="transparent"/>'
        )
    href = f' href="{escape(line.href)}"' if line.href else ' tabindex="0" role="button"'
    # its name stands in a title: what is read out says more than the letters that are drawn
    return f'<a class="thing" data-thing="{escape(one.about)}"{href}><title>{escape(line.says)}</title>{hit}{drawn}</a>'


def _beside(order: list[str], circuit: str, step: int, links: JobLinks) -> tuple[str, str]:
    """The circuit before or after this one, in the order of the sheet: its name and its page."""
    place = order.index(circuit) + step if circuit in order else -1
    if not 0 <= place < len(order):
        return ("", "")
    return (order[place] or "no circuit", circuit_href(links, order[place]))
