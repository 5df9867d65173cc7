"""How does a broken question become a finding?

Its smallest conditions are worked out, the figure is read in the plainest state that breaks it, severity and path are
asked for there, and the words of the watch are put around them.
"""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

from loomwright.findings import Finding
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.beside import Beside
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.folding import Told
from loomwright.states.asking.plan import Space
from loomwright.states.asking.search import Broken
from loomwright.states.asking.smallest import smallest_conditions
from loomwright.states.asking.watch import Watch

__all__ = ["asked_again", "told_of"]


def told_of(compiled: Compiled, space: Space, broken: Broken, beside: Beside | None = None) -> Told:
    """The finding of a broken question, with the state that shows it.

    Args:
        beside: the states solved for earlier questions of the network; none is needed.
    """
    ground = beside or Beside(compiled)
    when, plain = smallest_conditions(compiled, space, broken, ground)
    watch = plain.watch.placed()
    # the worst figure is told, from the state it was met in; the plainest conditions are those under which it breaks
    found = broken.found if watch.worst else plain.found
    path = watch.path
    if watch.path_of is not None and plain.values is not None:
        before = None if plain.before is None else plain.before[None, :]
        path = watch.path_of(ground.answers(plain.values[None, :], before, plain.turned), 0)
    severity = watch.severity if watch.severity_of is None else watch.severity_of(found)
    is_root = watch.root and (watch.root_from is None or found >= watch.root_from)
    asked_figure = watch.allowed is not None or bool(watch.unit)
    finding = Finding(
        rule=watch.rule,
        severity=severity,
        at=watch.at,
        when=when,
        touches=watch.touches,
        label=watch.label,
        wrong=watch.wrong if watch.wrong_of is None else watch.wrong_of(found),
        found=found if asked_figure and isfinite(found) and watch.quantifier == "always" else None,
        allowed=watch.allowed,
        unit=watch.unit,
        source=watch.source,
        mend=watch.mend,
        path=path,
    )
    # it is cured where the worst of it is
    return Told(finding, broken if watch.worst else plain, watch.trial if is_root else None)


def asked_again(
    finding: Finding,
    broken: Callable[[Answers], tuple[type_bool, type_float]],
    values: type_i | None,
    *,
    quantifier: str = "always",
    looks_at: LooksAt | None = None,
    trial: Changes | None = None,
) -> Told:
    """A finding of the sheets with the question it stands for, so that a mend elsewhere that cures it takes it along.

    Args:
        broken: the question, as of a `Watch`.
        values: the state in which it is found; None where it is asked of many. [-]
        quantifier, looks_at: as of a `Watch`.
        trial: what would cure it, where others may go with it.
    """
    watch = Watch(
        rule=finding.rule,
        severity=finding.severity,
        at=finding.at,
        label=finding.label,
        wrong=finding.wrong,
        mend=finding.mend,
        quantifier=quantifier,
        looks_at=looks_at,
        broken=broken,
    )
    return Told(finding, Broken(watch, values, None, finding.found or 0.0), trial)
