"""The front door: one job and its answers.

`Car` is one frozen revision of a job. Its answers are worked out when asked and kept; pages, commands and papers all
ask here, so they agree. Safe to ask from several threads: an answer may be worked out twice, never half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, partial

from loomwright.allocation.pin_decisions import with_pins
from loomwright.calibration.starting import StartNumbers
from loomwright.car.asked_car import AskedCar
from loomwright.car.solved_car import Tell
from loomwright.findings import Finding
from loomwright.handover.connector_faces import cavities_of, connector_faces
from loomwright.handover.pack import Making, Pack, pack_of
from loomwright.handover.paper import paper_of
from loomwright.handover.proof_plan import Planned, plan_of
from loomwright.handover.quote import quote_of
from loomwright.handover.quote_hours import HoursAgainst, hours_against
from loomwright.handover.quote_learnt import Learnt, learnt_of
from loomwright.handover.quote_records import Quote
from loomwright.handover.records import Paper
from loomwright.handover.revision_sheet import NO_PAST, History
from loomwright.handover.side_by_side import placed_in, weighed_car
from loomwright.handover.wire_list import notes_of
from loomwright.job.job import Job
from loomwright.job.kept_answers import KeptAnswers
from loomwright.job.rows import Reading
from loomwright.job.shop_terms import shop_terms_of
from loomwright.logs.beside import SupplyVolts
from loomwright.logs.drive import Recording
from loomwright.logs.dyno import Readiness, readiness
from loomwright.logs.fuel_table import FuelTable, table_from_rows
from loomwright.logs.judged import Judged, judged
from loomwright.logs.mapping import Mapped
from loomwright.logs.own_limits import mapped_for
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.weighing import Weighed
from loomwright.proving.locate import Located
from loomwright.refusals import BadDocument, NoAnswer
from loomwright.sizing.choosing import STEPS_MOST
from loomwright.sizing.decisions import kept
from loomwright.startup.first_start import FirstStart, Volts, first_start
from loomwright.startup.job_numbers import numbers_of
from loomwright.startup.solved_volts import volts_from
from loomwright.tables.kinds import Kind
from loomwright.trials.bench import Bench as TrialBench
from loomwright.trials.logged import logged_readings, supply_volts
from loomwright.trials.mend import Mends
from loomwright.trials.trying import mends_of
from loomwright.worklist.day import Day, day_of

__all__ = ["Car"]


class Car(AskedCar):
    """One job and its answers.

    job: as the sheets have it.   filled: the same with what was decided in its blank cells; this is what is asked.
    """

    @classmethod
    def begun(cls, job: Job, kinds: Mapping[str, Kind] | None = None) -> Car:
        """The car of a job that is going to be edited: what it finds is kept for the cars `after` it."""
        return cls(job, kinds, kept=KeptAnswers())

    def after(self, job: Job) -> Car:
        """The car of the job as an edit left it, which takes over what this one found and the edit left alone.

        Its findings are those of a car of that job made afresh. What is kept is bounded, and shared by all cars that
        come of one that was `begun`; a car that was not begins to keep here.
        """
        made = Car(job, self.kinds, kept=self._kept or KeptAnswers())
        if job.kinds == self.job.kinds:
            made.kinds = self.kinds
        return made

    def weighed(self, name: str, tell: Tell | None = None) -> Weighed:
        """What this job weighs, loses, warms and costs: one row of a table that holds several side by side."""
        return weighed_car(self, name, tell=tell)

    def placed(self, parts: Sequence[str], places: Sequence[str], tell: Tell | None = None) -> tuple[Weighed, ...]:
        """Some parts together at each of several places, routed, sized and solved there: where they are now first.

        Args:
            parts: those that are moved together.
            places: where they might sit.
            tell: called with states done and to do; may raise Stopped.
        """
        return placed_in(self, parts, places, lambda job: Car(job, self.kinds), tell)

    def worked_out(self, tell: Tell | None = None) -> Car:
        """The car with everything that is blank decided: pins of needs, lengths, sizes and ratings.

        Args:
            tell: called with steps done and to do, the pins the first of them; may raise Stopped.
        """
        pins, sizes = (None, None) if tell is None else (partial(_pins_told, tell), partial(_sizes_told, tell))
        job = self.job
        if any(not need.pin for need in job.needs):
            job = with_pins(self.allocated(pins))
        pinned = self if job is self.job else Car(job, self.kinds)
        return Car(kept(job, pinned.kinds, pinned.routes, pinned.sized(sizes)), pinned.kinds)

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
        after = self.after if self._kept is not None else lambda job: Car(job, self.kinds)
        return mends_of(bench, finding, after, most=most, tell=tell)

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
        self,
        *,
        date: str = "",
        tell: Tell | None = None,
        making: Making | None = None,
        built: AsBuilt | None = None,
        history: History = NO_PAST,
    ) -> Pack:
        """What is taped to the bench and taken under the car: the paper, and all that is built and tested by.

        Args:
            date: printed as it stands; none where empty.
            tell: called with states done and to do, where the check is not worked out yet; may raise Stopped.
            making: told what is being worked out after that; may raise Stopped.
            built: what changes ask of what is built; without the job's past where left out.
            history: what is known of that past: its revisions, what changed since one of them.
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
            numbers=self.known_numbers,
            history=history,
        )

    def proof_plan(self, air_c: float | None = None) -> Planned:
        """What is measured on the new loom, in which order, and what a sound car reads.

        Args:
            air_c: the air the car stands in; as it was last read, else 20, where left out. [degC]
        """
        return plan_of(self.scene, self.job.proofs, air_c=air_c)

    def day(self, work: str = "") -> Day:
        """The next things to do, as somebody under the dash takes them along; those of one work alone where named.

        Args:
            work: survey, build, fit, prove or start; all where left out.
        """
        return day_of(
            self.filled,
            self.routes,
            plan=self.proof_plan().plan if work in ("", "prove") else None,
            survey=self.survey(is_full=False) if work in ("", "survey") else None,
            start=self.first_start() if work in ("", "start") else None,
            built=self.as_built() if self.job.progress else None,
            cavities=cavities_of(connector_faces(self.filled, self.kinds)),
        )

    def first_start(self) -> FirstStart:
        """The go / no-go list of the first start, with what the solved network expects where there is a battery."""
        return first_start(self.job, self._volts_between)

    def numbers(self, said: Mapping[str, object] | None = None) -> StartNumbers:
        """The numbers its engine starts with; `said`: what is known of it beside the sheets.

        Raises:
            BadDocument: what is known of the engine cannot be meant, or is not enough for any number.
        """
        return numbers_of(self.filled, self._volts_between, said)

    @cached_property
    def known_numbers(self) -> StartNumbers | None:
        """The numbers its engine starts with; None where too little is known of it."""
        try:
            return self.numbers()
        except BadDocument:
            return None

    @cached_property
    def _volts_between(self) -> Volts | None:
        has_volts = any(part.kind == "battery" for part in self.job.parts)
        return volts_from(self.solve, frozenset(one.name for one in self.variables)) if has_volts else None

    @cached_property
    def quote(self) -> Quote:
        """What the job costs its owner: strip and survey, the rest, each wish; no state is solved for it."""
        return quote_of(self.filled, self.kinds, self.routes)

    @cached_property
    def hours(self) -> HoursAgainst:
        """The hours spent against those quoted, stage by stage."""
        return hours_against(self.job.hours, self.quote)

    @property
    def learnt(self) -> Learnt:
        """What the job, once it is done, teaches the next quote."""
        return learnt_of(self.quote, self.hours, shop_terms_of(self.job))

    @cached_property
    def supply_volts(self) -> SupplyVolts | None:
        """What the network has across the controller's supply, cranking and idling; None without a controller."""
        try:
            return supply_volts(self.scene, self.filled, self.solve)
        except NoAnswer:  # no battery in the sheets yet: a drive is judged all the same
            return None

    @cached_property
    def fuel_table(self) -> FuelTable | None:
        """The fuel table that the sheet `vehicle` keeps, if any."""
        return table_from_rows((row.name, row.value) for row in self.job.vehicle)

    def logged(self, recording: Recording, mapped: Mapped | None = None, table: FuelTable | None = None) -> Judged:
        """What a recorded drive says of this car, its supply held against the network.

        Args:
            mapped: what was typed of its columns.
            table: the fuel table; the job's own where left out.
        Raises:
            NoAnswer: nothing in it can be read.
        """
        return judged(recording, mapped_for(mapped or Mapped(), self.job), table or self.fuel_table, self.supply_volts)

    def dyno(
        self, drive: Judged | None = None, log: str = "log", earlier: Sequence[tuple[str, Judged]] = ()
    ) -> Readiness:
        """What is left before the dyno: each criterion with the record that meets it, or open.

        Args:
            drive: what the newest drive said; None where there is none.
            log: the drive's name on the record.
            earlier: names and drives before it, the newest first.
        """
        return readiness(drive, self.job.gates, self.job.proofs, log, earlier)

    def why_logged(self, drive: Judged, tell: Tell | None = None) -> Located | None:
        """Which single fault explains volts in a drive that the network does not have; None where they agree.

        Args:
            drive: judged by `logged`.
            tell: called with faults done and to do; may raise Stopped.
        """
        readings = self.readings_logged(drive)
        return self.located(readings, tell) if readings else None

    def readings_logged(self, drive: Judged) -> tuple[Reading, ...]:
        """Where a drive disagrees with the network, as readings for the fault finder.

        Args:
            drive: judged by `logged`.
        """
        return logged_readings(drive, self.supply_volts)


def _pins_told(tell: Tell, _done: int, _of: int) -> None:
    tell(0, 1 + STEPS_MOST)


def _sizes_told(tell: Tell, done: int, _of: int) -> None:
    tell(1 + done, 1 + STEPS_MOST)
