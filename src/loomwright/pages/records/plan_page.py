"""What does the car plan say: the runs drawn from above and from the side, each with its bundle, heat and hole, and one
of them cut across?
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.car import Car
from loomwright.heat.in_runs import Warm
from loomwright.job.rows import Run
from loomwright.job.variables import Variable
from loomwright.pages.addresses import JobLinks, job_path, state_text
from loomwright.pages.records.loom_words import degrees, mm_text
from loomwright.pages.records.plan_view import View, views_of
from loomwright.pages.records.run_section import RunSection, section_of
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_strip import StateStrip, strip_of
from loomwright.pages.records.state_words import amps_text
from loomwright.pages.records.suspect_marks import NO_SUSPECTS, PlanMark, SuspectLine, suspect_lines, view_marks
from loomwright.refusals import OutOfReach
from loomwright.routes.bundles import Bundle, bundles
from loomwright.tables.coverings import covered_mm, hole_needed_mm

__all__ = ["PlanPage", "PlanRun", "plan_page", "state_begun"]

_BEGINS = {"key": "run", "engine": "running"}
_FLOWS_A = 0.05
_EQUAL = 1.0 + 1e-9
_THIN, _THICK, _FULL_A = 1.5, 5.0, 40.0
_HATCHES = ((100.0, "dense"), (80.0, "close"), (60.0, "wide"))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRun:
    """One run in the list and in both views. warm: of its warmest wire; amps: of its busiest, printed; empty: nothing.

    hatch: wide, close or dense, the hotter the closer; empty below 60 °C.   copper: width of the line beside it.
    hole: its clear width; hole_says: whether the bundle goes through.   trouble: what does not hold, in a word or two.
    says: all of it in one line, for whoever does not see the drawing.
    copper: in units of the drawing. [-]
    """

    run: str
    from_: str
    to: str
    href: str
    wires: int
    covered: str
    warm: str
    warmest: str
    amps: str
    hatch: str
    copper: float
    hole: str
    hole_says: str
    trouble: str
    is_picked: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """The page. undrawn: runs whose places have no figures.   section: of the run that is picked; None where none is.

    says: the state in words.
    """

    says: str
    strip: StateStrip
    views: tuple[View, ...]
    runs: Mapping[str, PlanRun]
    undrawn: tuple[str, ...]
    straight: tuple[str, ...]
    section: RunSection | None
    sheet: str
    marks: Mapping[str, tuple[PlanMark, ...]]
    suspects: tuple[SuspectLine, ...]
    links: JobLinks


def state_begun(variables: tuple[Variable, ...]) -> dict[str, str]:
    """The state a plan is shown in where nobody asked for one: driving, as far as the car knows the words."""
    there = {variable.name: variable.values for variable in variables}
    return {name: value for name, value in _BEGINS.items() if value in there.get(name, ())}


def plan_page(
    car: Car, asked: StateAsked, links: JobLinks, *, run: str = "", suspects: Mapping[str, int] = NO_SUSPECTS
) -> PlanPage:
    """The page.

    Args:
        asked: the state that heat is worked out in.
        run: the one that is cut across; empty: none.
        suspects: of the fault finder, in rings on the plan: thing -> rank.
    Raises:
        OutOfReach: a run the job does not have.
    """
    runs = {row.id: row for row in car.job.runs}
    if run and run not in runs:
        raise OutOfReach("run", run, " ".join(runs) or "none in this job")
    query = {**asked.query, "state": asked.query["state"] or _rest(car)}
    links = replace(links, asked=asked.query)
    warm = car.heat(asked.state, before=asked.before or None, changes=asked.changes)
    laid = bundles(car.job, car.routes)
    lines = {name: _line(row, laid[name], warm, links.job, query, run) for name, row in runs.items()}
    covered = {name: covered_mm(one.bundle_mm, one.covering) for name, one in laid.items() if one.bundle_mm is not None}
    labels = {name: f"{name} {one.warm.removesuffix(' °C')}°" if one.warm else name for name, one in lines.items()}
    views = views_of(car.job.places, car.job.runs, covered, labels)
    drawn = {one.run for view in views[:1] for one in view.runs}
    return PlanPage(
        says=asked.says,
        strip=_strip(car, asked, links.job, run),
        views=views,
        runs=lines,
        undrawn=tuple(name for name in runs if name not in drawn),
        straight=car.routes.straight,
        section=section_of(car, runs[run], warm, links, job_path(links.job, "car-plan", query=query)) if run else None,
        sheet=links.sheet("runs"),
        marks={view.word: view_marks(car, view, suspects) for view in views} if suspects else {},
        suspects=suspect_lines(suspects),
        links=links,
    )


def _rest(car: Car) -> str:
    """An address that says everything is at rest, so that it is not taken for one that says nothing."""
    return state_text({one.name: one.rest for one in car.variables[:1]})


def _strip(car: Car, asked: StateAsked, job: str, run: str) -> StateStrip:
    path = job_path(job, "car-plan")
    strip = strip_of(
        path, car.variables, state=asked.state, job=car.job, unplugged=asked.unplugged, before=asked.before, matters=()
    )
    hidden = (*strip.hidden, ("run", run)) if run else strip.hidden
    rest = job_path(job, "car-plan", query={"state": _rest(car), "run": run})
    return replace(strip, hidden=hidden, rest_href=rest if strip.rest_href else "")


def _line(row: Run, bundle: Bundle, warm: Warm, job: str, query: Mapping[str, str], picked: str) -> PlanRun:
    heat = warm.runs.get(row.id)
    here = [warm.wires[name] for name in bundle.conductors if name in warm.wires]
    amps = max((one.amps for one in here), default=0.0)
    at_c = heat.copper_c if heat is not None else None
    hot = [one.wire for one in here if one.is_too_hot and row.id == one.where]
    thick = None if bundle.bundle_mm is None else covered_mm(bundle.bundle_mm, bundle.covering)
    needed = None if bundle.bundle_mm is None else hole_needed_mm(bundle.bundle_mm, bundle.covering)
    is_tight = row.hole_mm is not None and needed is not None and needed > row.hole_mm * _EQUAL
    trouble = [word for word, holds in (("too hot", bool(hot)), ("hole too small", is_tight)) if holds]
    warm_says = "" if at_c is None else degrees(at_c)
    hole = "" if row.hole_mm is None else f"{row.hole_mm:g} mm"
    hole_says = ""
    if row.hole_mm is not None and needed is not None:
        hole_says = f"{mm_text(needed)} needed"
    told = [
        f"{row.id}, {row.from_} to {row.to}: {len(bundle.conductors)} wires",
        "" if thick is None else f"{mm_text(thick)} covered",
        warm_says,
        f"busiest wire {amps_text(amps)}" if amps >= _FLOWS_A else "",
        f"hole {hole}" if hole else "",
        *trouble,
    ]
    return PlanRun(
        run=row.id,
        from_=row.from_,
        to=row.to,
        href=job_path(job, "car-plan", query={**query, "run": row.id}, at="section"),
        wires=len(bundle.conductors),
        covered="" if thick is None else mm_text(thick),
        warm=warm_says,
        warmest=heat.warmest if heat is not None else "",
        amps=amps_text(amps) if amps >= _FLOWS_A else "",
        hatch="" if at_c is None else next((word for least, word in _HATCHES if at_c >= least - 1e-3), ""),
        copper=0.0 if amps < _FLOWS_A else round(_THIN + (_THICK - _THIN) * min(1.0, amps / _FULL_A), 1),
        hole=hole,
        hole_says=hole_says,
        trouble=", ".join(trouble),
        is_picked=row.id == picked,
        says=", ".join(piece for piece in told if piece),
    )
