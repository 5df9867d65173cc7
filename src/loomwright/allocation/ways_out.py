"""Which changes make everything fit, the cheapest first?

Every need gets further ways to be built beside its own: another pin than the one it is fixed to, a pin that stands
in, with what that takes, one driver for two loads, or not at all. The engine then makes least, in order: what is left
out (one that is wanted more weighs more than all that are wanted less), what the changes cost, which alternatives of
options are built. Cost is the usual minutes of the work, parts turned into minutes by the shop's rate where their
prices are known. After each way found, ways that make at least the same changes, in kind, are barred and the next
best is asked for; once there are no others in kind, those with the same changes on other needs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from loomwright.allocation.able import able_pins, why_not
from loomwright.allocation.engine import Alternative, Choice, Goal, Link, Puzzle, Side, Unit
from loomwright.allocation.ground import AskedNeed, Ground
from loomwright.allocation.left_out import loss_of, sort_left_out
from loomwright.allocation.pin_puzzle import MOST_WEIGHT, bank_limits, left_out_weights, partners_of, pin_puzzle
from loomwright.allocation.placing import Barred, Placed, Tell, place
from loomwright.allocation.shared_drivers import driven, shares
from loomwright.allocation.way_costs import cost_of, minutes_of
from loomwright.allocation.way_edits import point_of
from loomwright.allocation.way_more import More, Seats, more_of, seat_of
from loomwright.allocation.way_records import WayOut
from loomwright.findings import id_order
from loomwright.job.fixed_map import FixedMap
from loomwright.tables.kinds import design_a, elements_of, load_kinds, resolve_settings
from loomwright.tables.stand_ins import STAND_INS, StandIn

__all__ = ["ways_out"]

_OPEN_FEEDS = ("relay_high", "relay_turned_high")
_TENTHS = 10


def ways_out(ground: Ground, most: int, tell: Tell | None = None) -> tuple[WayOut, ...]:
    """The cheapest ways to a job that fits.

    Args:
        most: no more are sought. [-]
        tell: called with ways found and to find, often; may raise Stopped.
    """
    wider = _Wider.of(ground)
    found: list[tuple[tuple[int, ...], WayOut]] = []
    in_kind: list[Barred] = []
    exact: list[Barred] = []
    barred = in_kind
    while len(found) < most:
        answer = place(wider.puzzle, _look(tell, len(found), most), barred=barred, whole=True)
        if answer is None and barred is in_kind and exact:
            barred = exact
            continue
        if answer is None:
            break
        mores = [wider.mores[choice] for choice in answer.chosen.items() if choice in wider.mores]
        if not mores:
            break
        found.append((answer.costs, wider.way(answer, mores)))
        in_kind.append(wider.alike(mores))
        exact.append(tuple((frozenset([(more.unit, more.name)]), 1) for more in mores))
    # those that are the same in kind come last, whatever they cost
    return tuple(way for _, way in sorted(found, key=lambda each: each[0]))


def _look(tell: Tell | None, done: int, most: int) -> Tell | None:
    return None if tell is None else lambda _done, _of: tell(done, most)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wider:
    """The puzzle with every change there is."""

    ground: Ground
    puzzle: Puzzle
    mores: Mapping[Choice, More]
    able: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, ground: Ground) -> _Wider:
        able = {
            name: (need.fixed,) if need.fixed is not None else able_pins(ground, need)
            for name, need in ground.needs.items()
        }
        plain = pin_puzzle(ground, able)
        seats = {name: dict(slots) for name, slots in plain.seats.items()}
        loads_a = {name: need.load_a for name, need in ground.needs.items()}
        pins = dict(able)
        mores: list[More] = []
        links: list[Link] = []
        for unit in plain.units:
            mores += _of_unit(ground, unit, seats, pins, loads_a)
        bundles: dict[str, Choice] = {}
        for one, other, bundle in shares(ground, seats, pins, loads_a):
            mores += [one, other]
            links.append(Link(one=(one.unit, one.name), other=(other.unit, other.name)))
            if bundle and bundles.setdefault(bundle, (one.unit, one.name)) != (one.unit, one.name):
                links.append(Link(one=bundles[bundle], other=(one.unit, one.name)))
        by_unit: dict[str, list[Alternative]] = {}
        for more in mores:
            by_unit.setdefault(more.unit, []).append(Alternative(name=more.name, items=more.items))
        units = tuple(
            replace(unit, alternatives=(*unit.alternatives, *by_unit.get(unit.name, ()))) for unit in plain.units
        )
        options = next(goal for goal in plain.goals if goal.name == "options")
        wider = Puzzle(
            units=units,
            seats=seats,
            goals=(
                *_in_one((_left_out(ground, plain, mores), _driven_otherwise(ground, mores), _costs(ground, mores))),
                options,
            ),
            limits=tuple(bank_limits(ground, loads_a, pins)),
            together=_for_all(plain.together, seats),
            apart=_for_all(plain.apart, seats),
            pairs=plain.pairs,
            links=tuple(links),
        )
        return cls(ground=ground, puzzle=wider, mores={(more.unit, more.name): more for more in mores}, able=pins)

    def alike(self, mores: list[More]) -> Barred:
        """The same changes in kind, on whichever needs."""
        counts: dict[tuple[str, ...], int] = {}
        for more in mores:
            counts[more.like] = counts.get(more.like, 0) + 1
        return tuple(
            (frozenset(choice for choice, more in self.mores.items() if more.like == like), count)
            for like, count in counts.items()
        )

    def way(self, answer: Placed, mores: list[More]) -> WayOut:
        """The way out by its changes."""
        placed = {item.partition("~")[0]: pin for item, pin in answer.placed.items()}
        changes = []
        for more in mores:
            if more.change.kind == "share" and more.items:
                continue  # told by the one that gives up its pin
            pin = placed.get(more.change.needs[0], "")
            says = f"{more.change.says}, on {pin}" if pin else more.change.says
            changes.append(replace(more.change, pin=pin, says=says))
        order = {"another pin": 0, "stand-in": 1, "share": 2, "leave out": 3}
        changes.sort(
            key=lambda one: (order[one.kind], min(id_order(each) for each in (*one.needs, one.carrier) if each))
        )
        return WayOut(
            changes=tuple(changes),
            says="; ".join(change.says for change in changes),
            cost=cost_of(self.ground, tuple(changes)),
            loses=tuple(dict.fromkeys(change.loses for change in changes if change.loses)),
            pins=FixedMap(placed),
        )


def _for_all(sides: tuple[Side, ...], seats: Seats) -> tuple[Side, ...]:
    """What is asked of two needs, asked of each of the ways to build them."""
    ways: dict[str, list[str]] = {}
    for item in seats:
        ways.setdefault(item.partition("~")[0], []).append(item)
    return tuple(
        replace(side, items=(one, other))
        for side in sides
        for one in ways[side.items[0]]
        for other in ways[side.items[1]]
    )


def _of_unit(
    ground: Ground,
    unit: Unit,
    seats: Seats,
    pins: dict[str, tuple[str, ...]],
    loads_a: dict[str, float | None],
) -> Iterator[More]:
    """More ways to build one unit; what they need a pin for is written into seats, pins and loads."""
    needs = tuple(dict.fromkeys(item for one in unit.alternatives for item in one.items))
    yield more_of(unit.name, "leave out", (), needs, loss_of(ground, unit, needs), like=sort_left_out(ground, needs))
    if len(unit.alternatives) > 1 or partners_of(ground).keys() & set(needs):
        return
    # of needs that are built together one may stand elsewhere; which of those alike makes no difference
    for name in {ground.needs[each].row.ability: each for each in needs}.values():
        yield from _of_need(ground, unit, name, seats, pins, loads_a)


def _of_need(
    ground: Ground,
    unit: Unit,
    name: str,
    seats: Seats,
    pins: dict[str, tuple[str, ...]],
    loads_a: dict[str, float | None],
) -> Iterator[More]:
    """The ways in which one need of a unit has another pin than it asks for, the others as they are."""

    def beside(way: str) -> tuple[str, ...]:
        # an item belongs to one alternative, so those beside it are told anew
        others = [each for each in unit.alternatives[0].items if each != name]
        return tuple(
            seat_of(ground, f"{each}~{way}", each, pins[each], seats, pins, loads_a, loads_a[each]) for each in others
        )

    need = ground.needs[name]
    if need.fixed is not None:
        free = tuple(pin for pin in able_pins(ground, need) if pin != need.fixed)
        if free:
            item = seat_of(ground, f"{name}~", name, free, seats, pins, loads_a, need.load_a)
            loses = f"the pin {need.fixed} that {name} was fixed to"
            says = f"{name} off {need.fixed}, where it is fixed"
            more = more_of(
                unit.name,
                "another pin",
                (*beside(f"beside {name}"), item),
                (name,),
                (says, loses),
                like=("another pin", need.row.ability),
            )
            yield replace(more, name=f"another pin {name}")
        return
    for one in STAND_INS.values():
        if one.ability == need.row.ability and one.how != "box" and _may_stand_in(ground, need, one):
            load_a = _coil_a() if one.how == "relay" else need.load_a
            fit = tuple(pin for pin in ground.pins if _stands_in(ground, need, pin, one, load_a))
            if fit:
                item = seat_of(ground, f"{name}~{one.key}", name, fit, seats, pins, loads_a, load_a)
                open_feed = "; its contact wants a fused feed, to be chosen" if one.key in _OPEN_FEEDS else ""
                said = (f"{name} on {one.words}", f"{name}: {one.loses}{open_feed}")
                more = more_of(
                    unit.name, "stand-in", (*beside(f"{one.key} {name}"), item), (name,), said, like=(one.key,)
                )
                change = replace(
                    more.change,
                    stand_in=one.key,
                    supply=_five_v(ground),
                    feed=_feed(ground, need) if one.ability == "low_side" else "",
                )
                yield replace(more, name=f"stand-in {one.key} {name}", change=change)


def _may_stand_in(ground: Ground, need: AskedNeed, one: StandIn) -> bool:
    if one.how == "pull_up":
        return bool(_five_v(ground))
    if one.how == "relay":
        bound = need.row.pwm_hz or need.row.active or need.row.together or need.row.apart
        pulsed = any(
            drive.output == need.row.id and drive.duty_frac not in (None, 0.0, 1.0) for drive in ground.job.drives
        )
        return not bound and not pulsed and (one.ability == "high_side" or bool(_feed(ground, need)))
    return True


def _stands_in(ground: Ground, need: AskedNeed, name: str, one: StandIn, load_a: float | None) -> bool:
    pin = ground.pins[name]
    if one.by not in pin.abilities or not why_not(need, pin):
        return False
    if one.how in ("active_low", "active_high") and pin.abilities[0] != one.by:
        return False
    bare = replace(need, row=replace(need.row, active=""))
    return not why_not(bare, pin, ability=one.by, load_a=0.0 if load_a is None else load_a)


def _coil_a() -> float:
    """What the coil of a usual relay draws while the battery is charging. [A]"""
    kind = load_kinds()["relay"]
    drawn = [design_a(one, 13.5) for one in elements_of(kind, resolve_settings(kind, {})) if one.type == "coil"]
    return sum(amps for amps in drawn if amps is not None)


def _five_v(ground: Ground) -> str:
    """A point of the job that has 5 V for sensors."""
    rows = [need.row for need in ground.needs.values() if need.row.ability == "supply_5v" and need.row.part]
    return point_of(rows[0]) if rows else ""


def _feed(ground: Ground, need: AskedNeed) -> str:
    """Where a load that is switched to earth is fed: its other terminal; empty where it has not exactly one."""
    part = next((row for row in ground.job.parts if row.id == need.row.part), None)
    kind = ground.kinds.get(part.kind) if part is not None else None
    ends = [one.name for one in kind.terminals if one.name != need.row.terminal] if kind is not None else []
    if kind is not None and kind.id == "relay":
        ends = [{"85": "86", "86": "85"}.get(need.row.terminal, "")]
    return f"{need.row.part}.{ends[0]}" if len(ends) == 1 and ends[0] else ""


def _in_one(goals: tuple[Goal, ...]) -> tuple[Goal, ...]:
    """Goals of choices as one sum in the same order, each weighing more than all after it; as they are if too large."""
    weights: dict[Choice, int] = {}
    step = 1
    for goal in reversed(goals):
        keys = dict.fromkeys((*weights, *goal.choices))
        weights = {key: weights.get(key, 0) + step * goal.choices.get(key, 0) for key in keys}
        step *= sum(goal.choices.values()) + 1
    if step > MOST_WEIGHT:
        return goals
    return (Goal(name="way out", choices=weights),)


def _left_out(ground: Ground, plain: Puzzle, mores: list[More]) -> Goal:
    """One that is wanted more weighs more than all that are wanted less together."""
    weighs = left_out_weights(ground, plain.units)
    return Goal(
        name="left out",
        choices={(more.unit, more.name): weighs[more.unit] for more in mores if more.change.kind == "leave out"},
    )


def _driven_otherwise(ground: Ground, mores: list[More]) -> Goal:
    """Two loads on one driver that were to be on at different times."""
    when = driven(ground)
    shared = [more for more in mores if more.change.kind == "share" and not more.items]
    differ = [more for more in shared if when.get(more.change.needs[0]) != when.get(more.change.carrier)]
    return Goal(name="driven otherwise", choices={(more.unit, more.name): 1 for more in differ})


def _costs(ground: Ground, mores: list[More]) -> Goal:
    costs: dict[Choice, int] = {}
    for more in mores:
        if not (more.change.kind == "share" and more.items):
            costs[more.unit, more.name] = 1 + round(_TENTHS * minutes_of(ground, more.change))
    return Goal(name="cost", choices=costs)
