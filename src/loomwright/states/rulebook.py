"""Which rules are there? A plain list, written by hand; a rule module is one line here.

`state_watches` gathers the questions asked of every state, `sheet_findings` what is read off the sheets alone.
"""

from __future__ import annotations

from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.rules import (
    chatter,
    drop,
    key,
    lights,
    live,
    net,
    rating,
    requirements,
    sheets,
    signal,
    sneak,
    supply,
)

__all__ = ["RULES", "sheet_findings", "state_watches"]

RULES = (net, live, requirements, key, supply, sneak, chatter, rating, drop, signal, lights, sheets)


def state_watches(scene: Scene) -> tuple[Watch, ...]:
    """Every question of every rule."""
    return tuple(watch for rule in RULES for watch in rule.watches(scene))


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """What the rules read off the sheets alone."""
    found: list[Told] = []
    for rule in RULES:
        read = getattr(rule, "sheet_findings", None)
        if read is not None:
            found.extend(read(scene))
    return tuple(found)
