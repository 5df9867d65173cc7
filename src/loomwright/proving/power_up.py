"""In which order does a new loom get its power, and what should each fuse carry when it goes in?

All fuses out, controllers unplugged, starter's small lead off. First the battery goes on through a lamp. Then one fuse
at a time, those nearest the battery first: a lamp in its place, which must stay as dark as it should, then the fuse,
and the amps through it with the key off and in run; where a switch or lever moved by hand makes it carry clearly more,
once more with that. What lies behind the main relay waits until that is pulled in by hand, what lies behind a switch
until that is moved. Every step is solved with just the fuses in that are in by then.

Source: a lamp of 21 W in place of the fuse lets at most 1.8 A through: practice of the trade, common practice. A lamp
is full from 70 % of its rated amps, dim from 20 %: `constants.csv`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.proving.bands import amps_band
from loomwright.proving.coverage import FaultKey, fault_key
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.live_tests import LEAD, leads_of, unplugged_at, with_leads
from loomwright.proving.moved_by_hand import State, hand_states
from loomwright.proving.plan import PlannedTest, state_slug
from loomwright.proving.suspects import Suspect, paired, suspects_of
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = ["power_up_caught", "power_up_tests"]

_FUSES = ("fuse", "breaker", "link")
_LAMP_W = 21.0
_LAMP_A = _LAMP_W / 12.0
_ALL_OUT = "power/all-out"
_MORE_A = 0.1
"""What a switch moved by hand must add to what a fuse carries to be asked for by itself: our choice [A]."""
_PUT = "controllers unplugged, starter's small lead off"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bench:
    """The car with a lamp across each fuse. fuses, lamps: part -> element. [-]

    states: key off, run, main relay in, then each switch moved by hand.   plain: how many come before those. [-]
    """

    scene: Scene
    bench: FaultBench
    fuses: Mapping[str, int]
    lamps: Mapping[str, int]
    states: tuple[Mapping[str, str], ...]
    values: type_i
    mains: tuple[str, ...]
    plain: int

    def solved(
        self, fuses: Sequence[str], lamp: str = "", fault: Suspect | None = None, rows: Sequence[int] | None = None
    ) -> Batch:
        """The car with some fuses in, a lamp in place of one, and something wrong; in all states, or in some rows."""
        out = [k for name, k in self.fuses.items() if name not in fuses]
        out += [k for name, k in self.lamps.items() if name != lamp]
        wrong = Suspect(kind="open", at=("",), opened=tuple(out))
        both = wrong if fault is None else paired(wrong, fault)
        return solve_many(self.bench.with_fault(both), self.values if rows is None else self.values[list(rows)])

    def carried(self, fuses: Sequence[str], fuse: str) -> dict[int, float]:
        """State -> amps through a fuse: key off, run, and the switch that asks most. [A]"""
        amps = np.abs(self.solved((*fuses, fuse)).amps[:, self.fuses[fuse]])
        asked = list(dict.fromkeys([0, self.plain - 1]))
        most = int(amps.argmax())
        if amps[most] > amps[asked].max() + _MORE_A:
            asked.append(most)
        return {row: float(amps[row]) for row in asked}


def power_up_tests(
    job: Job, kinds: Mapping[str, Kind], variables: Sequence[Variable], by_hand: Sequence[State] | None = None
) -> tuple[PlannedTest, ...]:
    """The steps of the power-up, in their order.

    Args:
        job: with what was decided filled in.
        variables: of the job.
        by_hand: states with switches moved by hand; each by itself where left out.
    """
    car = _bench(job, kinds, variables, by_hand)
    found = [_first(car)]
    fitted: list[str] = []
    for fuse, state in _order(car):
        found.extend(_steps(car, fuse, state, tuple(fitted)))
        fitted.append(fuse)
    return tuple(found)


def power_up_caught(
    job: Job,
    kinds: Mapping[str, Kind],
    variables: Sequence[Variable],
    wanted: Collection[FaultKey],
    tell: Callable[[int, int], None] | None = None,
    by_hand: Sequence[State] | None = None,
) -> Mapping[FaultKey, tuple[str, ...]]:
    """Fault -> the steps of the power-up that catch it: a lamp that is not as it should be, amps outside their band.

    Args:
        job: with what was decided filled in.
        variables: of the job.
        wanted: the faults to try.
        tell: called with faults done and to do; may raise Stopped.
        by_hand: states with switches moved by hand; each by itself where left out.
    """
    sound = _bench(job, kinds, variables, by_hand)
    suspects = [one for one in suspects_of(sound.scene) if fault_key(one) in wanted]
    car = replace(sound, bench=bench_of(sound.scene, suspects))
    order = _order(sound)
    names = [name for name, _ in order]
    rows = {name: tuple(sound.carried(names[:k], name)) for k, name in enumerate(names)}
    told = {name: _shown(car, order, name, rows[name], None) for name in names}
    dark = _all_out(car)
    found: dict[FaultKey, tuple[str, ...]] = {}
    for done, suspect in enumerate(suspects, start=1):
        caught = [_ALL_OUT] if _all_out(car, suspect) != dark else []
        for fuse in names:
            shown = _shown(car, order, fuse, rows[fuse], suspect)
            caught.extend(name for name, one in shown.items() if _is_outside(told[fuse][name], one))
        found[fault_key(suspect)] = tuple(caught)
        if tell is not None:
            tell(done, len(suspects))
    return found


def _shown(
    car: _Bench, order: Sequence[tuple[str, int]], fuse: str, rows: Sequence[int], fault: Suspect | None
) -> dict[str, str | float]:
    """What the steps of one fuse show: the word of the lamp, the amps of the fuse in the states asked."""
    names = [name for name, _ in order]
    fitted, state = names[: names.index(fuse)], max(dict(order)[fuse], 0)
    lit = car.solved(fitted, fuse, fault, (state,)).amps[0, car.lamps[fuse]]
    shown: dict[str, str | float] = {f"power/{fuse}/lamp": _glow(abs(float(lit)))}
    amps = car.solved((*fitted, fuse), fault=fault, rows=rows).amps[:, car.fuses[fuse]]
    for row, each in zip(rows, amps, strict=True):
        shown[f"power/{fuse}/{state_slug(car.states[row])}"] = abs(float(each))
    return shown


def _all_out(car: _Bench, fault: Suspect | None = None) -> str:
    """The word of the lamp in the battery's lead with every fuse out."""
    return _glow(_through_lamp(_battery_a(car, fault)))


def _is_outside(sound: str | float, shown: str | float) -> bool:
    if isinstance(sound, str) or isinstance(shown, str):
        return sound != shown
    low, high = amps_band(sound)
    return not low <= shown <= high


def _bench(
    job: Job, kinds: Mapping[str, Kind], variables: Sequence[Variable], by_hand: Sequence[State] | None
) -> _Bench:
    off = unplugged_at(job, kinds)
    leads = leads_of(job, kinds)
    bare = build_network(job, kinds, Changes(unplugged=off), variables)
    own = {one.part: one for one in bare.elements if one.type in _FUSES}
    names = sorted(own, key=id_order)
    lamps = tuple((bare.nodes[own[name].a], bare.nodes[own[name].b], _LAMP_W) for name in names)
    network = with_leads(build_network(job, kinds, Changes(unplugged=off, lamps=lamps), variables), leads)
    compiled = compile_network(network)
    number = {element.name: k for k, element in enumerate(compiled.network.elements)}
    has_key = any(variable.name == "key" and "run" in variable.values for variable in variables)
    run = {"key": "run"} if has_key else {}
    plain: list[State] = [{}, *([run] if run else []), *({**run, LEAD: lead} for lead in leads.mains[:1])]
    states = (*plain, *(hand_states(variables) if by_hand is None else by_hand))
    scene = scene_of(job, kinds, compiled)
    return _Bench(
        scene=scene,
        bench=bench_of(scene, ()),
        fuses={name: number[own[name].name] for name in names},
        lamps={name: number[f"test_lamp.{k}"] for k, name in enumerate(names, start=1)},
        states=states,
        values=np.array([values_of(compiled, state) for state in states]),
        mains=leads.mains,
        plain=len(plain),
    )


def _order(car: _Bench) -> list[tuple[str, int]]:
    """The fuses in the order in which they go in, each with the state in which it is first live; -1 where in none."""
    waiting, order = list(car.fuses), list[tuple[str, int]]()
    live_v = constant("live_frac") * car.scene.vehicle.system_v
    every = range(len(car.states))
    while waiting:
        # the first state that has a fuse live decides: the many by hand are asked only where the plain ones have none
        ready: list[tuple[int, int, str]] = []
        for rows in (every[: car.plain], every[car.plain :]):
            if not ready and rows:
                ready = _live_fuses(car, [name for name, _ in order], waiting, rows, live_v)
        if not ready:
            return [*order, *((name, -1) for name in waiting)]
        state, _, name = min(ready)
        order.append((name, state))
        waiting.remove(name)
    return order


def _live_fuses(
    car: _Bench, fitted: Sequence[str], waiting: Sequence[str], rows: Sequence[int], live_v: float
) -> list[tuple[int, int, str]]:
    """The waiting fuses that are live in some of the states: the first of those, their place, their name."""
    batch = car.solved(fitted, rows=rows)
    volts = np.abs(batch.v - batch.v[:, [car.scene.compiled.arrays.nodes]])
    live = {name: volts[:, list(car.scene.ends(car.fuses[name]))].max(axis=1) >= live_v for name in waiting}
    return [(rows[int(np.argmax(live[name]))], k, name) for k, name in enumerate(waiting) if live[name].any()]


def _first(car: _Bench) -> PlannedTest:
    """The battery goes on through a lamp with all fuses out."""
    batteries = _batteries(car)
    amps = _through_lamp(_battery_a(car))
    word = _glow(amps)
    return PlannedTest(
        id=_ALL_OUT,
        stage="power-up",
        does="the battery's earth lead through a lamp of 21 W, all fuses out",
        point=f"{batteries[0]}.{'+' if car.scene.vehicle.earth == 'positive' else '-'}",
        measure="lamp",
        put=f"all fuses out, {_PUT}",
        word=word,
        says=f"{word}: {amps:.2f} A" if word != "dark" else "dark: nothing may flow yet. If it glows, stop",
        place=car.scene.parts[batteries[0]].place,
        circuit=car.scene.parts[batteries[0]].circuit,
    )


def _batteries(car: _Bench) -> list[str]:
    return [name for name, part in car.scene.parts.items() if part.kind == "battery"]


def _battery_a(car: _Bench, fault: Suspect | None = None) -> float:
    """What the first battery gives with every fuse out, without the lamp. [A]"""
    first = _batteries(car)[:1]
    mine = [k for k, element in enumerate(car.scene.compiled.network.elements) if element.part in first]
    return float(np.abs(car.solved((), fault=fault).amps[0, mine]).max(initial=0.0))


def _through_lamp(bare_a: float) -> float:
    """What is left of it once the lamp lies in series, the lamp taken as its hot resistance. [A]"""
    return bare_a * _LAMP_A / (bare_a + _LAMP_A)


def _steps(car: _Bench, fuse: str, state: int, fitted: tuple[str, ...]) -> list[PlannedTest]:
    part = car.scene.parts[fuse]
    at = max(state, 0)
    lamp_a = abs(float(car.solved(fitted, fuse, rows=(at,)).amps[0, car.lamps[fuse]]))
    wires = [wire.id for point, some in car.scene.wires_at.items() if point.split(".")[0] == fuse for wire in some]
    in_now = f"fuses in: {' '.join(fitted) or 'none'}"
    word = _glow(lamp_a)
    lamp = PlannedTest(
        stage="power-up",
        point=fuse,
        wires=tuple(dict.fromkeys(wires)),
        circuit=part.circuit,
        place=part.place,
        id=f"power/{fuse}/lamp",
        does="a lamp of 21 W in place of the fuse",
        measure="lamp",
        when=_text(car.states[at]),
        put=f"{in_now}{_put(car, at)}",
        word=word,
        says=f"{word}, {lamp_a:.2f} A{'. If it glows brighter, stop' if word != 'full' else ''}"
        + ("; nothing feeds it as long as the controllers are unplugged" if state < 0 else ""),
    )
    carried = car.carried(fitted, fuse)
    return [lamp, *(_carries(car, lamp, row, amps, in_now) for row, amps in carried.items())]


def _carries(car: _Bench, lamp: PlannedTest, row: int, amps: float, in_now: str) -> PlannedTest:
    low, high = amps_band(amps)
    return replace(
        lamp,
        id=f"power/{lamp.point}/{state_slug(car.states[row])}",
        does="amps through the fuse, just put in" + (", switched on by hand" if row >= car.plain else ""),
        measure="amps",
        when=_text(car.states[row]),
        put=f"{in_now} and this one{_put(car, row)}",
        expected=amps,
        low=low,
        high=high,
        unit="A",
        word="",
        says=f"{amps:.2f} A. Over {high:.2f} A: take it out again",
    )


def _text(state: Mapping[str, str]) -> str:
    return ", ".join(f"{name}={value}" for name, value in state.items() if name != LEAD)


def _put(car: _Bench, row: int) -> str:
    return f"; {' '.join(car.mains)} to the body, each through a fused lead" if LEAD in car.states[row] else ""


def _glow(amps: float) -> str:
    share = amps / _LAMP_A
    return "dark" if share < constant("glow_dim_frac") else "dim" if share < constant("glow_full_frac") else "full"
