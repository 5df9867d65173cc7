"""Which mends of a finding hold?

Each idea is made on a copy of the job and asked four things, the cheap ones first:

    1. do the rows still fit each other?
    2. is the finding gone in the one state it was told in, or off the sheets?
    3. does every load still work where it should, in the sample states?
    4. is it gone, and no fault come, in every state and by every rule? That a load which never worked, and works now,
       is dark somewhere still is no fault that came: it could only not be seen

Only what passes all four is offered. The fourth is the whole check; the others cost a small part of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from loomwright.findings import Finding, says
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.sizing.rulebook import EVERY_FAMILY
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.asking.watch import Watch
from loomwright.trials.bench import Bench, sample_of
from loomwright.trials.cost import cost_of
from loomwright.trials.edits import applied
from loomwright.trials.mend import Idea, Mend, Mends, Turned, every_finding, key_of
from loomwright.trials.mend_book import ideas_for
from loomwright.trials.truths import Truths, truths_of, why_not
from loomwright.trials.when import state_of

__all__ = ["AfterEdit", "Tell", "found_in", "mends_of"]

Tell = Callable[[int, int], None]
_DARK = ("LIV-1", "LMP-1")
"""Rules by which a load does not work where it should: with no conditions, in no state that they ask of."""
_NEVER = "NET-3"
"""The rule by which a load never works."""


class Found(Protocol):
    """What a whole check found."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings, what goes with them folded beneath."""


class AfterEdit(Protocol):
    """A car with the edits made. scene: as rules see it.   check: the whole check."""

    @property
    def scene(self) -> Scene:
        """The car as rules see it."""

    def check(self, tell: Tell | None = None) -> Found:
        """The whole check."""


def mends_of(
    bench: Bench,
    finding: Finding,
    after: Callable[[Job], AfterEdit],
    *,
    most: int = 2,
    tell: Tell | None = None,
) -> Mends:
    """The mends of a finding that hold.

    Args:
        bench: the car the finding was found in.
        finding: one of its findings.
        after: the car of an edited job.
        most: no more are sought once so many are found. [-]
        tell: called with ideas tried and to try; may raise Stopped.
    """
    ideas = tuple(ideas_for(bench, finding))
    offered: list[Mend] = []
    turned: list[Turned] = []
    trial = _Trial(bench, finding)
    for done, idea in enumerate(ideas):
        if tell is not None:
            tell(done, len(ideas))
        if len(offered) >= most:
            break
        found = trial.of(idea, after, _within(tell, done, len(ideas)))
        if isinstance(found, Mend):
            offered.append(found)
        else:
            turned.append(found)
    if tell is not None:
        tell(len(ideas), len(ideas))
    best = sorted(offered, key=_least_harm)
    return Mends(finding=finding, offered=tuple(best), turned=tuple(turned))


def _least_harm(mend: Mend) -> tuple[int, int, int]:
    """What the best mend has least of: graver findings that come, findings that come, findings that stay."""
    grave = sum(one.severity != "note" for one in mend.came)
    return grave, len(mend.came), -len(mend.gone)


def found_in(findings: Sequence[Finding], rule: str, place: str = "") -> Finding | None:
    """The finding of a rule at a place, folded ones too; the first of the rule where no place is named."""
    return next(
        (one for one in every_finding(findings) if one.rule == rule and (not place or place in one.at)),
        None,
    )


def _within(tell: Tell | None, done: int, of: int) -> Tell | None:
    """Progress of a check inside the progress of the ideas; it may still be stopped in the middle."""
    if tell is None:
        return None
    told = tell

    def inner(_done: int, _of: int) -> None:
        told(done, of)

    return inner


@dataclass(eq=False)
class _Trial:
    """One finding, and what is asked again for every idea."""

    bench: Bench
    finding: Finding
    _truths: Truths | None = None

    def of(self, idea: Idea, after: Callable[[Job], AfterEdit], tell: Tell | None) -> Mend | Turned:
        """A mend where the idea holds, else why it does not."""
        bench = self.bench
        try:
            job = applied(bench.job, idea.edits)
        except (BadDocument, OutOfReach) as refusal:
            return Turned(says=idea.says, why=str(refusal))
        problems = problems_of(job, bench.kinds)
        if problems:
            return Turned(says=idea.says, why=problems[0].says)
        car = after(job)
        scene = car.scene
        if [v.values for v in scene.compiled.network.variables] != [v.values for v in bench.compiled.network.variables]:
            return Turned(says=idea.says, why="the car would have other states than now")
        if _still_there(scene, self.finding):
            return Turned(says=idea.says, why="the finding stays")
        finding = self.finding
        dark = finding.at[0] if finding.rule in _DARK and not finding.when and finding.at else ""
        why = why_not(self.truths, scene, bench.every, dark)
        if why:
            return Turned(says=idea.says, why=why)
        left = car.check(tell).findings
        return self._judged(idea, job, left)

    @property
    def truths(self) -> Truths:
        """Where every load works as the car is."""
        if self._truths is None:
            self._truths = truths_of(self.bench.scene, self.bench.sample)
        return self._truths

    def _judged(self, idea: Idea, job: Job, left: tuple[Finding, ...]) -> Mend | Turned:
        old = {key_of(one): one for one in self.bench.every}
        new = {key_of(one): one for one in every_finding(left)}
        if key_of(self.finding) in new:
            return Turned(says=idea.says, why="the finding stays in some other state")
        came = tuple(one for key, one in new.items() if key not in old)
        faults = [one for one in came if one.severity == "fault" and not _was_hidden(one, old.values(), new.values())]
        if faults:
            return Turned(says=idea.says, why=f"it would bring: {says(faults[0])}")
        gone = tuple(one for key, one in old.items() if key not in new and key != key_of(self.finding))
        cost = cost_of(self.bench.job, job, self.bench.kinds)
        return Mend(
            says=idea.says,
            edits=idea.edits,
            gone=(self.finding, *gone),
            came=came,
            wire_mm=cost.wire_mm,
            copper_g=cost.copper_g,
            price=cost.price,
            bought=cost.bought,
            left=left,
        )


def _was_hidden(came: Finding, old: Iterable[Finding], new: Iterable[Finding]) -> bool:
    """Whether a fault that came could only not be seen before: it tells where a load stays dark that never worked."""
    if not (came.rule == "LMP-1" or (came.rule == "LIV-1" and not came.when)) or not came.at:
        return False

    def never(findings: Iterable[Finding]) -> bool:
        return any(one.rule == _NEVER and one.at and one.at[0] == came.at[0] for one in findings)

    return never(old) and not never(new)


def _still_there(scene: Scene, finding: Finding) -> bool:
    """Whether the finding's own question is broken still, in its own state or off the sheets."""
    key = key_of(finding)
    own = [watch for watch in _watches(scene, finding.rule) if (watch.rule, watch.at, watch.wrong) == key]
    if not own:
        return any(key_of(told.finding) == key for told in _off_the_sheets(scene, finding.rule))
    answers = _asked(scene, finding)
    ever: Answers | None = None
    for watch in own:
        if watch.quantifier == "ever":
            ever = ever or answers_of(scene.compiled, sample_of(scene.space))
            hit, _ = watch.broken(ever)
            if not bool((hit & ever.possible).any()):
                return True
        else:
            hit, _ = watch.broken(answers)
            if bool((hit & answers.possible).any()):
                return True
    return False


def _asked(scene: Scene, finding: Finding) -> Answers:
    values, before = state_of(scene.compiled, scene.space, finding.when)
    rows = np.stack([values])
    return answers_of(scene.compiled, rows, None if before is None else np.stack([before]))


def _watches(scene: Scene, rule: str) -> Iterator[Watch]:
    for family in EVERY_FAMILY:
        if family.watches is not None and rule.startswith(family.codes):
            yield from (watch.placed() for watch in family.watches(scene))


def _off_the_sheets(scene: Scene, rule: str) -> Iterator[Told]:
    for family in EVERY_FAMILY:
        if family.sheet_findings is not None and rule.startswith(family.codes):
            yield from family.sheet_findings(scene)
