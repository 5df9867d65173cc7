"""What holds in every state, with one thing wrong, with figures astray, and after what was read?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from functools import cached_property, partial

from loomwright.car.decided_car import DecidedCar
from loomwright.car.solved_car import State, Tell
from loomwright.checked import Checked, checked_of, route_notes
from loomwright.findings import Finding
from loomwright.gearbox.box import Box
from loomwright.gearbox.unplugged import unplugged_findings
from loomwright.handover.answer_rows import rows_named
from loomwright.handover.later_visit import symptom_of
from loomwright.handover.plain_rows import Rows
from loomwright.handover.symptom import SymptomAsked, SymptomTable, symptom_table
from loomwright.handover.symptom_causes import Symptom, symptom_causes
from loomwright.job.asked_values import with_asked_figures
from loomwright.job.conditions import ALWAYS
from loomwright.job.rows import Reading
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.proving.fault_table import FaultTable, fault_table
from loomwright.proving.locate import Located, asked_of, locate
from loomwright.sizing.tolerance import CARS, Strays, strays_of
from loomwright.sizing.worst_cases import WorstCases, worst_cases
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import Searched, search
from loomwright.states.rulebook import state_watches
from loomwright.states.truth.table import TruthTable
from loomwright.states.truth.typed import truth_of
from loomwright.survey.identify import survey_of
from loomwright.survey.records import Survey
from loomwright.trials.wrong import Wrong, wrong_with

__all__ = ["AskedCar"]


class AskedCar(DecidedCar):
    """The car asked in every state."""

    def route_findings(self) -> tuple[Finding, ...]:
        """What the runs say of the wires, less what is waived; no state is looked at."""
        return route_notes(self.job, self.routes)

    def located(
        self,
        readings: Sequence[Reading] | None = None,
        tell: Tell | None = None,
        table: FaultTable | None = None,
    ) -> Located:
        """Which single fault explains what was read, and what to read next.

        Args:
            readings: those of the job at points of it, where left out.
            tell: called with faults done and to do; may raise Stopped.
            table: what every point reads with every fault, where it is known already; without it, and with readings,
                the faults are solved in the states of the readings alone.
        Raises:
            BadDocument: a reading at no point of the job, or in a state that is none.
        """
        read = [one for one in self.job.readings if one.point] if readings is None else list(readings)
        scene = self._scene_for(read)
        if table is None and ("_faults_read" in self.__dict__ or not read):
            table = self.faults_read(tell)
        kept = self.__dict__.setdefault("_fault_columns", {}) if scene is self.scene else None
        return locate(scene, read, table, tell, kept)

    def symptom(self, asked: SymptomAsked, tell: Tell | None = None, table: SymptomTable | None = None) -> Symptom:
        """Where to put a hand first when parts do nothing, and which look or reading parts what is left.

        Args:
            asked: what is dead, what works, and the state; sought where left out.
            tell: called with faults done and to do; may raise Stopped.
            table: of the same parts and state, where it is worked out already.
        Raises:
            OutOfReach: no such part, or it should carry nothing in that state.
        """
        scene = self._scene_when(asked)
        for name in asked.works:
            symptom_of(self.job, name, ALWAYS, asked_as="works")
        return symptom_causes(scene, table or self.symptom_table(asked, tell), asked.works)

    def symptom_table(self, asked: SymptomAsked, tell: Tell | None = None) -> SymptomTable:
        """Every fault in the state in which the parts should work.

        Args:
            tell: called with faults done and to do; may raise Stopped.
        Raises:
            OutOfReach: no such part, or it should carry nothing in that state.
        """
        wires = [symptom_of(self.job, name, ALWAYS, asked_as="dead").point for name in asked.dead]
        return symptom_table(self._scene_when(asked), wires, asked.when, asked.dead, tell)

    def _scene_when(self, asked: SymptomAsked) -> Scene:
        return self._scene_for([Reading(point="", when=asked.when)] if asked.when is not None else [])

    def asks_after(self, readings: Sequence[Reading]) -> None:
        """Refuses readings that cannot be meant: BadDocument, with all that is wrong with them."""
        asked_of(self._scene_for(readings), readings)

    def faults_read(self, tell: Tell | None = None) -> FaultTable:
        """What every point reads with every fault, in the states one measures in; worked out once and kept.

        Args:
            tell: called with faults done and to do; may raise Stopped.
        """
        if "_faults_read" not in self.__dict__:
            self.__dict__["_faults_read"] = fault_table(self.scene, tell)
        found: FaultTable = self.__dict__["_faults_read"]
        return found

    def _scene_for(self, readings: Sequence[Reading]) -> Scene:
        """The car with figures of the readings' states that the job itself does not name."""
        variables = self.variables
        for reading in readings:
            figures = {term.variable: term.values[0] for term in reading.when.terms if term.op == "="}
            variables = with_asked_figures(variables, figures)
        if variables == self.variables:
            return self.scene
        network = build_network(self.taken.job, self.kinds, Changes(), variables)
        return scene_of(self.filled, self.kinds, compile_network(network))

    def check(
        self, tell: Tell | None = None, everything: bool = False, fixed: Mapping[str, str] | None = None
    ) -> Checked:
        """Everything the rules find, in every state; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            everything: solve every raw state instead of proving most by bounds.
            fixed: variable -> the value it is held at in every state; states with another are not asked.
        Raises:
            NoAnswer: there are too many states; says which variables to fix.
            OutOfReach: an unknown variable or value is to be held.
        """
        if everything or fixed or "_checked" not in self.__dict__:
            checked = self._check_now(tell, everything, fixed)
            if everything or fixed:
                return checked
            self.__dict__["_checked"] = checked
        return self._checked

    def _check_now(self, tell: Tell | None, everything: bool, fixed: Mapping[str, str] | None) -> Checked:
        check = partial(checked_of, compiled_with=self.compiled_with, tell=tell, everything=everything, fixed=fixed)
        if self._kept is not None and not (everything or fixed):
            answering, known = self._answering, self._cones_and_space
            filled, compiled = answering.job("filled"), self.compiled
            scene = answering.for_all(lambda: scene_of(filled, self.kinds, compiled, known, answering))
            found = check(answering.job("typed"), scene, self.kinds, self.routes, answering=answering)
            if found is not None:
                return found
            self._kept.forget()
        found = check(self.job, self.scene, self.kinds, self.routes)
        assert found is not None
        return found

    def findings(self) -> tuple[Finding, ...]:
        """Everything the rules find."""
        return self._checked.findings

    @cached_property
    def _checked(self) -> Checked:
        return self._check_now(None, everything=False, fixed=None)

    def wrong(self, tell: Tell | None = None, executor: Executor | None = None) -> Wrong:
        """One thing wrong, each in turn: what goes dead, starts, is overloaded; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            executor: tries pieces of it, such as one of processes; here and now where left out.
        """
        if "_wrong" not in self.__dict__:
            self.__dict__["_wrong"] = wrong_with(self.scene, tell, executor)
        found: Wrong = self.__dict__["_wrong"]
        return found

    def gear_unplugged(self, box: Box) -> tuple[Finding, ...]:
        """What the network says of the gear and the pressure left with gearbox, controller or fuse off, at idle."""
        said = {"key": "run", "engine": "idle"}
        state = {one.name: said[one.name] for one in self.variables if said.get(one.name) in one.values}
        return unplugged_findings(box, self.taken.job, lambda changes: self.solve(state, changes=changes).amps)

    def worst(self, tell: Tell | None = None) -> WorstCases:
        """The most each thing ever carries, and in which state; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
        """
        if "_worst" not in self.__dict__:
            self.__dict__["_worst"] = worst_cases(self.scene, tell)
        found: WorstCases = self.__dict__["_worst"]
        return found

    def strays(
        self, *, samples: int = CARS, seed: int = 1, tell: Tell | None = None, executor: Executor | None = None
    ) -> Strays:
        """How far volts and amps stray when every figure is a little off, and what still passes.

        Args:
            samples: cars drawn. [-]
            seed: another one draws other cars. [-]
            tell: called with what is done and to do; may raise Stopped.
            executor: solves pieces of it, such as one of processes; changes no digit; here and now where left out.
        Raises:
            OutOfReach: no samples, or too many.
        """
        return strays_of(self.scene, cars=samples, seed=seed, tell=tell, executor=executor)

    def truth(
        self, points: str, over: str = "", state: State | None = None, before: State | None = None, most: int = 20_000
    ) -> TruthTable:
        """What points do in every combination of variables: `car.truth("LA1.1, K1", "key, SW1")`.

        Args:
            points: terminals, wires, parts, parted by commas.
            over: variables, or some of their values, `key=off|run`; what decides the points where empty.
            state: the others; those not named are at rest.
            before: the state each row is come to from.
            most: combinations worked out at most. [-]
        Raises:
            OutOfReach: a point, variable or value the car does not have, or too many combinations.
        """
        compiled = self.compiled_with(Changes(), {**(state or {}), **(before or {})})
        system_v = self.scene.vehicle.system_v
        return truth_of(compiled, points, over, at=state or {}, before=before, system_v=system_v, most=most)

    def survey(self, *, is_full: bool = True, tell: Tell | None = None) -> Survey:
        """What each old wire is, how sure, what to read next, what becomes of it; worked out once and kept.

        Args:
            is_full: the next reading is weighed by what it tells of all wires together, else of its own alone.
            tell: called with readings tried and to try; may raise Stopped.
        """
        known: dict[bool, Survey] = self.__dict__.setdefault("_survey", {})
        if is_full not in known:
            known[is_full] = survey_of(self.job, is_full=is_full, tell=tell)
        return known[is_full]

    def rows(
        self,
        name: str,
        state: State | None = None,
        *,
        before: State | None = None,
        changes: Changes | None = None,
        filled: bool = False,
        **values: str | float,
    ) -> Rows:
        """An answer or a sheet as flat rows: `car.rows("findings")`, `car.rows("volts", key="start")`.

        Args:
            name: a sheet, or an answer of `handover.answer_rows`.
            state: for volts, amps and relays: values of variables; those not named are at rest.
            before: for the same: the state it came from.
            changes: for the same: what is unplugged, pulled, cut, bridged or stuck.
            filled: a sheet with what was decided in its blank cells, and which cells those are.
            values: more variables, by name.
        Raises:
            OutOfReach: no such rows, or something asked of rows that do not have it.
        """
        asked = {**(state or {}), **values} if state is not None or values else None
        return rows_named(self, name, asked, before=before, changes=changes, filled=filled)

    def searched(self, tell: Tell | None = None) -> Searched:
        """The search alone, for those who want its states."""
        return search(self.compiled, state_watches(self.scene), tell)
