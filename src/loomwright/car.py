"""The front door: one job and its answers.

`Car` is one frozen revision of a job. Its answers are worked out when asked and kept; pages, commands and papers all
ask here, so they agree. Safe to ask from several threads: an answer may be worked out twice, never half.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import cached_property

from loomwright.checked import Checked, checked_of, route_notes
from loomwright.drawings.circuit_drawing import LaidCircuits, laid_circuits
from loomwright.findings import Finding
from loomwright.handover.answer_rows import rows_named
from loomwright.handover.in_states import InStates
from loomwright.handover.pack import Making, Pack, pack_of
from loomwright.handover.paper import paper_of
from loomwright.handover.plain_rows import Rows
from loomwright.handover.quote import quote_of
from loomwright.handover.quote_hours import HoursAgainst, hours_against
from loomwright.handover.quote_records import Quote
from loomwright.handover.records import Paper
from loomwright.handover.wire_list import notes_of
from loomwright.job.asked_values import names_all, with_asked_figures
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.variables import Variable, variables_of
from loomwright.loom.as_built import as_built
from loomwright.loom.as_built_records import AsBuilt
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.meter import Bench, MeterReading, read_amps, read_lamp, read_ohms, read_volts
from loomwright.network.records import Changes
from loomwright.network.solve import Solved, devices_on, solve
from loomwright.routes.records import Routes
from loomwright.routes.wire_routes import wire_routes
from loomwright.sizing.choosing import choose
from loomwright.sizing.provisional import Provisional, has_blanks, provisional
from loomwright.sizing.size_record import record_of
from loomwright.sizing.sized import Sized
from loomwright.sizing.why import Why, why_length, why_size
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import Searched, search
from loomwright.states.rulebook import state_watches
from loomwright.tables.kinds import Kind, load_kinds
from loomwright.trials.bench import Bench as TrialBench
from loomwright.trials.mend import Mends
from loomwright.trials.trying import mends_of
from loomwright.trials.wrong import Wrong, wrong_with

__all__ = ["Car", "Checked", "State"]

State = Mapping[str, str | float]
Tell = Callable[[int, int], None]


class Car:
    """One job and its answers.

    job: as the sheets have it.   filled: the same with what was decided in its blank cells; this is what is asked.
    """

    def __init__(self, job: Job, kinds: Mapping[str, Kind] | None = None) -> None:
        self.job = job
        self.filled = with_decided(job)
        self.kinds: Mapping[str, Kind] = kinds_of(job, kinds if kinds is not None else load_kinds())

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
        return scene_of(self.filled, self.kinds, self.compiled)

    @cached_property
    def routes(self) -> Routes:
        """Which runs each wire follows, and how long that makes it."""
        return wire_routes(self.job, self.kinds)

    def route_findings(self) -> tuple[Finding, ...]:
        """What the runs say of the wires, less what is waived; no state is looked at."""
        return route_notes(self.job, self.routes)

    @cached_property
    def taken(self) -> Provisional:
        """The job that is solved: what nobody typed or decided is taken provisionally, and noted."""
        if not has_blanks(self.filled):
            return Provisional(job=self.filled, notes=())
        return provisional(self.filled, self.kinds, self.routes)

    def sized(self, tell: Tell | None = None, look_at: Sequence[str] = ()) -> Sized:
        """Sizes and ratings for what is blank, with the limits that ruled; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            look_at: wires and fuses whose limits are asked for though their cell is typed.
        """
        named = tuple(sorted(look_at))
        known: dict[tuple[str, ...], Sized] = self.__dict__.setdefault("_sized", {})
        if named not in known:
            # what is taken provisionally is the same car as long as nothing is kept, built or looked at
            plain = not (named or self.job.decisions or self.job.progress)
            begun = self.scene if plain else None
            chosen = choose(self.job, self.kinds, self.routes, look_at=named, begun=begun, tell=tell)
            known[named] = record_of(chosen, self.routes)
        return known[named]

    def why(self, cell: str, tell: Tell | None = None) -> Why:
        """The way back of a size, a rating or a length: `car.why("W104.size_mm2")`.

        Raises:
            OutOfReach: no such wire or fuse, or a column nobody decides.
        """
        if cell.endswith(".length_mm"):
            return why_length(self.job, self.kinds, self.routes, cell)
        return why_size(self.job, cell, lambda look_at: self.sized(tell, look_at))

    def compiled_with(self, changes: Changes, state: State | None = None) -> Compiled:
        """The network with something changed, and with figures of the state that the job itself does not name."""
        network = build_network(self.taken.job, self.kinds, changes, self._variables_for(state or {}))
        return compile_network(replace(network, notes=(*network.notes, *self.taken.notes)))

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

    def check(self, tell: Tell | None = None, everything: bool = False) -> Checked:
        """Everything the rules find, in every state; worked out once and kept.

        Args:
            tell: called with states done and to do; may raise Stopped.
            everything: solve every raw state instead of proving most by bounds.
        """
        if everything or "_checked" not in self.__dict__:
            checked = self._check_now(tell, everything)
            if everything:
                return checked
            self.__dict__["_checked"] = checked
        return self._checked

    def _check_now(self, tell: Tell | None, everything: bool) -> Checked:
        return checked_of(
            self.job,
            self.scene,
            self.kinds,
            self.routes,
            compiled_with=self.compiled_with,
            tell=tell,
            everything=everything,
        )

    def mends(
        self, finding: Finding, tell: Tell | None = None, most: int = 2, among: Sequence[Finding] | None = None
    ) -> Mends:
        """The small edits that cure a finding, each tried on a copy of the job and searched again.

        Args:
            finding: one of those the check finds, folded ones too.
            tell: called with ideas tried and to try; may raise Stopped.
            most: no more are sought once so many are found. [-]
            among: what a check of this car found, where it is known already.
        """
        findings = tuple(among) if among is not None else self.check(tell).findings
        bench = TrialBench(job=self.job, kinds=self.kinds, scene=self.scene, findings=findings)
        return mends_of(bench, finding, lambda job: Car(job, self.kinds), most=most, tell=tell)

    def findings(self) -> tuple[Finding, ...]:
        """Everything the rules find."""
        return self._checked.findings

    @cached_property
    def _checked(self) -> Checked:
        return self._check_now(None, everything=False)

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

    def paper(self, *, date: str = "", tell: Tell | None = None) -> Paper:
        """What the first paper of the job says: cautions, findings, wires, readings to expect, fuses.

        Args:
            date: printed as it stands; none where empty.
            tell: called with states done and to do, where the check is not worked out yet; may raise Stopped.
        """
        checked = self.check(tell)
        return paper_of(
            self.filled,
            self.kinds,
            self.compiled,
            checked.findings,
            states_searched=checked.states_searched,
            date=date,
            notes=notes_of(self.job),
        )

    def pack(
        self, *, date: str = "", tell: Tell | None = None, making: Making | None = None, built: AsBuilt | None = None
    ) -> Pack:
        """What is taped to the bench and taken under the car: the paper, and all that is built and tested by.

        Args:
            date: printed as it stands; none where empty.
            tell: called with states done and to do, where the check is not worked out yet; may raise Stopped.
            making: told what is being worked out after that; may raise Stopped.
            built: what changes ask of what is built; without the job's past where left out.
        """
        checked = self.check(tell)
        return pack_of(
            self.job,
            self.scene,
            checked.findings,
            states_searched=checked.states_searched,
            date=date,
            built=built or (self.as_built() if self.job.progress else None),
            making=making,
        )

    def as_built(self, earlier: Mapping[int, Job] | None = None, renamed: Mapping[str, str] | None = None) -> AsBuilt:
        """What the job as it is now asks of the wires that are built already.

        Args:
            earlier: revision -> the job as it stood then, for revisions that progress names; none where left out.
            renamed: what a wire was called when it was built -> what it is called now.
        """
        ways_mm = {name: way.length_mm for name, way in self.routes.wires.items()}
        return as_built(self.job, earlier=earlier, ways_mm=ways_mm, renamed=renamed)

    @cached_property
    def quote(self) -> Quote:
        """What the job costs its owner: strip and survey, the rest, each wish; no state is solved for it."""
        return quote_of(self.filled, self.kinds, self.routes)

    @cached_property
    def hours(self) -> HoursAgainst:
        """The hours spent against those quoted, stage by stage."""
        return hours_against(self.job.hours, self.quote)

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

    def knows(self, state: State) -> bool:
        """Whether the job itself names every variable and value of a state."""
        return names_all(self.variables, state)

    def _variables_for(self, state: State) -> tuple[Variable, ...]:
        """The job's variables, with figures of a state that none of its conditions names."""
        return with_asked_figures(variables_of(self.filled, self.kinds), state)
