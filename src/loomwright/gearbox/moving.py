"""What moves the car: wheel force, engine speed and converter heat at a speed, a gear and a pedal; compiled.

    F = A + B v + C v^2 + M g sin(atan(grade)) + M' dv/dt,   M' = 1.03 M plus what turns with the engine left out

Unlocked, the pump takes (n / K(SR))^2 and the turbine gives TR(SR) times that; the engine's speed is where pump and
engine agree, found by halving. When the wheels would drive the engine, turbine and pump turn as one. Below idle the
engine idles. All that is compiled stands in this module: what is compiled elsewhere would keep old code of it.

The tyres pull no harder than their grip; the engine's speed is then that of wheels that just do not spin.

Source: road load by 40 CFR 1066.210; the mass factor is the practice of the WLTP.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = [
    "GRAVITY",
    "HOT_LOCK_FRAC",
    "MASS_FACTOR",
    "STEP_S",
    "LineSet",
    "Machine",
    "drive_n",
    "engine_nm",
    "hold_n",
    "hunts_at_pedal",
    "hunts_at_speed",
    "pedal_for",
    "run",
]

Floats = NDArray[np.float64]

GRAVITY = 9.80665
"""Metres a second, each second [-]. The standard figure."""
STEP_S = 0.1
"""A step of time. [s]"""
_PEDAL_LAG_S = 0.3  # the change logic looks at a pedal so much behind; our choice
_SUDDEN = 0.35  # a pedal so far from the lagged one opens the converter's clutch
_LOCK_WAIT_S = 1.0
HOT_LOCK_FRAC = 0.8
"""In hot mode lock-up comes at this share of its line. [0..1] Our choice."""
_LONGEST_TO_AND_FRO_S = 60.0  # what takes longer is not felt as hunting; our choice
_SAMPLES = 10  # speeds looked at between a down and an up line
MASS_FACTOR = 1.03
"""Effective over real mass [-]."""
_HALVINGS = 34
_TURN = 2.0 * np.pi / 60.0


class LineSet(NamedTuple):
    """The lines of a programme as arrays, speeds in metres a second; a row a pair or a gear, a column a pedal.

    kick_at, gap, back, cold, hot, hot_off, store, cooler, guard: bare, for the compiled code. [-]
    """

    pedal: Floats
    up: Floats
    down: Floats
    kick: Floats
    lock: Floats
    unlock: Floats
    kick_at: float
    gap: float
    back: float
    highest: int
    cold: float
    hot: float
    hot_off: float
    store: float
    cooler: float
    guard: float


class Machine(NamedTuple):
    """A box as arrays, in kg, metres, Nm and 1/min.

    mass, rolled, final, kept, idle, limit, peak, grip: bare, for the compiled code. [-]
    """

    mass: float
    rolled: float
    final: float
    kept: float
    idle: float
    limit: float
    peak: float
    grip: float
    road: Floats
    ratios: Floats
    rpm: Floats
    torque: Floats
    speed_ratios: Floats
    k: Floats
    torque_ratios: Floats


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def at(xs: Floats, ys: Floats, x: float) -> float:
    """Straight between points, level beyond the ends.

    x: where. [-]
    """
    if x <= xs[0]:
        return float(ys[0])
    for k in range(1, xs.shape[0]):
        if x <= xs[k]:
            return float(ys[k - 1] + (ys[k] - ys[k - 1]) * (x - xs[k - 1]) / (xs[k] - xs[k - 1]))
    return float(ys[-1])


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def shut_nm(m: Machine, rpm: float) -> float:
    """Torque with the pedal up. rpm: of the engine. [rpm]"""
    return -(0.04 + 0.08 * rpm / m.limit) * m.peak


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def engine_nm(m: Machine, rpm: float, pedal: float) -> float:
    """Torque of the engine. rpm: of the engine. [rpm]  pedal: 0 to 1. [-]"""
    shut = shut_nm(m, rpm)
    if rpm > m.limit:
        return shut
    return float(shut + pedal * (at(m.rpm, m.torque, rpm) - shut))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def hold_n(m: Machine, v: float, grade: float) -> float:
    """What holds the car back. v: metres a second. [-]  grade: rise over run. [-]"""
    kmh = v * 3.6
    rolling = m.road[0] if v > 0.0 else 0.0
    return float(rolling + m.road[1] * kmh + m.road[2] * kmh * kmh + m.mass * GRAVITY * np.sin(np.arctan(grade)))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def turbine_rpm(m: Machine, v: float, gear: int) -> float:
    """Speed behind the converter. v: metres a second. [-]  gear: from 1. [-]"""
    return float(v * 60.0 * m.ratios[gear - 1] * m.final / m.rolled)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def at_wheels_n(m: Machine, gear: int, nm: float) -> float:
    """Force at the wheels of a torque behind the converter. gear: from 1. [-]  nm: of the turbine. [Nm]"""
    force = nm * m.ratios[gear - 1] * m.final * 2.0 * np.pi / m.rolled
    return float(force * m.kept if force > 0.0 else force / m.kept)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def drive_n(m: Machine, v: float, gear: int, pedal: float, locked: bool) -> tuple[float, float, float]:
    """Force at the wheels, engine speed and converter heat in watts.

    v: metres a second. [-]  gear: from 1. [-]  pedal: 0 to 1. [-]  locked: the converter's clutch is shut.
    """
    turbine = turbine_rpm(m, v, gear)
    if locked and turbine >= m.idle:
        return at_wheels_n(m, gear, engine_nm(m, turbine, pedal)), turbine, 0.0
    low = max(m.idle, turbine)
    k_low = at(m.speed_ratios, m.k, turbine / low)
    if engine_nm(m, low, pedal) <= (low / k_low) ** 2:
        if turbine >= m.idle:  # the wheels turn the engine, or hardly any slip is left
            return at_wheels_n(m, gear, engine_nm(m, turbine, pedal)), turbine, 0.0
        pump = (low / k_low) ** 2  # the idle control holds it up: creep
        rpm = low
    else:
        high = m.limit * 1.2 + 1.0
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            if engine_nm(m, middle, pedal) > (middle / at(m.speed_ratios, m.k, turbine / middle)) ** 2:
                low = middle
            else:
                high = middle
        rpm = 0.5 * (low + high)
        pump = (rpm / at(m.speed_ratios, m.k, turbine / rpm)) ** 2
    given = pump * at(m.speed_ratios, m.torque_ratios, turbine / rpm)
    heat = max(0.0, (pump * rpm - given * turbine) * _TURN)
    return at_wheels_n(m, gear, given), rpm, heat


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def pedal_for(m: Machine, v: float, gear: int, force: float, locked: bool) -> float:
    """The pedal that gives a force at the wheels; below 0 where braking is needed, above 1 where the gear cannot.

    v: metres a second. [-]  gear: from 1. [-]  force: newtons. [-]  locked: the converter's clutch is shut.
    """
    turbine = turbine_rpm(m, v, gear)
    lever = m.ratios[gear - 1] * m.final * 2.0 * np.pi / m.rolled
    wanted = force / lever / m.kept if force > 0.0 else force / lever * m.kept
    rpm, torque = max(m.idle, turbine), wanted
    if not (locked and turbine >= m.idle) and wanted > 0.0:
        low = rpm
        k_low = at(m.speed_ratios, m.k, turbine / low)
        if wanted > (low / k_low) ** 2 * at(m.speed_ratios, m.torque_ratios, turbine / low):
            high = m.limit * 1.2
            for _ in range(_HALVINGS):
                rpm = 0.5 * (low + high)
                pump = (rpm / at(m.speed_ratios, m.k, turbine / rpm)) ** 2
                if pump * at(m.speed_ratios, m.torque_ratios, turbine / rpm) < wanted:
                    low = rpm
                else:
                    high = rpm
            torque = (rpm / at(m.speed_ratios, m.k, turbine / rpm)) ** 2
    if rpm > m.limit:
        return 2.0
    shut = shut_nm(m, rpm)
    return float((torque - shut) / (at(m.rpm, m.torque, rpm) - shut))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def gear_next(
    m: Machine, its: LineSet, gear: int, v: float, pedal: float, lagged: float, since: float, direction: int, top: int
) -> tuple[int, bool]:
    """The gear to be in, and whether the kick-down line alone asks for it.

    gear: now, from 1. [-]  v: metres a second. [-]  pedal, lagged: now, and as the change logic has it. [-]
    since: seconds since the last change. [-]  direction: of it, up 1, down -1. [-]  top: the highest let in. [-]
    """
    if gear < top and (
        turbine_rpm(m, v, gear) >= its.guard * 0.995
        or (since >= its.gap and (direction >= 0 or since >= its.back) and v >= at(its.pedal, its.up[gear - 1], lagged))
    ):
        return gear + 1, False
    if gear > 1:
        low = at(its.pedal, its.down[gear - 2], lagged)
        kicks = pedal >= its.kick_at and v < its.kick[gear - 2]
        asked = v < low and since >= its.gap and (direction <= 0 or since >= its.back)
        if (asked or (kicks and since >= 0.5 * its.gap) or gear > top) and turbine_rpm(m, v, gear - 1) < its.guard:
            return gear - 1, kicks and not asked
    return gear, False


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def lock_next(
    its: LineSet, gear: int, v: float, pedal: float, lagged: float, since: float, cold: bool, hot: bool, lock: bool
) -> bool:
    """Whether the converter's clutch is to be shut.

    v: metres a second. [-]  pedal, lagged: now, and as the change logic has it. [-]  since: seconds in this gear. [-]
    cold, hot: the fluid is.  lock: it is shut now.
    """
    share = HOT_LOCK_FRAC if hot else 1.0
    on = its.lock[gear - 1]
    sudden = abs(pedal - lagged) > _SUDDEN
    if on[-1] <= 0.0 or cold or sudden or v < at(its.pedal, its.unlock[gear - 1], lagged) * share:
        return False
    return lock or (since >= _LOCK_WAIT_S and v >= at(its.pedal, on, lagged) * share)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def pedal_within(need: float, v: float, after: float) -> float:
    """A pedal that can be given, 0 to 1; none at a standstill that stays one. [-]

    need: by `pedal_for`. [-]  v, after: metres a second now and a step on. [-]
    """
    return 0.0 if v == 0.0 and after == 0.0 else min(1.0, max(0.0, need))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def pulled(m: Machine, gear: int, pedal: float, lock: bool, v: float, given: float, grade: float) -> float:
    """The speed a step on, with the pedal as it is, in metres a second: Heun's step, no more pull than the tyres hold.

    gear: from 1. [-]  pedal: 0 to 1. [-]  v: metres a second. [-]  given: newtons now. [-]
    grade: rise over run. [-]
    """
    mass = m.mass * MASS_FACTOR
    first = (min(given, m.grip) - hold_n(m, v, grade)) / mass
    guess = max(0.0, v + first * STEP_S)
    second = (min(drive_n(m, guess, gear, pedal, lock)[0], m.grip) - hold_n(m, guess, grade)) / mass
    return max(0.0, v + 0.5 * (first + second) * STEP_S)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def run(
    m: Machine, its: LineSet, steps: int, wanted: Floats, pedals: Floats, grade: float, fluid_c: float, start: float
) -> tuple[Floats, Floats, NDArray[np.int64], NDArray[np.bool_], Floats, Floats, NDArray[np.bool_]]:
    """The drive, step by step. wanted: metres a second, or empty and `pedals` counts. fluid_c: at the start. [C]

    grade: rise over run. [-]  start: metres a second. [-]
    """
    speed, pedal_out, rpms, fluid = np.zeros(steps), np.zeros(steps), np.zeros(steps), np.zeros(steps)
    gears, locked, kicked = np.ones(steps, np.int64), np.zeros(steps, np.bool_), np.zeros(steps, np.bool_)
    mass = m.mass * MASS_FACTOR
    v, temperature, lagged = start, fluid_c, 0.0
    gear, lock, hot, since, direction = 1, False, False, 99.0, 0
    for _ in range(its.highest - 1):  # rolling already: the gear the lines would be in with the pedal up
        if v > at(its.pedal, its.up[gear - 1], 0.0):
            gear += 1
    for i in range(steps):
        force, after, follows = 0.0, 0.0, wanted.shape[0] > 0
        if follows:
            after = wanted[min(i + 1, steps - 1)]
            force = mass * (after - v) / STEP_S + hold_n(m, 0.5 * (v + after), grade)
            pedal = pedal_within(pedal_for(m, v, gear, force, lock), v, after)
        else:
            pedal = pedals[i]
        lagged += (pedal - lagged) * STEP_S / _PEDAL_LAG_S
        hot = temperature > its.hot or (hot and temperature > its.hot_off)
        cold = temperature < its.cold
        top = its.highest - 1 if cold and its.highest > 2 else its.highest
        since += STEP_S
        new, by_kick = gear_next(m, its, gear, v, pedal, lagged, since, direction, top)
        if new != gear:
            kicked[i] = by_kick
            direction = 1 if new > gear else -1
            gear, since, lock = new, 0.0, False
        lock = lock_next(its, gear, v, pedal, lagged, since, cold, hot, lock)
        speed[i], gears[i], locked[i], fluid[i] = v, gear, lock, temperature
        if follows:
            need = pedal_for(m, v, gear, force, lock)
            pedal = pedal_within(need, v, after)
            given, rpm, heat = drive_n(m, v, gear, pedal, lock)
            if need > 1.0:
                v = max(0.0, v + (given - hold_n(m, v, grade)) / mass * STEP_S)
                v = min(v, max(after, speed[i])) if after > speed[i] else v
            else:
                v = max(0.0, after)
        else:
            given, rpm, heat = drive_n(m, v, gear, pedal, lock)
            v = pulled(m, gear, pedal, lock, v, given, grade)
        pedal_out[i], rpms[i] = pedal, rpm
        lost = abs(given) * speed[i] * (1.0 - m.kept) * 0.5  # the axle warms its own oil
        temperature += (heat + lost - its.cooler * (temperature - 20.0)) / its.store * STEP_S
    return speed, pedal_out, gears, locked, rpms, fluid, kicked


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def is_locked_at(its: LineSet, gear: int, pedal: float, v: float) -> bool:
    """The lock-up line of the gear is passed. gear: from 1. [-]  pedal: 0 to 1. [-]  v: metres a second. [-]"""
    return bool(its.lock[gear - 1][-1] > 0.0 and v >= at(its.pedal, its.lock[gear - 1], pedal))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def down_at(its: LineSet, pair: int, pedal: float) -> float:
    """Below which the lower gear of a pair is taken, kick-down and all. pair: from 0. [-]  pedal: 0 to 1. [-]"""
    low = at(its.pedal, its.down[pair], pedal)
    return max(low, float(its.kick[pair])) if pedal >= its.kick_at else low


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def hunts_at_pedal(m: Machine, its: LineSet, pedals: Floats, grades: Floats) -> NDArray[np.int64]:
    """The pair of gears that goes to and fro with the pedal kept still: its lower gear, 0 where none does.

    A row a grade, a column a pedal. The lower gear pulls all the way from the down to the up line, the higher falls
    back all the way, and both together take less than a minute.
    """
    found = np.zeros((grades.shape[0], pedals.shape[0]), np.int64)
    for i in range(grades.shape[0]):
        for j in range(pedals.shape[0]):
            for pair in range(its.up.shape[0]):
                above, below = at(its.pedal, its.up[pair], pedals[j]), down_at(its, pair, pedals[j])
                hunts, period = turbine_rpm(m, above, pair + 1) < m.limit, 0.0
                step = m.mass * MASS_FACTOR * (above - below) / (_SAMPLES + 1)
                for k in range(_SAMPLES + 1):
                    v = below + (above - below) * k / _SAMPLES
                    held = hold_n(m, v, grades[i])
                    low = drive_n(m, v, pair + 1, pedals[j], is_locked_at(its, pair + 1, pedals[j], v))[0]
                    if not hunts or low <= held:
                        hunts = False
                        break
                    high = drive_n(m, v, pair + 2, pedals[j], is_locked_at(its, pair + 2, pedals[j], v))[0]
                    if high >= held:
                        hunts = False
                        break
                    period += step / (low - held) + step / (held - high)
                hunts = hunts and period < _LONGEST_TO_AND_FRO_S
                if hunts:
                    found[i, j] = pair + 1
    return found


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def hunts_at_speed(m: Machine, its: LineSet, speeds: Floats, grades: Floats) -> tuple[NDArray[np.int64], Floats]:
    """The pair of gears that goes to and fro while a driver keeps the speed: its lower, and the pedal in the higher.

    A row a grade, a column a speed in metres a second. The pedal that holds the speed in the lower gear lies beyond the
    up line, the one that holds it in the higher lies below the down line.
    """
    found = np.zeros((grades.shape[0], speeds.shape[0]), np.int64)
    pressed = np.zeros((grades.shape[0], speeds.shape[0]))
    for i in range(grades.shape[0]):
        for j in range(speeds.shape[0]):
            v = speeds[j]
            held = hold_n(m, v, grades[i])
            for pair in range(its.up.shape[0]):
                low = pedal_for(m, v, pair + 1, held, False)
                if low > 1.0 or v < at(its.pedal, its.up[pair], max(0.0, low)):
                    continue
                high = min(1.0, max(0.0, pedal_for(m, v, pair + 2, held, False)))
                if v < down_at(its, pair, high):
                    found[i, j], pressed[i, j] = pair + 1, high
    return found, pressed
