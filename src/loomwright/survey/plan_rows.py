"""How does an old wire that is known become part of the plan, and how is one more reading written down?

    into_plan(job, survey, "7", "SP3.1")  ->  the job with a part that stands for that end of the old car, a wire to it

A feed becomes an `old_feed` with what it was read to do, a switched feed or an earthing switch an `old_switch`, what
hangs on a load stub an `old_load` with its ohms where they were read. Only a wire that is called goes in. Edits give a
new job; nothing is written anywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from loomwright.job.conditions import Condition, parse_condition
from loomwright.job.edits import add_row, set_cell
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.rows import OldWire, Reading
from loomwright.job.variables import variables_of
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.survey.evidence import stub_of, weighable
from loomwright.survey.records import OldWireSaid, Survey
from loomwright.tables.kinds import Kind, load_kinds
from loomwright.tables.old_wires import WireFunction, wire_looks

__all__ = ["into_plan", "with_reading"]

_KEYS: Mapping[str, str] = {"key": "off accessory run start", "selector": "P R N D 3 2 1", "engine": "stopped idle"}
_LEAST_OHM = 0.01
_LIVE_FRAC = 0.6
_CLOSED_BY: Mapping[str, str] = {"oil_lamp": "engine=stopped"}


def with_reading(job: Job, cells: Mapping[str, str]) -> Job:
    """The job with one more reading; an old wire that has no row yet gets one, to be filled in.

    Args:
        job: the job.
        cells: heading of the sheet `readings` -> text.
    Raises:
        BadDocument: a cell that cannot be read.
    Example:
        >>> job = with_reading(Job(), {"old_wire": "7", "when": "key=run", "measure": "volts", "value": "12.1"})
        >>> job.old_wires[0].id, job.readings[0].value
        ('7', 12.1)
    """
    name = cells.get("old_wire", "").strip()
    read = add_row(job, "readings", cells)
    if name and name not in {wire.id for wire in job.old_wires}:
        read = add_row(read, "old_wires", {"id": name, "notes": "read before it had a row: fill in colour and place"})
    return read


def into_plan(job: Job, survey: Survey, wire: str, to: str = "", kinds: Mapping[str, Kind] | None = None) -> Job:
    """The job with an old wire in it: the part that stands for its end, a wire from there, its fate.

    Args:
        job: the job.
        survey: what its readings say.
        wire: which old wire.
        to: the point of the new loom it is joined to; what stands in `joins_to` where left out.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        OutOfReach: no such wire, no point to join it to, or it is in the plan already.
        NoAnswer: it is not sure enough, left alone, or of a function that is no part of a plan.
        BadDocument: a cell that cannot be read.
    """
    said = next((each for each in survey.wires if each.id == wire), None)
    row = next((each for each in job.old_wires if each.id == wire), None)
    if said is None or row is None:
        raise OutOfReach("old wire", wire, " ".join(each.id for each in job.old_wires) or "none in this job")
    _is_fit(said)
    point = to or row.joins_to
    if not point:
        raise OutOfReach("joins_to", "", "the point of the new loom it is joined to, such as SP3.1")
    part, new_wire = f"OLD_{wire}", f"OW_{wire}"
    if part in {each.id for each in job.parts} or new_wire in {each.id for each in job.wires}:
        raise OutOfReach("old wire", wire, f"one that is not in the plan yet; {part} is there")
    function = next(each for each in survey.functions if each.key == said.best.function)
    stub = stub_of(row.stub)
    kind = function.load_kind if stub == "load" else function.source_kind
    if not kind:
        raise NoAnswer(f"{wire} in the plan", (f"{function.words} stands for no part; join it by hand",))
    settings = _settings(job, row, function, kind, stub)
    planned = _with_variables(job, settings, kinds or load_kinds())
    place = row.where if row.where in {each.id for each in job.places} else ""
    notes = f"old wire {wire}, {said.how_sure} ({min(99, round(100 * said.best.odds_frac))} in 100)"
    text = "; ".join(f"{name}={value}" for name, value in settings.items())
    cells = {"id": part, "kind": kind, "name": function.words, "place": place, "settings": text}
    planned = add_row(planned, "parts", {**cells, "fitted": "kept", "notes": notes})
    size = "" if row.size_mm2 is None else f"{row.size_mm2:g}"
    drawn = {"id": new_wire, "from": f"{part}.1", "to": point, "size_mm2": size, "colour": row.colour}
    planned = add_row(planned, "wires", {**drawn, "fitted": "kept", "notes": f"old wire {wire}"})
    planned = set_cell(planned, "old_wires", wire, "joins_to", point)
    return planned if row.fate else set_cell(planned, "old_wires", wire, "fate", said.fate.fate)


def _is_fit(said: OldWireSaid) -> None:
    question = f"{said.id} in the plan"
    if not said.is_called:
        more = said.change_mind
        reasons = [f"{said.best.words} is {said.how_sure}, {round(100 * said.best.odds_frac)} in 100"]
        if not said.is_live_proved:
            reasons.append("there is no live proof: work its control and see it follow")
        if more:
            reasons.append(f"read next: {more.words}")
        raise NoAnswer(question, tuple(reasons))
    if "leave" in (said.fate.typed, said.fate.fate):
        raise NoAnswer(question, (said.fate.reason or "its fate is leave",))


def _settings(job: Job, row: OldWire, function: WireFunction, kind: str, stub: str) -> dict[str, str]:
    if kind == "old_load":
        ohms = [each.value for each in weighable(job)[0] if each.wire == row.id and each.measure == "ohms"]
        figures = [max(value, _LEAST_OHM) for value in ohms if isinstance(value, float)]
        return {"ohm": f"{median(figures):.3g}"} if figures else {}
    if kind == "old_switch" and stub == "load":
        closes = _CLOSED_BY.get(function.key, "")
        return {"to": "earth", **({"closes_when": closes} if closes else {})}
    if kind == "old_switch":
        closes = _worked_when(job, row, function)
        return {"to": "supply", **({"closes_when": closes} if closes else {})}
    told = {"live_when": function.live_when or _worked_when(job, row, function) or "always"}
    return told if function.source_ohm is None else {**told, "source_ohm": f"{function.source_ohm:g}"}


def _worked_when(job: Job, row: OldWire, function: WireFunction) -> str:
    """The condition under which its control was worked, as the readings of this wire that showed it say."""
    look = next((each for each in wire_looks() if each.key == function.control), None)
    if look is None:
        return ""
    terms: dict[str, list[str]] = {}
    for reading in job.readings:
        if reading.old_wire == row.id and _showed(reading):
            for term in reading.when.terms:
                if term.variable in look.control and all(value in look.at for value in term.values):
                    terms.setdefault(term.variable, []).extend(term.values)
    return ", ".join(f"{name}={'|'.join(dict.fromkeys(values))}" for name, values in terms.items())


def _showed(reading: Reading) -> bool:
    """Whether a reading showed volts."""
    if isinstance(reading.value, str):
        return reading.value in ("full", "dim", "pulsing")
    return reading.value is not None and reading.measure != "ohms" and abs(reading.value) > _LIVE_FRAC


def _with_variables(job: Job, settings: Mapping[str, str], kinds: Mapping[str, Kind]) -> Job:
    """The job with a row for every variable that the settings name and nobody has yet."""
    known = {variable.name for variable in variables_of(job, kinds_of(job, kinds))}
    for setting in ("live_when", "closes_when"):
        condition = parse_condition(settings[setting]) if setting in settings else Condition()
        for term in condition.terms:
            if term.variable in known:
                continue
            values = _KEYS.get(term.variable, "off " + " ".join(term.values))
            cells = {"name": term.variable, "values": values, "rest": values.split()[0]}
            job = add_row(job, "variables", {**cells, "notes": "named by an old wire"})
            known.add(term.variable)
    return job
