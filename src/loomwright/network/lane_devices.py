"""What do the devices of many states side by side ask for, and what changes once the relays are at rest?

The rules of `senses` and `settle`, in plain numpy. Volts that are not yet settled say how far they may still be off;
then only a lane in which every device's answer stands for all volts within that counts as sure.

In: `Car`, some lanes, their volts. Out: how each device wants to lie; which motors stall, which fuses blow.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, type_b, type_f, type_i
from loomwright.network.lane_car import Asked, Car, Lanes, type_bool
from loomwright.network.lane_laws import amps_and_slopes, laid
from loomwright.network.records import Law

__all__ = ["blow", "stall", "through", "wanted"]

_LEAST_V = 0.1
_MOTOR_TRIAL = 4.0


def through(car: Car, asked: Asked, selected: type_i, acts: type_bool, across: type_f) -> tuple[type_f, type_f]:
    """Amps through some elements and their slopes, those that do not act nothing. [A, S]"""
    elements = asked.elements
    amps, slopes = amps_and_slopes(laid(car.arrays, asked.groups, selected), across)
    for group in asked.groups:
        for k in group.gated:
            np.multiply(amps[k], acts[car.live_place[elements[k]]], out=amps[k])
            np.multiply(slopes[k], acts[car.live_place[elements[k]]], out=slopes[k])
    return amps, slopes


def _sensed(car: Car, lanes: Lanes, which: type_i, acts: type_bool, seen: type_f) -> tuple[type_f, type_f]:
    """Amps through what devices look through, and its slopes. [A, S]"""
    arrays, row_of, elements = car.arrays, car.row_of, car.sensed.elements
    across = np.take(seen, row_of[arrays.from_step[elements]], axis=0)
    across -= np.take(seen, row_of[arrays.to_step[elements]], axis=0)
    return through(car, car.sensed, np.take(lanes.selected, which, axis=1), acts, across)


def wanted(
    car: Car, lanes: Lanes, which: type_i, acts: type_bool, seen: type_f, off_v: type_f
) -> tuple[type_b, type_bool]:  # fmt: skip
    """How each device of some lanes wants to lie, and which lanes are sure of it, see `senses`.

    Args:
        seen: volts of the nodes they look at, see `Car`.
        off_v: how far volts between two points may still be off, lane by lane. [V]
    """
    arrays = car.arrays
    ends = [car.row_of[arrays.step_of[of]] for of in (arrays.sense_a, arrays.sense_b, arrays.sense_beside)]
    amps, slopes = _sensed(car, lanes, which, acts, seen)
    np.abs(amps, out=amps)
    found = np.take(lanes.devices, which, axis=1)
    may = np.take(lanes.may, which, axis=1)
    loose = off_v > 0.0
    sure = np.ones(len(which), bool)
    for d in np.flatnonzero(arrays.tier != TIER_FUSE):
        if arrays.stuck[d] != FREE:
            found[d] = arrays.stuck[d]
            continue
        on, lies = may[d], found[d] == 1
        doubted = np.zeros(len(which), bool)
        for k in range(arrays.sense_ptr[d], arrays.sense_ptr[d + 1]):
            e = arrays.sense_element[k]
            if e >= 0:
                size, slack = amps[car.sensed.place[e]], off_v * slopes[car.sensed.place[e]]
                if arrays.law[e] != Law.LINEAR:
                    # beside a straight line the slope tells no more than how it is here
                    doubted |= loose & acts[car.live_place[e]]
            else:
                low = seen[ends[1][k]]
                size, slack = seen[ends[0][k]] - low, off_v
                if arrays.tier[d] == TIER_MOTOR:
                    size = np.abs(size)
                if arrays.sense_beside[k] >= 0:
                    whole = seen[ends[2][k]] - low
                    doubted |= loose & (np.abs(whole - _LEAST_V) <= off_v)
                    fed = whole > _LEAST_V
                    whole[~fed] = 1.0
                    slack = np.where(fed, off_v * (whole + np.abs(size)) / (whole * whole), 0.0)
                    size = np.where(fed, size / whole, 0.0)
            bound = np.where(lies, arrays.sense_off[k], arrays.sense_on[k])
            on = on & (size + slack >= bound)
            doubted |= size - slack < bound
        sure &= ~(on & doubted)
        found[d] = on
    return found, sure


def stall(car: Car, lanes: Lanes, which: type_i, seen: type_f, tried: type_bool) -> type_bool:
    """Stall, once each, the motors that only just turn; in which of some lanes any was."""
    arrays, step_of = car.arrays, car.arrays.step_of
    again = np.zeros(len(which), bool)
    for d in np.flatnonzero((arrays.tier == TIER_MOTOR) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        one, other = (car.row_of[step_of[end[k]]] for end in (arrays.sense_a, arrays.sense_b))
        across = np.abs(seen[one] - seen[other])
        now = (lanes.devices[d, which] == 1) & ~tried[d, which] & (across < _MOTOR_TRIAL * arrays.sense_on[k])
        tried[d, which[now]] = True
        lanes.devices[d, which[now]] = 0
        again |= now
    return again


def blow(car: Car, lanes: Lanes, which: type_i, acts: type_bool, seen: type_f) -> type_bool:
    """Open in each of some lanes the whole fuse that is furthest above its limit; where any was."""
    arrays = car.arrays
    amps, _ = _sensed(car, lanes, which, acts, seen)
    most = np.ones(len(which))
    worst = np.full(len(which), -1)
    for d in np.flatnonzero((arrays.tier == TIER_FUSE) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        share = np.abs(amps[car.sensed.place[arrays.sense_element[k]]]) / arrays.sense_on[k]
        now = (lanes.devices[d, which] == 0) & (share > most)
        worst[now], most[now] = d, share[now]
    hit = worst >= 0
    lanes.devices[worst[hit], which[hit]] = 1
    return hit
