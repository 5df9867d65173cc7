"""How are pins and needs told to the engine that puts items into slots?

A need is an item, a pin a slot. A unit is a need by itself; the two needs of one sensor or motor that ask for a pair of
pins; needs that are of no use one without the other, as an option with one alternative; or an option with several.
Goals in order:

1. rank: what is wanted more is built before any number of those wanted less (a blank rank counts as 1);
2. built: fewest units left out;
3. options: the alternative wanted most, by place in its group;
4. moved: fewest needs taken off a pin where their wire is made up already;
5. prefer: by place in the need's own list; a pin that is not in it counts as one beyond its end;
6. wiring: millimetres from the part to the controller, all together; unknown ways count nothing;
7. spares: what is taken is worth least. A pin is worth, for each thing it can do, 1000 divided by the number of pins
   that can do it and carry as much, rounded down, so that what few pins can do is left over;
8. kept: fewest needs taken off the pin that is kept for them.

A bank's limit holds for the sum of all its loads, as if all were on at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil, floor

from loomwright.allocation.engine import Alternative, Choice, Goal, Limit, Pair, Puzzle, Seat, Side, Unit
from loomwright.allocation.ground import AskedNeed, Ground, pins_named
from loomwright.findings import id_order
from loomwright.job.choices import choice_groups

__all__ = [
    "GOALS",
    "MOST_WEIGHT",
    "bank_limits",
    "fills_of",
    "goals_of",
    "left_out_weights",
    "partners_of",
    "pin_puzzle",
    "rank_of",
    "side_rows",
    "units_of",
]

GOALS: Mapping[str, str] = {
    "rank": "what is wanted most built first",
    "built": "everything built",
    "options": "the options wanted most",
    "moved": "fewest made-up pins moved",
    "prefer": "preferred pins",
    "wiring": "shortest wiring",
    "spares": "most useful spares",
    "kept": "as it was kept",
}
"""What is asked for, in order -> in words."""

_PAIRED = ("half_bridge", "vr_input", "knock_input", "can_high", "can_low")
_DIFFERENTIAL = ("vr_input", "knock_input", "can_high", "can_low")
_MILLI = 1000
MOST_WEIGHT = 10**14
"""No sum that is made least may reach it. [-]"""


def pin_puzzle(ground: Ground, able: Mapping[str, tuple[str, ...]]) -> Puzzle:
    """The puzzle of a job's pins.

    Args:
        able: need -> the pins it may be on, where it is fixed that one alone.
    """
    units = tuple(units_of(ground))
    seats = {name: {pin: fills_of(ground, name, pin) for pin in pins} for name, pins in able.items()}
    together, apart = side_rows(ground)
    return Puzzle(
        units=units,
        seats=seats,
        goals=goals_of(ground, units, able),
        limits=tuple(bank_limits(ground, {name: ground.needs[name].load_a for name in able}, able)),
        together=together,
        apart=apart,
        pairs=tuple(_pairs(ground)),
    )


def rank_of(need: AskedNeed) -> int:
    """How much a need is wanted: 1 most; a blank counts as 1. [-]"""
    return need.row.rank if need.row.rank is not None else 1


def units_of(ground: Ground) -> Iterator[Unit]:
    """What is built whole or left out, in order of names."""
    partner = partners_of(ground)
    groups: dict[str, dict[str, list[str]]] = {}
    for name, need in ground.needs.items():
        group, _, alternative = (word.strip() for word in need.row.option.partition("/"))
        if group:
            groups.setdefault(group, {}).setdefault(alternative, []).append(name)
        elif partner.get(name, name) >= name:
            items = (name, partner[name]) if name in partner else (name,)
            yield Unit(name=" + ".join(items), alternatives=(Alternative(name="", items=items),))
    for group, alternatives in sorted(groups.items()):
        if len(alternatives) == 1:
            whole = tuple(next(iter(alternatives.values())))
            yield Unit(name=" + ".join(whole), alternatives=(Alternative(name="", items=whole),))
            continue
        best = sorted(alternatives, key=lambda each: (_rank(ground, alternatives[each]), id_order(each)))
        yield Unit(
            name=f"option {group}",
            alternatives=tuple(Alternative(name=each, items=tuple(alternatives[each])) for each in best),
        )


def partners_of(ground: Ground) -> dict[str, str]:
    """Need -> the other need of its pair: two needs of one part that ask for halves of a pair."""
    found: dict[str, str] = {}
    rows: dict[tuple[str, str, str], list[str]] = {}
    for name, need in ground.needs.items():
        if need.row.ability in _PAIRED:
            word = "can" if need.row.ability.startswith("can_") else need.row.ability
            rows.setdefault((need.row.part, word, need.row.option), []).append(name)
    for (_, word, _), names in rows.items():
        pairs = any(pin.pair and any(each.startswith(word) for each in pin.abilities) for pin in ground.pins.values())
        if len(names) == 2 and pairs:
            found |= {names[0]: names[1], names[1]: names[0]}
    return found


def fills_of(ground: Ground, need: str, pin: str) -> tuple[str, ...]:
    """The pins a need takes up on a pin: the other half of a sensor's input too, where it needs but one."""
    row = ground.pins[pin]
    lone = ground.needs[need].row.ability in _DIFFERENTIAL and need not in partners_of(ground)
    if lone and row.pair:
        return (pin, *(each for each in _pair(ground, pin) if each != pin))
    return (pin,)


def _pair(ground: Ground, pin: str) -> tuple[str, ...]:
    """The other half of a pin, if it has one."""
    row = ground.pins[pin]
    named = pins_named(row.pair, ground.pins) if row.pair else ()
    return tuple(each for each in named if ground.pins[each].part == row.part)


def _pairs(ground: Ground) -> Iterator[Pair]:
    single = tuple(name for name in ground.pins if not _pair(ground, name))
    for one, other in sorted(partners_of(ground).items()):
        if one < other:
            partner = {name: _pair(ground, name) or single for name in ground.pins}
            yield Pair(name=f"{one} and {other} take a pair of pins", items=(one, other), partner=partner)


def side_rows(ground: Ground) -> tuple[tuple[Side, ...], tuple[Side, ...]]:
    """Needs that must share a bank or plug, and needs that must not."""
    found: dict[str, dict[tuple[str, str], Side]] = {"together": {}, "apart": {}}
    for name, need in ground.needs.items():
        for column, others in (("together", need.row.together), ("apart", need.row.apart)):
            for other in others:
                if other in ground.needs and other != name:
                    items = (min(name, other), max(name, other))
                    found[column][items] = Side(name=f"{items[0]} and {items[1]} {column}", items=items, of=ground.side)
    return tuple(found["together"].values()), tuple(found["apart"].values())


def bank_limits(
    ground: Ground, loads_a: Mapping[str, float | None], able: Mapping[str, tuple[str, ...]]
) -> Iterator[Limit]:
    """The banks' limits, in milliamps, loads rounded up.

    Args:
        loads_a: item -> what goes through its pin. [A]
        able: item -> the pins it may be on.
    """
    most_a: dict[tuple[str, str], float] = {}
    for pin in ground.pins.values():
        if pin.bank and pin.bank_max_a is not None:
            key = (pin.part, pin.bank)
            most_a[key] = min(pin.bank_max_a, most_a.get(key, pin.bank_max_a))
    for (part, bank), limit_a in sorted(most_a.items()):
        pins = {pin.id for pin in ground.pins.values() if (pin.part, pin.bank) == (part, bank)}
        takes: dict[Seat, int] = {
            (name, pin): ceil(round(amps * _MILLI, 6))
            for name, amps in loads_a.items()
            if amps
            for pin in able[name]
            if pin in pins
        }
        yield Limit(name=f"bank {bank} of {part}", most=floor(round(limit_a * _MILLI, 6)), takes=takes)


def goals_of(ground: Ground, units: tuple[Unit, ...], able: Mapping[str, tuple[str, ...]]) -> tuple[Goal, ...]:
    """The goals, in order."""
    needs = ground.needs
    options: dict[Choice, int] = {}
    for unit in units:
        places = sorted({_rank(ground, one.items) for one in unit.alternatives})
        options |= {(unit.name, one.name): places.index(_rank(ground, one.items)) for one in unit.alternatives}
    moved = {
        (name, pin): 1 for name, pins in able.items() if needs[name].built for pin in pins if pin != needs[name].now
    }
    kept = {
        (name, pin): 1
        for name, pins in able.items()
        if needs[name].now and not needs[name].built
        for pin in pins
        if pin != needs[name].now
    }
    return (
        Goal(name="rank", left_out=left_out_weights(ground, units)),
        Goal(name="built", left_out={unit.name: 1 for unit in units}),
        Goal(name="options", choices=options),
        Goal(name="moved", seats=moved),
        Goal(name="prefer", seats=_preferred(ground, able)),
        Goal(name="wiring", seats=_wiring(ground, able)),
        Goal(name="spares", slots=_worth(ground)),
        Goal(name="kept", seats=kept),
    )


def left_out_weights(ground: Ground, units: tuple[Unit, ...]) -> dict[str, int]:
    """What leaving each unit out weighs: one that is wanted more weighs more than all that are wanted less. [-]"""
    ranks = {unit.name: min(_rank(ground, one.items) for one in unit.alternatives) for unit in units}
    weighs: dict[int, int] = {}
    less = 0
    for rank in sorted(set(ranks.values()), reverse=True):
        weighs[rank] = min(less + 1, MOST_WEIGHT)
        less += weighs[rank] * sum(each == rank for each in ranks.values())
    return {name: weighs[rank] for name, rank in ranks.items()}


def _rank(ground: Ground, items: tuple[str, ...] | list[str]) -> int:
    return min((rank_of(ground.needs[item]) for item in items), default=1)


def _preferred(ground: Ground, able: Mapping[str, tuple[str, ...]]) -> dict[Seat, int]:
    found: dict[Seat, int] = {}
    for name, pins in able.items():
        wishes = ground.needs[name].row.prefer
        for pin in pins if wishes else ():
            places = [
                at for at, wish in enumerate(wishes) if pin in pins_named(wish, ground.pins) or ground.plug[pin] == wish
            ]
            found[name, pin] = min(places, default=len(wishes))
    return found


def _wiring(ground: Ground, able: Mapping[str, tuple[str, ...]]) -> dict[Seat, int]:
    if len({pin.part for pin in ground.pins.values()}) == 1 and not choice_groups(
        one.row for one in ground.needs.values()
    ):
        return {}  # one controller and nothing to choose: every answer has the same wires
    return {(name, pin): ceil(ground.far_mm(name, pin) or 0.0) for name, pins in able.items() for pin in pins}


def _worth(ground: Ground) -> dict[str, int]:
    found = {}
    rows: dict[str, list[float]] = {}
    for pin in ground.pins.values():
        for word in pin.abilities:
            rows.setdefault(word, []).append(pin.max_a or 0.0)
    for name, pin in ground.pins.items():
        as_good = (sum(amps >= (pin.max_a or 0.0) for amps in rows[word]) for word in pin.abilities)
        found[name] = sum(_MILLI // count for count in as_good)
    return found
