"""What should the voltmeter read on the new loom before a controller is ever plugged in?

The car is solved with every controller unplugged and the starter's small lead off, all fuses in, a 10 megohm meter at
every point. States: each place of the key; then each switch and lever moved by hand, key off and in run; two of them
at once where only that brings volts to a point, as main beam does. Nothing turns.

Relays that a controller earths are pulled in by hand: a fused lead from its cavity to the body, the main relay's first,
the sensor earth's with it, then each of the others. So feeds behind the main relay, and loads with their earths, are
proved too, and no sensor floats up to battery volts meanwhile.

- a cavity of a controller, or the starter's lead, that is live in any place of the key: one test for each place, so it
  is live in exactly those in which it should be; one that is never live: one test in run (no battery volts on a sensor)
- any other wired terminal: the plainest state in which it is live; loads and fuses are tested dead with the key off too
- an earth, and the earthed side of a load: volts to the battery's earthed post in the state with most amps through it
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.controller import pin_ability
from loomwright.network.records import Changes, Element, Guard, Law, Network
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.proving.bands import earth_band, volts_band
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.handing_over import off_of
from loomwright.proving.moved_by_hand import State, hand_states, two_at_once
from loomwright.proving.plan import BATTERY_TEST, PlannedTest, state_slug
from loomwright.proving.stray_volts import StrayVolts
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = [
    "LEAD",
    "Leads",
    "LiveCar",
    "LiveTest",
    "battery_of",
    "leads_of",
    "live_car",
    "live_tests",
    "unplugged_at",
    "with_leads",
]

_KEYS = ("off", "accessory", "run", "start")
_HIDDEN = ("splice",)
_LEAST_A = 0.5
"""Under this an earth is not loaded enough to be judged: our choice [A]."""
LEAD, _NO_LEAD = "lead", "none"
_LEAD_OHM = 0.05
"""A lead with its fuse and clips: typical [ohm]."""
_SMALL_LEAD = "50"
"""The starter's terminal whose lead is off while the loom is tested live: DIN 72552."""
_EARTHS = ("main_relay", "low_side", "pwm")
_PUT = "controllers unplugged, starter's small lead off"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LiveCar:
    """The car as it is tested live. states: those it is solved in.   values: the same as value indices. [-]

    by_hand: those of them in which only switches and levers are moved by hand, and the key to run.
    off: what is unplugged.   leads: cavities that are earthed by hand.
    sound: its answers with nothing wrong.   node_at: point -> node, that of the loom's side where a plug is off. [-]
    """

    scene: Scene
    suspects: tuple[Suspect, ...]
    bench: FaultBench
    states: tuple[State, ...]
    by_hand: tuple[State, ...]
    values: type_i
    sound: Batch
    node_at: Mapping[str, int]
    off: tuple[str, ...]
    leads: Leads

    def volts(self, batch: Batch) -> NDArray[np.float64]:
        """Volts by state and node against the battery's earthed post. [V]"""
        post = self.scene.compiled.arrays.nodes
        return np.asarray(batch.v - batch.v[:, [post]])


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveTest:
    """A test, and where it is read in the solved car. node, state: which volts of `LiveCar.volts`. [-]"""

    test: PlannedTest
    node: int
    state: int


def unplugged_at(job: Job, kinds: Mapping[str, Kind]) -> tuple[str, ...]:
    """What is off: the plugs of every controller, by its id, and the starter's small lead, by its terminal."""
    parts = [part for part in job.parts if part.fitted != "removed" and part.kind in kinds]
    ends = {end for wire in job.wires if wire.fitted != "removed" for end in (wire.from_, wire.to)}
    leads = [f"{part.id}.{_SMALL_LEAD}" for part in parts if part.kind == "starter"]
    return (
        *(part.id for part in parts if kinds[part.kind].duty == "controller"),
        *(point for point in leads if point in ends),
    )


def live_car(job: Job, kinds: Mapping[str, Kind], variables: Sequence[Variable]) -> LiveCar:
    """The car with its controllers unplugged and the starter's small lead off, solved in every state of the tests.

    Args:
        job: with what was decided filled in.
        variables: of the job.
    """
    off = unplugged_at(job, kinds)
    changes, leads = Changes(unplugged=off), leads_of(job, kinds)
    network = with_leads(build_network(job, kinds, changes, variables), leads)
    compiled = compile_network(network)
    scene = scene_of(job, kinds, compiled)
    node_at = dict(_points(scene))
    post = compiled.arrays.nodes
    meters = [(node, post, constant("meter_volts_ohm")) for node in range(post)]
    suspects = suspects_of(scene)
    bench = bench_of(scene, suspects, meters)
    states = tuple(_states(variables, leads))
    both = two_at_once(bench.compiled, variables, states, sorted(set(node_at.values())), scene.vehicle.system_v)
    states = (*states, *both)
    values = np.array([values_of(compiled, state) for state in states])
    return LiveCar(
        scene=scene,
        suspects=suspects,
        bench=bench,
        states=states,
        by_hand=(*hand_states(variables), *both),
        values=values,
        sound=solve_many(bench.compiled, values),
        node_at=node_at,
        off=off,
        leads=leads,
    )


def live_tests(car: LiveCar, battery_v: float | None = None, strays: StrayVolts | None = None) -> tuple[LiveTest, ...]:
    """The live tests and those of the earths, in order of point.

    Args:
        battery_v: what the battery was measured at; the others are held against that. [V]
        strays: how far sound cars stray; bands are opened to let them through.
    """
    volts = car.volts(car.sound)
    battery = battery_of(car.scene)
    solved_v = float(volts[0, car.node_at[battery]]) if battery in car.node_at else 0.0
    share = 1.0 if battery_v is None or abs(solved_v) < 1.0 else abs(battery_v) / abs(solved_v)
    found = []
    if battery in car.node_at:
        found.append(_battery(car, battery, solved_v))
    nodes_at: dict[str, list[int]] = {}
    for point, node in car.node_at.items():
        nodes_at.setdefault(point.split(".")[0], []).append(node)
    for point, node in sorted(car.node_at.items(), key=lambda one: id_order(one[0])):
        for state in _asked_in(car, volts, point, nodes_at[point.split(".")[0]]):
            expected_v = float(volts[state, node]) * share
            band = volts_band(expected_v, measured=battery_v is not None)
            band = band if strays is None else strays.let_through(band, state, node, share=share)
            found.append(_live(car, point, node, state, expected_v, band))
    return (*found, *_earths(car, volts, share, strays))


def battery_of(scene: Scene) -> str:
    """The live post of the battery, empty where there is none."""
    post = scene.vehicle.live_post
    return next((f"{name}.{post}" for name, part in scene.parts.items() if part.kind == "battery"), "")


def _points(scene: Scene) -> Iterator[tuple[str, int]]:
    """Every wired terminal that a probe reaches, and its node."""
    for point in scene.wires_at:
        part = scene.parts.get(point.split(".")[0])
        if part is None or part.kind in _HIDDEN:
            continue
        if point in scene.compiled.node_of:
            yield point, scene.compiled.node_of[point]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leads:
    """Cavities that are earthed by hand. mains: together, whenever any is. others: relays, one at a time with them."""

    mains: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def places(self) -> tuple[str, ...]:
        """What the variable may be: the first of the mains stands for them alone."""
        return (*self.mains[:1], *self.others)


def leads_of(job: Job, kinds: Mapping[str, Kind]) -> Leads:
    """Cavities by which a controller earths the coil of a relay, and its sensor earths."""
    relays = {part.id for part in job.parts if part.kind in kinds and kinds[part.kind].group == "relays"}
    pins = {f"{pin.part}.{pin.terminal}": pin_ability(pin, job.needs) for pin in job.controller_pins}
    found: dict[str, list[str]] = {"main_relay": [], "sensor_earth": [], "others": []}
    for wire in job.wires:
        for here, there in ((wire.from_, wire.to), (wire.to, wire.from_)):
            ability = pins.get(here, "") if wire.fitted != "removed" else ""
            if ability == "sensor_earth" or (ability in _EARTHS and there.split(".")[0] in relays):
                found[ability if ability in found else "others"].append(here)
    told = {word: tuple(sorted(dict.fromkeys(points), key=id_order)) for word, points in found.items()}
    return Leads(mains=(*told["main_relay"], *told["sensor_earth"]), others=told["others"])


def with_leads(network: Network, leads: Leads) -> Network:
    """The network with a lead from each of those cavities to the body, one more variable saying which are on."""
    if not leads.places:
        return network
    number = len(network.variables)
    variable = Variable(name=LEAD, values=(_NO_LEAD, *leads.places), rest=_NO_LEAD)
    there = {name: index for index, name in enumerate(network.nodes)}
    every = frozenset(range(1, len(leads.places) + 1))
    on = dict.fromkeys(leads.mains, every)
    on |= {cavity: frozenset({variable.values.index(cavity)}) for cavity in leads.others}
    added = [
        Element(
            name=f"lead.{cavity}",
            a=there[cavity],
            b=there["body"],
            law=Law.LINEAR,
            figures=((1.0 / _LEAD_OHM, 0.0),),
            type="lead",
            guards=(Guard(((number, values),)),),
        )
        for cavity, values in on.items()
        if cavity in there
    ]
    return replace(network, elements=(*network.elements, *added), variables=(*network.variables, variable))


def _states(variables: Sequence[Variable], leads: Leads) -> Iterator[State]:
    named = {variable.name: variable for variable in variables}
    keys = [key for key in _KEYS if "key" in named and key in named["key"].values]
    yield from ({"key": key} if key != named["key"].rest else {} for key in keys)
    if not keys:
        yield {}
    moved = hand_states(variables)
    yield from sorted(moved, key=lambda state: "key" not in state)
    yield from ({**({"key": "run"} if "run" in keys else {}), LEAD: cavity} for cavity in leads.places)


def _keys(car: LiveCar) -> list[int]:
    """The states in which nothing but the key is moved."""
    return [row for row, state in enumerate(car.states) if set(state) <= {"key"}]


def _run(car: LiveCar) -> int:
    return next((row for row, state in enumerate(car.states) if state == {"key": "run"}), 0)


def _asked_in(car: LiveCar, volts: NDArray[np.float64], point: str, mine: Sequence[int]) -> list[int]:
    """The states in which a point is read. mine: the nodes of all points of its part."""
    part = point.split(".")[0]
    live_v = constant("live_frac") * car.scene.vehicle.system_v
    live = np.flatnonzero(np.abs(volts[:, car.node_at[point]]) >= live_v).tolist()
    kind = car.scene.kind(part)
    if part in car.off or point in car.off:
        keys = _keys(car)
        if set(live) & set(keys):
            return keys
        return [_run(car), *live[:1]]
    if not live:
        fed = np.flatnonzero(np.abs(volts[:, list(mine)]).max(axis=1) >= live_v).tolist()
        return [_run(car) if _run(car) in fed or not fed else fed[0]]
    first = _run(car) if _run(car) in live else live[0]
    is_fed_later = 0 not in live and kind.duty in ("load", "protection", "controller", "gauge")
    return [first, 0] if is_fed_later else [first]


def _battery(car: LiveCar, battery: str, solved_v: float) -> LiveTest:
    low, high = volts_band(solved_v, measured=False)
    test = PlannedTest(
        id=BATTERY_TEST,
        stage="live",
        does="the battery itself, across its posts",
        point=battery,
        measure="volts",
        put=_PUT,
        off=off_of(car.scene, car.off),
        expected=solved_v,
        low=low,
        high=high,
        unit="V",
        says=f"{solved_v:.2f} V at rest; the other live tests are held against what it reads",
        place=_place(car.scene, battery),
        circuit=_circuit(car.scene, battery),
    )
    return LiveTest(test=test, node=car.node_at[battery], state=0)


def _live(car: LiveCar, point: str, node: int, state: int, expected_v: float, band: tuple[float, float]) -> LiveTest:
    low, high = band
    is_dead = abs(expected_v) <= constant("dead_v")
    scene = car.scene
    where = "in the plug, controller off" if scene.kind(point.split(".")[0]).duty == "controller" else ""
    test = PlannedTest(
        id=f"live/{point}/{state_slug(car.states[state])}",
        stage="live",
        does=("dead" if is_dead else "live") + (f", {where}" if where else ""),
        point=point,
        measure="volts",
        when=_text(car.states[state]),
        put=_put(car, state),
        off=_off(car, point, state),
        expected=expected_v,
        low=low,
        high=high,
        unit="V",
        says="dead, under 0.5 V" if is_dead else f"{expected_v:.2f} V",
        wires=tuple(wire.id for wire in scene.wires_at[point]),
        circuit=_circuit(scene, point),
        place=_place(scene, point),
    )
    return LiveTest(test=test, node=node, state=state)


def _earths(car: LiveCar, volts: NDArray[np.float64], share: float, strays: StrayVolts | None) -> Iterator[LiveTest]:
    scene = car.scene
    for point, node in sorted(car.node_at.items(), key=lambda one: id_order(one[0])):
        part = point.split(".")[0]
        if not _is_earthed(scene, part, point.split(".", 1)[1]):
            continue
        amps = np.abs(car.sound.amps[:, list(scene.elements_of.get(part, ()))]).max(axis=1, initial=0.0)
        state = int(amps.argmax())
        if amps[state] < _LEAST_A:
            continue
        expected_v = abs(float(volts[state, node])) * share
        low, high = earth_band(expected_v)
        if strays is not None:
            low, high = strays.let_through((low, high), state, node, share=share, fine=True)
        test = PlannedTest(
            id=f"earth/{point}/{state_slug(car.states[state])}",
            stage="earths",
            does=f"its earth, with {amps[state]:.1f} A through it",
            point=point,
            measure="volts",
            when=_text(car.states[state]),
            put=_put(car, state),
            off=_off(car, point, state),
            expected=expected_v,
            low=low,
            high=high,
            unit="V",
            says=f"{expected_v:.3f} V, {high:.2f} V at most",
            wires=tuple(wire.id for wire in scene.wires_at[point]),
            circuit=_circuit(scene, point),
            place=_place(scene, point),
        )
        yield LiveTest(test=test, node=node, state=state)


def _is_earthed(scene: Scene, part: str, terminal: str) -> bool:
    kind = scene.kind(part)
    if kind.id == "earth_point":
        return True
    return kind.duty == "load" and any(one.name == terminal and one.polarity == -1 for one in kind.terminals)


def _text(state: State) -> str:
    return ", ".join(f"{name}={value}" for name, value in state.items() if name != LEAD)


def _put(car: LiveCar, state: int) -> str:
    """What else is done to the car in a state."""
    cavity = car.states[state].get(LEAD)
    if cavity is None:
        return _PUT
    return f"{_PUT}; {' '.join(dict.fromkeys([*car.leads.mains, cavity]))} to the body, each through a fused lead"


def _off(car: LiveCar, point: str, state: int) -> tuple[str, ...] | None:
    """What is off; None with a lead to the body, and at a wire that is off itself: its end hangs free."""
    return None if LEAD in car.states[state] or point in car.off else off_of(car.scene, car.off)


def _place(scene: Scene, point: str) -> str:
    part = scene.parts.get(point.split(".")[0])
    return "" if part is None else part.place


def _circuit(scene: Scene, point: str) -> str:
    wires = scene.wires_at.get(point, ())
    return next((wire.circuit for wire in wires if wire.circuit), "")
