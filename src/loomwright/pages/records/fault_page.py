"""What does the fault finder show: what was read, which faults explain it, where they are, and what to read next?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.suspect_marks import suspects_of_address, suspects_text
from loomwright.proving.locate import AT_REST, Located, NextPoint, SuspectGroup
from loomwright.proving.next_point import shown_as
from loomwright.refusals import Problem

__all__ = ["FaultPage", "NextCard", "ReadLine", "SuspectLine", "fault_page"]

_MOST = 8
_LEAST = 0.002
_PRINTED = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLine:
    """One reading. doubted: no single fault gives it."""

    point: str
    when: str
    shown: str
    time: str
    doubted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectLine:
    """A fault, or several that nothing read so far tells apart. percent: of all of them.   share: 0 to 100. [%]"""

    says: str
    place: str
    percent: str
    share: int
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCard:
    """A reading worth taking. put: what comes off first.   expect: what a sound car shows there, with its unit.

    together: whether all wires of the terminal go into the clamp.
    """

    point: str
    to: str
    measure: str
    together: bool
    unit: str
    off: str
    put: str
    when: str
    state: str
    expect: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultPage:
    """The page. hunt: which readings belong together, in a word of the person's.   hunts: the others there are."""

    waiting: bool
    stopped: bool
    done: int
    of: int
    hunt: str
    hunts: tuple[tuple[str, str], ...]
    readings: tuple[ReadLine, ...]
    suspects: tuple[SuspectLine, ...]
    next: tuple[NextCard, ...]
    tried: int
    pairs: int
    drawings: tuple[tuple[str, str], ...]
    plan: str
    points: tuple[str, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]
    save: str
    stop: str
    again: str
    survey: str
    links: JobLinks


def fault_page(
    job: Job,
    located: Located | None,
    links: JobLinks,
    *,
    hunt: str,
    readings: tuple[Reading, ...],
    points: tuple[str, ...],
    typed: Mapping[str, str],
    problems: tuple[Problem, ...],
    stopped: bool,
    done: int,
    of: int,
) -> FaultPage:
    """The page.

    Args:
        located: None while it is worked out.
        readings: those of this hunt.
        points: that a probe may be put to.
        typed: what stands in the form.
        done, of: faults done and to do. [-]
    """
    hunts = dict.fromkeys(one.visit for one in job.readings if one.point and one.visit)
    likely = () if located is None else located.groups
    marked = suspects_text(likely) if readings else ""
    return FaultPage(
        waiting=located is None and not stopped and not problems,
        stopped=stopped,
        done=done,
        of=of,
        hunt=hunt,
        hunts=tuple((word, job_path(links.job, "fault", query={"hunt": word})) for word in hunts if word != hunt),
        readings=tuple(_read(one, located) for one in readings),
        suspects=tuple(_suspect(one) for one in likely[:_MOST] if one.odds >= _LEAST),
        next=() if located is None else tuple(_next(job, one) for one in located.next[:3]),
        tried=0 if located is None else located.faults,
        pairs=0 if located is None else located.pairs,
        drawings=_drawings(job, links, marked),
        plan=job_path(links.job, "car-plan", query={"suspects": marked}) if marked and links.has("car-plan") else "",
        points=points,
        typed=typed,
        problems=problems,
        save=job_path(links.job, "fault"),
        stop=job_path(links.job, "fault", "stop", query={"hunt": hunt}),
        again=job_path(links.job, "fault", "again", query={"hunt": hunt}),
        survey=links.page_named("survey"),
        links=links,
    )


def _drawings(job: Job, links: JobLinks, marked: str) -> tuple[tuple[str, str], ...]:
    """The circuits that suspects belong to, each with the address of its drawing on which they are struck."""
    home = {part.id: part.circuit for part in job.parts} | {wire.id: wire.circuit for wire in job.wires}
    circuits = dict.fromkeys(home.get(name, "") for name in suspects_of_address(marked))
    return tuple(
        (name, job_path(links.job, "circuit", name, query={"suspects": marked}))
        for name in list(circuits)[:_MOST]
        if name
    )


def _read(one: Reading, located: Located | None) -> ReadLine:
    value = shown_as(float(one.value), one.unit) if isinstance(one.value, int | float) else str(one.value)
    return ReadLine(
        point=_put_to(one),
        when=(one.when.text or AT_REST) + (f"; off: {' '.join(one.off)}" if one.off else ""),
        shown=value.strip(),
        time=one.time,
        doubted=located is not None and one in located.asked_again,
    )


def _put_to(one: Reading) -> str:
    if one.measure != "clamp":
        return one.point + (f" to {one.to}" if one.to else "")
    wires = f"all wires at {one.point}" if "." in one.point else one.point
    return f"clamp round {wires}" + (f" at {one.to}" if one.to else "")


def _suspect(group: SuspectGroup) -> SuspectLine:
    percent = _PRINTED * group.odds
    named = dict.fromkeys(one.at[0] for one in group.suspects if one.at)
    return SuspectLine(
        says=group.says,
        place=group.place,
        percent=f"{percent:.0f} %" if percent >= 1.0 else "under 1 %",
        share=round(percent),
        things=tuple(named)[:6],
    )


def _next(job: Job, one: NextPoint) -> NextCard:
    parts = {part.id: part for part in job.parts}
    names = {place.id: place.name or place.id for place in job.places}
    wire = next((wire for wire in job.wires if wire.id == one.point), None)
    ends = (wire.from_, wire.to) if wire is not None else (one.point, one.to)
    found = [parts.get(end.split(".")[0]) for end in ends]
    places = dict.fromkeys(names.get(part.place or "", part.place or "") for part in found if part is not None)
    return NextCard(
        point=one.point,
        to=one.to,
        measure=one.measure,
        together=one.measure == "clamp" and wire is None,
        unit=one.unit,
        off=" ".join(one.off),
        put=one.put,
        when=one.when,
        state=one.state,
        expect=shown_as(one.expected, one.unit),
        place=" to ".join(place for place in places if place),
    )
