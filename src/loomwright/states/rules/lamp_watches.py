"""How is a question about one lamp put? `lamp_watch` of every state, `ever_watch` where one at least must show it.

Each tells the lamp, then its terminal that is no earth, since a lamp with two filaments has two; the figure is its
current as a share of the rated one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Ways, live_way
from loomwright.states.rules.feeds import feed_end
from loomwright.states.rules.load_elements import LoadElement, seen_of
from loomwright.states.rules.loads import way_names
from loomwright.tables.constants import constant

__all__ = ["Ask", "ever_watch", "lamp_watch"]

Ask = Callable[[Answers], type_bool]

_NOTHING = LooksAt()


def lamp_watch(ways: Ways, lamp: LoadElement, rule: str, wrong: str, mend: str, ask: Ask) -> Watch:
    """The question about one lamp; the figure is its current as a share of the rated one."""
    lit = rule != "LMP-1"
    return replace(
        _watch(ways, lamp, rule, wrong, mend, ask),
        unit="% of its amps",
        allowed=100.0 * (constant("glow_dim_frac") if lit else constant("glow_full_frac")),
        path_of=partial(_path, ways.scene, lamp) if lit else None,
    )


def ever_watch(
    ways: Ways, lamp: LoadElement, rule: str, wrong: str, mend: str, ask: Ask, beside: LooksAt = _NOTHING
) -> Watch:
    """A lamp that ought to be so in some state at least.

    Args:
        beside: all that is asked beside the lamp itself, key and engine apart.
    """
    looks_at = LooksAt(*(own + more for own, more in zip(seen_of(ways.scene, lamp), beside, strict=True)))
    return replace(_watch(ways, lamp, rule, wrong, mend, ask), quantifier="ever", looks_at=looks_at)


def _watch(ways: Ways, lamp: LoadElement, rule: str, wrong: str, mend: str, ask: Ask) -> Watch:
    return Watch(
        rule=rule,
        severity="fault",
        at=_lamp_places(ways, lamp),
        touches=way_names(ways, lamp),
        label=_lamp_label(ways, lamp),
        wrong=wrong,
        mend=mend,
        broken=partial(_asked, lamp, ask),
    )


def _lamp_places(ways: Ways, lamp: LoadElement) -> tuple[str, ...]:
    """The lamp, then its terminal that is no earth: which filament is meant."""
    end = feed_end(ways, lamp)
    return (lamp.part, ways.scene.name_of(lamp.a if end is None else end))


def _lamp_label(ways: Ways, lamp: LoadElement) -> str:
    """The printed name of a lamp; with the terminal where the part has several filaments."""
    scene = ways.scene
    elements = {scene.element(index).name for index in scene.elements_of[lamp.part] if scene.element(index).load}
    name = _lamp_places(ways, lamp)[1] if len(elements) > 1 else lamp.part
    return f"{name} ({scene.title(lamp.part)})"


def _asked(lamp: LoadElement, ask: Ask, answers: Answers) -> tuple[type_bool, type_float]:
    """Where a question about a lamp is answered yes, and its current there as a share of the rated one. [-]"""
    return ask(answers), lamp.percent(answers)


def _path(scene: Scene, lamp: LoadElement, answers: Answers, row: int) -> tuple[str, ...]:
    volts = [abs(float(answers.batch.v[row, node])) for node in (lamp.a, lamp.b)]
    return live_way(scene, answers, row, lamp.a if volts[0] >= volts[1] else lamp.b)
