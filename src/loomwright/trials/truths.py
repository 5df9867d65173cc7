"""Does every load still work where it should, after an edit?

The truth of a load is the set of sample states in which it works. States that are a fault of their own are not
compared: those in which the key is off and a finding says that something comes back or runs on (KEY-2, SNK-3), since
nothing that works there should. A charge lamp is not compared, since its glow hangs on the volts of all else.

An edit may take a state from a load only where a finding with conditions says that it should not work there, or where
the feed its circuit names is dead. It may give it a state only where a finding says that it should work there, or where
its feed is live and no switch of the car kept it from working before: what a switch kept from working was kept so by
somebody's will.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.paths.tracing import Ways, ways_of
from loomwright.states.rules.feeds import feed_name, feed_of
from loomwright.states.rules.load_elements import LoadElement, behind_ohm, load_elements
from loomwright.trials.when import covered

__all__ = ["Truths", "truths_of", "why_not"]

_KEY_AND_ENGINE = ("key", "engine")
_RUNS_ON = ("KEY-2", "SNK-3")
_SHIFT = 0.8
"""A load that carries this share of its amps or more, before and after, has only shifted at the edge. [-]"""
_SERIES = 400
"""Most gained states looked at for what kept a load from working before. [-]"""


class Truths:
    """The truths of the loads of a car in its sample states. works: load -> where it works. fed: where its feed is."""

    def __init__(
        self,
        answers: Answers,
        works: Mapping[str, type_bool],
        fed: Mapping[str, type_bool | None],
        amps: Mapping[str, type_float],
    ) -> None:
        self.answers = answers
        self.works = works
        self.fed = fed
        self.amps = amps


def truths_of(scene: Scene, answers: Answers) -> Truths:
    """The truths of every load of a car; controllers count by what they draw."""
    ways = ways_of(scene)
    works: dict[str, type_bool] = {}
    fed: dict[str, type_bool | None] = {}
    amps: dict[str, type_float] = {}
    for load in load_elements(scene):
        if "charge_lamp" in (scene.parts[load.part].role or "").split():
            continue
        amps[load.name] = load.amps(answers)
        works[load.name] = load.works(answers, behind_ohm(ways, load)) & answers.possible
        fed[load.name] = _fed(scene, ways, load, answers)
    return Truths(answers, works, fed, amps)


def _fed(scene: Scene, ways: Ways, load: LoadElement, answers: Answers) -> type_bool | None:
    """Where the feed of a load's circuit is live; None where no circuit names one."""
    name = feed_name(scene, ways, load)
    if not name:
        return None
    feed = feed_of(ways, name)
    return np.ones(answers.count, bool) if feed is None else ~feed.dead(answers)


def why_not(old: Truths, new_scene: Scene, findings: Sequence[Finding], must_gain: str = "") -> str:
    """Why an edit may not be made for what it does to a load; nothing where it may.

    Args:
        old: the truths before.
        new_scene: the car after the edit; it has the same state variables.
        findings: all that was found before, folded ones too.
        must_gain: a part that the edit has to make work in some state more.
    """
    has_gained = False
    states = old.answers.batch.values
    answers = answers_of(new_scene.compiled, states)
    new = truths_of(new_scene, answers)
    both = old.answers.possible & answers.possible & ~_faulty(old.answers, findings)
    for name, before in old.works.items():
        after = new.works.get(name)
        if after is None:
            return f"{name} would be no load any more"
        if before.any() and not after.any():
            return f"{name} would never work any more"
        part = name.split(".", 1)[0]
        named = _said_of(old.answers, findings, part)
        told_off = _said_of(old.answers, [one for one in findings if one.when], part)
        fed = old.fed[name]
        unfed = ~fed if fed is not None else np.zeros(len(before), bool)
        new_fed = new.fed[name]
        if new_fed is not None:
            unfed = unfed | ~new_fed
        was_a, is_a = old.amps[name], new.amps[name]
        lost = before & ~after & both & ~told_off & ~unfed & (is_a < _SHIFT * was_a)
        if lost.any():
            return f"{name} would not work any more, {_state_words(old.answers, lost)}"
        has_gained = has_gained or (part == must_gain and bool((after & ~before & both).any()))
        gained = after & ~before & both & ~named & (was_a < _SHIFT * is_a)
        if (gained & unfed).any():
            return f"{name} would work where its feed is dead, {_state_words(old.answers, gained & unfed)}"
        kept = _kept_off(old.answers, before, gained)
        if kept:
            return f"{name} would work where {kept} keeps it off"
    return "" if has_gained or not must_gain else f"{must_gain} would work in no state more"


def _faulty(answers: Answers, findings: Sequence[Finding]) -> type_bool:
    """The states, by key and engine, in which a finding says that the key is off and something runs on."""
    found = np.zeros(answers.count, bool)
    for finding in findings:
        core = [(name, text) for name, text in finding.when if name in _KEY_AND_ENGINE]
        if finding.rule in _RUNS_ON and core:
            found |= covered(answers, core)
    return found


def _said_of(answers: Answers, findings: Sequence[Finding], part: str) -> type_bool:
    """The states in which a finding names a part."""
    found = np.zeros(answers.count, bool)
    for finding in findings:
        names = {split_point(place)[0] for place in (*finding.at, *finding.touches)}
        if part in names and finding.severity != "note":
            found |= covered(answers, finding.when)
    return found


def _kept_off(answers: Answers, before: type_bool, gained: type_bool) -> str:
    """The variable that kept a load from working in one of the gained states; nothing where none did."""
    rows = np.flatnonzero(gained)[:_SERIES]
    worked = answers.batch.values[before]
    if not len(rows) or not len(worked):
        return ""
    variables = answers.compiled.network.variables
    for row in rows:
        differ = worked != answers.batch.values[row]
        alone = worked[differ.sum(axis=1) == 1]
        for other in alone:
            index = int(np.flatnonzero(other != answers.batch.values[row])[0])
            if variables[index].name not in _KEY_AND_ENGINE and not variables[index].numeric:
                return variables[index].name
    return ""


def _state_words(answers: Answers, which: type_bool) -> str:
    """One of the states in words, the plainest: what is away from rest."""
    variables = answers.compiled.network.variables
    rest = np.array([list(one.values).index(one.rest) for one in variables], np.int64)
    rows = np.flatnonzero(which)
    row = rows[int(np.argmin((answers.batch.values[rows] != rest).sum(axis=1)))]
    values = answers.batch.values[row]
    told = [f"{one.name}={one.values[int(values[k])]}" for k, one in enumerate(variables) if values[k] != rest[k]]
    return ", ".join(told) or "everything at rest"
