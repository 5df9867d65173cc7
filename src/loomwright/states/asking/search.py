"""In which states is each question broken?

Solves the planned states in pieces, asks every watch of every piece, and keeps for each watch the plainest (or the
worst) state that breaks it. A state with the key off and the engine turning is solved from the same with the key in
run.
Where relays could lie another way than from rest, the states next to it are tried as what came before, and both answers
are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from math import prod
from typing import Any

import numpy as np

from loomwright.network.arrays import TIER_RELAY, type_b, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, Remembered, remember, solve_many, start_at_rest
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.cones import Cones, cones_of
from loomwright.states.asking.fewest import Seen
from loomwright.states.asking.orders import order_matters, solve_turned
from loomwright.states.asking.plan import (
    ALL_BELOW,
    Space,
    bounded,
    cone_block,
    multiplied_out,
    plan_states,
    space_of,
)
from loomwright.states.asking.too_large import refuse_too_many, with_fixed
from loomwright.states.asking.watch import Watch

__all__ = ["Broken", "Searched", "Tell", "answers_of", "implied_before", "search"]

Tell = Callable[[int, int], None]
_PIECE = 2048
_MEMORY_MOST = 6000
_KEPT_MOST = 25_000_000
"""Volts and amps kept of the states that others are come from [-]."""
_WIDER = 0.98


@dataclass(frozen=True, slots=True, eq=False)
class Broken:
    """A watch and a state that breaks it. before: the state it came from, None = from rest. found: the figure there.

    turned: it breaks with the relays changing in the other order (`orders`).   seen: the states asked from rest.
    """

    watch: Watch
    values: type_i | None
    before: type_i | None
    found: float
    turned: bool = False
    seen: Seen | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """What a search found: broken watches, the space, the states solved, and how many raw states that settles. [-]"""

    broken: tuple[Broken, ...]
    space: Space
    states: type_i
    states_searched: int
    solved: int


def implied_before(compiled: Compiled, values: type_i) -> tuple[type_bool, type_i]:
    """Which states have the key off and the engine turning, and every state with its key in run. [-]"""
    key, engine = compiled.variable_of.get("key"), compiled.variable_of.get("engine")
    earlier = values.copy()
    if key is None or engine is None:
        return np.zeros(len(values), bool), earlier
    names = compiled.network.variables[key].values
    engines = compiled.network.variables[engine].values
    off = [k for k, name in enumerate(names) if name in ("off", "accessory")]
    turning = [k for k, name in enumerate(engines) if name in ("idle", "running")]
    if "run" not in names:
        return np.zeros(len(values), bool), earlier
    earlier[:, key] = names.index("run")
    return np.isin(values[:, key], off) & np.isin(values[:, engine], turning), earlier


def answers_of(
    compiled: Compiled,
    values: type_i,
    before: type_i | None = None,
    remembered: Remembered | None = None,
    turned: bool = False,
) -> Answers:
    """Solve states from rest, from their implied earlier state, or from the one given; says which can occur.

    Args:
        turned: with the relays changing in the other order.
    """
    solve = solve_turned if turned else solve_many
    if before is not None:
        start = _devices_after(compiled, before, remembered)
        batch = solve(compiled, values, start, remembered)
        return Answers(compiled, batch, possible(compiled, batch), held=True)
    start = start_at_rest(compiled, len(values))
    implied, earlier = implied_before(compiled, values)
    if implied.any():
        start[implied] = _devices_after(compiled, earlier[implied], remembered)
    batch = solve(compiled, values, start, remembered)
    return Answers(compiled, batch, possible(compiled, batch))


def _devices_after(compiled: Compiled, before: type_i, remembered: Remembered | None) -> type_b:
    """How the devices lie in states that are come from; each state is solved once, however often it stands there."""
    alone, which = np.unique(before, axis=0, return_inverse=True)
    return np.asarray(solve_many(compiled, alone, None, remembered).devices[which.reshape(-1)])


def possible(compiled: Compiled, batch: Batch) -> type_bool:
    """States that can occur: the engine cranks only where a starter's solenoid is in."""
    engine = compiled.variable_of.get("engine")
    fine = np.ones(len(batch.values), bool)
    if engine is None:
        return fine
    names = compiled.network.variables[engine].values
    if "cranking" not in names:
        return fine
    devices = _solenoids(compiled)
    cranking = batch.values[:, engine] == names.index("cranking")
    pulled = batch.devices[:, devices].any(axis=1) if devices else np.zeros(len(fine), bool)
    return np.asarray(fine & (~cranking | pulled))


def search(
    compiled: Compiled,
    watches: Sequence[Watch],
    tell: Tell | None = None,
    all_below: int = ALL_BELOW,
    fixed: Mapping[str, str] | None = None,
) -> Searched:
    """Ask every watch of every state.

    Args:
        tell: called with states done and to do; may raise Stopped.
        all_below: with no more raw states than this every one is solved, else most are proved by bounds. [-]
        fixed: variable -> the value it is held at.
    Raises:
        NoAnswer: there are too many states; says which variables to fix.
        OutOfReach: an unknown variable or value is to be held.
    """
    space = with_fixed(compiled, space_of(compiled), fixed or {})
    cones = cones_of(compiled)
    blocks = multiplied_out(space, cones.asked, all_below)
    refuse_too_many(compiled, space, blocks, twice=space.raw > all_below)
    states = plan_states(space, cones.asked, all_below)
    states, share = _that_can_crank(compiled, space, cones, states)
    best: list[Broken | None] = [None] * len(watches)
    satisfied = [False] * len(watches)
    solved = 0
    candidates: list[type_i] = []
    broken_in: dict[int, type_bool] = {}
    can_be = np.zeros(len(states), bool)
    done = 0
    remembered = remember(compiled)
    turns = order_matters(compiled, cones)
    for piece, answers in _solved_pieces(compiled, states, remembered):
        hits = _ask(watches, answers, None, best, satisfied)
        for index, hit in hits.items():
            broken_in.setdefault(index, np.zeros(len(states), bool))[done : done + len(piece)] = hit
        can_be[done : done + len(piece)] = answers.possible
        doubtful = np.flatnonzero(_may_remember(compiled, answers, space, cones))
        if turns:
            other = answers_of(compiled, piece[doubtful], None, remembered, turned=True)
            _ask(watches, other, None, best, satisfied, turned=True)
            solved += len(doubtful)
        candidates.append(_with_memory(compiled, answers, piece, doubtful, remembered))
        solved += len(piece) + len(doubtful)
        done += len(piece)
        if tell is not None:
            tell(done, len(states))
    for values, before in _neighbours(compiled, space, np.concatenate(candidates)):
        for turned in (False, True) if turns else (False,):
            answers = answers_of(compiled, values, before, remembered, turned)
            _ask(watches, answers, before, best, satisfied, turned)
            solved += len(values)
        solved += len(values)
    broken = []
    for index, watch in enumerate(watches):
        found = best[index]
        if watch.quantifier == "ever":
            if not satisfied[index]:
                broken.append(Broken(watch, None, None, 0.0))
        elif found is not None:
            hits_of = broken_in.get(index, np.zeros(len(states), bool))
            broken.append(replace(found, seen=Seen(states, hits_of, can_be, whole=space.raw <= all_below)))
    settled = _raw_possible(compiled, space, share)
    return Searched(tuple(broken), space, states, settled, solved)


def _solved_pieces(compiled: Compiled, states: type_i, remembered: Remembered) -> Iterator[tuple[type_i, Answers]]:
    """The states in pieces, with their answers. What some are come from is solved first, and not again in its turn."""
    pieces = [states[first : first + _PIECE] for first in range(0, len(states), _PIECE)]
    implied, earlier = implied_before(compiled, states)
    begun, which = np.unique(earlier[implied], axis=0, return_inverse=True)
    if len(begun) * (compiled.arrays.nodes + len(compiled.network.elements)) > _KEPT_MOST:
        yield from ((piece, answers_of(compiled, piece, None, remembered)) for piece in pieces)
        return
    first = solve_many(compiled, begun, None, remembered)
    start = start_at_rest(compiled, len(states))
    start[implied] = first.devices[which.reshape(-1)]
    row_of = {row.tobytes(): index for index, row in enumerate(begun)}
    known = np.array([row_of.get(row.tobytes(), -1) for row in states], np.int64)
    done = 0
    for piece in pieces:
        here = slice(done, done + len(piece))
        batch = _solved_but(compiled, piece, start[here], first, known[here], remembered)
        yield piece, Answers(compiled, batch, possible(compiled, batch))
        done += len(piece)


def _solved_but(
    compiled: Compiled, values: type_i, start: type_b, first: Batch, known: type_i, remembered: Remembered
) -> Batch:
    """States solved, those that `first` has at row `known` taken from there."""
    new = np.flatnonzero(known < 0)
    old = np.flatnonzero(known >= 0)
    found = solve_many(compiled, values[new], start[new], remembered)
    order = np.argsort(np.concatenate([new, old]), kind="stable")

    def both(name: str) -> Any:
        return np.concatenate([getattr(found, name), getattr(first, name)[known[old]]])[order]

    return Batch(**{field.name: both(field.name) for field in fields(Batch)})


def _ask(
    watches: Sequence[Watch],
    answers: Answers,
    before: type_i | None,
    best: list[Broken | None],
    satisfied: list[bool],
    turned: bool = False,
) -> dict[int, type_bool]:
    """Keep of each watch the best state that breaks it; answers where each of those that ask for none is broken."""
    hits: dict[int, type_bool] = {}
    rest = answers.batch.values != _rest_of(answers.compiled)[None, :]
    away = rest.sum(axis=1)
    for index, watch in enumerate(watches):
        if watch.quantifier == "ever" and satisfied[index]:
            continue
        hit, found = watch.broken(answers)
        hit = hit & answers.possible
        if not hit.any():
            continue
        if watch.quantifier == "ever":
            satisfied[index] = True
            continue
        hits[index] = hit
        rows = np.flatnonzero(hit)
        figures = np.nan_to_num(found[rows], nan=0.0)
        order = (
            np.lexsort((away[rows], -np.abs(figures))) if watch.worst else np.lexsort((-np.abs(figures), away[rows]))
        )
        row = int(rows[order[0]])
        earlier = None if before is None else before[row].copy()
        now = Broken(watch, answers.batch.values[row].copy(), earlier, float(found[row]), turned)
        best[index] = _better(best[index], now, int(away[row]), answers.compiled)
    return hits


def _rest_of(compiled: Compiled) -> type_i:
    return np.array([v.values.index(v.rest) for v in compiled.network.variables], np.int64)


def _better(old: Broken | None, new: Broken, away: int, compiled: Compiled) -> Broken:
    if old is None or old.values is None:
        return new
    if new.watch.worst:
        return new if abs(new.found) > abs(old.found) + 1e-9 else old
    old_away = int((old.values != _rest_of(compiled)).sum()) + (old.before is not None) + old.turned
    return new if away + (new.before is not None) + new.turned < old_away else old


def _may_remember(compiled: Compiled, answers: Answers, space: Space, cones: Cones) -> type_bool:
    """States in which a relay or controller could lie either way: a sense stands between its drop-out and its pull-in.

    One that can feed itself is asked in every state of the variables that decide it, the others at rest or loaded.
    """
    arrays = compiled.arrays
    found = np.zeros(answers.count, bool)
    for inside in {frozenset(space.core) | cones.of_device[device] for device in cones.holds_itself}:
        outside = [k for k in range(len(space.values)) if k not in inside]
        values = answers.batch.values[:, outside]
        found |= (values == space.rest[outside]).all(axis=1) | (values == space.loaded[outside]).all(axis=1)
    for k, device in enumerate(compiled.network.devices):
        if device.what not in ("relay", "alive", "key_input"):
            continue
        for sense in range(arrays.sense_ptr[k], arrays.sense_ptr[k + 1]):
            element = int(arrays.sense_element[sense])
            if element >= 0:
                size = np.abs(answers.amps(element))
            else:
                size = answers.batch.v[:, arrays.sense_a[sense]] - answers.batch.v[:, arrays.sense_b[sense]]
            found |= (size >= arrays.sense_off[sense] * _WIDER) & (size < arrays.sense_on[sense] / _WIDER)
    return found


def _with_memory(
    compiled: Compiled, answers: Answers, piece: type_i, doubtful: type_i, remembered: Remembered
) -> type_i:
    """Of the doubtful states those in which relays that begin pulled come to rest another way."""
    states = piece[doubtful]
    other = solve_many(compiled, states, _all_on(compiled, len(states)), remembered)
    relays = [k for k, d in enumerate(compiled.network.devices) if d.what in ("relay", "alive", "key_input")]
    if not relays:
        return piece[:0]
    differ = (other.devices[:, relays] != answers.batch.devices[doubtful][:, relays]).any(axis=1)
    return np.asarray(states[differ])


def _all_on(compiled: Compiled, count: int) -> type_b:
    start = start_at_rest(compiled, count)
    for k, device in enumerate(compiled.network.devices):
        if compiled.arrays.tier[k] == TIER_RELAY and device.what != "signal":
            start[:, k] = 1
    return start


def _neighbours(compiled: Compiled, space: Space, states: type_i) -> list[tuple[type_i, type_i]]:
    """(state, state before it) pairs, one variable apart, in pieces."""
    if not len(states):
        return []
    now, earlier = [], []
    for variable, values in enumerate(space.values):
        for value in values:
            differ = states[:, variable] != value
            if not differ.any():
                continue
            before = states[differ].copy()
            before[:, variable] = value
            now.append(states[differ])
            earlier.append(before)
    all_now, all_before = np.concatenate(now), np.concatenate(earlier)
    if len(all_now) > _MEMORY_MOST:
        plainest = np.argsort((all_now != space.rest).sum(axis=1), kind="stable")[:_MEMORY_MOST]
        all_now, all_before = all_now[plainest], all_before[plainest]
    return [
        (all_now[first : first + _PIECE], all_before[first : first + _PIECE])
        for first in range(0, len(all_now), _PIECE)
    ]


def _that_can_crank(compiled: Compiled, space: Space, cones: Cones, states: type_i) -> tuple[type_i, float]:
    """The states less those that crank where no starter can be in, and the share of cranking ones that can be. [-]

    Asked of every combination of what decides a starter's solenoid, the rest of the car off and loaded.
    """
    engine = compiled.variable_of.get("engine")
    if engine is None or "cranking" not in compiled.network.variables[engine].values:
        return states, 1.0
    cranking = compiled.network.variables[engine].values.index("cranking")
    solenoids = _solenoids(compiled)
    inside = bounded(space, sorted(frozenset().union(*(cones.of_device[device] for device in solenoids))))
    held = Space(
        tuple((cranking,) if k == engine else values for k, values in enumerate(space.values)),
        space.rest,
        space.loaded,
        space.core,
        space.raw,
    )
    at_rest, loaded = np.split(cone_block(held, frozenset(inside)), 2)
    can = answers_of(compiled, at_rest).possible
    doubtful = loaded[~can]
    can[~can] = answers_of(compiled, doubtful).possible
    able = {tuple(row) for row in at_rest[can][:, inside].tolist()}
    every = {tuple(row) for row in at_rest[:, inside].tolist()}
    kept = [row[engine] != cranking or tuple(row[k] for k in inside) in able for row in states.tolist()]
    return states[np.array(kept, bool)], len(able) / max(1, len(every))


def _raw_possible(compiled: Compiled, space: Space, share: float) -> int:
    """Raw states that can occur: those that crank only in the share of starter combinations that do crank. [-]"""
    engine = compiled.variable_of.get("engine")
    if engine is None or "cranking" not in compiled.network.variables[engine].values:
        return space.raw
    of_engine = len(space.values[engine])
    per_value = prod(len(values) for k, values in enumerate(space.values) if k != engine)
    return round(per_value * (of_engine - 1 + share))


def _solenoids(compiled: Compiled) -> list[int]:
    starters = {element.part for element in compiled.network.elements if element.type == "starter_motor"}
    return [k for k, d in enumerate(compiled.network.devices) if d.what == "relay" and d.name.split(".")[0] in starters]
