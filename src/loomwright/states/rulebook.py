"""Which rules are there? A plain list, written by hand; a family of rules is one line here.

Those of wires and their fuses stand in `sizing.rulebook`, which has them all.
"""

from __future__ import annotations

from loomwright.states.asking.family import Family
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.rules import (
    chatter,
    drop,
    headings,
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

__all__ = ["FAMILIES", "state_watches"]

FAMILIES = (
    Family(name="net", codes="NET", watches=net.watches, sheet_findings=net.sheet_findings),
    Family(name="live", codes="LIV", watches=live.watches),
    Family(name="requirements", codes="REQ", watches=requirements.watches, sheet_findings=requirements.sheet_findings),
    Family(name="key", codes="KEY", watches=key.watches, sheet_findings=key.sheet_findings),
    Family(name="supply", codes="SUP", watches=supply.watches, sheet_findings=supply.sheet_findings),
    Family(name="sneak", codes="SNK", watches=sneak.watches),
    Family(name="chatter", codes="SNK", watches=chatter.watches),
    Family(name="rating", codes="RAT", watches=rating.watches),
    Family(name="drop", codes="DRP", sheet_findings=drop.sheet_findings),
    Family(name="signal", codes="SGN", watches=signal.watches, sheet_findings=signal.sheet_findings),
    Family(name="lights", codes="LMP", watches=lights.watches, sheet_findings=lights.sheet_findings),
    Family(name="sheets", codes="JOB", sheet_findings=sheets.sheet_findings),
    Family(name="headings", codes="JOB", sheet_findings=headings.sheet_findings),
)
"""The families of rules that states and sheets are asked."""


def state_watches(scene: Scene) -> tuple[Watch, ...]:
    """Every question of every rule."""
    return tuple(watch for family in FAMILIES if family.watches is not None for watch in family.watches(scene))
