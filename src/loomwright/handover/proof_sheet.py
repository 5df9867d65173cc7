"""What does the test plan say on paper: every test in its order, what to expect, a blank or what was read?

In: the tests with their records. Out: a `ProofSheet`: stages, in them groups that the car is put into one state for,
every figure as printed. Cautions stand at the head of the stage they belong to. Nothing is solved here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from loomwright.job.job import Job
from loomwright.job.rows import Proof
from loomwright.job.vehicle import vehicle_of
from loomwright.proving.plan import STAGES, Stood
from loomwright.proving.taking import TOLD
from loomwright.quantities import for_print

__all__ = ["ProofGroup", "ProofRow", "ProofSheet", "ProofStage", "band_text", "proof_sheet"]

_UNITS = {"V": "V", "ohm": "Ω", "A": "A", "degC": "°C"}
_OPEN_OHM = 1e6
_KILO, _KILO_FROM_OHM = 1000.0, 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofRow:
    """One test. expect, band, read: as printed.   choices: words to ring, none where a figure is written.

    earlier: records before the last one, as printed.
    """

    id: str
    point: str
    to: str
    does: str
    measure: str
    expect: str
    band: str
    choices: tuple[str, ...]
    read: str
    verdict: str
    earlier: str
    wires: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofGroup:
    """Tests made in one state of the car. when: as typed. put: what else is done to it."""

    when: str
    put: str
    rows: tuple[ProofRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofStage:
    """One stage. tests, taken, failed: how many. [-]"""

    title: str
    cautions: tuple[str, ...]
    groups: tuple[ProofGroup, ...]
    tests: int
    taken: int
    failed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofSheet:
    """The paper. tests, taken, failed: of all stages. [-]"""

    title: str
    stages: tuple[ProofStage, ...]
    tests: int
    taken: int
    failed: int


def proof_sheet(job: Job, stood: Sequence[Stood]) -> ProofSheet:
    """The test plan as a paper.

    Args:
        stood: every test with its records, in the order of the plan.
    """
    places = {place.id: place.name or place.id for place in job.places}
    stages = []
    for stage, title in STAGES:
        mine = [one for one in stood if one.test.stage == stage]
        if mine:
            stages.append(_stage(title, mine, places))
    return ProofSheet(
        title=vehicle_of(job).title or "job without a title",
        stages=tuple(stages),
        tests=sum(one.tests for one in stages),
        taken=sum(one.taken for one in stages),
        failed=sum(one.failed for one in stages),
    )


def _stage(title: str, mine: Sequence[Stood], places: dict[str, str]) -> ProofStage:
    groups = [
        ProofGroup(when=when, put=put, rows=tuple(_row(one, places) for one in some))
        for (when, put), some in groupby(mine, key=lambda one: (one.test.when, one.test.put))
    ]
    return ProofStage(
        title=title,
        cautions=tuple(dict.fromkeys(text for one in mine for text in one.test.caution)),
        groups=tuple(groups),
        tests=len(mine),
        taken=sum(bool(one.rows) for one in mine),
        failed=sum(one.verdict == "failed" for one in mine),
    )


def _row(one: Stood, places: dict[str, str]) -> ProofRow:
    test = one.test
    return ProofRow(
        id=test.id,
        point=test.point,
        to=test.to,
        does=test.does,
        measure=test.measure,
        expect=test.says,
        band=band_text(test.low, test.high, test.unit),
        choices=TOLD.get(test.measure, ()),
        read=_read(one.rows[-1]) if one.rows else "",
        verdict=one.verdict if one.rows else "",
        earlier="; ".join(f"{_read(row)} {row.verdict}".strip() for row in one.rows[:-1]),
        wires=test.wires[:3],
        place=places.get(test.place, test.place),
    )


def band_text(low: float | None, high: float | None, unit: str) -> str:
    """The band a sound car lies in, as printed; empty where a word is expected.

    Args:
        low: its least, none where there is no bound, in `unit`.
        high: its most, the same.
        unit: V, ohm, A or degC.
    Example:
        >>> band_text(12.3, 12.9, "V"), band_text(1e6, None, "ohm"), band_text(None, None, "")
        ('12.3 to 12.9 V', 'open', '')
        >>> band_text(40000.0, 60000.2, "ohm")
        '40 to 60 kΩ'
    """
    if low is None and high is None:
        return ""
    word = _UNITS.get(unit, unit)
    if unit == "ohm" and high is not None and high >= _KILO_FROM_OHM:
        low, high, word = (None if low is None else low / _KILO), high / _KILO, "kΩ"
    if high is None:
        return "open" if low is not None and low >= _OPEN_OHM else f"at least {for_print(low or 0.0)} {word}"
    if low is None or (low <= 0.0 and unit not in ("V", "degC")):
        return f"at most {for_print(high)} {word}"
    return f"{for_print(low)} to {for_print(high)} {word}"


def _read(row: Proof) -> str:
    """What a record says, as printed: the figure and its unit, a word, or why it was not done."""
    if row.verdict == "not done":
        return row.notes
    told = row.notes.removeprefix("answered ") if row.value is None else row.value
    figure = for_print(float(told)) if isinstance(told, int | float) else str(told)
    unit = _UNITS.get(row.unit, "") if isinstance(told, int | float) else ""
    warmth = f", {row.warmth}" if row.warmth else ""
    return f"{figure} {unit}".strip() + warmth
