"""What are the volts, amps and relays of the car in one state, or in many?

In: a `Compiled` network, a state (value for each variable, unnamed ones at rest), and what was before it, since a relay
holds at less volts than it pulls in. Out: `Solved` by names for one state, `Batch` by arrays for many.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numba import config

from loomwright.network.alike import alike
from loomwright.network.arrays import type_b, type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.known import Known, room_to_know
from loomwright.network.settle import COLLAPSED, settle_many
from loomwright.refusals import OutOfReach

__all__ = [
    "Batch",
    "Remembered",
    "Solved",
    "before_of",
    "devices_after",
    "devices_on",
    "gathered",
    "remember",
    "rest_values",
    "rows_of",
    "solve",
    "solve_alike",
    "solve_many",
    "solved_from",
    "start_at_rest",
    "values_of",
]

TURNING = ("idle", "running")
_SHARED_FROM = 128
_PLACES_MOST = 8192
_PLACES_ALONE = 256
_REMEMBERED_BYTES = 80_000_000
_SPREAD = np.array((3, 7, 13, 29, 53, 97, 193, 389))
_WORKERS_MOST = 4
_PROCESSORS = int(config.NUMBA_DEFAULT_NUM_THREADS)  # type: ignore[attr-defined]


Remembered = tuple[Known, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Answers of many states, one row a state.

    v: volts by node, the reference last. [V]  amps: by element. [A]  floating, devices, buzz: 0 or 1.
    status: settled, buzzing or collapsed (`settle`).
    """

    values: type_i
    v: type_f
    floating: type_b
    devices: type_b
    buzz: type_b
    amps: type_f
    status: type_b


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The car in one state.

    volts: by point against the battery's earthed post, None = floating. [V]
    amps: by wire and part element, positive from `from` to `to` and into a part's first terminal. [A]
    relays: pulled, released or buzzing.  alive: controllers.  blown: fuses opened by this state.
    """

    state: Mapping[str, str]
    volts: Mapping[str, float | None]
    amps: Mapping[str, float]
    relays: Mapping[str, str]
    alive: Mapping[str, bool]
    blown: tuple[str, ...]
    buzzing: tuple[str, ...]
    collapsed: bool
    notes: tuple[str, ...] = ()


def rest_values(compiled: Compiled) -> type_i:
    """Index of each variable's rest value. [-]"""
    return np.array([list(v.values).index(v.rest) for v in compiled.network.variables], np.int64)


def values_of(compiled: Compiled, state: Mapping[str, str | float]) -> type_i:
    """The state as value indices, unnamed variables at rest.

    Raises:
        OutOfReach: an unknown variable or value, with those there are.
    """
    values = rest_values(compiled)
    for name, value in state.items():
        index = compiled.variable_of.get(name)
        if index is None:
            raise OutOfReach(name, "a state variable", ", ".join(sorted(compiled.variable_of)))
        allowed = compiled.network.variables[index].values
        values[index] = _value_index(name, value, allowed)
    return values


def _value_index(name: str, value: str | float, allowed: tuple[str, ...]) -> int:
    if str(value) in allowed:
        return allowed.index(str(value))
    try:
        wanted = float(value)
        numbers = [float(text) for text in allowed]
    except ValueError:
        raise OutOfReach(name, str(value), ", ".join(allowed)) from None
    if wanted in numbers:
        return numbers.index(wanted)
    raise OutOfReach(name, str(value), ", ".join(allowed))


def start_at_rest(compiled: Compiled, count: int = 1) -> type_b:
    """Devices before anything is known: relays released, motors turning, fuses whole."""
    return np.repeat(compiled.arrays.at_rest[None, :], count, axis=0)


def remember(compiled: Compiled) -> Remembered:
    """Room for what is known from one `solve_many` to the next; it makes them faster and changes no digit.

    Not to be used by two threads at once.
    """
    place_bytes = 9 * (compiled.arrays.nodes + 1) + 8 * len(compiled.arrays.sel_first) + len(compiled.arrays.live)
    places = min(_PLACES_MOST, _REMEMBERED_BYTES // (_workers() * place_bytes))
    return tuple(room_to_know(compiled.arrays, max(1, places)) for _ in range(_workers()))


def _workers() -> int:
    return min(_WORKERS_MOST, _PROCESSORS)


def solve_many(
    compiled: Compiled, values: type_i, start: type_b | None = None, remembered: Remembered | None = None
) -> Batch:
    """Solve many states.

    Args:
        values: value index of each variable, one row a state. [-]
        start: devices to begin from, one row a state; default at rest.
        remembered: what is known of other states of this network; none is needed.
    """
    batch, which = solve_alike(compiled, values, start, remembered)
    return batch if len(batch.values) == len(values) else replace(rows_of(batch, which), values=values)


def solve_alike(
    compiled: Compiled, values: type_i, start: type_b | None = None, remembered: Remembered | None = None
) -> tuple[Batch, type_i]:
    """Solve many states, those alone that no other stands for (`alike`).

    Returns:
        The states solved, and for each of those given the row of the one that stands for it. [-]
    """
    devices = start_at_rest(compiled, len(values)) if start is None else start
    first, which = alike(compiled.arrays, values, devices)
    return _solved(compiled, values[first], devices[first], remembered), which


def rows_of(batch: Batch, which: type_i) -> Batch:
    """Those states of a batch. which: the row of each. [-]"""
    return Batch(**{field.name: getattr(batch, field.name)[which] for field in fields(Batch)})


def devices_after(
    compiled: Compiled, values: type_i, start: type_b | None = None, remembered: Remembered | None = None
) -> type_b:
    """How the devices lie in many states once all is at rest, one row a state; arguments as of `solve_many`."""
    devices = start_at_rest(compiled, len(values)) if start is None else start
    first, which = alike(compiled.arrays, values, devices)
    return np.asarray(_solved(compiled, values[first], devices[first], remembered, tells=False).devices[which])


def gathered(batches: Sequence[Batch], which: type_i, values: type_i) -> Batch:
    """States taken from batches, one node's or element's figures of all states side by side, as questions read them.

    Args:
        which: the row of each state, the batches one after the other. [-]
        values: of the states, one row a state. [-]
    """

    def taken(name: str, by_columns: bool) -> Any:
        parts = [getattr(batch, name) for batch in batches]
        if not by_columns:
            return (parts[0] if len(parts) == 1 else np.concatenate(parts))[which]
        columns = np.empty((parts[0].shape[1], sum(map(len, parts))), parts[0].dtype)
        done = 0
        for part in parts:
            columns[:, done : done + len(part)] = part.T
            done += len(part)
        return np.take(columns, which, axis=1).T

    names = (field.name for field in fields(Batch) if field.name != "values")
    return Batch(values=values, **{name: taken(name, name in ("v", "amps", "floating")) for name in names})


def _solved(
    compiled: Compiled, values: type_i, devices: type_b, remembered: Remembered | None, tells: bool = True
) -> Batch:
    """States solved, each for itself.

    Args:
        devices: how they lie at first; written over.
        tells: volts and amps too, else the devices alone.
    """
    count, told = len(values), len(values) if tells else 0
    batch = Batch(
        values=values,
        v=np.empty((told, compiled.arrays.nodes + 1)),
        floating=np.empty((told, compiled.arrays.nodes + 1), np.uint8),
        devices=devices,
        buzz=np.zeros_like(devices),
        amps=np.empty((told, len(compiled.network.elements))),
        status=np.zeros(count, np.uint8),
    )
    if count < _SHARED_FROM and not remembered:
        _settle(compiled, batch, np.arange(count), _known_to(compiled, remembered, 0, count))
        return batch
    # a state falls to the same worker every time, who knows it
    turns = (values * _SPREAD[np.arange(values.shape[1]) % len(_SPREAD)]).sum(axis=1) % _workers()
    parts = [np.flatnonzero(turns == worker) for worker in range(_workers())]
    if count < _SHARED_FROM:
        for worker, part in enumerate(parts):
            if len(part):
                _settle(compiled, batch, part, _known_to(compiled, remembered, worker, len(part)))
        return batch
    # the kernels let go of the interpreter, so threads share the work without copying anything; this one takes a part
    own, *others = ((part, _known_to(compiled, remembered, worker, len(part))) for worker, part in enumerate(parts))
    with ThreadPoolExecutor(max(1, len(others))) as pool:
        shared = [pool.submit(_settle, compiled, batch, part, known) for part, known in others]
        _settle(compiled, batch, *own)
        for part_done in shared:
            part_done.result()
    return batch


def _known_to(compiled: Compiled, remembered: Remembered | None, worker: int, count: int) -> Known:
    return remembered[worker] if remembered else room_to_know(compiled.arrays, max(1, min(count, _PLACES_ALONE)))


def _settle(compiled: Compiled, batch: Batch, which: type_i, known: Known) -> None:
    settle_many(
        compiled.arrays,
        batch.values,
        batch.devices,
        batch.v,
        batch.floating,
        batch.buzz,
        batch.amps,
        batch.status,
        which,
        known,
    )


def before_of(compiled: Compiled, values: type_i) -> type_i | None:
    """The state a car with its key off and its engine turning came from: the same with the key in run."""
    key, engine = compiled.variable_of.get("key"), compiled.variable_of.get("engine")
    if key is None or engine is None:
        return None
    variables = compiled.network.variables
    if variables[engine].values[values[engine]] not in TURNING or "run" not in variables[key].values:
        return None
    if variables[key].values[values[key]] not in ("off", "accessory"):
        return None
    earlier = values.copy()
    earlier[key] = variables[key].values.index("run")
    return earlier


def solve(
    compiled: Compiled, state: Mapping[str, str | float], before: Mapping[str, str | float] | None = None
) -> Solved:
    """The car in one state.

    Args:
        before: the state it came from, where that matters; variables it does not name are as in `state`.
    Raises:
        OutOfReach: an unknown variable or value.
    """
    return solved_from(compiled, _batch_of_one(compiled, state, before), 0)


def devices_on(
    compiled: Compiled, state: Mapping[str, str | float], before: Mapping[str, str | float] | None = None
) -> Mapping[str, bool]:
    """Which devices are on in one state, by name. Raises OutOfReach as `solve` does."""
    row = _batch_of_one(compiled, state, before).devices[0]
    return {device.name: bool(row[index]) for index, device in enumerate(compiled.network.devices)}


def _batch_of_one(
    compiled: Compiled, state: Mapping[str, str | float], before: Mapping[str, str | float] | None
) -> Batch:
    values = values_of(compiled, state)
    earlier = values_of(compiled, {**state, **before}) if before else before_of(compiled, values)
    start = None
    if earlier is not None:
        start = solve_many(compiled, earlier[None, :]).devices
    return solve_many(compiled, values[None, :], start)


def solved_from(compiled: Compiled, batch: Batch, row: int) -> Solved:
    """One row of a batch by names."""
    network = compiled.network
    volts: dict[str, float | None] = {}
    for name, node in compiled.node_of.items():
        if "._" not in name:
            volts[name] = None if batch.floating[row, node] else float(batch.v[row, node])
    amps: dict[str, float] = {}
    for index, element in enumerate(network.elements):
        amps[element.name] = amps.get(element.name, 0.0) + float(batch.amps[row, index])
    relays, alive = {}, {}
    blown, buzzing = [], []
    for index, device in enumerate(network.devices):
        part = device.name.split(".")[0]
        on = bool(batch.devices[row, index])
        if device.what == "relay":
            relays[part] = "buzzing" if batch.buzz[row, index] else "pulled" if on else "released"
        elif device.what == "alive":
            alive[part] = on
        elif device.what == "fuse" and on:
            blown.append(part)
        if batch.buzz[row, index]:
            buzzing.append(part)
    return Solved(
        state={v.name: v.values[int(i)] for v, i in zip(network.variables, batch.values[row], strict=True)},
        volts=volts,
        amps=amps,
        relays=relays,
        alive=alive,
        blown=tuple(sorted(blown)),
        buzzing=tuple(sorted(set(buzzing))),
        collapsed=bool(batch.status[row] == COLLAPSED),
        notes=network.notes,
    )
