"""Which readings do not sit with the others, and what should be asked about them?

The odds that a reading is wrong, under all that is known:

    sum over functions, sound and dead, of P(f) (1 - p(read right | f) / p(read | f))

From `doubt_frac` on it is asked for again. Two readings of one end in one look that fall into different bands are told
as such. Where several readings of one visit, all with the key in one position, would be explained far better by
another, it is asked where the key stood. Nothing is taken out of the sums for it: they count with it already.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from loomwright.survey.evidence import POSITIONS
from loomwright.survey.likelihood import bands_of, evidence_likelihoods, right_likelihoods
from loomwright.survey.records import Evidence, Query
from loomwright.survey.weighing import Weighed
from loomwright.tables.old_wires import GLOWS, SEEN, SHOWS, survey_figure, wire_looks

__all__ = ["doubts", "shown_word", "wrong_frac"]

_TINY = 1e-300
_FEWEST_OF_VISIT = 3
_FAR_BETTER = math.log(20.0)


def doubts(weighed: Weighed) -> Iterator[Query]:
    """What is asked about readings that are weighed, wire by wire."""
    for row, evidence in enumerate(weighed.evidence):
        for each in evidence:
            odds = wrong_frac(weighed, row, each)
            if odds >= survey_figure("doubt_frac"):
                shown = _shown(each)
                says = (
                    f"row {each.row} of readings, {each.wire}: {shown} {_in_look(each)} does not sit with the others "
                    f"({round(100 * odds)} in 100 that it is wrong): take it again"
                )
                yield Query(wire=each.wire, row=each.row, asks="take again", says=says, wrong_frac=odds)
        yield from _contradicting(evidence)
    yield from _key_elsewhere(weighed)


def wrong_frac(weighed: Weighed, row: int, evidence: Evidence) -> float:
    """How likely a reading is wrong, by all that is known of its wire. [0..1]

    Args:
        weighed: what is known.
        row: which wire, in the order of `weighed.wires`. [-]
        evidence: one of its readings.
    """
    variants = weighed.variants[row]
    posterior = weighed.odds[row][:, None] * variants / np.maximum(variants.sum(axis=1, keepdims=True), _TINY)
    right = right_likelihoods(weighed.shown, evidence) / np.maximum(
        evidence_likelihoods(weighed.shown, evidence), _TINY
    )
    known = np.array([function.is_known for function in weighed.functions])
    right = np.where(known[:, None], right, 1.0)
    return float(np.clip((posterior * (1.0 - right)).sum(), 0.0, 1.0))


def shown_word(evidence: Evidence) -> str:
    """The band a reading falls into, in a word; open or ohms for ohms.

    Example:
        >>> shown_word(Evidence(row=2, wire="1", stub="source", look="run", position="run", measure="volts",
        ...     value=12.2, battery_v=12.4))
        'live'
    """
    if evidence.measure == "ohms":
        return "open" if evidence.value == "open" else "ohms"
    if evidence.measure == "lamp_plus":
        return "dark" if evidence.value == "dark" else "earthed"
    if isinstance(evidence.value, str) and evidence.measure == "volts":
        return evidence.value
    words = {"volts": SHOWS, "seen": SEEN}.get(evidence.measure, GLOWS)
    word = words[int(np.argmax(bands_of(evidence)))]
    # a voltmeter does not part what floats at nought from what is earthed
    return "floating" if evidence.measure == "volts" and word == "earthed" else word


def _contradicting(evidence: tuple[Evidence, ...]) -> Iterator[Query]:
    first: dict[tuple[str, str, str, str], Evidence] = {}
    for each in evidence:
        key = (each.stub, each.look, each.position, each.measure)
        other = first.setdefault(key, each)
        if other is not each and shown_word(other) != shown_word(each):
            says = (
                f"{each.wire}: rows {other.row} and {each.row} of readings contradict each other, {_shown(other)} and "
                f"{_shown(each)} {_in_look(each)}: take it a third time; is there a loose joint"
            )
            yield Query(wire=each.wire, row=each.row, asks="contradicts", says=says)


def _key_elsewhere(weighed: Weighed) -> Iterator[Query]:
    """Visits whose readings with the key in one position all look like another position."""
    groups: dict[tuple[str, str], list[tuple[int, Evidence]]] = {}
    for row, evidence in enumerate(weighed.evidence):
        for each in evidence:
            if each.visit and each.look in POSITIONS:
                groups.setdefault((each.visit, each.look), []).append((row, each))
    for (visit, position), members in sorted(groups.items()):
        if len(members) < _FEWEST_OF_VISIT:
            continue
        said = {name: sum(_log_explained(weighed, row, each, name) for row, each in members) for name in POSITIONS}
        best = max(POSITIONS, key=lambda name: said[name])
        if said[best] - said[position] > _FAR_BETTER:
            says = (
                f"visit {visit}: {len(members)} readings with the key in {position} look as if it stood in {best}: "
                "look at the key, and take one of them again"
            )
            yield Query(wire=members[0][1].wire, row=members[0][1].row, asks="key elsewhere", says=says)


def _log_explained(weighed: Weighed, row: int, evidence: Evidence, position: str) -> float:
    """How well a reading would be explained with the key elsewhere, by what the other readings say of its wire."""
    own = evidence_likelihoods(weighed.shown, evidence)
    others = weighed.before[row][:, None] * weighed.variants[row] / np.maximum(own, _TINY)
    others = others / np.maximum(others.sum(), _TINY)
    moved = evidence_likelihoods(weighed.shown, replace(evidence, look=position, position=position))
    return math.log(max(float((others * moved).sum()), _TINY))


def _shown(evidence: Evidence) -> str:
    if isinstance(evidence.value, float):
        return f"{evidence.value:.3g} {'ohm' if evidence.measure == 'ohms' else 'V'}"
    lamp = {"lamp": "lamp ", "lamp_plus": "lamp from plus ", "seen": "seen: "}
    return f"{lamp.get(evidence.measure, '')}{evidence.value}"


def _in_look(evidence: Evidence) -> str:
    words = {look.key: look.words for look in wire_looks()}
    return f"({words[evidence.look]})"
