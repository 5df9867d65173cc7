"""The test plan of a job: every test, its band, its cautions, in the order in which it is made.

Stages follow each other as safety asks; power-up and selector keep their own order; within the others the tests stand
in the order that takes least walking and fewest turns of the key. Cautions stand at the step where they matter.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.handover.asking import Asked, walk_of
from loomwright.handover.cautions import cautions_at, cautions_of
from loomwright.handover.dead_coverage import dead_caught
from loomwright.handover.output_tests import OutputTest, output_tests
from loomwright.handover.plan_dead import dead_plan
from loomwright.handover.plan_sensors import AIR_C, sensor_plan
from loomwright.handover.plan_strays import live_strays
from loomwright.handover.records import Caution
from loomwright.job.rows import Proof
from loomwright.proving.bands import amps_band, earth_band, volts_band
from loomwright.proving.coverage import Coverage, Tell, coverage_of, fault_key, with_caught
from loomwright.proving.live_tests import LiveCar, LiveTest, live_car, live_tests
from loomwright.proving.plan import AIR_TEST, BATTERY_TEST, STAGES, PlannedTest, TestPlan
from loomwright.proving.power_up import power_up_caught, power_up_tests
from loomwright.proving.selector_tests import selector_tests
from loomwright.proving.walking import ordered
from loomwright.proving.walking import walk_of as walked
from loomwright.states.asking.scene import Scene

__all__ = ["Planned", "plan_of"]

_FIXED = ("power-up", "selector")
_AT = {
    "dead": ("dead",),
    "power-up": ("dead", "live"),
    "live": ("live",),
    "earths": ("live", "fan", "fuel"),
    "sensors": ("live", "throttle"),
    "outputs": (),
    "selector": ("cranking",),
}
_PLUGGED = "controllers plugged in, fuel off; probe on the back of the terminal"
_STALL = "Wheels chocked, gear out, a foot on the brake, nobody in front or behind: it may move when the starter turns."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Planned:
    """The plan, and the car in which its live tests were solved."""

    plan: TestPlan
    car: LiveCar
    live: tuple[LiveTest, ...]
    scene: Scene

    def coverage(self, tell: Tell | None = None) -> Coverage:
        """Which faults the plan catches: dead, live, and in the power-up where neither does.

        Args:
            tell: called with hundredths done and to do; may raise Stopped.
        """
        live = coverage_of(self.car, self.live, _piece(tell, 0))
        dead = self.plan.of("dead")
        asked = [one for one in dead if one.measure == "ohms"]
        both = with_caught(live, dead_caught(self.scene, asked, _piece(tell, 1)), len(asked))
        left = {fault_key(one) for one in both.missed}
        job, kinds, variables = self.scene.job, self.scene.kinds, self.scene.compiled.network.variables
        power = power_up_caught(job, kinds, variables, left, _piece(tell, 2), self.car.by_hand)
        return with_caught(both, power, len(self.plan.of("power-up")))


def _piece(tell: Tell | None, number: int) -> Tell | None:
    """The same told as one of three pieces of the work, in hundredths of each."""
    if tell is None:
        return None
    return lambda done, of: tell(100 * number + 100 * done // max(1, of), 300)


def plan_of(scene: Scene, proofs: Sequence[Proof] = (), *, air_c: float | None = None) -> Planned:
    """The test plan of a car.

    Args:
        scene: the car, blank cells filled.
        proofs: what was read so far: live tests are held against the battery as it was last measured.
        air_c: the air the car stands in; as it was last read, else 20, where left out. [degC]
    """
    if air_c is None:
        air_c = _last_read(proofs, AIR_TEST)
    air_c = AIR_C if air_c is None else air_c
    job, kinds, compiled = scene.job, scene.kinds, scene.compiled
    cautions = cautions_of(job, kinds)
    car = live_car(job, kinds, compiled.network.variables)
    live = live_tests(car, _last_read(proofs, BATTERY_TEST), live_strays(car))
    walk = walk_of(job, kinds, compiled)
    made = {
        "dead": dead_plan(job, kinds, compiled),
        "power-up": power_up_tests(job, kinds, compiled.network.variables, car.by_hand),
        "live": tuple(one.test for one in live if one.test.stage == "live"),
        "earths": tuple(one.test for one in live if one.test.stage == "earths"),
        "sensors": sensor_plan(job, kinds, compiled, air_c=air_c),
        "outputs": _outputs(scene, walk.columns, cautions),
        "selector": selector_tests(scene),
    }
    told = {stage: tuple(_with_cautions(one, cautions) for one in tests) for stage, tests in made.items()}
    return Planned(plan=_in_order(scene, told), car=car, live=live, scene=scene)


def _in_order(scene: Scene, told: Mapping[str, Sequence[PlannedTest]]) -> TestPlan:
    places = {place.id: place for place in scene.job.places}
    tests: list[PlannedTest] = []
    for stage, _ in STAGES:
        mine = list(told[stage])
        if stage in _FIXED:
            tests.extend(mine)
            continue
        first = [one for one in mine if one.id in (BATTERY_TEST, AIR_TEST)]
        rest = [one for one in mine if one not in first]
        dead_first = [[one for one in rest if one.measure == "ohms"], [one for one in rest if one.measure != "ohms"]]
        groups = dead_first if stage == "sensors" else [rest]
        tests.extend(first)
        for group in groups:
            tests.extend(ordered(group, places, tests[-1] if tests else None))
    given = [one for stage, _ in STAGES for one in told[stage]]
    after, before = walked(tests, places), walked(given, places)
    return TestPlan(
        tests=tuple(tests),
        walk_mm=after.walk_mm,
        turns=after.turns,
        before_walk_mm=before.walk_mm,
        before_turns=before.turns,
    )


def _last_read(proofs: Sequence[Proof], test: str) -> float | None:
    """What a test read last, as long as it passed: the battery's volts, the air."""
    values = [row.value for row in proofs if row.test == test and row.verdict == "passed"]
    last = values[-1] if values else None
    return float(last) if isinstance(last, int | float) else None


def _with_cautions(test: PlannedTest, cautions: Sequence[Caution]) -> PlannedTest:
    said = [one.says for one in cautions_at(cautions, *_AT[test.stage])]
    if test.stage == "selector":
        said.insert(0, _STALL)
    return replace(test, caution=tuple(dict.fromkeys([*test.caution, *said])))


def _outputs(scene: Scene, columns: Sequence[Asked], cautions: Sequence[Caution]) -> tuple[PlannedTest, ...]:
    outputs = output_tests(scene.job, scene.kinds, scene.compiled, columns, cautions)
    steps = {one.step: one.says for one in cautions}
    found: list[PlannedTest] = []
    for one in outputs.tests:
        part = one.pin.split(".")[0]
        base = PlannedTest(
            id=f"output/{one.pin}/volts",
            stage="outputs",
            does=f"{one.does}: the pin switched on",
            point=one.pin,
            measure="volts",
            when=outputs.state,
            put=_PLUGGED,
            wires=tuple(mark.id for mark in one.wires),
            circuit=next((w.circuit for w in scene.wires_at.get(one.pin, ()) if w.circuit), ""),
            place=scene.parts[part].place if part in scene.parts else "",
            caution=tuple(steps[step] for step in one.caution if step in steps),
        )
        found.extend(_of_output(scene, one, base))
    return tuple(found)


def _of_output(scene: Scene, one: OutputTest, base: PlannedTest) -> list[PlannedTest]:
    starts = f"; starts {' '.join(one.starts)}" if one.starts else ""
    found = []
    if one.on_v is not None:
        low, high = volts_band(one.on_v, measured=False)
        says = f"{one.on} V, off it reads {one.off}{starts}"
        found.append(replace(base, expected=one.on_v, low=low, high=high, unit="V", says=says))
    low, high = amps_band(one.through_a)
    found.append(
        replace(
            base,
            id=f"output/{one.pin}/amps",
            measure="amps",
            does=f"{base.does}, clamp round its wire",
            expected=one.through_a,
            low=low,
            high=high,
            unit="A",
            says=f"{one.amps}{starts}",
        )
    )
    for point, volts in one.earths:
        low, high = earth_band(volts)
        part = scene.parts.get(point.split(".")[0])
        found.append(
            replace(
                base,
                id=f"output/{one.pin}/earth/{point}",
                does=f"{base.does}: the earth of what starts",
                point=point,
                expected=volts,
                low=low,
                high=high,
                unit="V",
                says=f"{volts:.3f} V, {high:.2f} V at most",
                place="" if part is None else part.place,
            )
        )
    return found
