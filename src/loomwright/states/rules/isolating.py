"""Does the battery isolator stop a running engine? KEY-2.

An alternator that is excited goes on feeding the car without its battery: opening the battery's lead alone stops
nothing. With the key in run, the engine turning and the isolator just opened, no controller that drives injectors or
ignition may be alive, and no coil and no pump fed. The alternator keeps its volts from the state before, in which the
isolator was closed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.folding import Told
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.firing import Firing, firing_of
from loomwright.states.paths.joined import joined_of
from loomwright.states.rules.bridges import first_four

__all__ = ["isolator_findings"]

_ENGINE = ("running", "idle")


def isolator_findings(scene: Scene) -> Iterator[Told]:
    """Isolators that leave the engine able to fire."""
    isolators = [part for part in scene.parts.values() if part.kind == "isolator"]
    if not isolators or "key" not in scene.compiled.variable_of:
        return
    firing = [one for one in firing_of(scene, joined_of(scene)) if one.what != "injector"]
    for part in isolators:
        told = _opened(scene, part, firing)
        if told is not None:
            yield told


def _opened(scene: Scene, part: Part, firing: list[Firing]) -> Told | None:
    variables = scene.compiled.network.variables
    name = next((one.name for one in variables if part.id in one.parts), "")
    if not name or not firing:
        return None
    index = scene.compiled.variable_of[name]
    rest = variables[index].values.index(variables[index].rest)
    away = [value for value in variables[index].values if value != variables[index].rest]
    values = look(scene, {"key": ("run",), "engine": _ENGINE, name: away}, alone=True)
    before = values.copy()
    before[:, index] = rest
    answers = scene.answers(values, before)
    for row in np.flatnonzero(answers.possible):
        on = [one for one in firing if _is_on(one, answers, int(row))]
        if on:
            state = {one.name: one.values[int(values[row, k])] for k, one in enumerate(variables)}
            when = [(word, state[word]) for word in ("key", "engine", name)]
            return _told(scene, part, on, (*when, (f"before.{name}", variables[index].rest)))
    return None


def _is_on(one: Firing, answers: Answers, row: int) -> bool:
    return bool((one.works(answers) if one.device >= 0 else one.fed(answers))[row])


def _told(scene: Scene, part: Part, on: list[Firing], when: tuple[tuple[str, str], ...]) -> Told:
    names = tuple(dict.fromkeys(one.part for one in on))
    sources = tuple(
        dict.fromkeys(element.part for element in scene.compiled.network.elements if element.type == "alternator")
    )
    finding = Finding(
        rule="KEY-2",
        severity="fault",
        at=first_four((part.id, *sources)),
        when=when,
        touches=names,
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=f"opened, it does not stop a running engine: {' '.join(sources)} goes on feeding {' '.join(names[:4])}",
        mend=f"Take the feed of ignition and controllers over {part.id}.ign1 and {part.id}.ign2",
    )
    return Told(finding, None, None)
