"""A network for lanes with what its devices look at, and some of its states on their way to rest.

In: `Arrays`, values and devices of states. Out: `Car`, made once a job; `Lanes`, which elements act in them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import FREE, Arrays, type_b, type_f, type_i
from loomwright.network.lane_feed import Feed, feed_of
from loomwright.network.lane_laws import LawGroup, by_law, law_groups
from loomwright.network.lane_net import LaneNet, lane_net

__all__ = ["Asked", "Car", "Lanes", "acting", "begun", "car_of", "type_bool"]

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """Elements whose amps are asked for, law by law: their numbers in that order, and where each stands in it."""

    elements: type_i
    groups: tuple[LawGroup, ...]
    place: type_i


@dataclass(frozen=True, slots=True, eq=False)
class Car:
    """A network for lanes with what its devices look at.

    live_place: where each element stands among the live ones, or -1: it always acts.   linear, curved, keen, quiet: the
    same for those of the network.   needing: live elements that need devices.   sensed: elements looked through.
    seen: steps of the nodes devices look at.   row_of: of each step its place among them.
    feed: of the quiet ones.
    """

    net: LaneNet
    live_place: type_i
    linear: type_i
    curved: type_i
    keen: type_i
    quiet: type_i
    needing: type_i
    sensed: Asked
    every: Asked
    seen: type_i
    row_of: type_i
    feed: Feed

    @property
    def arrays(self) -> Arrays:
        """The network's arrays."""
        return self.net.arrays


@dataclass(slots=True, eq=False)
class Lanes:
    """Some states on their way to rest; arrays are one column a lane, volts by step."""

    allowed: type_bool
    may: type_bool
    selected: type_i
    devices: type_b
    v: type_f
    floating: type_bool
    status: type_b
    buzz: type_b


def car_of(arrays: Arrays) -> Car:
    """A network made ready for lanes."""
    through = np.unique(arrays.sense_element[arrays.sense_element >= 0])
    between = _senses(arrays)
    seen = np.unique(np.concatenate([between, arrays.from_step[through], arrays.to_step[through]]))
    net = lane_net(arrays, seen, between)
    row_of = np.full(arrays.nodes + 1, -1)
    row_of[seen] = np.arange(len(seen))
    live_place = np.full(len(arrays.a), -1)
    live_place[arrays.live] = np.arange(len(arrays.live))
    return Car(
        net=net,
        live_place=live_place,
        linear=live_place[net.linear],
        curved=live_place[net.curved.elements],
        keen=live_place[net.keen.elements],
        quiet=live_place[net.quiet.elements],
        needing=np.array([e for e in arrays.live if arrays.need_ptr[e + 1] > arrays.need_ptr[e]], np.int64),
        sensed=_asked(arrays, through),
        every=_asked(arrays, np.arange(len(arrays.a))),
        seen=seen,
        row_of=row_of,
        feed=feed_of(arrays, live_place, net.quiet.elements),
    )


def _senses(arrays: Arrays) -> type_i:
    """Steps of the nodes between which devices look at volts."""
    nodes = np.concatenate([arrays.sense_a, arrays.sense_b, arrays.sense_beside])
    found: type_i = arrays.step_of[nodes[nodes >= 0]]
    return found


def _asked(arrays: Arrays, elements: type_i) -> Asked:
    elements = by_law(arrays, elements)
    place = np.full(len(arrays.a), -1)
    place[elements] = np.arange(len(elements))
    return Asked(elements, law_groups(arrays, elements), place)


def begun(arrays: Arrays, values: type_i, devices: type_b) -> Lanes:
    """States at no volts, devices as they begin."""
    count = len(values)
    selected = np.zeros((len(arrays.sel_first) + 1, count), np.int64)
    for s in range(len(arrays.sel_first)):
        second = values[:, arrays.sel_second[s]] if arrays.sel_second[s] >= 0 else 0
        place = arrays.sel_ptr[s] + values[:, arrays.sel_first[s]] * arrays.sel_columns[s] + second
        selected[s] = arrays.sel_rows[place]
    allowed = np.array([_holds(arrays, arrays.guard_ptr, int(e), values) for e in arrays.live], bool)
    may = np.array([_holds(arrays, arrays.device_guard_ptr, d, values) for d in range(len(arrays.tier))], bool)
    lies = np.ascontiguousarray(devices.T)
    stuck = arrays.stuck != FREE
    lies[stuck] = arrays.stuck[stuck, None]
    nodes = arrays.nodes + 1
    return Lanes(
        allowed=allowed.reshape(len(arrays.live), count),
        may=may.reshape(len(arrays.tier), count),
        selected=selected,
        devices=lies,
        v=np.zeros((nodes, count)),
        floating=np.zeros((nodes, count), bool),
        status=np.zeros(count, np.uint8),
        buzz=np.zeros(lies.shape, np.uint8),
    )


def _holds(arrays: Arrays, ptr: type_i, item: int, values: type_i) -> type_bool:
    """Where one of an item's guards holds, or it has none."""
    if ptr[item] == ptr[item + 1]:
        return np.ones(len(values), bool)
    found = np.zeros(len(values), bool)
    for guard in range(ptr[item], ptr[item + 1]):
        here = np.ones(len(values), bool)
        for term in range(arrays.term_ptr[guard], arrays.term_ptr[guard + 1]):
            here &= (arrays.term_mask[term] >> values[:, arrays.term_variable[term]]) & 1 == 1
        found |= here
    return found


def acting(car: Car, lanes: Lanes, which: type_i) -> type_bool:
    """Which live elements act in some lanes."""
    arrays = car.arrays
    acts = np.take(lanes.allowed, which, axis=1)
    lies = np.take(lanes.devices, which, axis=1) == 1
    idle = ~lies
    for e in car.needing:
        mine = acts[car.live_place[e]]
        for k in range(arrays.need_ptr[e], arrays.need_ptr[e + 1]):
            mine &= (lies if arrays.need_on[k] else idle)[arrays.need_device[k]]
    return acts
