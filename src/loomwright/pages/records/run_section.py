"""What does a run look like cut across: every wire where it lies, to scale, and what that asks of the run?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loomwright.car import Car
from loomwright.heat.in_runs import Warm
from loomwright.heat.packing import packed
from loomwright.job.rows import Run
from loomwright.loom.end_crimps import EndCrimp
from loomwright.loom.run_sheet import RunSheet
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.loom_words import degrees, is_warm, mm_text
from loomwright.pages.records.state_words import amps_text
from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach
from loomwright.routes.lengths import core_mm
from loomwright.tables.conductors import conductor_mm
from loomwright.tables.coverings import covering_named

__all__ = ["Breaks", "Cut", "RunSection", "SectionWire", "section_of"]

_PX = 380.0
_FONT_PX = 14.0
_LEAST_PX = 19.0
_EDGE = 1.04
_FLOWS_A = 0.05
_BARE_FRAC = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionWire:
    """One wire of a run. number: in the drawing. [-]   x, y, r, copper_r: where it lies, to scale; 0 where not drawn.

    is_numbered: there is room for its number.   warm: of its copper here.   sizes: why it is as thick as it is.
    copper_r, r, x, y: in units of the drawing. [-]
    """

    number: int
    wire: str
    href: str
    sizes: str
    colour: str
    size: str
    amps: str
    warm: str
    is_energised: bool
    is_too_hot: bool
    ends: str
    x: float = 0.0
    y: float = 0.0
    r: float = 0.0
    copper_r: float = 0.0
    is_numbered: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The drawing. box: its view box.   r, inner_r: of the covering, outside and inside.   font, line: to scale.

    hole_r: of the hole, in a drawing of its own; 0 where there is none.
    font, hole_line, hole_r, inner_r, line, r: in units of the drawing. [-]
    """

    box: str
    r: float
    inner_r: float
    font: float
    line: float
    hole_r: float
    hole_box: str
    hole_line: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Breaks:
    """Wires that leave or join at a place."""

    place: str
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSection:
    """One run. facts: a word and what it says.   trouble: what does not hold, in sentences.

    cut: None where a diameter is not known, or nothing lies in it.   unknown: wires no diameter is known for.
    crimps: at the ends of its wires at its two places.
    """

    run: str
    from_: str
    to: str
    facts: tuple[tuple[str, str], ...]
    trouble: tuple[str, ...]
    notes: str
    cut: Cut | None
    wires: tuple[SectionWire, ...]
    breaks: tuple[Breaks, ...]
    unknown: tuple[str, ...]
    crimps: tuple[EndCrimp, ...]
    close: str


def section_of(car: Car, run: Run, warm: Warm, links: JobLinks, close: str) -> RunSection:
    """One run cut across.

    Args:
        run: of the car's job.
        warm: how warm everything is in the state that is looked at.
        close: the page without the section.
    """
    sheet = car.run_sheets(only=[run.id])[run.id]
    wires = {wire.id: wire for wire in car.filled.wires}
    classes = {circuit.id: circuit.class_ for circuit in car.filled.circuits}
    lines = []
    for number, name in enumerate(sheet.conductors, start=1):
        wire, heat = wires[name], warm.wires.get(name)
        here = next((one.copper_c for one in heat.runs if one.run == run.id), None) if heat is not None else None
        amps = heat.amps if heat is not None else 0.0
        lines.append(
            SectionWire(
                number=number,
                wire=name,
                href=links.thing(name),
                sizes=job_path(links.job, "sizes", query={"wire": name}) if wire.fitted == "new" else "",
                colour=wire.colour,
                size="" if wire.size_mm2 is None else with_unit(wire.size_mm2, "mm2"),
                amps=amps_text(amps),
                warm="" if here is None else degrees(here),
                is_energised=amps >= _FLOWS_A,
                is_too_hot=here is not None and heat is not None and is_warm(here, heat.class_c),
                ends=f"{wire.from_ or 'free end'} – {wire.to or 'free end'}",
            )
        )
    thick = [core_mm(wires[name], classes)[0] for name in sheet.conductors]
    known = [value for value in thick if value is not None]
    cut = None
    if known and len(known) == len(thick):
        lines, cut = _laid(sheet, known, [wires[name].size_mm2 for name in sheet.conductors], lines)
    return RunSection(
        run=run.id,
        from_=run.from_,
        to=run.to,
        facts=tuple(_facts(sheet, run, warm)),
        trouble=tuple(_trouble(sheet, lines)),
        notes=run.notes,
        cut=cut,
        wires=tuple(lines),
        breaks=tuple(Breaks(place=one.place, wires=one.wires) for one in sheet.breakouts),
        unknown=sheet.unknown,
        crimps=sheet.crimps,
        close=close,
    )


def _laid(
    sheet: RunSheet, thick_mm: list[float], sizes: list[float | None], lines: list[SectionWire]
) -> tuple[list[SectionWire], Cut]:
    """The wires where they lie, and the drawing they lie in."""
    packing = packed(thick_mm, roughly=True)
    covered = sheet.covered_mm if sheet.covered_mm is not None else packing.bundle_mm
    outside_mm = max(covered, packing.bundle_mm)
    kind = covering_named(sheet.covering)
    inner_mm = outside_mm - 2.0 * (kind.wall_mm if kind is not None else 0.0)
    wide_mm = outside_mm * _EDGE
    px_a_mm = _PX / wide_mm
    found = []
    for line, (x, y), each_mm, size in zip(lines, packing.at_mm, thick_mm, sizes, strict=True):
        copper_mm = _copper_mm(size, each_mm)
        found.append(
            replace(
                line,
                x=round(float(x), 3),
                y=round(float(y), 3),
                r=round(each_mm / 2.0, 3),
                copper_r=round(copper_mm / 2.0, 3),
                is_numbered=copper_mm * px_a_mm >= _LEAST_PX,
            )
        )
    hole = sheet.hole_mm or 0.0
    hole_wide = max(hole, outside_mm) * _EDGE
    return found, Cut(
        box=f"{-wide_mm / 2.0:.3f} {-wide_mm / 2.0:.3f} {wide_mm:.3f} {wide_mm:.3f}",
        r=round(outside_mm / 2.0, 3),
        inner_r=round(max(inner_mm, packing.bundle_mm) / 2.0, 3),
        font=round(_FONT_PX / px_a_mm, 4),
        line=round(1.0 / px_a_mm, 4),
        hole_r=round(hole / 2.0, 3),
        hole_box=f"{-hole_wide / 2.0:.3f} {-hole_wide / 2.0:.3f} {hole_wide:.3f} {hole_wide:.3f}",
        hole_line=round(hole_wide / 90.0, 4),
    )


def _copper_mm(size_mm2: float | None, each_mm: float) -> float:
    """Diameter over the strands; of a wire without a size, or of one no table has, a share of the wire. [mm]"""
    try:
        return conductor_mm(size_mm2) if size_mm2 is not None else each_mm * _BARE_FRAC
    except OutOfReach:
        return each_mm * _BARE_FRAC


def _facts(sheet: RunSheet, run: Run, warm: Warm) -> list[tuple[str, str]]:
    heat = warm.runs.get(run.id)
    facts = [
        ("wires", str(len(sheet.conductors))),
        ("bundle", "not known" if sheet.by_hand_mm is None else f"{mm_text(sheet.by_hand_mm)} by hand"),
        ("covering", sheet.covering or "none written down"),
    ]
    if sheet.packed_mm is not None:
        facts[1] = ("bundle", f"{facts[1][1]}, {mm_text(sheet.packed_mm)} packed")
    if sheet.covered_mm is not None:
        facts.append(("covered", mm_text(sheet.covered_mm)))
    needs = "" if sheet.needed_mm is None else f"{mm_text(sheet.needed_mm)} needed"
    if sheet.hole_mm is not None:
        facts.append(("hole", f"{sheet.hole_mm:g} mm, {needs}" if needs else f"{sheet.hole_mm:g} mm"))
    elif needs:
        facts.append(("hole", f"none written down; {needs}"))
    if sheet.bend_mm is not None:
        held = "" if sheet.bend_held_mm is None else f", {mm_text(sheet.bend_held_mm)} where it is held"
        facts.append(("bend", f"no tighter than {mm_text(sheet.bend_mm)}{held}"))
    if heat is not None:
        facts.append(("air", f"{heat.ambient_c:g} °C"))
        facts.append(("warmest", f"{heat.warmest} {degrees(heat.copper_c)}" if heat.warmest else "nothing flows"))
    if run.length_mm is not None:
        facts.append(("length", f"{for_print(run.length_mm, digits=5)} mm"))
    if run.hazards:
        facts.append(("can be harmed by", ", ".join(run.hazards)))
    if run.noise:
        facts.append(("noise", run.noise))
    return facts


def _trouble(sheet: RunSheet, lines: list[SectionWire]) -> list[str]:
    found = []
    if sheet.is_hole_too_small and sheet.needed_mm is not None:
        found.append(
            f"The hole has {sheet.hole_mm:g} mm and {mm_text(sheet.needed_mm)} is needed: "
            "a larger hole and grommet, or some of the wires another way."
        )
    hot = [one.wire for one in lines if one.is_too_hot]
    if hot:
        found.append(
            f"{' '.join(dict.fromkeys(hot))} gets hotter than its insulation stands: "
            "thicker wire, another run, or fewer loads at once."
        )
    return found
