"""The test plan and what it would catch, worked out in a process of its own and kept while the car is the same."""

from __future__ import annotations

from dataclasses import replace

from loomwright.car import Car
from loomwright.handover.proof_plan import plan_of
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart
from loomwright.pages.fault_work import car_digest
from loomwright.proving.coverage import Coverage
from loomwright.proving.plan import AIR_TEST, BATTERY_TEST, TestPlan

__all__ = ["coverage_apart", "plan_apart", "plan_digest"]


def plan_digest(job: Job) -> str:
    """A short text that changes when the plan does: with the car, its battery as measured, the air around it."""
    read = {row.test: row.value for row in job.proofs if row.verdict == "passed"}
    return f"{car_digest(job)} {read.get(BATTERY_TEST, '')} {read.get(AIR_TEST, '')}"


def plan_apart(job: Job, tell: Tell) -> TestPlan:
    """The test plan.

    Args:
        tell: called with steps done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("the test plan", _plan, (job,), tell)


def coverage_apart(job: Job, tell: Tell) -> Coverage:
    """Which faults its live tests catch.

    Args:
        tell: called with faults done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("what the tests would catch", _coverage, (replace(job, proofs=()),), tell)


def _plan(job: Job, tell: Tell) -> TestPlan:
    tell(0, 1)
    return plan_of(Car(job).scene, job.proofs).plan


def _coverage(job: Job, tell: Tell) -> Coverage:
    return plan_of(Car(job).scene).coverage(tell)
