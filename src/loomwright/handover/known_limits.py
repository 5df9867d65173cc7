"""What is known not to be right, and was left so?

In: what a check found, the job's records, what the sheets leave open. Out: rows of words: faults and warnings, gates
that were waived or failed, tests that failed or could not be made, snags and questions that are open, what was taken
as usual. The owner reads them on his sheet, the next person in the handover.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loomwright.handover.records import FindingEntry
from loomwright.job.job import Job
from loomwright.job.rows import Gate, Proof
from loomwright.quantities.printing import for_print

__all__ = ["Limit", "band_words", "figure_words", "known_limits"]

Limit = tuple[str, str, str, str]
"""What it is, of what, what it says, and what mends it."""


def known_limits(findings: Sequence[FindingEntry], job: Job, provisional: Sequence[str]) -> tuple[Limit, ...]:
    """What is known and was left.

    Args:
        findings: as the paper prints them; notes are left out.
        provisional: what was taken because the sheets leave it open.
    """
    gates = {one.gate: one for one in job.gates}
    proofs = {one.test: one for one in job.proofs}
    return (
        *_findings(findings),
        *(_gate(one) for one in gates.values() if one.verdict in ("waived", "failed")),
        *(_proof(one) for one in proofs.values() if one.verdict in ("failed", "not done")),
        *(("snag", one.id, one.text, "") for one in job.snags if one.status != "done"),
        *(("question", one.id, one.text, "") for one in job.questions if one.status != "done" and not one.answer),
        *(("taken as usual", "", words, "Say it in the sheets") for words in provisional),
    )


def band_words(one: Proof) -> str:
    """The band a test expects, in words; empty where it has none."""
    if one.low is None and one.high is None:
        return ""
    if one.high is None:
        return f"{figure_words(one.low)} or more"
    return f"{figure_words(one.low)} to {figure_words(one.high)}" if one.low is not None else _up_to(one.high)


def figure_words(value: float | str | None) -> str:
    """A figure as it is printed; empty where there is none."""
    return "" if value is None else value if isinstance(value, str) else for_print(value)


def _up_to(high: float) -> str:
    return f"up to {figure_words(high)}"


def _findings(entries: Sequence[FindingEntry]) -> Iterable[Limit]:
    return ((one.severity, f"{one.rule} {one.label}", one.says, one.mend) for one in entries if one.severity != "note")


def _gate(one: Gate) -> Limit:
    return f"gate {one.verdict}", one.gate, one.reason or f"read {figure_words(one.value)} {one.unit}".strip(), ""


def _proof(one: Proof) -> Limit:
    read = (
        f"read {figure_words(one.value)} {one.unit}, wanted {band_words(one)}" if one.value is not None else one.notes
    )
    return f"test {one.verdict}", one.test, read, ""
