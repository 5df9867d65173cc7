"""In which order do the cylinders fire, and which fire 360 degrees of the crank apart?

A four-stroke engine fires every cylinder once in two turns. With an even number of cylinders, two whose places in the
order lie half the order apart come to the top together, one to fire and one to blow out: companions. One coil driver
may serve both.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from loomwright.job.job import Job
from loomwright.refusals import OutOfReach

__all__ = ["FIRING_ALLOWED", "companions", "firing_order_of", "read_firing_order"]

FIRING_ALLOWED = "every cylinder once, as 1-3-4-2"
"""What a row `firing_order` may hold."""

_NUMBER = re.compile(r"\d+")
_MOST = 16


def read_firing_order(text: str) -> tuple[int, ...]:
    """The cylinders in the order they fire, as typed.

    Raises:
        OutOfReach: a cylinder is missing or stands twice.
    Example:
        >>> read_firing_order("1-5-3-6-2-4"), read_firing_order("1342")
        ((1, 5, 3, 6, 2, 4), (1, 3, 4, 2))
    """
    found = _NUMBER.findall(text)
    if len(found) == 1 and len(found[0]) > 2:  # written without anything between
        found = list(found[0])
    order = tuple(int(each) for each in found)
    if not order or len(order) > _MOST or sorted(order) != list(range(1, len(order) + 1)):
        raise OutOfReach("firing_order", text, FIRING_ALLOWED)
    return order


def companions(order: tuple[int, ...]) -> Mapping[int, int]:
    """Cylinder -> the one that fires 360 degrees apart from it; none where the number is odd.

    Example:
        >>> companions((1, 3, 4, 2))
        {1: 4, 3: 2, 4: 1, 2: 3}
    """
    half = len(order) // 2
    if not half or len(order) % 2:
        return {}
    return {each: order[(at + half) % len(order)] for at, each in enumerate(order)}


def firing_order_of(job: Job) -> tuple[int, ...]:
    """The order of the sheet `vehicle`; empty where nobody says."""
    text = next((row.value for row in job.vehicle if row.name == "firing_order"), "")
    return read_firing_order(text) if text else ()
