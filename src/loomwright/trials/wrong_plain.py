"""What one thing wrong does, as plain lists and words, in the shape that `--json` prints."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from loomwright.findings import as_plain
from loomwright.trials.outcomes import Effect, Outcome
from loomwright.trials.wrong import Wrong

__all__ = ["effects_text", "wrong_plain"]


def wrong_plain(wrong: Wrong) -> dict[str, Any]:
    """Every failure with what it does, and the findings."""
    return {
        "findings": [as_plain(finding) for finding in wrong.findings],
        "failures": [_outcome(one) for one in wrong.outcomes],
        "sound": wrong.sound,
        "tried": wrong.tried,
        "of": wrong.of,
    }


def effects_text(effects: Iterable[Effect]) -> str:
    """The names of effects, each thing once, its element left out where one is meant as good as the other.

    Example:
        >>> effects_text((Effect(name="LA1.filament", state=()), Effect(name="LA1.tail", state=())))
        'LA1'
    """
    return ", ".join(dict.fromkeys(effect.name.split(".")[0] for effect in effects))


def _outcome(one: Outcome) -> dict[str, Any]:
    failure = one.failure
    return {
        "part": failure.part,
        "what": failure.what,
        "at": list(failure.at),
        "to": failure.to,
        "says": failure.says,
        "circuits": list(failure.circuits),
        "goes_dead": [_effect(effect) for effect in one.dies],
        "starts": [_effect(effect) for effect in one.starts],
        "goes_on": [_effect(effect) for effect in one.goes_on],
        "overloads": [_effect(effect) for effect in one.overloads],
        "not_meant": [_effect(effect) for effect in one.not_meant],
        "blows": [_effect(effect) for effect in one.blows],
        "runs_on": None if one.runs_on is None else dict(one.runs_on.state),
        "tried": one.tried,
        "of": one.of,
    }


def _effect(effect: Effect) -> dict[str, Any]:
    told: dict[str, Any] = {"name": effect.name, "state": dict(effect.state)}
    if effect.amps is not None:
        told["amps"] = effect.amps
    if effect.most_a is not None:
        told["most_a"] = effect.most_a
    return told | ({"by": effect.by} if effect.by else {})
