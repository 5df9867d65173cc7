"""What does the page of a recorded drive say: what it says of the car, what is drawn of it, which column is what?"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding, says
from loomwright.logs.channels import QUANTITIES, unit_shown
from loomwright.logs.dyno import Readiness
from loomwright.logs.in_short import drive_in_short
from loomwright.logs.judged import Judged, Mixture
from loomwright.logs.mapping import Mapped, mapped_text
from loomwright.pages.addresses import job_path
from loomwright.store.log_files import KeptLog
from loomwright.tables.load import read_rows
from loomwright.writers.log_chart import PLOT_LEFT_FRAC, PLOT_RIGHT_FRAC, Band, Mark, chart_size
from loomwright.writers.mixture_chart import has_contours
from loomwright.writers.starts_chart import soak_words

__all__ = ["BANDS", "LogPage", "View", "bands_of", "log_page", "marks_of"]

_AT = re.compile(r"at (\d+(?:\.\d+)?) s")
_ROUND_S = 10.0
_LEAST_S = 0.5
_PERCENT = 100.0
_MOST_COLUMNS = 200
BANDS: tuple[tuple[str, ...], ...] = (
    ("engine_speed",),
    ("manifold_pressure",),
    ("throttle",),
    ("mixture", "mixture_target"),
    ("coolant", "air"),
    ("battery",),
    ("oil_pressure",),
    ("fan",),
)
"""What is drawn of a drive from the top down, where nothing else is asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Which part of a drive is looked at. from_s, to_s: the window. [s]   over: laid over one another.   mark_s: [s]"""

    from_s: float | None = None
    to_s: float | None = None
    over: tuple[str, ...] = ()
    mark_s: float | None = None

    def query(self, from_s: float | None, to_s: float | None) -> str:
        """The rest of an address for another window with all else the same."""
        parts = [] if from_s is None or to_s is None else [f"from={from_s:.2f}", f"to={to_s:.2f}"]
        parts += [f"over={name}" for name in self.over]
        parts += [] if self.mark_s is None else [f"mark={self.mark_s:g}"]
        return "?" + "&".join(parts) if parts else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoomLink:
    """A way to another window. key: of the keyboard, as JavaScript names it."""

    word: str
    href: str
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldFinding:
    """One thing that is wrong. number: of its mark in the drawing, 0 where it has no time.   href: the drive there."""

    number: int
    severity: str
    rule: str
    says: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnLine:
    """One column of a log. chosen: the quantity it is taken for, blank for none.   unit: as typed for it, else blank.

    written: the unit it is read in.   sure: in per cent, blank where it is taken for nothing.   says: what was taken
    for granted.
    """

    name: str
    chosen: str
    unit: str
    written: str
    sure: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LogPage:
    """A drive. waiting: being read.   mixture: lines on delay and cells, empty where it was not recorded.

    in_short: three sentences.   from_s, to_s: of the window that is drawn. [s]

    beside: its figures beside the solved car's.   why: where the fault finder is asked, blank where all agrees.
    """

    name: str
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    back: str
    dyno: str
    facts: tuple[tuple[str, str], ...] = ()
    says: tuple[str, ...] = ()
    findings: tuple[ToldFinding, ...] = ()
    chart: str = ""
    zooms: tuple[ZoomLink, ...] = ()
    window: str = ""
    in_short: tuple[str, ...] = ()
    from_s: float = 0.0
    to_s: float = 0.0
    left_frac: float = PLOT_LEFT_FRAC
    right_frac: float = PLOT_RIGHT_FRAC
    chart_size: tuple[int, int] = (0, 0)
    at_mark: tuple[tuple[str, str], ...] = ()
    unmark: str = ""
    columns: tuple[ColumnLine, ...] = ()
    quantities: tuple[str, ...] = ()
    units: tuple[tuple[str, str], ...] = ()
    channels: tuple[tuple[str, str, str, str, bool], ...] = ()
    left: tuple[str, ...] = ()
    view: View = View()
    here: str = ""
    starts: str = ""
    start_lines: tuple[tuple[str, ...], ...] = ()
    beside: tuple[tuple[str, ...], ...] = ()
    why: str = ""
    mixture: tuple[str, ...] = ()
    cells: str = ""
    contours: str = ""
    proposal: tuple[tuple[str, ...], ...] = ()
    adopt: str = ""
    mapping: str = ""
    mapping_text: str = ""
    controller: str = ""


def log_page(
    job: str,
    log: KeptLog,
    drive: Judged | None,
    view: View,
    *,
    whole_s: tuple[float, float] = (0.0, 0.0),
    standing: tuple[bool, str, int, int] = (False, "", 0, 0),
    mapped: Mapped,
    ready: Readiness | None = None,
    controller: str = "",
    at_mark: Mapping[str, float] | None = None,
) -> LogPage:
    """One drive.

    Args:
        drive: what it says; None while it is read.
        whole_s: its first and its last time. [s]
        standing: whether it was stopped, why there is no answer, steps done and to do.
        mapped: which column is what, as it is kept.
        ready: what is left before the dyno, this drive counted in; None while it is read.
        at_mark: quantity -> what was recorded at the mark, each in its own unit.
    """
    here = job_path(job, "logs", log.key)
    stopped, refused, done, of = standing
    base = LogPage(
        name=log.name,
        waiting=drive is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=f"{here}/stop",
        again=f"{here}/again",
        back=job_path(job, "logs"),
        dyno=job_path(job, "dyno"),
        view=view,
        here=here,
        mapping=f"{here}/mapping",
        mapping_text=mapped_text(mapped, () if drive is None else drive.channels),
        controller=controller,
    )
    if drive is None or ready is None:
        return base
    return replace(
        _told(base, drive, view, whole_s),
        in_short=drive_in_short(drive, ready),
        at_mark=_at_mark(at_mark or {}),
        unmark="" if view.mark_s is None else f"{here}{replace(view, mark_s=None).query(view.from_s, view.to_s)}#drive",
        chart_size=chart_size(len(bands_of(drive, view))),
        columns=_columns(drive, mapped),
        quantities=QUANTITIES,
        units=tuple((row["also_called"], unit_shown(row["also_called"])) for row in read_rows("log_units")),
    )


def marks_of(drive: Judged, view: View) -> tuple[Mark, ...]:
    """A mark for each finding that names its time, and the one that was asked for."""
    own = (Mark(at_s=view.mark_s, word="mark"),) if view.mark_s is not None else ()
    timed = [_at_s(one) for one in drive.findings]
    return (*own, *(Mark(at_s=at_s, word=str(place)) for place, at_s in enumerate(timed, start=1) if at_s is not None))


def bands_of(drive: Judged, view: View) -> tuple[Band, ...]:
    """The bands of a drawing: what is laid over one another first, then the usual ones."""
    units = {row["name"]: row["unit"] for row in read_rows("log_quantities")}
    there = {channel.quantity for channel in drive.channels}
    first = (tuple(name for name in view.over if name in there),)
    return tuple(Band(names=names, units=units) for names in (*first, *BANDS) if any(name in there for name in names))


def _at_mark(figures: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    units = {row["name"]: row["unit"] for row in read_rows("log_quantities")}
    return tuple(
        (name.replace("_", " "), f"{figure:.4g} {'' if units[name] == '-' else units[name]}".strip())
        for name, figure in figures.items()
    )


def _columns(drive: Judged, mapped: Mapped) -> tuple[ColumnLine, ...]:
    """Every column of the log: those that are taken for something first."""
    known = [
        ColumnLine(
            name=one.column,
            chosen=one.quantity,
            unit=mapped.units.get(one.column, "").lower(),
            written=unit_shown(one.unit),
            sure=f"{_PERCENT * one.sure_frac:.0f} %",
            says=one.says,
        )
        for one in drive.channels
    ]
    left = [
        ColumnLine(name=name, chosen="", unit=mapped.units.get(name, "").lower(), written="", sure="", says="")
        for name in drive.left
    ]
    return (*known, *left)[:_MOST_COLUMNS]


def _told(base: LogPage, drive: Judged, view: View, whole_s: tuple[float, float]) -> LogPage:
    here = base.here
    from_s = whole_s[0] if view.from_s is None else max(view.from_s, whole_s[0])
    to_s = whole_s[1] if view.to_s is None else min(view.to_s, whole_s[1])
    mixture = drive.mixture
    units = {row["name"]: row["unit"] for row in read_rows("log_quantities")}
    return replace(
        base,
        facts=_facts(drive),
        says=drive.says,
        findings=tuple(_finding(place, one, base, view) for place, one in enumerate(drive.findings, start=1)),
        chart=f"{here}/drive.svg{view.query(view.from_s, view.to_s)}",
        zooms=_zooms(here, view, from_s, to_s, whole_s),
        from_s=from_s,
        to_s=to_s,
        window=f"{_clock(from_s)} to {_clock(to_s)}",
        channels=tuple(
            (one.quantity, one.column, units.get(one.quantity, ""), one.says, one.quantity in view.over)
            for one in drive.channels
        ),
        left=drive.left,
        starts=f"{here}/starts.svg" if drive.starts else "",
        start_lines=_start_lines(drive),
        beside=_beside_lines(drive),
        why=f"{here}/why" if any(one.is_off for one in drive.beside) else "",
        mixture=() if mixture is None else _mixture(mixture),
        cells="" if mixture is None or not mixture.visits else f"{here}/cells.svg",
        contours="" if mixture is None or not has_contours(mixture) else f"{here}/contours.svg",
        proposal=() if mixture is None else _proposal(mixture),
        adopt=f"{here}/adopt" if drive.has_table and mixture is not None else "",
    )


def _facts(drive: Judged) -> tuple[tuple[str, str], ...]:
    """How much was recorded."""
    minutes, seconds = divmod(round(drive.lasts_s), 60)
    return (
        ("rows", f"{drive.rows:,}".replace(",", "\u202f")),
        ("recorded", f"{minutes} min {seconds} s"),
        ("under load", f"{drive.loaded_s:.0f} s"),
        ("a row every", f"{1000.0 * drive.step_s:.3g} ms"),
        ("fan cycles", str(drive.fan_cycles)),
    )


def _start_lines(drive: Judged) -> tuple[tuple[str, ...], ...]:
    """Every attempt to start: when, after how long a rest, how long it took, how fast, volts, what came of it."""
    return tuple(
        (
            str(place),
            _clock(one.at_s),
            soak_words(one),
            f"{one.crank_s:.1f} s",
            f"{one.crank_rpm:.0f}",
            "–" if one.least_v is None else f"{one.least_v:.1f} V",
            f"ran {one.ran_s:.0f} s" if one.took else "did not run",
        )
        for place, one in enumerate(drive.starts, start=1)
    )


def _beside_lines(drive: Judged) -> tuple[tuple[str, ...], ...]:
    """The log beside the network of the job."""
    return tuple(
        (
            one.what,
            f"{one.log:.2f} {one.unit}",
            f"{one.network:.2f} {one.unit}",
            f"{one.allowed:.2f} {one.unit}",
            one.state,
            "disagrees" if one.is_off else "agrees",
        )
        for one in drive.beside
    )


def _finding(place: int, one: Finding, base: LogPage, view: View) -> ToldFinding:
    at_s = _at_s(one)
    href = "" if at_s is None else f"{base.here}{view.query(max(0.0, at_s - _ROUND_S), at_s + _ROUND_S)}#drive"
    return ToldFinding(
        number=0 if at_s is None else place, severity=one.severity, rule=one.rule, says=says(one), href=href
    )


def _at_s(one: Finding) -> float | None:
    found = _AT.search(f"{one.label} {one.wrong}")
    return float(found[1]) if found else None


def _zooms(here: str, view: View, from_s: float, to_s: float, whole_s: tuple[float, float]) -> tuple[ZoomLink, ...]:
    span = max(to_s - from_s, _LEAST_S)
    middle = (from_s + to_s) / 2.0 if view.mark_s is None or not from_s <= view.mark_s <= to_s else view.mark_s

    def link(word: str, key: str, first: float, last: float) -> ZoomLink:
        first = max(first, whole_s[0])
        return ZoomLink(word=word, href=f"{here}{view.query(first, min(last, whole_s[1]))}#drive", key=key)

    return (
        link("earlier", "ArrowLeft", from_s - span / 2.0, max(to_s - span / 2.0, whole_s[0] + span)),
        link("later", "ArrowRight", min(from_s + span / 2.0, whole_s[1] - span), to_s + span / 2.0),
        link("closer", "+", middle - span / 4.0, middle + span / 4.0),
        link("wider", "-", middle - span, middle + span),
        ZoomLink(word="whole drive", href=f"{here}{view.query(None, None)}#drive", key="0"),
    )


def _clock(at_s: float) -> str:
    minutes, seconds = divmod(round(at_s, 1), 60.0)
    return f"{minutes:.0f}:{seconds:04.1f}"


def _mixture(mixture: Mixture) -> tuple[str, ...]:
    delay = mixture.delay
    told = sum(cell.factor is not None for cell in mixture.cells)
    after = f"{delay.fixed_ms:.0f} ms + {delay.pipe:.0f} / (g/s a litre)"
    return (
        f"Measured mixture comes {after} after it was burnt: {delay.says}.",
        f"{told} of {len(mixture.cells)} cells told by {mixture.visits} steady visits; the others stay as they were.",
    )


def _proposal(mixture: Mixture) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            f"{cell.rpm:g}",
            f"{cell.load:g}",
            f"{_PERCENT * (cell.factor - 1.0):+.1f}",
            f"{_PERCENT * ((cell.low or 1.0) - 1.0):+.1f} to {_PERCENT * ((cell.high or 1.0) - 1.0):+.1f}",
            str(cell.visits),
            f"{_PERCENT * (new.factor - 1.0):+.1f}",
            "" if new.old is None or new.new is None else f"{new.old:.4g} to {new.new:.4g}",
            new.says,
        )
        for cell, new in zip(mixture.cells, mixture.proposal, strict=True)
        if cell.factor is not None
    )
