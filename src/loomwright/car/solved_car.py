"""What is the car in one state? The network of a job, solved, metered and drawn as it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from loomwright.drawings.circuit_drawing import LaidCircuits, laid_circuits
from loomwright.handover.in_states import InStates
from loomwright.heat.in_runs import Warm, warm
from loomwright.job.asked_values import names_all, with_asked_figures
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.kept_answers import Answering, KeptAnswers
from loomwright.job.points import kinds_of
from loomwright.job.variables import Variable, variables_of
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network, recompiled
from loomwright.network.meter import Bench, MeterReading, read_amps, read_lamp, read_ohms, read_volts
from loomwright.network.records import Changes, Network
from loomwright.network.solve import Solved, devices_on, solve
from loomwright.routes.records import Routes
from loomwright.routes.wire_routes import wire_routes
from loomwright.sizing.provisional import Provisional, has_blanks, provisional
from loomwright.states.asking.cones import Cones, cones_of
from loomwright.states.asking.on_trial import on_trial
from loomwright.states.asking.plan import Space, space_of
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.tables.kinds import Kind, load_kinds

__all__ = ["SolvedCar", "State", "Tell"]

State = Mapping[str, str | float]
Tell = Callable[[int, int], None]


class SolvedCar:
    """One job and its network.

    job: as the sheets have it.   filled: the same with what was decided in its blank cells; this is what is asked.
    """

    def __init__(self, job: Job, kinds: Mapping[str, Kind] | None = None, *, kept: KeptAnswers | None = None) -> None:
        """The car of a job.

        Args:
            kinds: those of the library, where others are meant than it has.
            kept: answers that are carried from one revision of the job to the next, and kept for the one after.
        """
        self.job = job
        self.filled = with_decided(job)
        self.kinds: Mapping[str, Kind] = kinds_of(job, kinds if kinds is not None else load_kinds())
        self._kept = kept

    @cached_property
    def variables(self) -> tuple[Variable, ...]:
        """The state variables of the job."""
        return self.compiled.network.variables

    @cached_property
    def compiled(self) -> Compiled:
        """The network of the job as it stands."""
        return self.compiled_with(Changes())

    @cached_property
    def scene(self) -> Scene:
        """The car as rules see it."""
        return scene_of(self.filled, self.kinds, self.compiled, self._cones_and_space)

    @cached_property
    def routes(self) -> Routes:
        """Which runs each wire follows, and how long that makes it."""
        found = wire_routes(self.job, self.kinds, self.filled)
        return found if self._kept is None else self._kept.alike("ways of wires", found)

    @cached_property
    def _answering(self) -> Answering:
        return Answering({"typed": self.job, "filled": self.filled, "taken": self.taken.job}, self._kept)

    @cached_property
    def _cones_and_space(self) -> tuple[Cones, Space]:
        compiled = self.compiled
        return self._answering.of("cones and space", (compiled,), lambda: (cones_of(compiled), space_of(compiled)))

    @cached_property
    def taken(self) -> Provisional:
        """The job that is solved: what nobody typed or decided is taken provisionally, and noted."""
        if not has_blanks(self.filled):
            return Provisional(job=self.filled, notes=())
        return provisional(self.filled, self.kinds, self.routes)

    def compiled_with(self, changes: Changes, state: State | None = None) -> Compiled:
        """The network with something changed, and with figures of the state that the job itself does not name."""
        answering = self._answering
        # conditions name figures of variables: the network rests on those, not on every row that has a condition
        own = answering.of("variables", (self.kinds,), lambda: variables_of(answering.job("filled"), self.kinds))
        standing = None if state or changes == Changes() else self.compiled

        def built() -> Network:
            variables = with_asked_figures(own, state or {})
            network = build_network(answering.job("taken"), self.kinds, changes, variables)
            return replace(network, notes=(*network.notes, *self.taken.notes))

        def compiled() -> Compiled:
            network = (on_trial(standing.network, changes) if standing is not None else None) or built()
            found = answering.newest(name) or (None if changes.shorts else standing)
            if found is None:
                return compile_network(network)
            return found if found.network == network else recompiled(found, network)

        name = f"network, {changes!r}, {sorted((state or {}).items())}"
        if state:
            return compiled()
        return answering.of(name, (self.kinds, self.taken.notes, own, standing), compiled)

    def solve(
        self,
        state: State | None = None,
        *,
        before: State | None = None,
        changes: Changes | None = None,
        **values: str | float,
    ) -> Solved:
        """The car in one state, `car.solve({"key": "start"})` or `car.solve(key="start")`.

        Args:
            state: values of variables; those not named are at rest.
            before: the state it came from.
            changes: what is unplugged, pulled, cut, bridged or stuck.
            values: more variables, by name.
        Raises:
            OutOfReach: an unknown variable, value, part or point.
        """
        state = {**(state or {}), **values}
        named = {**state, **(before or {})}
        if (changes is None or changes == Changes()) and self.knows(named):
            return solve(self.compiled, state, before)
        return solve(self.compiled_with(changes or Changes(), named), state, before)

    def heat(
        self,
        state: State | None = None,
        *,
        before: State | None = None,
        changes: Changes | None = None,
        after_s: float | None = None,
        on_off_s: tuple[float, float] | None = None,
        only: Sequence[str] = (),
        pressure_kpa: float | None = None,
    ) -> Warm:
        """How warm every wire is in one state, by itself and among the others in its runs.

        Args:
            state: values of variables; those not named are at rest.
            before: the state it came from.
            changes: what is unplugged, pulled, cut, bridged or stuck.
            after_s: so long after the currents came on in cold wires; settled where left out. [s]
            on_off_s: how long the currents come on and are off, over and over. [s]
            only: wires whose peak then is asked for; all that carry something where empty.
            pressure_kpa: of the air; at the sea where left out. [kPa]
        """
        amps = self.solve(state, before=before, changes=changes).amps
        return warm(
            self.taken.job,
            self.kinds,
            self.routes,
            amps,
            after_s=after_s,
            on_off_s=on_off_s,
            only=only,
            pressure_kpa=pressure_kpa,
        )

    @cached_property
    def laid(self) -> LaidCircuits:
        """The circuits' drawings laid out, to be painted in any state."""
        return laid_circuits(self.filled, self.kinds)

    @cached_property
    def in_states(self) -> InStates:
        """What the car does in its states, circuit by circuit; the newest answers are kept."""
        return InStates(self)

    def devices(self, state: State, before: State | None = None, changes: Changes | None = None) -> Mapping[str, bool]:
        """Which relays, controllers, motors and fuses are on in a state, by device name."""
        compiled = self.compiled_with(changes or Changes(), {**state, **(before or {})})
        return devices_on(compiled, state, before)

    def bench(self, state: State, before: State | None = None, changes: Changes | None = None) -> Bench:
        """The bench a meter is used on."""
        return Bench(
            job=self.taken.job,
            kinds=self.kinds,
            changes=changes or Changes(),
            state=state,
            before=before,
            variables=self._variables_for({**state, **(before or {})}),
        )

    def volts(self, a: str, b: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What a voltmeter reads between two points. [V]"""
        return read_volts(self.bench(state, changes=changes), a, b)

    def ohms(self, a: str, b: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What an ohmmeter reads between two points, battery off. [ohm]"""
        return read_ohms(self.bench(state, changes=changes), a, b)

    def amps(self, wire: str, state: State, *, changes: Changes | None = None) -> MeterReading:
        """What a clamp reads on a wire. [A]"""
        return read_amps(self.bench(state, changes=changes), wire)

    def lamp(self, a: str, b: str, watt: float, state: State, *, changes: Changes | None = None) -> MeterReading:
        """How a test lamp glows between two points. [A]"""
        return read_lamp(self.bench(state, changes=changes), a, b, watt)

    def knows(self, state: State) -> bool:
        """Whether the job itself names every variable and value of a state."""
        return names_all(self.variables, state)

    def _variables_for(self, state: State) -> tuple[Variable, ...]:
        """The job's variables, with figures of a state that none of its conditions names."""
        return with_asked_figures(variables_of(self.filled, self.kinds), state)
