"""How long after it is burnt does the mixture show at the probe, at each flow?

In: a drive with the measured mixture and something that moved it on purpose: its target, or pulse against manifold
pressure.
Out: delay at several flows with its standard deviation, the probe's own time constant, and delay = a + b / flow.
Method: windows in which the flow holds and the command moves; in each, command and measurement on an even grid, the
command slowed by a first-order probe; all windows of a flow together correlated at every shift (each with its own
mean out); the peak, by a parabola through it. The time constant is the one that makes the peaks highest, by a
parabola over those tried: a wrong one shifts every delay against it. The spread comes from leaving out each window in
turn (jackknife). The line is fitted with weights 1/spread². Fewer than two flows, or spreads as large as the delays: a
typical figure, and it says so. Source: the jackknife and cross-correlation are textbook methods, from
memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loomwright.logs.drive import Drive

__all__ = ["Delay", "FlowDelay", "delay_of", "flow_g_per_s"]

_GRID_S = 0.01
_WINDOW_S, _MOST_S = 3.0, 1.5
_FLOWS, _MOST_WINDOWS, _LEAST_WINDOWS = 6, 60, 5
_TAUS_S = (0.0, 0.03, 0.05, 0.07, 0.1, 0.14, 0.2)
_MOVES, _FLOW_HOLDS, _PEAK = 0.01, 0.2, 0.5
_AIR_G_PER_M3 = 1000.0 * 1000.0 / (287.05 * 320.0)  # grams in a cubic metre for each kPa, at 320 K
_ENOUGH = 200_000
_TOGETHER = 256  # windows looked at together
_LEANEST, _STANDS = 1.6, 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowDelay:
    """The delay at one flow.

    flow_g_per_s: for each litre of engine.   delay_ms, spread_ms: and its standard deviation. [ms]
    windows: how many told it.   peak: height of the correlation. [-]
    """

    flow_g_per_s: float
    delay_ms: float
    spread_ms: float
    windows: int
    peak: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Delay:
    """Delay = fixed_ms + pipe_ms_g_per_s / flow.

    at: as found at each flow.   fixed_ms, pipe: of the line; pipe in ms times g/s. [-]   probe_ms: the probe's own time
    constant, which comes on top before a step is seen whole.   typical: nothing was found; a typical figure stands in.
    says: what it rests on.
    """

    at: tuple[FlowDelay, ...]
    fixed_ms: float
    pipe: float
    probe_ms: float
    typical: bool
    says: str

    def seconds(self, rpm: NDArray[np.float64], pressure: NDArray[np.float64]) -> NDArray[np.float64]:
        """Delay with the probe's own, at engine speeds and manifold pressures. [s]"""
        flow = flow_g_per_s(rpm, pressure)
        told = np.clip(self.fixed_ms + self.pipe / np.maximum(flow, 0.5), 0.0, 1000.0 * _MOST_S)
        return (told + self.probe_ms) / 1000.0

    @property
    def most_s(self) -> float:
        """The longest delay met, with the probe's own. [s]"""
        told = max((one.delay_ms for one in self.at), default=self.fixed_ms)
        return (told + self.probe_ms) / 1000.0


def flow_g_per_s(rpm: NDArray[np.float64], pressure: NDArray[np.float64]) -> NDArray[np.float64]:
    """Air drawn in by each litre of engine, filled as its manifold pressure has it at 320 K.

    Args:
        rpm: engine speed.
        pressure: in the manifold, kPa; nought where it was not recorded counts as 50.
    Source:
        Ideal gas; four strokes.
    Example:
        >>> round(float(flow_g_per_s(np.array([3000.0]), np.array([50.0]))[0]), 2)
        13.61
    """
    filled = np.where(pressure > 0.0, pressure, 50.0)
    found: NDArray[np.float64] = rpm / 120.0 * filled * _AIR_G_PER_M3 / 1000.0
    return found


def delay_of(drive: Drive, limits: Mapping[str, float]) -> Delay:
    """The delay of the measured mixture at each flow."""
    command = _command(drive)
    typical_ms = limits["delay_typical_ms"]
    if command is None:
        return _typical(
            typical_ms, "the log has neither a mixture target nor pulse and pressure: a typical delay stands in"
        )
    windows = _windows(drive, command, limits["running_rpm"])
    if windows is None:
        return _typical(typical_ms, "the mixture was never moved at a steady flow: a typical delay stands in")
    flow, commands, measured = windows
    groups = _groups(flow)
    if not groups:
        return _typical(typical_ms, "the mixture was moved too seldom at a steady flow: a typical delay stands in")
    heights = []
    for tau_s in _TAUS_S:
        slowed = _slowed(commands, tau_s)
        heights.append(float(np.mean([_peak(slowed[own], measured[own])[1] for own in groups])))
    tau_s = _highest_s(heights)
    slowed = _slowed(commands, tau_s)
    found = [
        (k, *_peak(slowed[own], measured[own]), _spread_s(slowed[own], measured[own])) for k, own in enumerate(groups)
    ]
    at = tuple(
        FlowDelay(
            flow_g_per_s=float(1.0 / np.mean(1.0 / flow[groups[k]])),
            delay_ms=1000.0 * delay_s,
            spread_ms=1000.0 * spread_s,
            windows=int(groups[k].size),
            peak=peak,
        )
        for k, delay_s, peak, spread_s in found
        if peak >= _PEAK and 2.0 * spread_s < _MOST_S / 2.0
    )
    return _line(at, 1000.0 * tau_s, typical_ms)


def _highest_s(heights: list[float]) -> float:
    """The time constant at which the peaks are highest: by a parabola through the highest and its neighbours."""
    k = int(np.argmax(heights))
    if not 0 < k < len(heights) - 1:
        return _TAUS_S[k]
    bend, slope, _ = np.polyfit(np.array(_TAUS_S[k - 1 : k + 2]) - _TAUS_S[k], heights[k - 1 : k + 2], 2)
    return _TAUS_S[k] - float(slope / (2.0 * bend)) if bend < 0.0 else _TAUS_S[k]


def _typical(typical_ms: float, says: str) -> Delay:
    return Delay(at=(), fixed_ms=typical_ms, pipe=0.0, probe_ms=0.0, typical=True, says=says)


def _command(drive: Drive) -> NDArray[np.float32] | None:
    """What was asked of the mixture: its target, else manifold pressure over pulse."""
    if drive.has("mixture_target"):
        target = np.maximum(drive.of["mixture_target"], np.float32(1e-3))
        some = np.log(target[:: max(1, target.size // _ENOUGH)], dtype=np.float64)
        if float(np.nanstd(some)) > _MOVES / 4.0:
            return target
    if drive.has("pulse", "manifold_pressure"):
        pulse = np.maximum(drive.of["pulse"] - np.float32(0.9), np.float32(0.05))
        found: NDArray[np.float32] = np.maximum(drive.of["manifold_pressure"], np.float32(5.0)) / pulse
        return found
    return None


def _windows(
    drive: Drive, command: NDArray[np.float32], running_rpm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
    """Windows in which the flow holds and the command moves: flow, and logs of command and measurement, evenly."""
    speed, mixture = drive.of["engine_speed"], drive.of["mixture"]

    def flow(rows: NDArray[np.int64]) -> NDArray[np.float64]:
        own = speed[rows].astype(np.float64)
        pressed = drive.has("manifold_pressure")
        return flow_g_per_s(own, drive.of["manifold_pressure"][rows].astype(np.float64) if pressed else 0.0 * own)

    whole_s = _WINDOW_S + _MOST_S
    half = max(2, round(_WINDOW_S / drive.step_s / 2.0))
    ahead = round(whole_s / drive.step_s) + 1
    starts = np.arange(half, speed.size - ahead, half)
    if starts.size == 0:
        return None
    good = starts[_moved(command, half, starts.size) > _MOVES]
    good = good[_thinned(flow(good))] if good.size else good
    reach = np.arange(ahead + 1)
    kept: list[tuple[float, NDArray[np.float64], NDArray[np.float64]]] = []
    shifts = np.arange(0.0, whole_s, _GRID_S)
    inside = np.arange(0.0, _WINDOW_S, _GRID_S)
    for some in np.array_split(good, max(1, good.size // _TOGETHER)):
        at = some[:, None] + reach
        turned, seen, asked = speed[at[:, :-1]], mixture[at].astype(np.float64), command[at]
        flows = flow(at[:, :-1])
        # blanks fail every comparison
        sound = (turned.min(axis=1) >= running_rpm) & (drive.stretch[at[:, -1]] == drive.stretch[some])
        sound &= np.ptp(flows, axis=1) <= 2.0 * _FLOW_HOLDS * flows.mean(axis=1)
        sound &= (seen.max(axis=1) <= _LEANEST) & (np.ptp(seen, axis=1) >= _STANDS) & np.isfinite(asked).all(axis=1)
        for k in np.flatnonzero(sound):
            times = drive.time_s[at[k]] - drive.time_s[some[k]]
            told = np.interp(inside, times, np.log(asked[k], dtype=np.float64))
            kept.append((float(flows[k].mean()), told, np.interp(shifts, times, np.log(seen[k]))))
    if not kept:
        return None
    return np.array([one[0] for one in kept]), np.array([one[1] for one in kept]), np.array([one[2] for one in kept])


def _moved(command: NDArray[np.float32], half: int, count: int) -> NDArray[np.float64]:
    """By how much, as a log, the command moves in each window of two halves; nought where it has a blank."""
    pieces = command[half : half * (count + 1)].reshape(count, half)
    most, least = pieces.max(axis=1), pieces.min(axis=1)
    most[:-1], least[:-1] = np.maximum(most[:-1], most[1:]), np.minimum(least[:-1], least[1:])
    moved: NDArray[np.float64] = np.log(most, dtype=np.float64) - np.log(least, dtype=np.float64)
    return np.nan_to_num(moved)


def _thinned(flow: NDArray[np.float64]) -> NDArray[np.int64]:
    """At most so many windows of each flow, evenly over the drive."""
    most = 3 * _MOST_WINDOWS
    if flow.size <= most * _FLOWS:
        return np.arange(flow.size)
    edges = np.quantile(flow, np.linspace(0.0, 1.0, _FLOWS + 1))
    chosen = []
    for low, high in pairwise(edges):
        own = np.flatnonzero((flow >= low) & (flow <= high))
        chosen.append(own[np.linspace(0, own.size - 1, min(most, own.size)).astype(np.int64)])
    return np.unique(np.concatenate(chosen))


def _groups(flow: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    """Windows of like flow: at most six groups, none with too few."""
    count = min(_FLOWS, flow.size // _LEAST_WINDOWS)
    if count == 0:
        return []
    order = np.argsort(flow, kind="stable")
    parts = np.array_split(order, count)
    return [part[np.linspace(0, part.size - 1, min(part.size, _MOST_WINDOWS)).astype(np.int64)] for part in parts]


def _slowed(commands: NDArray[np.float64], tau_s: float) -> NDArray[np.float64]:
    """Commands as a probe of first order would show them, had there been no delay."""
    if tau_s == 0.0:
        return commands
    a = float(np.exp(-_GRID_S / tau_s))
    first = commands[:, :1]
    pushes = np.zeros_like(commands)
    pushes[:, 1:] = (1.0 - a) / 2.0 * (commands[:, 1:] + commands[:, :-1] - 2.0 * first)
    slowed = pushes.T.copy()
    for now in range(1, slowed.shape[0]):
        slowed[now] += a * slowed[now - 1]
    found: NDArray[np.float64] = slowed.T + first
    return found


def _sums(
    command: NDArray[np.float64], measured: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Of each window: products at every shift, the measurement's own squares there, the command's squares."""
    plain = command - command.mean(axis=1, keepdims=True)
    length = plain.shape[1]
    whole = measured.shape[1]  # products at every shift by transforms: none of them wraps round within it
    product = np.fft.rfft(measured, whole, axis=1) * np.conj(np.fft.rfft(plain, whole, axis=1))
    both = np.fft.irfft(product, whole, axis=1)[:, : whole - length + 1]
    first = np.zeros((measured.shape[0], 1))
    total = np.cumsum(np.concatenate([first, measured], axis=1), axis=1)
    square = np.cumsum(np.concatenate([first, measured**2], axis=1), axis=1)
    own = square[:, length:] - square[:, :-length] - (total[:, length:] - total[:, :-length]) ** 2 / length
    return both, own, (plain**2).sum(axis=1)


def _peak(command: NDArray[np.float64], measured: NDArray[np.float64]) -> tuple[float, float]:
    """Shift of the highest correlation, all windows together, and its height."""
    both, own, size = _sums(command, measured)
    return _top(both.sum(axis=0), own.sum(axis=0), float(size.sum()))


def _spread_s(command: NDArray[np.float64], measured: NDArray[np.float64]) -> float:
    """Standard deviation of that shift, by leaving out each window in turn."""
    both, own, size = _sums(command, measured)
    all_both, all_own, all_size = both.sum(axis=0), own.sum(axis=0), float(size.sum())
    count = size.size
    left = np.array([_top(all_both - both[k], all_own - own[k], all_size - float(size[k]))[0] for k in range(count)])
    spread = float(np.sqrt((count - 1) / count * ((left - left.mean()) ** 2).sum()))
    return max(spread, _GRID_S / 4.0)


def _top(both: NDArray[np.float64], own: NDArray[np.float64], size: float) -> tuple[float, float]:
    height = both / np.sqrt(np.maximum(own * size, 1e-30))
    k = int(np.argmax(height))
    if 0 < k < height.size - 1:
        before, here, after = height[k - 1], height[k], height[k + 1]
        bend = before - 2.0 * here + after
        off = 0.5 * (before - after) / bend if bend < 0.0 else 0.0
        return (k + off) * _GRID_S, float(here)
    return k * _GRID_S, float(height[k])


def _line(at: tuple[FlowDelay, ...], probe_ms: float, typical_ms: float) -> Delay:
    if not at:
        return _typical(typical_ms, "measured mixture and command do not go together: a typical delay stands in")
    weight = np.array([1.0 / one.spread_ms**2 for one in at])
    told = np.array([one.delay_ms for one in at])
    if len(at) < 2 or np.ptp([one.flow_g_per_s for one in at]) < 0.2 * at[0].flow_g_per_s:
        middle = float((weight * told).sum() / weight.sum())
        return Delay(
            at=at,
            fixed_ms=middle,
            pipe=0.0,
            probe_ms=probe_ms,
            typical=False,
            says="one flow: the same delay everywhere",
        )
    inverse = np.array([1.0 / one.flow_g_per_s for one in at])
    design = np.stack([np.ones(len(at)), inverse], axis=1)
    fixed, pipe = np.linalg.solve(design.T @ (weight[:, None] * design), design.T @ (weight * told))
    if pipe < 0.0:
        fixed, pipe = float((weight * told).sum() / weight.sum()), 0.0
    return Delay(
        at=at,
        fixed_ms=float(fixed),
        pipe=float(pipe),
        probe_ms=probe_ms,
        typical=False,
        says=f"{sum(one.windows for one in at)} moves of the mixture at {len(at)} flows",
    )
