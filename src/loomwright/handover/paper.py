"""What does the first paper of a job say?

In: the job with what was decided filled in, its kinds, its compiled network and what a check found. Out: a `Paper`:
title block, the cautions that apply, the findings with their roots first, every wire, what to expect at each terminal,
every fuse. A date is printed only where one is handed in, so the same job gives the same paper on any day.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from loomwright.findings import Finding, id_order, says, when_text
from loomwright.handover.asking import Walk, state_text, walk_of
from loomwright.handover.cautions import cautions_of
from loomwright.handover.fuse_list import fuses_of
from loomwright.handover.readings import readings_of
from loomwright.handover.records import FindingEntry, Paper, StateColumn, TitleBlock
from loomwright.handover.wire_list import Note, number_of, wire_lines
from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.states.ratings.pulsed import Heating
from loomwright.tables.kinds import Kind

__all__ = ["finding_entry", "paper_of", "verdict_of"]

_TICKED = re.compile(r"`([^`]+)`")
_WORDS = {"fault": ("fault", "faults"), "warning": ("warning", "warnings"), "note": ("note", "notes")}


def paper_of(
    job: Job,
    kinds: Mapping[str, Kind],
    compiled: Compiled,
    findings: Sequence[Finding],
    *,
    states_searched: int,
    date: str = "",
    walk: Walk | None = None,
    notes: tuple[Note, ...] = (),
    heating: Heating | None = None,
    newest: int | None = None,
) -> Paper:
    """The paper of one revision of a job.

    Args:
        findings: as a check gave them, in order.
        states_searched: how many states their verdicts hold for. [-]
        date: printed in the title block as it stands; none where empty.
        walk: the states it tells of, solved; worked out where left out.
        notes: what was decided in blank cells.
        heating: the pulses of the car; none are known where left out.
        newest: the revision the job is at, where a shelf or an archive keeps them. [-]
    """
    walk = walk or walk_of(job, kinds, compiled)
    columns, nearby = walk.columns, walk.nearby
    return Paper(
        title=_title(job, date, newest),
        cautions=cautions_of(job, kinds),
        verdict=verdict_of(findings, states_searched),
        findings=tuple(finding_entry(finding) for finding in findings),
        wires=wire_lines(job, notes),
        states=tuple(StateColumn(title=one.title, state=state_text(one.state) or "all at rest") for one in columns),
        at_rest=_at_rest(compiled),
        readings=readings_of(job, kinds, compiled, columns, nearby),
        fuses=fuses_of(
            job, kinds, compiled, columns, nearby, before=walk.answers, numbers=number_of(notes), heating=heating
        ),
        provisional=tuple(sorted(set(compiled.network.notes), key=id_order)),
    )


def verdict_of(findings: Sequence[Finding], states_searched: int) -> str:
    """The findings counted in one sentence.

    Args:
        states_searched: how many states they hold for. [-]
    Example:
        >>> verdict_of((), 1200)
        'Nothing found in 1200 states.'
    """
    counts = [(sum(one.severity == word for one in findings), words) for word, words in _WORDS.items()]
    told = [f"{count} {words[count != 1]}" for count, words in counts if count]
    states = "1 state" if states_searched == 1 else f"{states_searched} states"
    return f"{', '.join(told) if told else 'Nothing found'} in {states}."


def finding_entry(finding: Finding) -> FindingEntry:
    """A finding as it is printed: its sentence without what stands in lines of their own."""
    return FindingEntry(
        severity=finding.severity,
        rule=finding.rule,
        label=finding.label or (finding.at[0] if finding.at else "the job"),
        when=when_text(finding.when),
        says=_printed(says(replace(finding, label="", at=(), when=(), mend="", folded=(), path=()))),
        mend=_printed(finding.mend.rstrip(".") + "." if finding.mend else ""),
        path=finding.path,
        folded=tuple(finding_entry(one) for one in finding.folded),
    )


def _title(job: Job, date: str, newest: int | None) -> TitleBlock:
    vehicle = vehicle_of(job)
    fitted = [wire for wire in job.wires if wire.fitted != "removed"]
    facts = (
        ("system", f"{vehicle.system_v:g} V, {vehicle.earth} earth"),
        ("judged at", f"{vehicle.design_ambient_c:g} °C, cranking at {vehicle.cranking_ambient_c:g} °C"),
        ("parts", str(sum(part.fitted != "removed" for part in job.parts))),
        ("wires", str(len(fitted))),
        ("notes", vehicle.notes),
    )
    shown = tuple((name, value) for name, value in facts if value)
    revision = _revision(job) if newest is None else str(newest)
    return TitleBlock(title=vehicle.title or "job without a title", revision=revision, date=date, facts=shown)


def _revision(job: Job) -> str:
    """The number of the last change that is written down."""
    numbers = [row.revision for row in job.changes if row.revision is not None]
    return str(max(numbers)) if numbers else "none yet"


def _at_rest(compiled: Compiled) -> str:
    """The variables that the states leave at rest, as they are typed; `settled` phases say nothing to a person."""
    shown = [v for v in compiled.network.variables if v.name not in ("key", "engine", "phase")]
    return ", ".join(f"{variable.name}={variable.rest}" for variable in shown)


def _printed(text: str) -> str:
    """A sentence with a capital, and with quotes where a terminal shows back-ticks."""
    quoted = _TICKED.sub("“\\1”", text)
    return quoted[:1].upper() + quoted[1:]
