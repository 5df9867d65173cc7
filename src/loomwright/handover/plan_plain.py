"""The test plan, its verdicts and its coverage as plain lists and words, for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from loomwright.proving.coverage import Coverage
from loomwright.proving.plan import STAGES, Stood, TestPlan

__all__ = ["coverage_plain", "plan_plain"]


def plan_plain(plan: TestPlan, stood: Sequence[Stood]) -> dict[str, Any]:
    """The plan and what was read.

    Args:
        stood: every test with its records, in the order of the plan.
    """
    return {
        "tests": [_test(one) for one in stood],
        "stages": [
            {
                "stage": stage,
                "title": title,
                "tests": sum(one.test.stage == stage for one in stood),
                "passed": sum(one.test.stage == stage and one.verdict == "passed" for one in stood),
                "failed": sum(one.test.stage == stage and one.verdict == "failed" for one in stood),
            }
            for stage, title in STAGES
        ],
        "walk_mm": round(plan.walk_mm),
        "turns": plan.turns,
        "unordered": {"walk_mm": round(plan.before_walk_mm), "turns": plan.before_turns},
    }


def coverage_plain(coverage: Coverage) -> dict[str, Any]:
    """Which faults the plan catches."""
    return {
        "tests": coverage.tests,
        "faults": len(coverage.tried),
        "caught": coverage.caught,
        "stages": dict(coverage.stages),
        "kinds": [{"kind": one.kind, "caught": one.caught, "of": one.of} for one in coverage.kinds],
        "missed": [{"fault": one.says, "kind": one.kind, "at": list(one.at)} for one in coverage.missed],
        "wires_open_missed": sorted(wire for wire, caught in coverage.wires().items() if not caught),
    }


def _test(one: Stood) -> dict[str, Any]:
    test = one.test
    return {
        "test": test.id,
        "stage": test.stage,
        "does": test.does,
        "point": test.point,
        "to": test.to,
        "when": test.when,
        "put": test.put,
        "measure": test.measure,
        "expected": _rounded(test.expected),
        "low": _rounded(test.low),
        "high": _rounded(test.high),
        "unit": test.unit,
        "word": test.word,
        "says": test.says,
        "caution": list(test.caution),
        "wires": list(test.wires),
        "circuit": test.circuit,
        "place": test.place,
        "verdict": one.verdict,
        "read": [
            {
                "value": row.value,
                "unit": row.unit,
                "verdict": row.verdict,
                "warmth": row.warmth,
                "instrument": row.instrument,
                "time": row.time,
                "who": row.who,
                "notes": row.notes,
            }
            for row in one.rows
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.5g}")
