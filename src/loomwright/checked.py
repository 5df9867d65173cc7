"""Everything the rules find in a car, in every state: gathered from sheets, states, routes and sizes, in order.

What a row of the sheet `waived` switches off is left out; what vanishes when something else is mended stands folded
beneath that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.findings import Finding, in_order
from loomwright.job.job import Job
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.routes.records import Routes
from loomwright.routes.route_findings import route_findings
from loomwright.sizing import protection
from loomwright.sizing.stale import stale_findings
from loomwright.states.asking.folding import Told, folded
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import search
from loomwright.states.asking.telling import told_of
from loomwright.states.rulebook import sheet_findings, state_watches
from loomwright.tables.kinds import Kind

__all__ = ["Checked", "checked_of", "route_notes"]

Tell = Callable[[int, int], None]

_EVERY = 10**12


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
) -> Checked:
    """Everything the rules find.

    Args:
        job: as the sheets have it.
        scene: the car as rules see it, blank cells filled.
        compiled_with: gives the network with something changed, for what is mended on trial.
        tell: called with states done and to do; may raise Stopped.
        everything: solve every raw state instead of proving most by bounds.
        fixed: variable -> the value it is held at in every state.
    Raises:
        NoAnswer: there are too many states; says which variables to fix.
        OutOfReach: an unknown variable or value is to be held.
    """
    watches = state_watches(scene) + protection.watches(scene)
    searched = search(scene.compiled, watches, tell, _EVERY if everything else ALL_BELOW, fixed)
    told = [*sheet_findings(scene), *protection.sheet_findings(scene)]
    told += [Told(finding, None, None) for finding in route_findings(job, routes)]
    told += [Told(finding, None, None) for finding in stale_findings(job, kinds, routes)]
    told += [told_of(scene.compiled, searched.space, broken) for broken in searched.broken]
    kept = _without_waived(scene.job, told)
    findings = folded(_roots_first(kept), searched.space, searched.states, compiled_with)
    return Checked(
        findings=in_order(findings),
        states_searched=searched.states_searched,
        solved=searched.solved,
        raw_states=searched.space.raw,
    )


def route_notes(job: Job, routes: Routes) -> tuple[Finding, ...]:
    """What the runs say of the wires, less what is waived; no state is looked at."""
    told = [Told(finding, None, None) for finding in route_findings(job, routes)]
    return in_order(one.finding for one in _without_waived(job, told))


def _without_waived(job: Job, told: Sequence[Told]) -> list[Told]:
    """Findings less those a row of the sheet `waived` switches off."""

    def waived(finding: Finding) -> bool:
        places = {*finding.at, *finding.touches}
        return any(row.rule == finding.rule and (not row.point or row.point in places) for row in job.waived)

    return [one for one in told if not waived(one.finding)]


def _roots_first(told: Sequence[Told]) -> list[Told]:
    rank = {"NET": 0}
    return sorted(told, key=lambda one: (one.trial is None, rank.get(one.finding.rule[:3], 1)))
