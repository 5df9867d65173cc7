"""What does a short to the body do at each end of every wire, and which shorts does no fuse end?

In: the car. Out, for each wire and each of its two ends: the current of a dead short there, when its fuse opens, how
hot the copper is then, and a verdict; beside it what a short through some resistance can do that no fuse ever ends.

    current   I = emf / (battery + way to the end, wires hot + fuse + earth back)               `shorts`
    opens     as late as the gates of the fuse's family allow                                   `shorts.clearing_s`
    hottest   no heat leaves the copper:  T = (234.5 + T_0) exp(I^2 t / (K S)^2) - 234.5, while that stays below what
              the insulation stands; beyond, and where a short lasts, what PRO-3 finds             `shorts.short_c`
    left over just below the lowest gate that obliges a fuse to open, current may flow for ever: what that makes of the
              wire, and the watts the short itself can turn to heat,  I emf - I^2 R

The wire begins at its class temperature. A wire in an earth return has no short to the body worth the name; one that
only loads or drivers feed is limited by them. Lengths of a wire before any fuse are unfused lengths: nothing opens.

Limits: as `shorts`: one way, that of least resistance; the far end gives the least current, which is the slowest.
Source: worked-out; gates per row of `tables/fuse_gates.csv`; k-factor.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, inf, isfinite
from typing import Literal

from loomwright.sizing.fused import Fuse
from loomwright.sizing.guarding import EQUAL
from loomwright.sizing.protection import ProtectionGround, protection_ground
from loomwright.sizing.shorts import HotWays, Loop, clearing_s, loop_of, short_c, unfused_loop
from loomwright.sizing.taps import is_tap
from loomwright.states.asking.scene import Scene
from loomwright.states.ratings.wire_limits import WireLimit, adiabatic_k, damage_c, steady_c
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families

__all__ = ["VERDICTS", "Faults", "LeftOver", "ShortAt", "Verdict", "WireFaults", "faults_of"]

Verdict = Literal["opens", "harmed", "unfused", "tap", "earth", "limited", "not known"]

VERDICTS: Mapping[Verdict, str] = {
    "opens": "the fuse opens before the wire is harmed",
    "harmed": "the wire is harmed before its fuse opens",
    "unfused": "no fuse: nothing opens",
    "tap": "behind a fuse too large for it, short enough to pass as a tap",
    "earth": "it is earthed already: nothing flows",
    "limited": "only what its load or driver lets through",
    "not known": "nobody printed how soon such a fuse opens, or nobody knows its size or insulation",
}
"""Verdict -> what it means."""

_MELT_C = 1083.0
_KINDS: tuple[Verdict, ...] = ("harmed", "unfused", "tap", "not known", "opens", "limited", "earth")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortAt:
    """A dead short at one end of a wire. end: from or to.   point: where.   fuse: that opens; empty where none.

    amps: that flow, least of all ways.   opens_s: the longest it may take; `inf` where nothing obliges it. [s]
    peak_c: of the copper then, molten at most. [C]   stands_c: what the insulation stands for a moment. [C]
    """

    end: str
    point: str
    verdict: Verdict
    fuse: str = ""
    amps: float | None = None
    opens_s: float | None = None
    peak_c: float | None = None
    stands_c: float | None = None

    @property
    def is_molten(self) -> bool:
        """Whether the copper melts: `peak_c` is its melting point then, and no temperature it reaches."""
        return self.peak_c is not None and self.peak_c >= _MELT_C


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOver:
    """A short through a resistance that never blows the fuse. fuse: that does not.

    amps: the most that need never open it.   steady_c: of the wire then, molten at most. [C]
    class_c: what its insulation stands. [C]   heat_w: what the short itself can turn to heat. [W]
    """

    fuse: str
    amps: float
    steady_c: float
    class_c: float
    heat_w: float

    @property
    def is_molten(self) -> bool:
        """Whether the copper melts: `steady_c` is its melting point then, and no temperature it settles at."""
        return self.steady_c >= _MELT_C

    @property
    def is_too_hot(self) -> bool:
        """Whether the wire passes its class, with no fuse opening."""
        return self.steady_c > self.class_c * EQUAL


@dataclass(frozen=True, slots=True, kw_only=True)
class WireFaults:
    """One wire. shorts: at its two ends.   left_over: None where no fuse stands before it.

    unfused_mm: its length, where no fuse stands before it and a source does; None else, or where nobody knows. [mm]
    """

    wire: str
    size_mm2: float | None
    shorts: tuple[ShortAt, ...]
    left_over: LeftOver | None
    unfused_mm: float | None

    @property
    def verdict(self) -> Verdict:
        """The worse of its two ends."""
        return min((one.verdict for one in self.shorts), key=_KINDS.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """Every wire that is in the car, in the order of the sheets."""

    wires: Mapping[str, WireFaults]

    def counted(self) -> dict[Verdict, int]:
        """How many wires of each verdict there are, the worst first."""
        found = [one.verdict for one in self.wires.values()]
        return {verdict: found.count(verdict) for verdict in _KINDS if verdict in found}

    @property
    def unfused_mm(self) -> float:
        """Length of all wires before any fuse, as far as it is known. [mm]"""
        return sum(one.unfused_mm for one in self.wires.values() if one.unfused_mm is not None)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bench:
    ground: ProtectionGround
    loops: Mapping[str, tuple[Loop, ...]]
    before_fuses: tuple[Loop, ...]


def faults_of(scene: Scene, lengths_mm: Mapping[str, float] | None = None) -> Faults:
    """Every wire shorted to the body at each end.

    Args:
        scene: the car, nothing in it left blank.
        lengths_mm: of wires whose cell is blank, where routes give them. [mm]
    """
    ground = protection_ground(scene)
    ways = HotWays(scene=scene, conduction=ground.conduction, limits=ground.limits)
    loops = {
        part: loop_of(scene, ground.conduction, ground.limits, fuse, ways) if fuse.rating_a is not None else ()
        for part, fuse in ground.fused.fuses.items()
    }
    bench = _Bench(ground=ground, loops=loops, before_fuses=unfused_loop(scene, ground.conduction, ground.limits))
    lengths = lengths_mm or {}
    found = {}
    for name, wire in scene.wires.items():
        index = next((one for one in scene.compiled.elements_of.get(name, ()) if scene.element(one).is_wire), None)
        if index is None:
            continue
        length_mm = wire.length_mm if wire.length_mm is not None else lengths.get(name)
        ends = scene.ends(index)
        points = ((wire.from_, ends[0]), (wire.to, ends[1]))
        shorts = tuple(
            _short(bench, name, end, point, node) for end, (point, node) in zip(("from", "to"), points, strict=True)
        )
        is_unfused = any(one.verdict == "unfused" for one in shorts)
        found[name] = WireFaults(
            wire=name,
            size_mm2=wire.size_mm2,
            shorts=shorts,
            left_over=_left_over(bench, name, ends),
            unfused_mm=length_mm if is_unfused else None,
        )
    return Faults(wires=found)


def _short(bench: _Bench, name: str, end: str, point: str, node: int) -> ShortAt:
    ground = bench.ground
    if node in ground.conduction.earth:
        return ShortAt(end=end, point=point, verdict="earth")
    limit = ground.limits.get(name)
    if name in ground.fused.unfused:
        amps = _amps(bench.before_fuses, node)
        stands_c = None if limit is None else damage_c(limit.insulation_c)
        return ShortAt(end=end, point=point, verdict="unfused", amps=amps, opens_s=inf, peak_c=_MELT_C,
                       stands_c=stands_c)  # fmt: skip
    guarding = [ground.fused.fuses[part] for part in ground.fused.fuses_of.get(name, ())]
    if not guarding:
        return ShortAt(end=end, point=point, verdict="limited")
    found = [_behind(bench, fuse, limit, end, point, node) for fuse in guarding]
    return min(found, key=lambda one: (_KINDS.index(one.verdict), -(one.peak_c or 0.0)))


def _behind(bench: _Bench, fuse: Fuse, limit: WireLimit | None, end: str, point: str, node: int) -> ShortAt:
    """A short behind one fuse."""
    amps = _amps(bench.loops[fuse.part], node)
    if amps is None or limit is None:
        return ShortAt(end=end, point=point, verdict="not known", fuse=fuse.part, amps=amps)
    time_s = clearing_s(fuse, amps)
    stands_c = damage_c(limit.insulation_c)
    if time_s is None:
        return ShortAt(end=end, point=point, verdict="not known", fuse=fuse.part, amps=amps, stands_c=stands_c)
    peak_c = _peak_c(limit, amps, time_s)
    verdict: Verdict = "harmed" if peak_c > stands_c * EQUAL else "opens"
    ground = bench.ground
    if verdict == "harmed" and is_tap(ground.scene, ground.conduction, ground.fused, fuse, limit):
        verdict = "tap"
    return ShortAt(
        end=end,
        point=point,
        verdict=verdict,
        fuse=fuse.part,
        amps=amps,
        opens_s=time_s,
        peak_c=min(peak_c, _MELT_C),
        stands_c=stands_c,
    )


def _peak_c(limit: WireLimit, amps: float, time_s: float) -> float:
    """The hottest the copper gets: with no heat leaving it, or, where that is too much, as PRO-3 has it."""
    stands_c = damage_c(limit.insulation_c)
    k = adiabatic_k(limit.insulation_c, stands_c)
    if amps**2 * time_s > (k * limit.size_mm2) ** 2:
        return short_c(limit, amps=amps, time_s=time_s)
    zero = constant("copper_zero_k")
    # k^2 = K^2 ln((zero + end) / (zero + start)), so the same K serves any end
    whole = adiabatic_k(0.0, (zero * (exp(1.0) - 1.0)))
    return float((zero + limit.insulation_c) * exp(amps**2 * time_s / (whole * limit.size_mm2) ** 2) - zero)


def _amps(loops: Sequence[Loop], node: int) -> float | None:
    """The least that flows in a dead short at a node over the loops that reach it."""
    found = [one.emf_v / (one.before_ohm + one.onward_ohm[node]) for one in loops if node in one.onward_ohm]
    return min(found) if found else None


def _left_over(bench: _Bench, name: str, ends: tuple[int, int]) -> LeftOver | None:
    """What no fuse of a wire is obliged to end; the hottest where it lies behind several."""
    ground = bench.ground
    limit = ground.limits.get(name)
    found = []
    for part in ground.fused.fuses_of.get(name, ()):
        fuse = ground.fused.fuses[part]
        never_a = _never_opens_a(fuse)
        if limit is None or never_a is None:
            continue
        heats = [_heat_w(loop, node, never_a) for loop in bench.loops[part] for node in ends]
        steady = steady_c(limit, amps=never_a, ambient_c=limit.ambient_c)
        found.append(
            LeftOver(
                fuse=part,
                amps=never_a,
                steady_c=min(steady, _MELT_C),
                class_c=limit.insulation_c,
                heat_w=max(heats, default=0.0),
            )
        )
    return max(found, key=lambda one: one.steady_c, default=None)


def _heat_w(loop: Loop, node: int, most_a: float) -> float:
    """The most a short at a node turns to heat with no more than a current: I emf - I^2 R, at most emf^2 / 4R. [W]"""
    if node not in loop.onward_ohm:
        return 0.0
    ohm = loop.before_ohm + loop.onward_ohm[node]
    amps = min(most_a, loop.emf_v / (2.0 * ohm))
    return amps * (loop.emf_v - amps * ohm)


def _never_opens_a(fuse: Fuse) -> float | None:
    """The current up to which nothing obliges a fuse to open; None where nobody printed it. [A]"""
    if fuse.rating_a is None:
        return None
    if fuse.what == "breaker":
        return fuse.trips_at * fuse.rating_a
    family = families().get(fuse.family)
    gates = [at for at, _, max_s in family.gates if isfinite(max_s)] if family is not None else []
    return min(gates) * fuse.rating_a if gates else None
