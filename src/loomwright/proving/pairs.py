"""Which two faults at once would explain what was read?

All pairs are too many to solve. What a pair would show is guessed first, as if each shifted a reading by itself: the
sound figure with both shifts on it, or with the larger of them. Each pair is weighed by the better of the two guesses
and by how often its faults are met; the likeliest are then put into the car and solved like any other fault.

They are tried where no single fault explains every reading; and where one does, but two that each explain a part of
what was read are together likely enough as well: two parts that do nothing may have one feed that is off, or each its
own. Else the one would be told as sure, and nothing be asked for that tells it from the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.fitting import Probe, fits, strays
from loomwright.proving.suspects import Suspect, paired, weight_of

__all__ = ["SECOND_FRAC", "is_unexplained", "likely_pairs", "paired_log"]

Figures = NDArray[np.float64]
Numbers = NDArray[np.int64]
SECOND_FRAC = 0.1
"""How often a car with one fault has a second one: from memory [0..1]."""
_FAR = 3.5
_MOST_SINGLES = 90
_MOST_PAIRS = 60
_ALONE = 3.0
"""By how much a pair explains the readings better than either of its faults, to be more than one of them; and less than
so much of them is explained by both, or one would have to hide behind the other: e to the power of [-]."""
_MAY_FRAC = 0.02
"""Odds of all such pairs together from which they are tried though a single fault explains everything: ours [0..1]."""


def is_unexplained(probes: Sequence[Probe], shown: Figures, odds: Figures) -> bool:
    """Whether the likeliest single fault leaves a reading further off than its error: 3.5 times.

    Args:
        shown: what each reading would be, by fault. [V]
        odds: of each fault. [0..1]
    """
    best = int(np.argmax(odds))
    return any(float(strays(probe, shown[[best], k])[0]) > _FAR for k, probe in enumerate(probes))


def likely_pairs(
    suspects: Sequence[Suspect], probes: Sequence[Probe], shown: Figures, log_prior: Figures, odds: Figures
) -> tuple[Suspect, ...]:
    """The pairs that are worth solving, likeliest first; none where one fault is enough.

    Args:
        suspects: the single faults, `none` first.
        shown: what each reading would be, by fault. [V]
        log_prior: how often each is met. [-]
        odds: of each fault, by these readings. [0..1]
    """
    if len(probes) < 2:
        return ()
    fit = np.stack([fits(probe, shown[:, k]) for k, probe in enumerate(probes)], axis=1)
    # what helps no reading that the sound car leaves open is no half of a pair
    helped = np.maximum(fit - fit[0], 0.0)
    helps = helped.max(axis=1)
    gain = np.where(helps > 1.0, helps + log_prior, -np.inf)
    some = [int(k) for k in np.argsort(-gain, kind="stable")[:_MOST_SINGLES] if np.isfinite(gain[k])]
    if len(some) < 2:
        return ()
    one, other = (np.array(some)[k] for k in np.triu_indices(len(some), 1))
    explains = _guessed(probes, shown, one, other)
    told = explains + log_prior[one] + log_prior[other]
    if not is_unexplained(probes, shown, odds):
        alone = fit.sum(axis=1)
        both = explains - np.maximum(alone[one], alone[other]) > _ALONE
        both &= np.minimum(helped[one], helped[other]).sum(axis=1) < _ALONE
        told = np.where(both, told, -np.inf)
        whole = np.logaddexp.reduce(alone + log_prior)
        if not both.any() or np.logaddexp.reduce(told) + paired_log() - whole < log(_MAY_FRAC):
            return ()
    order = np.argsort(-told, kind="stable")
    found = [
        paired(suspects[int(one[k])], suspects[int(other[k])])
        for k in order[: 4 * _MOST_PAIRS]
        if np.isfinite(told[k]) and suspects[int(one[k])].at[0] != suspects[int(other[k])].at[0]
    ]
    return tuple(found[:_MOST_PAIRS])


def paired_log() -> float:
    """What is on top of the weights of two faults, so that they are that of the pair: its logarithm. [-]"""
    return log(SECOND_FRAC / weight_of("none"))


def _guessed(probes: Sequence[Probe], shown: Figures, one: Numbers, other: Numbers) -> Figures:
    """How well pairs explain the readings, each fault shifting them as it does by itself. [-]"""
    shift = shown - shown[0]
    found = np.zeros(len(one))
    for k, probe in enumerate(probes):
        a, b = shift[one, k], shift[other, k]
        larger = np.where(np.abs(a) >= np.abs(b), a, b)
        found += np.maximum(fits(probe, shown[0, k] + a + b), fits(probe, shown[0, k] + larger))
    return found
