"""What the search says of one thing wrong is what solving every raw state with and without it says.

The other side is built from the sheets: a wire is opened, a fuse pulled, a relay or switch held by `Changes`, one name
at a time, so that what the search tells once for a whole row is asked of each of its names.
"""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import answers_of
from loomwright.tables.kinds import load_kinds
from loomwright.trials.failures import Failure, failures_of
from loomwright.trials.wrong import wrong_with
from tests.states.random_jobs import random_sheets

KINDS = load_kinds()
WORKS, SEEN = 0.5, 0.2


def scene_at(seed: int) -> Scene:
    job = job_from_text(random_sheets(random.Random(seed)))
    return scene_of(job, KINDS, compile_network(build_network(job, KINDS)))


def changes_of(scene: Scene, failure: Failure) -> list[Changes]:
    """The failure as changes of the sheets, one for each of its names."""
    if failure.part == "missing":
        return [
            Changes(opened=(name,)) if name in scene.wires else Changes(pulled=(name,))
            for name in failure.at
            if name in scene.wires or scene.parts[name].kind == "fuse"
        ]
    if (
        failure.part == "stuck"
        and failure.what in ("relay", "switch")
        and scene.parts[failure.at[0]].kind != "key_switch"
    ):
        return [Changes(stuck=(failure.at[0],))]
    return []


def shares(answers: Answers) -> dict[str, np.ndarray]:
    """What each load draws of its rated current."""
    drawn: dict[str, np.ndarray] = {}
    rated: dict[str, float] = {}
    for k, element in enumerate(answers.compiled.network.elements):
        if element.load and element.rated_a:
            drawn[element.name] = drawn.get(element.name, 0.0) + answers.amps(k)
            rated[element.name] = element.rated_a
    return {name: np.abs(amps) / rated[name] for name, amps in drawn.items()}


def every_state(scene: Scene) -> np.ndarray:
    return np.array(list(product(*scene.space.values)), np.int64)


def with_changes(scene: Scene, changes: Changes) -> Compiled:
    return compile_network(build_network(scene.job, KINDS, changes, scene.compiled.network.variables))


def brute(scene: Scene, before: Answers, changes: Changes) -> tuple[set[str], set[str]]:
    """What goes dead and what starts, over every raw state."""
    now = answers_of(with_changes(scene, changes), before.batch.values)
    was, is_ = shares(before), shares(now)
    fine = before.possible & ~before.collapsed()
    dead, starts = set(), set()
    for name, share in was.items():
        after = np.where(now.collapsed(), 0.0, is_[name])
        if (fine & (share >= WORKS) & (after < WORKS)).any():
            dead.add(name)
        lamp = any(e.name == name and e.type == "lamp" for e in scene.compiled.network.elements)
        on = after >= (SEEN if lamp else WORKS)
        if (fine & now.possible & (share < SEEN) & on & (after > 2.0 * share)).any():
            starts.add(name)
    return dead, starts


def compare(seed: int, all_below: tuple[int, ...]) -> None:
    """What goes dead and what starts by the search, and over every raw state.

    Args:
        all_below: with no more raw states than this every state of the sound car is solved, one search each. [-]
    """
    scene = scene_at(seed)
    before = answers_of(scene.compiled, every_state(scene))
    failures = [one for one in failures_of(scene) if changes_of(scene, one)]
    assert len(failures) > 5
    searches = [wrong_with(scene, failures=failures, all_below=most).outcomes for most in all_below]
    asked = 0
    for index, failure in enumerate(failures):
        for changes in changes_of(scene, failure):
            wanted = brute(scene, before, changes)
            for outcomes in searches:
                dead = {effect.name for effect in outcomes[index].dies}
                starts = {effect.name for effect in outcomes[index].starts}
                assert (dead, starts) == wanted, (failure.says, changes)
            asked += bool(wanted[0] or wanted[1])
    assert asked, "a car in which nothing goes dead tests nothing"


@pytest.mark.parametrize("seed", range(14))
def test_what_goes_dead_and_what_starts_is_that_of_every_raw_state(seed: int) -> None:
    """Every third car is searched as a large one is, too: by planned states."""
    compare(seed, (ALL_BELOW, 0) if seed % 3 == 0 else (ALL_BELOW,))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(14, 90))
def test_planned_states_tell_what_every_raw_state_tells_of_one_thing_wrong(seed: int) -> None:
    compare(seed, (ALL_BELOW, 0))
