"""What does the page of gear changes say: lines, what is wrong, how the programmes drive, the set-up on the car?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.findings import Finding, says
from loomwright.gearbox.box import Box
from loomwright.gearbox.judged import Judged
from loomwright.gearbox.lines import Lines
from loomwright.gearbox.procedure import SetUpStep, set_up_steps
from loomwright.pages.addresses import job_path
from loomwright.quantities.printing import for_print

__all__ = ["DriveLine", "GearsPage", "LineRow", "ProgrammeWord", "gears_page"]

_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeWord:
    """One programme to look at."""

    word: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """One line as figures. speeds: printed, one a breakpoint."""

    name: str
    speeds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearFinding:
    """One thing that is wrong, as a sentence."""

    severity: str
    rule: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveLine:
    """One programme on one drive, printed."""

    programme: str
    run: str
    changes: str
    per_km: str
    undone: str
    gears: tuple[str, ...]
    locked: str
    top: str
    fluid: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsPage:
    """The page. is_shown_only: the made-up gearbox, since the job names none.   chart, map: of the drawings."""

    title: str
    is_shown_only: bool
    sheet: str
    extent: tuple[str, ...]
    programme: str
    programmes: tuple[ProgrammeWord, ...]
    pedals: tuple[str, ...]
    lines: tuple[LineRow, ...]
    gears: tuple[str, ...]
    findings: tuple[GearFinding, ...]
    drives: tuple[DriveLine, ...]
    steps: tuple[SetUpStep, ...]
    chart: str
    map: str
    csv: str


def gears_page(
    job: str,
    box: Box,
    lines: Lines,
    findings: Sequence[Finding],
    drives: Sequence[Judged],
    *,
    is_shown_only: bool,
) -> GearsPage:
    """The page of one programme, and all of them driven.

    Args:
        job: its name.
        is_shown_only: the made-up gearbox stands in.
    """
    here = job_path(job, "gears")
    return GearsPage(
        title=box.title or "the gearbox of the job",
        is_shown_only=is_shown_only,
        sheet=job_path(job, "sheet/vehicle"),
        extent=box.extent,
        programme=lines.programme,
        programmes=tuple(
            ProgrammeWord(word=one.name, href=f"{here}?programme={one.name}", is_here=one.name == lines.programme)
            for one in box.programmes
        ),
        pedals=tuple(f"{_PERCENT * pedal:g}" for pedal in lines.pedal_frac),
        lines=tuple(LineRow(name=name, speeds=tuple(f"{speed:.0f}" for speed in line)) for name, line in _rows(lines)),
        gears=tuple(str(gear) for gear in range(1, len(box.ratios) + 1)),
        findings=tuple(GearFinding(severity=one.severity, rule=one.rule, says=says(one)) for one in findings),
        drives=tuple(_drive(one) for one in drives),
        steps=set_up_steps(box),
        chart=f"{here}/lines.svg?programme={lines.programme}",
        map=f"{here}/hunting.svg?programme={lines.programme}",
        csv=f"{here}/lines.csv?programme={lines.programme}",
    )


def _rows(lines: Lines) -> list[tuple[str, tuple[float, ...]]]:
    rows = [(f"up {k}-{k + 1}", line) for k, line in enumerate(lines.up_kmh, start=1)]
    rows += [(f"down {k + 1}-{k}", line) for k, line in enumerate(lines.down_kmh, start=1)]
    return rows + [(f"lock {gear}", line) for gear, line in enumerate(lines.lock_kmh, start=1) if line[-1] > 0.0]


def _drive(one: Judged) -> DriveLine:
    return DriveLine(
        programme=one.programme,
        run=one.run.replace("_", " "),
        changes=str(one.changes),
        per_km=f"{one.per_km:.2f}",
        undone=str(one.undone),
        gears=tuple(f"{_PERCENT * share:.0f} %" for share in one.gear_frac),
        locked=f"{_PERCENT * one.locked_frac:.0f} %",
        top=for_print(one.top_rpm, side="up", digits=3),
        fluid=f"{for_print(one.fluid_c, side='up', digits=3)} °C",
    )
