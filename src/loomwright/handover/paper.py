"""What does the first paper of a job say?

In: the job, its kinds, its compiled network and what a check found. Out: a `Paper`: title block, the cautions that
apply, the findings with their roots first, every wire, what to expect at each terminal, every fuse. A date is printed
only where one is handed in, so the same job gives the same paper on any day.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from loomwright.findings import Finding, id_order, says, when_text
from loomwright.handover.asking import Asked, asked_of, nearby_states, state_text, telling_states
from loomwright.handover.cautions import cautions_of
from loomwright.handover.fuse_list import fuses_of
from loomwright.handover.readings import readings_of
from loomwright.handover.records import FindingEntry, Paper, StateColumn, TitleBlock, WireLine, WireMark
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.job.vehicle import vehicle_of
from loomwright.network.compiled import Compiled
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind

__all__ = ["finding_entry", "paper_of", "verdict_of", "wire_lines"]

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
) -> Paper:
    """The paper of one revision of a job.

    Args:
        findings: as a check gave them, in order.
        states_searched: how many states their verdicts hold for. [-]
        date: printed in the title block as it stands; none where empty.
    """
    columns = asked_of(compiled, telling_states(job, kinds, compiled))
    nearby = asked_of(compiled, _nearby(job, kinds, compiled, columns))
    return Paper(
        title=_title(job, date),
        cautions=cautions_of(job, kinds),
        verdict=verdict_of(findings, states_searched),
        findings=tuple(finding_entry(finding) for finding in findings),
        wires=wire_lines(job),
        states=tuple(StateColumn(title=one.title, state=state_text(one.state) or "all at rest") for one in columns),
        at_rest=_at_rest(compiled),
        readings=readings_of(job, kinds, compiled, columns, nearby),
        fuses=fuses_of(job, kinds, compiled, columns, nearby),
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


def wire_lines(job: Job) -> tuple[WireLine, ...]:
    """Every wire of the sheets, by id; one taken out says so."""
    return tuple(_wire_line(wire) for wire in sorted(job.wires, key=lambda wire: id_order(wire.id)))


def _nearby(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, columns: Sequence[Asked]
) -> list[tuple[str, Mapping[str, str]]]:
    """One step away from idling, then from driving, then from the lights."""
    idling = next((one.state for one in columns if one.state.get("engine") == "idle"), columns[-1].state)
    driving = {**idling, "engine": "running"}
    bases = [idling, driving, *(one.state for one in columns if one.title == "lights on")]
    return [
        *nearby_states(job, kinds, compiled, idling),
        ("engine=running", driving),
        *(("engine=running, " + title, state) for title, state in nearby_states(job, kinds, compiled, driving)),
        *(near for base in bases[2:] for near in nearby_states(job, kinds, compiled, base)),
    ]


def _wire_line(wire: Wire) -> WireLine:
    kept = "" if wire.fitted == "new" else wire.fitted
    said = [kept, *(f"in {name}" for name in (wire.cable, wire.screen) if name)]
    said += [f"twisted: {wire.twist}"] if wire.twist else []
    size = wire.written.get("size_mm2", "")
    gauge = f" ({size})" if wire.size_mm2 is not None and "awg" in size.lower() else ""
    return WireLine(
        mark=WireMark(id=wire.id, colour=wire.colour),
        circuit=wire.circuit,
        size="" if wire.size_mm2 is None else f"{for_print(wire.size_mm2)}{gauge}",
        start=wire.from_,
        end=wire.to,
        length="" if wire.length_mm is None else for_print(wire.length_mm, digits=6),
        notes="; ".join(piece for piece in (*said, wire.condition, wire.notes) if piece),
    )


def _title(job: Job, date: str) -> TitleBlock:
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
    return TitleBlock(title=vehicle.title or "job without a title", revision="none yet", date=date, facts=shown)


def _at_rest(compiled: Compiled) -> str:
    """The variables that the states leave at rest, as they are typed; `settled` phases say nothing to a person."""
    shown = [v for v in compiled.network.variables if v.name not in ("key", "engine", "phase")]
    return ", ".join(f"{variable.name}={variable.rest}" for variable in shown)


def _printed(text: str) -> str:
    """A sentence with a capital, and with quotes where a terminal shows back-ticks."""
    quoted = _TICKED.sub("“\\1”", text)
    return quoted[:1].upper() + quoted[1:]
