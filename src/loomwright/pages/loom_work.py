"""Sizes, places, whole jobs, worked out beside the pages: in a process of their own where a car has many states."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.loom.weighing import Weighed
from loomwright.pages.apart import Tell, worked_apart
from loomwright.sizing.sized import Sized
from loomwright.states.asking.plan import ALL_BELOW

__all__ = ["placed_beside", "sized_beside", "weighed_beside"]


def sized_beside(car: Car, tell: Tell) -> Sized:
    """Sizes and ratings, with what every limit asks of every new wire, typed or not.

    Args:
        tell: called with states done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    if car.scene.space.raw <= ALL_BELOW:
        return car.sized(tell, _new_wires(car.job))
    return worked_apart("sizes", _sized, (car.job,), tell)


def placed_beside(car: Car, parts: tuple[str, ...], places: tuple[str, ...], tell: Tell) -> tuple[Weighed, ...]:
    """Parts at each of several places, where they are now first.

    Args:
        parts: those that are moved together.
        places: where they might sit.
        tell: called with states done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    if car.scene.space.raw <= ALL_BELOW:
        return car.placed(parts, places, tell)
    return worked_apart("other places", _placed, (car.job, parts, places), tell)


def weighed_beside(jobs: Sequence[tuple[str, Job]], tell: Tell) -> tuple[Weighed, ...]:
    """Whole jobs weighed one after the other.

    Args:
        jobs: name in the table, and job.
        tell: called with states done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or a job has no answer.
    """
    if all(Car(job).scene.space.raw <= ALL_BELOW for _, job in jobs):
        return _weighed(jobs, tell)
    return worked_apart("jobs side by side", _weighed, (tuple(jobs),), tell)


def _weighed(jobs: Sequence[tuple[str, Job]], tell: Tell) -> tuple[Weighed, ...]:
    return tuple(Car(job).weighed(name, tell) for name, job in jobs)


def _sized(job: Job, tell: Tell) -> Sized:
    return Car(job).sized(tell, _new_wires(job))


def _placed(job: Job, parts: tuple[str, ...], places: tuple[str, ...], tell: Tell) -> tuple[Weighed, ...]:
    return Car(job).placed(parts, places, tell)


def _new_wires(job: Job) -> tuple[str, ...]:
    return tuple(wire.id for wire in job.wires if wire.fitted == "new")
