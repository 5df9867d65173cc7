"""Which two faults at once would explain what no single one does?

All pairs are too many to solve. What a pair would show is guessed first, as if each shifted a reading by itself: the
sound figure with both shifts on it, or with the larger of them. Each pair is weighed by the better of the two guesses
and by how often its faults are met; the likeliest are then put into the car and solved like any other fault.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.fitting import Probe, fits, strays
from loomwright.proving.suspects import Suspect, paired

__all__ = ["SECOND_FRAC", "is_unexplained", "likely_pairs"]

Figures = NDArray[np.float64]
SECOND_FRAC = 0.1
"""How often a car with one fault has a second one: from memory [0..1]."""
_FAR = 3.5
_MOST_SINGLES = 90
_MOST_PAIRS = 60


def is_unexplained(probes: Sequence[Probe], shown: Figures, odds: Figures) -> bool:
    """Whether the likeliest single fault leaves a reading further off than its error: 3.5 times.

    Args:
        shown: what each reading would be, by fault. [V]
        odds: of each fault. [0..1]
    """
    best = int(np.argmax(odds))
    return any(float(strays(probe, shown[[best], k])[0]) > _FAR for k, probe in enumerate(probes))


def likely_pairs(
    suspects: Sequence[Suspect], probes: Sequence[Probe], shown: Figures, log_prior: Figures
) -> tuple[Suspect, ...]:
    """The pairs that are worth solving, likeliest first.

    Args:
        suspects: the single faults, `none` first.
        shown: what each reading would be, by fault. [V]
        log_prior: how often each is met. [-]
    """
    fit = np.stack([fits(probe, shown[:, k]) for k, probe in enumerate(probes)], axis=1)
    # what helps no reading that the sound car leaves open is no half of a pair
    helps = np.maximum(fit - fit[0], 0.0).max(axis=1)
    gain = np.where(helps > 1.0, helps + log_prior, -np.inf)
    some = [int(k) for k in np.argsort(-gain, kind="stable")[:_MOST_SINGLES] if np.isfinite(gain[k])]
    if len(some) < 2:
        return ()
    one, other = (np.array(some)[k] for k in np.triu_indices(len(some), 1))
    shift = shown - shown[0]
    told = np.zeros(len(one))
    for k, probe in enumerate(probes):
        a, b = shift[one, k], shift[other, k]
        larger = np.where(np.abs(a) >= np.abs(b), a, b)
        told += np.maximum(fits(probe, shown[0, k] + a + b), fits(probe, shown[0, k] + larger))
    told += log_prior[one] + log_prior[other]
    order = np.argsort(-told, kind="stable")
    found = [
        paired(suspects[int(one[k])], suspects[int(other[k])])
        for k in order[: 4 * _MOST_PAIRS]
        if suspects[int(one[k])].at[0] != suspects[int(other[k])].at[0]
    ]
    return tuple(found[:_MOST_PAIRS])
