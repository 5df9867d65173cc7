"""Which pins would another controller have to have more of, so that everything fits?

As many of each ability as are left out for want of it are added to the pins, without limits of their own, and the
engine is asked whether everything then fits: only what is proved is told. Where a bank, a side or a fixed pin is to
blame more pins are no help, and nothing is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from loomwright.allocation.able import ability_words, able_pins
from loomwright.allocation.engine import Puzzle
from loomwright.allocation.ground import Ground
from loomwright.allocation.pin_puzzle import pin_puzzle
from loomwright.allocation.placing import fits
from loomwright.job.rows import ControllerPin

__all__ = ["more_wanted", "wanted_says"]


def more_wanted(ground: Ground, puzzle: Puzzle, left_out: Sequence[str]) -> tuple[tuple[str, int], ...]:
    """Ability -> how many more such pins make everything fit; none where that is not so.

    Args:
        puzzle: of the ground as it is.
        left_out: units that the best answer does not build.
    """
    if not ground.pins:
        return ()
    units = {unit.name: unit for unit in puzzle.units}
    counts: Counter[str] = Counter()
    for name in left_out:
        least = min(units[name].alternatives, key=lambda each: len(each.items))
        counts.update(ground.needs[item].row.ability for item in least.items)
    box = next(iter(ground.pins.values())).part
    more: dict[str, ControllerPin] = {}
    for word, count in sorted(counts.items()):
        names = [f"one more {word} {number}" for number in range(1, count + 1)]
        for at, name in enumerate(names):
            beside = names[at ^ 1] if (at ^ 1) < len(names) else ""
            more[name] = ControllerPin(id=name, part=box, terminal=name, abilities=(word,), pair=beside)
    wider = replace(
        ground,
        pins={**ground.pins, **more},
        side={**ground.side, **dict.fromkeys(more, box)},
        plug={**ground.plug, **dict.fromkeys(more, "")},
    )
    able = {
        name: (need.fixed,) if need.fixed is not None else able_pins(wider, need) for name, need in wider.needs.items()
    }
    return tuple(sorted(counts.items())) if fits(pin_puzzle(wider, able)) else ()


def wanted_says(wanted: Sequence[tuple[str, int]]) -> str:
    """The same in words; empty where there is nothing to say.

    Example:
        >>> wanted_says([("knock_input", 1)])
        'Or another controller, or a second one beside it: with 1 more knock input (knock_input) everything fits'
    """
    told = " and ".join(f"{count} more {ability_words(word)}" for word, count in wanted)
    return f"Or another controller, or a second one beside it: with {told} everything fits" if told else ""
