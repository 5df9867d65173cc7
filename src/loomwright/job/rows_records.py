"""The records that only ever grow: what was built, proved, passed, tried and changed."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.conditions import ALWAYS, Condition
from loomwright.job.row import Row
from loomwright.job.rows_survey import STAGES

__all__ = ["Attempt", "Change", "Gate", "Progress", "Proof"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress(Row):
    """One step done on one wire, with what was really used."""

    wire: str = column("text", "the wire", required=True)
    end: str = column("word", "which end", allowed="from|to|both")
    step: str = column("word", "what was done", allowed="cut|crimped|seated|sleeved|labelled|proved")
    revision: int | None = column("count", "revision of the job it was built from", least=0, most=1_000_000_000)
    length_mm: float | None = column("number", "what was cut", least=0.0, most=100_000.0)
    size_mm2: float | None = column("number", "what was used", least=0.01, most=1000.0)
    colour: str = column("colour", "what was used")
    time: str = column("text", "when")
    who: str = column("text", "by whom")


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof(Row):
    """One test: what was expected, what was read, the verdict. low, high: the expected band, in `unit`."""

    test: str = column("text", "name of the test", required=True)
    point: str = column("text", "where it was measured")
    to: str = column("text", "the second probe")
    when: Condition = column("condition", "the car as it stood", blank=ALWAYS)  # noqa: RUF009
    low: float | None = column("number", "least that was expected")
    high: float | None = column("number", "most that was expected")
    value: float | str | None = column("value", "what was read")
    unit: str = column("text", "unit of the figures", allowed="V|ohm|A|degC")
    verdict: str = column("word", "how it came out", allowed="passed|failed|not done")
    warmth: str = column("word", "whether the car was cold or hot", allowed="cold|hot")
    instrument: str = column("text", "with what")
    time: str = column("text", "when")
    who: str = column("text", "by whom")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate(Row):
    """A gate of the first start or of another stage: passed, or waived with a reason."""

    gate: str = column("text", "name of the gate", required=True)
    stage: str = column("text", "stage it belongs to", allowed=STAGES)
    verdict: str = column("word", "how it came out", allowed="passed|failed|waived")
    value: float | str | None = column("value", "what was read")
    unit: str = column("text", "unit of the figure")
    reason: str = column("text", "why it was waived, or what was seen")
    time: str = column("text", "when")
    who: str = column("text", "by whom")


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt(Row):
    """One attempt to start the engine."""

    soak_hours: float | None = column("number", "how long it had stood", least=0.0, most=100_000.0)
    coolant_c: float | None = column("number", "coolant before", least=-60.0, most=200.0)
    air_c: float | None = column("number", "air before", least=-60.0, most=100.0)
    crank_s: float | None = column("number", "how long it was cranked", least=0.0, most=600.0)
    result: str = column("text", "what it did")
    changed: str = column("text", "what was changed before it")
    time: str = column("text", "when")
    who: str = column("text", "by whom")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(Row):
    """One revision of the job: who asked for it, why, and what it costs."""

    revision: int | None = column("count", "number of the revision", least=0, most=1_000_000_000)
    who: str = column("text", "by whom")
    why: str = column("text", "why")
    price: float | None = column("number", "what it costs, in the shop's currency", least=-1e9, most=1e9)
    time: str = column("text", "when")
