"""What is a need called that is left out, what is lost with it, and which others would be the same to leave out?"""

from __future__ import annotations

import re

from loomwright.allocation.engine import Unit
from loomwright.allocation.ground import Ground

__all__ = ["loss_of", "sort_left_out"]

_NUMBER = re.compile(r"\d+")


def loss_of(ground: Ground, unit: Unit, needs: tuple[str, ...]) -> tuple[str, str]:
    """What leaving a unit out is called, and what is lost with it."""
    rows = [ground.needs[name].row for name in needs]
    does = ", ".join(dict.fromkeys(row.does or row.id for row in rows))
    circuits = {row.circuit for row in ground.job.parts if row.id in {each.part for each in rows}}
    wishes = [
        wish for wish in ground.job.wishes if wish.included != "no" and circuits & set(wish.circuits) and circuits
    ]
    alone = [wish for wish in wishes if circuits <= set(wish.circuits) and len(wish.circuits) == 1]
    of = f", of the wish {alone[0].id}" if alone else ""
    name = " or ".join(" + ".join(one.items) for one in unit.alternatives)
    return f"{name} left out", f"{does}{of}"


def sort_left_out(ground: Ground, needs: tuple[str, ...]) -> tuple[str, ...]:
    """What leaving needs out counts as: one coil of six is as good as another, and is no other way out."""
    rows = [ground.needs[name].row for name in needs]
    return ("leave out", *sorted(f"{row.ability} {row.rank} {_NUMBER.sub('', row.does or row.id)}" for row in rows))
