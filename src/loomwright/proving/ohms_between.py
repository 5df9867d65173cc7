"""What would a joint show that has gone high by something between the ohms it is tried at?

A joint is solved at a few ohms, each three times the one before. A drop along the wire is read closer than that: what
it shows in between is taken straight over the logarithm of the ohms, and each level stands for the ohms that are nearer
to it than to the next, with those that explain the readings best.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.fitting import Probe, fits
from loomwright.proving.suspects import Suspect

__all__ = ["with_ohms_between"]

Figures = NDArray[np.float64]
_PARTS = (0.1, 0.2, 0.3, 0.4, 0.5)
"""Of the way to the next level that are tried [0..1]."""


def with_ohms_between(suspects: Sequence[Suspect], probes: Sequence[Probe], shown: Figures) -> Figures:
    """What each fault would show, joints at the ohms near their level that explain the readings best. [V]

    Args:
        shown: by fault and reading. [V]
    """
    rows: dict[tuple[str, ...], list[int]] = {}
    for k, one in enumerate(suspects):
        if one.kind == "resistance":
            rows.setdefault(one.at, []).append(k)
    ladders: dict[int, list[list[int]]] = {}
    for some in rows.values():
        some.sort(key=lambda k: suspects[k].added_ohm[0][1])
        ladders.setdefault(len(some), []).append(some)
    found = shown.copy()
    for ladder in ladders.values():
        numbers = np.array(ladder)
        for k in range(numbers.shape[1]):
            for beside in (k - 1, k + 1):
                if 0 <= beside < numbers.shape[1]:
                    _nearer(found, shown, probes, numbers[:, k], numbers[:, beside])
    return found


def _nearer(
    found: Figures, shown: Figures, probes: Sequence[Probe], mine: NDArray[np.int64], beside: NDArray[np.int64]
) -> None:
    """Put in what lies between a level and the one beside it, where that explains the readings better."""
    for part in _PARTS:
        between = (1.0 - part) * shown[mine] + part * shown[beside]
        better = _told(probes, between) > _told(probes, found[mine])
        found[mine[better]] = between[better]


def _told(probes: Sequence[Probe], shown: Figures) -> Figures:
    return np.asarray(sum((fits(probe, shown[:, k]) for k, probe in enumerate(probes)), np.zeros(len(shown))))
