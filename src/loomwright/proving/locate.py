"""Which fault explains what was read, and what should be read next?

Every single fault is solved in every state in which something was read, and ranked by how well it explains it; how
often such faults are met decides between those that explain it equally well. Where the best of them leaves a reading
unexplained, likely pairs are put in too, and ranked beside the singles. Faults that no reading so far tells apart are
told as one group. The next reading is the one that is expected to tell most of those that are left apart.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from loomwright.job.rows import Reading
from loomwright.proving.fault_table import FaultTable, no_table, table_of, with_more
from loomwright.proving.fitting import WRONG_FRAC, Probe, ReadAs, fits, probes_of, spread
from loomwright.proving.next_point import AT_REST, MOST_NEXT, MOST_WEIGHED, NextPoint, next_points
from loomwright.proving.ohms_between import OhmsBetween, no_ohms_between, with_ohms_between
from loomwright.proving.ohms_next import OHMS_BITS, ohm_points
from loomwright.proving.opened_points import opened_points
from loomwright.proving.pairs import likely_pairs, paired_log
from loomwright.proving.predicted import predicted
from loomwright.proving.suspects import LEVELS_OHM, Suspect, fault_words, weight_of
from loomwright.proving.within_reach import within_reach
from loomwright.states.asking.scene import Scene

__all__ = ["AT_REST", "Located", "NextPoint", "SuspectGroup", "asked_of", "locate", "ranked"]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
_KEPT_FRAC = 1e-6
_MOST_LEFT = 100
"""Faults that are left and solved for the next reading, where they are in no table [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectGroup:
    """Faults that the readings do not tell apart.

    odds: of all of them together. [-]   place: where to put a hand.
    """

    suspects: tuple[Suspect, ...]
    odds: float
    place: str

    @property
    def is_sound(self) -> bool:
        """Whether the car without a fault is among them: what was read may as well be no fault at all."""
        return any(one.kind == "none" for one in self.suspects)

    @property
    def says(self) -> str:
        """The faults in words."""
        if self.is_sound:
            return fault_words("none")
        names = list(dict.fromkeys(one.says for one in self.suspects))
        return " or ".join(names[:6]) + (f" or one of {len(names) - 6} more" if len(names) > 6 else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """The answer. groups: most likely first.   next: readings that would tell them apart, best first.

    asked_again: readings that sit badly with every fault: to be taken again.   faults: how many single ones were
    tried. [-]   pairs: how many pairs, none where a single fault explains everything. [-]
    """

    groups: tuple[SuspectGroup, ...]
    next: tuple[NextPoint, ...]
    asked_again: tuple[Reading, ...]
    faults: int
    pairs: int = 0


def locate(
    scene: Scene,
    readings: Sequence[Reading],
    table: FaultTable | None = None,
    tell: Tell | None = None,
    kept: dict[ReadAs, Figures] | None = None,
    *,
    ask: bool = True,
) -> Located:
    """Ranks every single fault, and likely pairs where none explains the readings, by how well each explains them.

    Args:
        readings: volts, ohms, clamped amps or a test lamp at points of the job, each with the state it was read in.
        table: what every point reads with every fault (`fault_table`); without it the faults are solved in the states
            of the readings alone, and those that are left in all others.
        tell: called with faults done and to do, where they are solved; may raise Stopped.
        kept: what was solved for earlier readings of this car, added to.
        ask: whether to say what to read next.
    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    probes = probes_of(scene, readings)
    known = no_table(scene) if table is None else table
    suspects = known.suspects
    found, along = predicted(scene, probes, known, tell, kept)
    shown, between = with_ohms_between(suspects, probes, found)
    prior = _log_prior(suspects)
    odds = _odds(prior, probes, shown)
    pairs = likely_pairs(suspects, probes, shown, prior, odds)
    if pairs:
        # the sound car leads, whose figures stand for those that are out of the question
        added = predicted(scene, probes, no_table(scene, (suspects[0], *pairs)))[0][1:]
        suspects = (*suspects, *pairs)
        shown = np.concatenate([shown, added])
        prior = np.concatenate([prior, _log_prior(pairs)])
        odds = _odds(prior, probes, shown)
        between = between.and_more(len(pairs))
    return Located(
        groups=tuple(_groups(scene, suspects, odds, probes, shown)),
        next=tuple(_next(scene, known, _touching_there(suspects, along), odds, probes, between)) if ask else (),
        asked_again=_doubted(probes, shown),
        faults=len(known.suspects),
        pairs=len(suspects) - len(known.suspects),
    )


def ranked(
    scene: Scene, readings: Sequence[Reading], table: FaultTable | None = None, tell: Tell | None = None
) -> tuple[SuspectGroup, ...]:
    """Every single fault put in and ranked, without pairs and without what to read next: the groups, most likely first.

    Args:
        readings, table, tell: as of `locate`.
    Raises:
        BadDocument: as `locate`.
    """
    probes = probes_of(scene, readings)
    known = no_table(scene) if table is None else table
    found, _ = predicted(scene, probes, known, tell)
    shown, _ = with_ohms_between(known.suspects, probes, found)
    odds = _odds(_log_prior(known.suspects), probes, shown)
    return tuple(_groups(scene, known.suspects, odds, probes, shown))


def asked_of(scene: Scene, readings: Sequence[Reading]) -> None:
    """Refuses readings that cannot be meant.

    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    probes_of(scene, readings)


def _touching_there(suspects: Sequence[Suspect], along: Figures) -> list[Suspect]:
    """The faults, a wire that touches doing so as far along it as the readings say; pairs as they are."""
    singles = len(along)
    there = [replace(one, along_frac=float(part)) for one, part in zip(suspects[:singles], along, strict=True)]
    return [*there, *suspects[singles:]]


def _next(
    scene: Scene,
    known: FaultTable,
    suspects: Sequence[Suspect],
    odds: Figures,
    probes: Sequence[Probe],
    between: OhmsBetween,
) -> list[NextPoint]:
    """The readings worth taking; where no state is worked out yet, with those faults alone that are left.

    Args:
        suspects: those of the table, and the pairs that are not in it.
    """
    # what was read with the battery off says nothing of how the car stands when it is live
    every, probes = probes, [one for one in probes if not one.is_ohms]
    reach, singles = within_reach(scene), len(known.suspects)
    order = np.argsort(-odds[1:], kind="stable") + 1
    left = [0, *(int(k) for k in order[:_MOST_LEFT] if odds[k] > _KEPT_FRAC)]
    there, odds_left = [between.at_its_ohms(suspects, k) for k in left], odds[left] / odds[left].sum()
    if not len(known.states):
        plain = next_points(scene, table_of(scene, there), odds_left, probes, no_ohms_between(len(left)), reach)
    else:
        table, pairs, some = known, [k for k in left if k >= singles], np.arange(singles)
        if pairs:
            some = np.unique([0, *(order[order < singles])[:MOST_WEIGHED]])
            some = np.unique([*some, *between.beside[some]])
            table = with_more(scene, known.only(some), [suspects[k] for k in pairs])
            between = between.only(some).and_more(len(pairs))
        plain = next_points(scene, table, odds[[*some, *pairs]], probes, between, reach)
    apart = opened_points(scene, reach, there, odds_left, probes, plain[0].bits if plain else 0.0)
    dead = ohm_points(scene, reach, there, odds_left, every, plain[0].bits if plain else 0.0)
    back = OHMS_BITS if every and every[-1].is_ohms else 0.0
    live = [replace(one, worth=one.worth - back) for one in (*plain, *apart)]
    return sorted([*live, *dead], key=lambda one: -round(one.worth, 6))[:MOST_NEXT]


def _doubted(probes: Sequence[Probe], shown: Figures) -> tuple[Reading, ...]:
    """Readings that sit badly with every fault."""
    return tuple(
        probe.reading for k, probe in enumerate(probes) if fits(probe, shown[:, k]).max() < log(2 * WRONG_FRAC)
    )


def _log_prior(suspects: Sequence[Suspect]) -> Figures:
    """How likely a fault is before anything was read; a joint's share goes to the levels it is tried at. [-]

    A pair has the odds of its two faults among all, times how often there is a second one.
    """
    singles = [part for one in suspects for part in one.singles]
    weights = {kind: weight_of(kind) for kind in dict.fromkeys(one.kind for one in singles)}
    weights |= {"resistance": weights.get("resistance", 0.0) / len(LEVELS_OHM)}
    second = paired_log()
    return np.array(
        [sum(log(weights[part.kind]) for part in one.singles) + (second if one.both else 0.0) for one in suspects]
    )


def _odds(log_prior: Figures, probes: Sequence[Probe], shown: Figures) -> Figures:
    told = log_prior.copy()
    for k, probe in enumerate(probes):
        told += fits(probe, shown[:, k])
    found = np.exp(told - told.max())
    return np.asarray(found / found.sum())


def _groups(
    scene: Scene, suspects: Sequence[Suspect], odds: Figures, probes: Sequence[Probe], shown: Figures
) -> list[SuspectGroup]:
    """Faults whose predictions for every reading are alike, together, pairs apart from singles; most likely first."""
    order = [int(k) for k in np.argsort(-odds, kind="stable") if odds[k] > _KEPT_FRAC]
    groups: list[list[int]] = []
    wide = np.array([spread(probe.manner, shown[:, n]) for n, probe in enumerate(probes)]).reshape(shown.T.shape).T
    heads, headed = np.empty((0, shown.shape[1])), list[bool]()
    for k in order:
        is_pair = bool(suspects[k].both)
        like = np.all(np.abs(heads - shown[k]) <= wide[k], axis=1) & (np.array(headed, bool) == is_pair)
        if like.any():
            groups[int(np.argmax(like))].append(k)
        else:
            groups.append([k])
            heads, headed = np.concatenate([heads, shown[[k]]]), [*headed, is_pair]
    told = [
        SuspectGroup(
            suspects=tuple(suspects[k] for k in group),
            odds=float(sum(odds[k] for k in group)),
            place=_place(scene, suspects[group[0]]),
        )
        for group in groups
    ]
    return sorted(told, key=lambda one: -one.odds)


def _place(scene: Scene, suspect: Suspect) -> str:
    """Where on the car to put a hand; at both places of a pair."""
    names = {place.id: place.name or place.id for place in scene.job.places}
    found = []
    for name in suspect.at if suspect.both else suspect.at[:1]:
        wire = scene.wires.get(name)
        ends = (wire.from_, wire.to) if wire is not None else (name,)
        parts = [scene.parts.get(end.split(".")[0]) for end in ends]
        told = [names.get(part.place or "", part.place or "") for part in parts if part is not None]
        found.append(" to ".join(dict.fromkeys(one for one in told if one)))
    return "; ".join(dict.fromkeys(one for one in found if one))
