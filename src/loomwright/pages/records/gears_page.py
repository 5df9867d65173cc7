"""What does the page of gear changes say: lines, what is wrong, how the programmes drive, the set-up on the car?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from loomwright.findings import Finding, in_order, says
from loomwright.gearbox.box import Box
from loomwright.gearbox.judged import Judged, run_words
from loomwright.gearbox.line_record import Lines, line_places, named_lines
from loomwright.gearbox.pressure import pressure_says, pressure_table
from loomwright.gearbox.procedure import SetUpStep, newest_of, set_up_steps
from loomwright.gearbox.programme_reading import OWN, wishes
from loomwright.job.rows import Gate
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.gear_work import GearsFound
from loomwright.pages.records.road_part import NO_ROAD, RoadPart
from loomwright.quantities.printing import for_print
from loomwright.refusals import Problem
from loomwright.writers.drive_chart import drives_chart
from loomwright.writers.gear_chart import lines_chart

__all__ = ["DriveLine", "GearFinding", "GearsPage", "LineRow", "ProgrammeWord", "cell_name", "gears_page"]

_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeWord:
    """One programme to look at."""

    word: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCell:
    """One speed that may be typed. name: of its field.   label: what it is, for who does not see the table."""

    name: str
    value: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """One line as figures, one a breakpoint."""

    name: str
    cells: tuple[LineCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PressurePart:
    """The line pressure, printed. unit: of its cells.   rows: a gear and its cells.   says: what has to be known."""

    unit: str
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    says: tuple[str, ...]


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
class StepLine:
    """One step of the set-up. done: what was written down of it last, in words; empty where nothing was."""

    step: SetUpStep
    done: str
    is_through: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsPage:
    """The page. is_shown_only: the made-up gearbox, since the job names none.   is_kept: somebody drew these lines.

    is_looked_at: lines as typed, not kept yet.   told: what of the typing cannot be used.   chart, compared: drawn.
    waiting, stopped, refused, done, of: how far checks and drives are. [-]
    """

    title: str
    is_shown_only: bool
    is_kept: bool
    is_looked_at: bool
    told: tuple[str, ...]
    sheet: str
    extent: tuple[str, ...]
    programme: str
    programmes: tuple[ProgrammeWord, ...]
    wishes: tuple[str, ...]
    pedals: tuple[str, ...]
    lines: tuple[LineRow, ...]
    kicks: tuple[LineCell, ...]
    kick_at: str
    gears: tuple[str, ...]
    pressure: PressurePart
    findings: tuple[GearFinding, ...]
    drives: tuple[DriveLine, ...]
    steps: tuple[StepLine, ...]
    write: str
    chart: Markup
    compared: Markup
    map: str
    road: RoadPart
    logs: str
    csv: str
    svg: str
    fewest: str
    here: str
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str


def cell_name(line: str, place: int) -> str:
    """The field of a line's speed at a breakpoint.

    Args:
        place: of the breakpoint, from 0. [-]
    """
    return f"{line}/{place}"


def gears_page(
    job: str,
    box: Box,
    lines: Lines,
    standing: AnswerStanding[GearsFound],
    *,
    is_shown_only: bool,
    looked_at: Sequence[Finding] | None = None,
    typed: Mapping[str, str] | None = None,
    problems: Sequence[Problem] = (),
    gates: Sequence[Gate] = (),
    road: RoadPart = NO_ROAD,
) -> GearsPage:
    """The page of one programme, and all of them driven.

    Args:
        job: its name.
        standing: how far checks and drives are.
        is_shown_only: the made-up gearbox stands in.
        looked_at: what is wrong with lines that are typed but not kept.
        typed: the fields as they came, where some of them cannot be used.
        problems: what of them cannot.
        gates: rows of that sheet, for what was done of the set-up.
        road: a recorded drive laid over the lines.
    """
    here, answer = job_path(job, "gears"), standing.answer
    asked = f"?programme={lines.programme}"
    texts = typed or {}
    about_lines = looked_at if looked_at is not None else answer.lines.get(lines.programme, ()) if answer else ()
    findings = in_order([*(answer.box if answer else ()), *about_lines])
    pedals = tuple(f"{_PERCENT * pedal:g}" for pedal in lines.pedal_frac)
    return GearsPage(
        title=box.title or "the gearbox of the job",
        is_shown_only=is_shown_only,
        is_kept=lines.programme in box.kept,
        is_looked_at=looked_at is not None,
        told=tuple(one.says for one in problems),
        sheet=job_path(job, "sheet/vehicle"),
        extent=box.extent,
        programme=lines.programme,
        programmes=tuple(
            ProgrammeWord(word=one.name, href=f"{here}?programme={one.name}", is_here=one.name == lines.programme)
            for one in box.programmes
        ),
        wishes=tuple(one for one in wishes() if one != OWN),
        pedals=pedals,
        lines=tuple(_line_row(one.name, one.speeds_kmh, pedals, texts) for one in named_lines(lines)),
        kicks=_kicks(lines, texts),
        kick_at=texts.get("kick_at", f"{_PERCENT * lines.kick_frac:g}"),
        gears=tuple(str(gear) for gear in range(1, len(box.ratios) + 1)),
        pressure=_pressure(box, lines),
        findings=tuple(GearFinding(severity=one.severity, rule=one.rule, says=says(one)) for one in findings),
        drives=tuple(_drive(one) for one in answer.drives) if answer else (),
        steps=_steps(box, gates),
        write=f"{here}/steps",
        chart=Markup(lines_chart(lines, road.changes)),
        compared=Markup(drives_chart(answer.drives)) if answer else Markup(""),
        map=f"{here}/hunting.svg{asked}" if answer else "",
        road=road,
        logs=job_path(job, "logs"),
        csv=f"{here}/lines.csv{asked}",
        svg=f"{here}/lines.svg{asked}",
        fewest=f"{here}/fewest{asked}",
        here=here,
        waiting=answer is None and not standing.stopped and standing.refused is None,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
        stop=f"{here}/stop{asked}",
        again=f"{here}/again{asked}",
    )


def _pressure(box: Box, lines: Lines) -> PressurePart:
    made = pressure_table(box, lines)
    rows = made.pressure_kpa or tuple(tuple(_PERCENT * share for share in row) for row in made.share_frac)
    cells = (tuple(f"{one:.0f}" for one in row) for row in rows)
    return PressurePart(
        unit="kPa" if made.pressure_kpa else "% of idle to stall",
        rows=tuple(zip(made.gears, cells, strict=True)),
        says=pressure_says(box, made),
    )


def _steps(box: Box, gates: Sequence[Gate]) -> tuple[StepLine, ...]:
    steps = set_up_steps(box)
    newest = newest_of(steps, gates)
    return tuple(
        StepLine(
            step=one,
            done=_done(newest[one.number]) if one.number in newest else "",
            is_through=one.number in newest and newest[one.number].verdict in ("passed", "waived"),
        )
        for one in steps
    )


def _done(row: Gate) -> str:
    read = f", read {for_print(row.value) if isinstance(row.value, float) else row.value}" if row.value else ""
    why = f": {row.reason}" if row.reason else ""
    return f"{row.verdict} {row.time}{read}{why}, {row.who}".rstrip(", ")


def _line_row(name: str, speeds_kmh: Sequence[float], pedals: Sequence[str], typed: Mapping[str, str]) -> LineRow:
    cells = (
        LineCell(
            name=cell_name(name, place),
            value=typed.get(cell_name(name, place), f"{speed:.1f}"),
            label=f"{name} at {pedal} % pedal, km/h",
        )
        for place, (speed, pedal) in enumerate(zip(speeds_kmh, pedals, strict=True))
    )
    return LineRow(name=name, cells=tuple(cells))


def _kicks(lines: Lines, typed: Mapping[str, str]) -> tuple[LineCell, ...]:
    names = (name for name, kind, _ in line_places(len(lines.lock_kmh)) if kind == "kick")
    return tuple(
        LineCell(name=name, value=typed.get(name, f"{speed:.1f}"), label=name)
        for name, speed in zip(names, lines.kick_kmh, strict=True)
    )


def _drive(one: Judged) -> DriveLine:
    return DriveLine(
        programme=one.programme,
        run=run_words(one.run),
        changes=str(one.changes),
        per_km=f"{one.per_km:.2f}",
        undone=str(one.undone),
        gears=tuple(f"{_PERCENT * share:.0f} %" for share in one.gear_frac),
        locked=f"{_PERCENT * one.locked_frac:.0f} %",
        top=for_print(one.top_rpm, side="up", digits=3),
        fluid=f"{for_print(one.fluid_c, side='up', digits=3)} °C",
    )
