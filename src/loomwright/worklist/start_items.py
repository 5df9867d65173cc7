"""Which item of the first start is looked at next?

In: the list of the first start as it stands. Out: a thing for each item. A stage is closed until every item before it
is through, as on the list itself; an item that did not hold stays in hand, with what to do about it.
"""

from __future__ import annotations

from loomwright.startup.first_start import STAGE, FirstStart, StartItem, StartStage
from loomwright.startup.plain import limit_words
from loomwright.worklist.thing import Asks, Thing

__all__ = ["start_things"]


def start_things(made: FirstStart) -> tuple[Thing, ...]:
    """Every item of the list, stage by stage.

    Args:
        made: the list as it stands.
    """
    return tuple(_thing(item, stage, made.emergency) for stage in made.stages for item in stage.items)


def _thing(item: StartItem, stage: StartStage, emergency: str) -> Thing:
    limit = item.limit
    facts = (("must be seen", item.sees), ("parts", " ".join(item.parts)))
    asks = Asks(kind="words", words=("yes", "no"), word="yes", waivable=item.waivable)
    if limit is not None:
        asks = Asks(
            kind="figure",
            unit=limit.unit,
            low=limit.least,
            high=limit.most,
            says=limit_words(limit),
            waivable=item.waivable,
        )
    return Thing(
        id=f"start/{item.name}",
        work="start",
        group=f"{stage.number} {stage.title}",
        does=item.does,
        sheet="gates",
        cells={"gate": item.name, "stage": STAGE},
        stage=stage.number,
        facts=tuple(pair for pair in facts if pair[1]),
        cautions=tuple(text for text in (item.caution, *stage.cautions, emergency) if text),
        asks=asks,
        again=item.fails,
        holds_up=True,
        is_done=item.is_through,
    )
