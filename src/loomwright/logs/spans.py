"""Where in a drive does something last, and for how long?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.logs.drive import Drive

__all__ = ["Span", "spans_of", "times"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Rows `first` to before `end`, of one stretch. at_s: when it begins. [s]   lasts_s: how long. [s]"""

    first: int
    end: int
    at_s: float
    lasts_s: float

    @property
    def rows(self) -> slice:
        """The rows, to index with."""
        return slice(self.first, self.end)


def spans_of(drive: Drive, mask: NDArray[np.bool_], least_s: float = 0.0) -> Iterator[Span]:
    """Every unbroken span in which something is so.

    Args:
        mask: of the rows.
        least_s: shorter ones are passed over. [s]
    """
    if mask.size == 0:
        return
    edge = np.ones(mask.size, bool)
    edge[1:] = (np.diff(mask.astype(np.int8)) != 0) | (np.diff(drive.stretch) != 0)
    starts = np.flatnonzero(edge)
    ends = np.append(starts[1:], mask.size)
    for first, end in zip(starts[mask[starts]], ends[mask[starts]], strict=True):
        last_s = drive.time_s[end - 1] - drive.time_s[first] + drive.step_s
        if last_s >= least_s:
            yield Span(first=int(first), end=int(end), at_s=float(drive.time_s[first]), lasts_s=float(last_s))


def times(count: int) -> str:
    """How often, in words.

    Example:
        >>> times(1), times(3)
        ('once', '3 times')
    """
    return "once" if count == 1 else f"{count} times"
