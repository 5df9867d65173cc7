"""What the network says of a recipe's rows, worked out in a process of its own."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart
from loomwright.trials.accepting import Accepting, accepting

__all__ = ["accepted_apart", "mark_of_answers"]

_LETTERS = 12


def mark_of_answers(recipe: str, answers: Mapping[str, str]) -> str:
    """A short word for a recipe with its answers."""
    return hashlib.sha256(repr((recipe, sorted(answers.items()))).encode()).hexdigest()[:_LETTERS]


def accepted_apart(before: Job, after: Job, tell: Tell) -> Accepting:
    """What findings come and go with a recipe's rows, both cars worked out whole.

    Args:
        tell: called with states done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or one of the jobs has no answer.
    """
    return worked_apart("what the network says of it", _accepted, (before, after), tell)


def _accepted(before: Job, after: Job, tell: Tell) -> Accepting:
    had, has = (Car(job).worked_out(tell).check(tell).findings for job in (before, after))
    return accepting(had, has)
