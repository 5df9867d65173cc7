"""How long does the work take that a change asks of a built loom?

In: the operations of each wire, told end by end. Out: minutes. One operation on one end is done once, however many
reasons there are for it: an end that is taken out to be crimped anew is taken out for its new cavity too.

    minutes = sum over wire, end, operation of the shop's own figure, else the usual one

What is also done when a loom is first built has its figures in `work_minutes.csv`, what is done only to a built one in
`rework_minutes.csv`; the shop's own, of either, stand in the sheet `vehicle`. A piece that is let in is two splices.

Source: both tables, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.shop_terms import shop_terms_of
from loomwright.tables.rework import REWORK, rework_typical_minutes
from loomwright.tables.work_minutes import OPERATIONS

__all__ = ["Operation", "minutes_of", "rework_minutes"]

_FIRST_BUILT: Mapping[str, tuple[str, float]] = FixedMap(
    {
        "cut": ("wire_cut", 1.0),
        "crimp": ("end_crimped", 1.0),
        "seat": ("end_seated", 1.0),
        "splice": ("splice_made", 2.0),
        "twist": ("group_twisted", 1.0),
        "pull": ("wire_taken_out", 1.0),
        "prove": ("wire_proved", 1.0),
    }
)
"""Operation here -> the one of the table it is, and how many of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation on a wire. end: from, to, or empty where it is on the wire as a whole.   word: what is done."""

    end: str
    word: str


def rework_minutes(job: Job) -> Mapping[str, float]:
    """Minutes of every operation, operation -> minutes: the shop's own, else the usual ones. [min]

    Raises:
        OutOfReach: a figure of the shop's own that cannot be one; a job that was read has none.
    Example:
        >>> from loomwright.job.rows import VehicleProperty
        >>> timed = {"minutes_end_crimped": "5", "minutes_lay": "20"}
        >>> own = Job(vehicle=tuple(VehicleProperty(name=name, value=value) for name, value in timed.items()))
        >>> [rework_minutes(own)[word] for word in ("crimp", "cut", "lay", "extract")]
        [5.0, 2.0, 20.0, 4.0]
    """
    own = shop_terms_of(job).minutes
    first = {
        word: count * own.get(name, OPERATIONS[name].minutes).usual_minutes
        for word, (name, count) in _FIRST_BUILT.items()
    }
    again = {word: own[word].usual_minutes if word in own else rework_typical_minutes(word) for word in REWORK}
    return FixedMap({**first, **again})


def minutes_of(operations: Iterable[Operation], minutes: Mapping[str, float], done: set[Operation]) -> float:
    """What some operations on one wire take, those that are done anyway left out. [min]

    Args:
        operations: on one wire.
        minutes: operation -> what it takes, from `rework_minutes`.
        done: those counted already; what is counted now is added.
    """
    new = [one for one in dict.fromkeys(operations) if one not in done]
    done.update(new)
    return sum(minutes[one.word] for one in new)
