"""Everything the rules find in a car, in every state: gathered from sheets, states, routes and sizes, in order.

What a row of the sheet `waived` switches off is left out; what vanishes when something else is mended stands folded
beneath that. Asked in parts, one a rule: those that an edit left alone are taken over from the car before the edit
(`job.kept_answers`), and the states are solved anew only where the network has changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

from loomwright.findings import Finding, in_order
from loomwright.job.job import Job
from loomwright.job.kept_answers import Answering
from loomwright.loom.hole_findings import hole_findings
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.routes.records import Routes
from loomwright.routes.route_findings import route_findings
from loomwright.sizing.fit_findings import fit_findings
from loomwright.sizing.rulebook import EVERY_FAMILY
from loomwright.sizing.stale import stale_findings
from loomwright.states.asking.beside import Beside
from loomwright.states.asking.folding import Told, folded
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import Broken, ask_groups
from loomwright.states.asking.solving import Solving
from loomwright.states.asking.telling import told_of
from loomwright.tables.kinds import Kind

__all__ = ["Checked", "checked_of", "route_notes"]

Item = TypeVar("Item")
Tell = Callable[[int, int], None]

_EVERY = 10**12
_LESS_THAN_NEVER = ("LIV-1", "LMP-1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a check found. states_searched: raw states whose verdicts are settled; solved: states worked out for it.
    [-]"""

    findings: tuple[Finding, ...]
    states_searched: int
    solved: int
    raw_states: int

    @property
    def worst(self) -> str:
        """The gravest severity there is, `none` where there is nothing."""
        words = [finding.severity for finding in self.findings]
        return next((word for word in ("fault", "warning", "note") if word in words), "none")


def checked_of(
    job: Job,
    scene: Scene,
    kinds: Mapping[str, Kind],
    routes: Routes,
    *,
    compiled_with: Callable[[Changes], Compiled],
    tell: Tell | None = None,
    everything: bool = False,
    fixed: Mapping[str, str] | None = None,
    answering: Answering | None = None,
) -> Checked | None:
    """Everything the rules find; None where what was taken over from an earlier car turned out not to stand.

    Args:
        job: as the sheets have it.
        scene: the car as rules see it, blank cells filled.
        compiled_with: gives the network with something changed, for what is mended on trial.
        tell: called with states done and to do; may raise Stopped.
        everything: solve every raw state instead of proving most by bounds.
        fixed: variable -> the value it is held at in every state.
        answering: what an earlier car found that stands; the job and the scene are its own.
    Raises:
        NoAnswer: there are too many states; says which variables to fix.
        OutOfReach: an unknown variable or value is to be held.
    """
    answering = answering or Answering({})
    with answering.at_work() as late:
        parts = _Parts(job=job, scene=scene, kinds=kinds, routes=routes, answering=answering)
        solving = answering.of(
            "states",
            (scene.compiled, str(everything), str(fixed)),
            lambda: Solving(
                scene.compiled,
                _EVERY if everything else ALL_BELOW,
                fixed,
                keeps=answering.keeps,
                known=(scene.cones, scene.space),
                ahead=True,
            ),
        )
        for other in answering.all_of("states"):
            if other is not solving:
                other.let_go()
        try:
            if tell is not None:
                # how much there is to do is told before the sheets are read
                tell(0, len(solving.states))
            told = [*parts.off_the_sheets(), *parts.of_states(solving, tell)]
        finally:
            solving.rest()
            scene.let_go()
        kept = _without_waived(scene.job, told)
        findings = folded(
            _roots_first(_implied_beneath(kept)), solving.space, solving.states, compiled_with, answering.of_each
        )
    if answering.is_stale(late):
        return None
    return Checked(
        findings=in_order(findings),
        states_searched=solving.settled,
        solved=solving.solved,
        raw_states=solving.space.raw,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Parts:
    """The check of a car in parts, one a rule, each of which may stand from an earlier car."""

    job: Job
    scene: Scene
    kinds: Mapping[str, Kind]
    routes: Routes
    answering: Answering

    def off_the_sheets(self) -> Iterator[Told]:
        """What is read off the sheets alone."""
        scene, job = self.scene, self.job
        for family in EVERY_FAMILY:
            if family.sheet_findings is not None:
                read = partial(family.sheet_findings, scene)
                yield from self._told(f"sheets {family.name}", (scene.compiled,), read)
        beside = (self.routes,)
        yield from self._found("routes", beside, lambda: route_findings(job, self.routes, scene.job))
        # what is decided is filled in already: rows are read for what is asked of them, and not written anew
        filled = scene.job
        yield from self._found("holes", beside, lambda: hole_findings(filled, self.routes, filled))
        yield from self._found("fits", (), lambda: fit_findings(job, filled))
        yield from self._found("stale", beside, lambda: stale_findings(job, self.kinds, self.routes, filled))

    def of_states(self, solving: Solving, tell: Tell | None) -> Iterator[Told]:
        """What breaks in some state."""
        scene, answering = self.scene, self.answering
        rules = [(one.name, partial(one.watches, scene)) for one in EVERY_FAMILY if one.watches is not None]
        rests_on = (scene.compiled, self.kinds)
        groups = [answering.standing(f"asks {name}", rests_on, _listed(make)) for name, make in rules]
        asked = answering.each(
            [(f"asked {name}", (solving, group)) for (name, _), group in zip(rules, groups, strict=True)],
            lambda places, reads: ask_groups(solving, [groups[k].value for k in places], tell, reads),
        )
        beside = Beside(scene.compiled, solving.remembered)
        for (name, _), group, broken in zip(rules, groups, asked, strict=True):
            told = answering.standing(f"told {name}", (broken,), partial(self._tell, solving, beside, broken.value))
            # what a question reads when it is asked it rests on as well
            group.cells.update(broken.cells, told.cells)
            yield from told.value

    def _tell(self, solving: Solving, beside: Beside, broken: Sequence[Broken]) -> tuple[Told, ...]:
        return tuple(told_of(self.scene.compiled, solving.space, one, beside) for one in broken)

    def _told(self, name: str, beside: tuple[object, ...], make: Callable[[], Iterable[Told]]) -> tuple[Told, ...]:
        return self.answering.of(name, (*beside, self.kinds), _listed(make))

    def _found(self, name: str, beside: tuple[object, ...], make: Callable[[], Iterable[Finding]]) -> tuple[Told, ...]:
        return self._told(name, beside, lambda: [Told(finding, None, None) for finding in make()])


def _listed(make: Callable[[], Iterable[Item]]) -> Callable[[], tuple[Item, ...]]:
    return lambda: tuple(make())


def route_notes(job: Job, routes: Routes) -> tuple[Finding, ...]:
    """What the runs say of the wires, less what is waived; no state is looked at."""
    told = [Told(finding, None, None) for finding in (*route_findings(job, routes), *hole_findings(job, routes))]
    return in_order(one.finding for one in _without_waived(job, told))


def _without_waived(job: Job, told: Sequence[Told]) -> list[Told]:
    """Findings less those a row of the sheet `waived` switches off."""

    def waived(finding: Finding) -> bool:
        places = {*finding.at, *finding.touches}
        return any(row.rule == finding.rule and (not row.point or row.point in places) for row in job.waived)

    return [one for one in told if not waived(one.finding)]


def _implied_beneath(told: Sequence[Told]) -> list[Told]:
    """What never works works at no position of the key either: LIV-1 and LMP-1 of a load beneath its NET-3."""
    never = {one.finding.at[0]: k for k, one in enumerate(told) if one.finding.rule == "NET-3" and one.finding.at}
    above: dict[int, list[Finding]] = {}
    gone: set[int] = set()
    for k, one in enumerate(told):
        is_less = one.finding.rule in _LESS_THAN_NEVER and one.broken is not None and one.broken.values is None
        if is_less and one.finding.at[0] in never:
            above.setdefault(never[one.finding.at[0]], []).append(one.finding)
            gone.add(k)
    return [
        replace(one, finding=replace(one.finding, folded=(*one.finding.folded, *above[k]))) if k in above else one
        for k, one in enumerate(told)
        if k not in gone
    ]


def _roots_first(told: Sequence[Told]) -> list[Told]:
    """What is open or wrongly joined first, then what has no feed or earth because of it, then all else.

    That a load's circuit names another feed comes after those: what the load is for says more of what to do. A fuse
    that opens comes later: what hangs on it is dead because of it, and it opened for a reason. A wire that loses too
    many volts comes last: it may be thin, or it may carry what is wrongly joined.
    """
    return sorted(told, key=lambda one: (one.trial is None, _rank(one.finding.rule)))


def _rank(rule: str) -> int:
    if rule.startswith("NET"):
        return 1 if rule == "NET-3" else 0
    return {"LIV-1": 3, "RAT-1": 4, "DRP-1": 5}.get(rule, 2)
