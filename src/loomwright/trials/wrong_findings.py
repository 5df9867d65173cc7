"""Which single failures deserve a word?

    MIS-1   it starts by itself: the starter, the fuel pump, or a coil with the engine stopped
    MIS-2   a wire carries more than it stands, and no fuse in its way opens
    MIS-3   the engine can go on firing with the key off
    MIS-4   a current flows through what was never meant for it: a sensor earth, a signal wire, a control cable

MIS-1 and MIS-3 are warnings. MIS-2 is a fault where something missing or stuck heats a wire beyond what its insulation
stands even for a moment, else a warning. MIS-4 is a fault where the starter's return goes that way, else a warning. A
dead short is not asked for MIS-2: one to earth is judged by rule PRO-3, by the time its fuse takes, and one to the
battery's bare post has no fuse by its nature. Neighbouring cavities are told once, not for each ohm. What else a
failure does is in its outcome.

Source: 135 % of a fuse's rating, `overload_factor` (fuse-note); what insulation stands, k-factor.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from loomwright.findings import Finding, Severity, in_order
from loomwright.states.asking.scene import Scene
from loomwright.trials.outcomes import Effect, Outcome
from loomwright.trials.yardstick import Yardstick

__all__ = ["wrong_findings"]

_NAMED = 4


def wrong_findings(scene: Scene, yard: Yardstick, outcomes: Sequence[Outcome]) -> tuple[Finding, ...]:
    """The findings of family MIS, less those a row of the sheet `waived` switches off."""
    found = _once(finding for outcome in outcomes for finding in _of(scene, yard, outcome))
    return in_order(finding for finding in found if not _waived(scene, finding))


def _once(findings: Iterable[Finding]) -> list[Finding]:
    """Of the same between two neighbours through several ohms, the one with most current, else with most ohms."""
    found: dict[tuple[str, tuple[str, ...], str], Finding] = {}
    for number, one in enumerate(findings):
        key = (one.rule, one.at, "" if "each other" in one.label else f"{number}")
        old = found.get(key)
        if old is None or old.found is None or one.found is None or one.found > old.found:
            found[key] = one
    return list(found.values())


def _of(scene: Scene, yard: Yardstick, outcome: Outcome) -> Iterator[Finding]:
    moving = [effect for effect in outcome.starts if _moves(scene, yard, effect)]
    if moving:
        names = list(dict.fromkeys(effect.name.split(".")[0] for effect in moving))
        what = ", ".join(f"{name} ({scene.title(name)})" for name in names[:_NAMED])
        yield _finding(scene, outcome, "MIS-1", "warning", moving[0], names, f"{what} starts by itself", _mend(outcome))
    hot = [effect for effect in outcome.overloads if not effect.by]
    if hot and not _is_dead_short(outcome):
        worst = max(hot, key=lambda effect: (effect.name in outcome.harmed, effect.amps or 0.0))
        severity: Severity = "fault" if outcome.harmed and outcome.failure.part != "shorted" else "warning"
        names = [effect.name for effect in hot]
        others = f", and {len(hot) - 1} more" if len(hot) > 1 else ""
        yield _finding(
            scene,
            outcome,
            "MIS-2",
            severity,
            worst,
            names,
            f"{worst.name}{others} carries more than it stands where it lies, and no fuse in its way opens",
            "Fit a thicker wire, or a fuse that protects it, or a second way for the current",
            source="k-factor" if severity == "fault" else "",
        )
    if outcome.runs_on is not None:
        yield _finding(
            scene,
            outcome,
            "MIS-3",
            "warning",
            outcome.runs_on,
            [],
            "with the key off the engine can go on firing",
            "Know how else it is stopped: the fuse of the pump or the controller, within reach",
        )
    if outcome.not_meant:
        worst = max(outcome.not_meant, key=lambda effect: effect.amps or 0.0)
        cranks = ("engine", "cranking") in worst.state or ("key", "start") in worst.state
        yield _finding(
            scene,
            outcome,
            "MIS-4",
            "fault" if cranks and outcome.failure.part == "missing" else "warning",
            worst,
            [effect.name for effect in outcome.not_meant],
            f"current flows through {worst.name}, a {worst.by} that was never meant for it",
            "Fit a second strap or earth beside it, so that one lost joint does not send its current that way"
            if outcome.failure.part == "missing"
            else _mend(outcome),
            source="our-choice",
        )


def _moves(scene: Scene, yard: Yardstick, effect: Effect) -> bool:
    """A starter, a pump, or a coil while the engine stands."""
    part = effect.name.split(".")[0]
    if part in yard.pumps:
        return not _turns(effect)
    if any(scene.element(k).part == part and scene.element(k).name == effect.name for k in yard.starters):
        return True
    return part in yard.coils and not _turns(effect)


def _turns(effect: Effect) -> bool:
    return dict(effect.state).get("engine", "stopped") != "stopped"


def _mend(outcome: Outcome) -> str:
    return {
        "missing": "Give what hangs on it an earth or a feed of its own",
        "stuck": "Know it by its sound, and keep the fuse that stops it within reach",
        "shorted": "Keep the two apart: another cavity, a sleeve, a clamp away from edges",
    }[outcome.failure.part]


def _is_dead_short(outcome: Outcome) -> bool:
    return outcome.failure.part == "shorted" and outcome.failure.what != "neighbour"


def _finding(
    scene: Scene,
    outcome: Outcome,
    rule: str,
    severity: Severity,
    effect: Effect,
    names: Sequence[str],
    wrong: str,
    mend: str,
    source: str = "",
) -> Finding:
    failure = outcome.failure
    return Finding(
        rule=rule,
        severity=severity,
        at=failure.at,
        when=effect.state,
        touches=tuple(dict.fromkeys(name for name in names if name not in failure.at)),
        label=f"{failure.says} ({_title(scene, failure.at[0], failure.what)})",
        wrong=wrong,
        found=effect.amps,
        allowed=effect.most_a,
        unit="A" if effect.amps is not None else "",
        source=source,
        mend=mend,
    )


def _title(scene: Scene, name: str, what: str) -> str:
    return scene.title(name) if name in scene.parts and what != "switch" else what


def _waived(scene: Scene, finding: Finding) -> bool:
    places = {*finding.at, *finding.touches}
    return any(row.rule == finding.rule and (not row.point or row.point in places) for row in scene.job.waived)
