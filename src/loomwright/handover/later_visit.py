"""The car is back after a year: which readings are as they were, which have moved, and what may be behind it?

Each new reading is held against the newest passed one of the same test. `as then`: within its band and near the old
figure. `moved`: within its band still, but further from the old figure than a quarter of the band is wide (a reading
without an upper bound: less than half of what it was): worth a look before it fails. `outside`: not in the band. A test
that never passed has no baseline.

A symptom is a reading too: a part that does nothing has no current in its wire, whatever the reason. Those readings go
to the fault finder, which ranks causes on the network as built.

Source: common practice, no source; the quarter and the half are our choice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.handover.handed_over import VISIT, baseline_of
from loomwright.job.conditions import Condition
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.rows import Proof, Reading, Wire
from loomwright.quantities import for_print, parse_quantity
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = ["ReadAgain", "blank_visit", "read_again", "readings_of", "sound_called", "symptom_of", "visit_cells"]

_MOVED_FRAC, _FALLEN_FRAC = 0.25, 0.5
_ENDINGS = {"V": "v", "ohm": "ohm", "A": "a"}
_OPEN = ("open", "ol", "o.l")
_OPEN_OHM = 1e9
_MOST_WIRES = 2
_AS_THEN = "as on the test sheet"
_LEAD = "lead."
"""In the name of a test: a pin of the unplugged controller is put to the body for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadAgain:
    """One test read again. then, now: figures or words as printed.   verdict: as then, moved, outside, no baseline.

    proof: the baseline; None where there is none.   value: what was read now, in the unit of the test.
    """

    test: str
    then: str
    now: str
    unit: str
    verdict: str
    proof: Proof | None
    value: float | str


def read_again(proofs: Sequence[Proof], read: Sequence[tuple[str, str]]) -> tuple[ReadAgain, ...]:
    """Each new reading against the baseline.

    Args:
        proofs: those of the job.
        read: test and what was read now, as typed.
    Raises:
        BadDocument: a test that the job does not have, or a figure that is none; all are listed.
    """
    baseline = {one.test: one for one in baseline_of(proofs)}
    tests = {one.test for one in proofs}
    problems: list[Problem] = []
    found: list[ReadAgain] = []
    for row, (test, text) in enumerate(read, start=2):
        if test not in tests:
            like = nearest(test, sorted(tests))
            mend = f"Did you mean {like}?" if like else "Name a test of the sheet proofs"
            problems.append(_problem(row, "test", test, "a test that was made before", mend))
            continue
        try:
            found.append(_held(test, text.strip(), baseline.get(test)))
        except OutOfReach as refusal:
            problems.append(_problem(row, "value", text, refusal.allowed, "Type the figure with its unit"))
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(found)


def blank_visit(proofs: Sequence[Proof], puts: Mapping[str, str] | None = None) -> tuple[tuple[str, ...], ...]:
    """The baseline as rows to be filled in, headings first: the last column but one is what is read now.

    Args:
        proofs: of the job.
        puts: test -> what else is done to the car for it, such as a plug that is off; whoever reads without it reads
            another car. A test that is not in it points to the test sheet.
    """
    rows = (
        (
            one.test,
            one.point,
            one.to,
            one.when.text or "everything at rest",
            (puts or {}).get(one.test, _AS_THEN),
            "" if one.value is None else one.value if isinstance(one.value, str) else for_print(one.value),
            one.unit,
            "",
            "" if one.low is None and one.high is None else f"{_edge(one.low)} to {_edge(one.high)}",
        )
        for one in baseline_of(proofs)
    )
    return (("test", "point", "to", "when", "for it", "then", "unit", "value", "band"), *rows)


def visit_cells(again: ReadAgain, *, time: str, who: str) -> Mapping[str, str]:
    """A reading of a visit as a row of the sheet proofs; it stands on record and is no new baseline.

    Args:
        time: the day.
        who: read it.
    """
    proof = again.proof
    cells = {"test": again.test, "value": again.now, "time": time, "who": who, "notes": VISIT}
    if proof is not None:
        told = again.value if isinstance(again.value, str) else f"{again.value:.6g}"
        cells |= {"point": proof.point, "to": proof.to, "when": proof.when.text, "unit": proof.unit, "value": told}
        cells |= {"low": _bare(proof.low), "high": _bare(proof.high), "warmth": proof.warmth}
        cells["verdict"] = "failed" if again.verdict == "outside" else "passed"
    return {name: text for name, text in cells.items() if text}


def _bare(edge: float | None) -> str:
    return "" if edge is None else f"{edge:.10g}"


def _edge(edge: float | None) -> str:
    return "…" if edge is None else for_print(edge)


def readings_of(again: Sequence[ReadAgain]) -> tuple[Reading, ...]:
    """What was read now as readings for the fault finder: volts at points, in the states of the tests.

    A test for which a pin of the controller was earthed by hand is left out: the car does not stand so by itself, and
    held against one that does, a sound reading would be a fault.
    """
    return tuple(
        Reading(
            point=one.proof.point,
            to=one.proof.to if "." in one.proof.to else "",
            when=one.proof.when,
            measure="volts",
            value=one.value,
            unit="V",
        )
        for one in again
        if one.proof is not None
        and one.proof.unit == "V"
        and one.proof.point
        and not isinstance(one.value, str)
        and _LEAD not in one.test
    )


def sound_called(again: Sequence[ReadAgain]) -> str:
    """What the car without a fault is called among the causes of a visit; empty: as the fault finder calls it.

    The fault finder allows for the meter's error and the straying of the car's figures, more than many a band is wide.
    So it may find nothing wrong in readings that are outside theirs, and must not say so of them.
    """
    outside = [one.test for one in again if one.verdict == "outside"]
    if not outside:
        return ""
    which = f"{outside[0]} is" if len(outside) == 1 else f"{len(outside)} readings are"
    return f"no single fault that is tried explains it, and {which} outside all the same: go by the signs above"


def symptom_of(job: Job, dead: str, when: Condition, *, asked_as: str = "--dead") -> Reading:
    """A part that does nothing, as a reading: no current in its wire.

    Args:
        dead: a part with one or two wires, or one point of a larger one.
        when: the car as it stands while it should work.
        asked_as: what it is called where it was typed.
    Raises:
        OutOfReach: no such part, no wire there, or more than two.
    Example:
        >>> from loomwright.job.conditions import ALWAYS
        >>> from loomwright.job.job import Job
        >>> from loomwright.job.edits import add_row
        >>> job = add_row(Job(), "wires", {"id": "W1", "from": "F1.2", "to": "LA1.1"})
        >>> symptom_of(job, "LA1", ALWAYS).point
        'W1'
    """
    there = [one for one in job.wires if one.fitted != "removed" and dead in _ends(one)]
    if not there:
        names = sorted({name for one in job.wires for name in _ends(one)})
        like = nearest(dead, names)
        raise OutOfReach(asked_as, dead, "a part or a point with a wire" + (f"; nearest: {like}" if like else ""))
    if len(there) > _MOST_WIRES:
        points = sorted({point for one in there for point in (one.from_, one.to) if point.startswith(f"{dead}.")})
        raise OutOfReach(asked_as, dead, "one of its points: " + " ".join(points))
    return Reading(point=there[0].id, when=when, measure="clamp", value=0.0, unit="A")


def _ends(wire: Wire) -> Mapping[str, None]:
    """The parts and points a wire ends at."""
    return dict.fromkeys(name for point in (wire.from_, wire.to) if point for name in (point, point.partition(".")[0]))


def _held(test: str, text: str, proof: Proof | None) -> ReadAgain:
    if proof is None:
        return ReadAgain(test=test, then="", now=text, unit="", verdict="no baseline", proof=None, value=text)
    then = proof.value if proof.value is not None else ""
    if isinstance(then, str) and not proof.unit:
        verdict = "as then" if then == text else "outside"
        return ReadAgain(test=test, then=then, now=text, unit="", verdict=verdict, proof=proof, value=text)
    value = _OPEN_OHM if text.lower() in _OPEN and proof.unit == "ohm" else _value(test, text, proof.unit)
    return ReadAgain(
        test=test,
        then=then if isinstance(then, str) else for_print(then),
        now=text if text.lower() in _OPEN else for_print(value),
        unit=proof.unit,
        verdict=_verdict(proof, then, value),
        proof=proof,
        value=value,
    )


def _value(test: str, text: str, unit: str) -> float:
    return parse_quantity(text, _ENDINGS.get(unit, unit), name=test)


def _verdict(proof: Proof, then: float | str, value: float) -> str:
    low, high = proof.low, proof.high
    if (low is not None and value < low) or (high is not None and value > high):
        return "outside"
    if isinstance(then, str):
        return "as then"
    if low is not None and high is not None:
        return "moved" if abs(value - then) > _MOVED_FRAC * (high - low) else "as then"
    return "moved" if high is None and value < _FALLEN_FRAC * then else "as then"


def _problem(row: int, column: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="visit", row=row, column=column, found=found, allowed=allowed, mend=mend)
