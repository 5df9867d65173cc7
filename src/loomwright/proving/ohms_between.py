"""What would a joint show that has gone high by something between the ohms it is tried at?

A joint is solved at a few ohms, each three times the one before. A drop along the wire is read closer than that: what
it shows in between is taken straight over the logarithm of the ohms, and each level stands for the ohms that are nearer
to it than to the next, with those that explain the readings best. What it would show next is taken at those as well.

Below the first level and some way above it the drop is amps times ohms: twice the ohms, twice as far from the sound
car. That holds until a relay drops or a controller goes off for it, and then the next level shows another car
altogether, to which no straight line leads; so the line from the sound car through the first level goes on, too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.fitting import Probe, fits
from loomwright.proving.suspects import Suspect

__all__ = ["OhmsBetween", "no_ohms_between", "with_ohms_between"]

Figures = NDArray[np.float64]
_PARTS = (0.1, 0.2, 0.3, 0.4, 0.5)
"""Of the way to the next level that are tried [0..1]."""
_TIMES = (0.5, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0)
"""Of the ohms of the lowest level that are tried straight on from none [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OhmsBetween:
    """Where each fault lies between its level and one beside it.

    beside: that one; itself, where it has none; the sound car, first of all. [-]
    part: of the way to it, at most half; of the way from the sound car, on and away from it, less than nothing. [-]
    """

    beside: NDArray[np.int64]
    part: Figures

    def mixed(self, shown: Callable[[NDArray[np.int64]], Figures], faults: NDArray[np.int64]) -> Figures:
        """What some faults show at their ohms.

        Args:
            shown: what the levels of some faults show, one row each.
            faults: which, by number. [-]
        """
        found = shown(faults)
        rows = np.flatnonzero(self.part[faults])
        if len(rows):
            part = self.part[faults[rows]].reshape(-1, *[1] * (found.ndim - 1))
            found[rows] = (1.0 - part) * found[rows] + part * shown(self.beside[faults[rows]])
        return found

    def at_its_ohms(self, suspects: Sequence[Suspect], fault: int) -> Suspect:
        """A joint at the ohms that explain the readings best; any other fault as it is.

        Args:
            fault: which, by number. [-]
        """
        one, part = suspects[fault], float(self.part[fault])
        if not part:
            return one
        there = suspects[int(self.beside[fault])].added_ohm
        if not there:  # the sound car, from which it goes straight on
            return replace(one, added_ohm=tuple((k, (1.0 - part) * ohm) for k, ohm in one.added_ohm))
        return replace(
            one,
            added_ohm=tuple(
                (k, a ** (1.0 - part) * b**part) for (k, a), (_, b) in zip(one.added_ohm, there, strict=True)
            ),
        )

    def only(self, faults: NDArray[np.int64]) -> OhmsBetween:
        """The same of some faults alone; one whose other level is not among them lies at its own.

        Args:
            faults: which, by number, in rising order. [-]
        """
        there = np.minimum(np.searchsorted(faults, self.beside[faults]), len(faults) - 1)
        has = faults[there] == self.beside[faults]
        return OhmsBetween(
            beside=np.where(has, there, np.arange(len(faults))), part=np.where(has, self.part[faults], 0.0)
        )

    def and_more(self, count: int) -> OhmsBetween:
        """The same with more faults that have no levels.

        Args:
            count: how many. [-]
        """
        more = no_ohms_between(count)
        return OhmsBetween(
            beside=np.concatenate([self.beside, more.beside + len(self.part)]),
            part=np.concatenate([self.part, more.part]),
        )


def no_ohms_between(count: int) -> OhmsBetween:
    """Each fault at its own level.

    Args:
        count: how many. [-]
    """
    return OhmsBetween(beside=np.arange(count), part=np.zeros(count))


def with_ohms_between(
    suspects: Sequence[Suspect], probes: Sequence[Probe], shown: Figures
) -> tuple[Figures, OhmsBetween]:
    """What each fault would show, joints at the ohms near their level that explain the readings best; and which. [V]

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
    found, told = shown.copy(), _told(probes, shown)
    between = no_ohms_between(len(suspects))
    for ladder in ladders.values():
        numbers = np.array(ladder)
        for k in range(numbers.shape[1]):
            for beside in (k - 1, k + 1):
                if 0 <= beside < numbers.shape[1]:
                    _nearer(found, told, shown, probes, between, (numbers[:, k], numbers[:, beside]), _PARTS)
        lowest = numbers[:, 0]
        straight = [1.0 - times for times in _TIMES]
        _nearer(found, told, shown, probes, between, (lowest, np.zeros_like(lowest)), straight)
    return found, between


def _nearer(
    found: Figures,
    told: Figures,
    shown: Figures,
    probes: Sequence[Probe],
    between: OhmsBetween,
    levels: tuple[NDArray[np.int64], NDArray[np.int64]],
    parts: Sequence[float],
) -> None:
    """Put in what lies between a level and the one beside it, where that explains the readings better.

    Args:
        told: how well what is found explains them; kept up. [-]
    """
    mine, beside = levels
    for part in parts:
        tried = (1.0 - part) * shown[mine] + part * shown[beside]
        explains = _told(probes, tried)
        better = explains > told[mine]
        found[mine[better]], told[mine[better]] = tried[better], explains[better]
        between.beside[mine[better]], between.part[mine[better]] = beside[better], part


def _told(probes: Sequence[Probe], shown: Figures) -> Figures:
    return np.asarray(sum((fits(probe, shown[:, k]) for k, probe in enumerate(probes)), np.zeros(len(shown))))
