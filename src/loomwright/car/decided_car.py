"""What is decided for the blank cells, and what does that make of the loom? Pins, sizes, lengths, places, reels."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from loomwright.allocation.allocated import Allocation, allocate
from loomwright.allocation.cavities import Cavities, arranged
from loomwright.allocation.fuse_ways import FuseWays, fused_apart
from loomwright.allocation.other_ways import OtherWay, other_cavities, other_fuses
from loomwright.car.solved_car import SolvedCar, Tell
from loomwright.drawings.board.layout_board import Board, layout_board
from loomwright.handover.quote_work import with_routed_lengths
from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.loom.as_built import as_built
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.bench_list import BenchList, bench_list
from loomwright.loom.run_sheet import RunSheet, run_sheets
from loomwright.routes.bundles import bundles
from loomwright.routes.splice_places import SplicePlace, splice_places
from loomwright.sizing.choosing import choose
from loomwright.sizing.faults import Faults, faults_of
from loomwright.sizing.size_record import record_of
from loomwright.sizing.sized import Sized
from loomwright.sizing.why import Why, cell_named, why_length, why_size
from loomwright.sizing.why_need import why_need

__all__ = ["DecidedCar"]


class DecidedCar(SolvedCar):
    """The car with what is decided for its blank cells."""

    def sized(self, tell: Tell | None = None, look_at: Sequence[str] = ()) -> Sized:
        """Sizes and ratings for what is blank, with the limits that ruled; worked out once and kept.

        Args:
            tell: called with steps done and to do; may raise Stopped.
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

    def bench_list(self) -> BenchList:
        """Which piece comes off which reel, what is crimped on, what is to be ordered."""
        useless = self.as_built().useless if self.job.progress else frozenset()
        return bench_list(
            with_routed_lengths(self.filled, self.routes), useless, bundles(self.job, self.routes, self.filled)
        )

    def as_built(self, earlier: Mapping[int, Job] | None = None, renamed: Mapping[str, str] | None = None) -> AsBuilt:
        """What the job as it is now asks of the wires that are built already.

        Args:
            earlier: revision -> the job as it stood then, for revisions that progress names; none where left out.
            renamed: what a wire was called when it was built -> what it is called now.
        """
        ways_mm = {name: way.length_mm for name, way in self.routes.wires.items()}
        return as_built(self.job, earlier=earlier, ways_mm=ways_mm, renamed=renamed)

    def splice_places(self) -> tuple[SplicePlace, ...]:
        """Where each splice takes the least copper, of the places where it may lie."""
        return splice_places(self.job, self.kinds)

    def run_sheets(self, only: Collection[str] | None = None) -> Mapping[str, RunSheet]:
        """What lies in each run, how thick it is covered, whether it goes through its hole, how it bends."""
        return run_sheets(self.job, self.routes, only)

    def board(self) -> Board:
        """The loom laid flat at true size: pegs, runs, what comes out, the order of sleeving, what is missing."""
        return layout_board(self.filled, self.kinds, self.routes, vehicle_of(self.job).title or "job without a title")

    def faults(self) -> Faults:
        """Every wire shorted to the body at each end: current, when its fuse opens, how hot, and a verdict."""
        return faults_of(self.scene, {name: way.length_mm for name, way in self.routes.wires.items()})

    def allocated(self, tell: Tell | None = None) -> Allocation:
        """Which controller pin each need gets, proved the best, or why not all fit and ways out; kept once proved.

        Args:
            tell: called with steps done and to do; may raise Stopped: then the best found so far is given.
        Raises:
            BadDocument: needs or pins that cannot be meant, each with its row.
        """
        if "_allocated" not in self.__dict__:
            found = allocate(self.job, self.kinds, tell)
            if not found.proved:
                return found
            self.__dict__["_allocated"] = found
        kept: Allocation = self.__dict__["_allocated"]
        return kept

    @property
    def _amps(self) -> Mapping[str, float]:
        return {name: wire.amps for name, wire in self.sized().wires.items()}

    @property
    def _fuse_amps(self) -> Mapping[str, float]:
        return {name: fuse.amps for name, fuse in self.sized().fuses.items()}

    def cavities(self, connector: str = "", tell: Tell | None = None) -> Cavities:
        """A way of the connectors between looms for everything that passes through them.

        Args:
            connector: one of them, with those at its place; all where left out.
            tell: called with steps done and to do; may raise Stopped.
        Raises:
            OutOfReach: no such connector.
        """
        self.sized(tell)
        return arranged(self.job, self._amps, connector, tell)

    def fuse_ways(self, tell: Tell | None = None) -> FuseWays:
        """A fuse for every load, by rating, key state, what must not die together, and place.

        Args:
            tell: called with steps done and to do; may raise Stopped.
        """
        self.sized(tell)
        return fused_apart(self.job, self.kinds, self._amps, tell, through=self._fuse_amps)

    def other_cavities(self, answer: Cavities, was: str) -> tuple[OtherWay, ...]:
        """Where else what passes through a way could sit; `answer` is the car's own."""
        return other_cavities(self.job, self._amps, answer, was)

    def other_fuses(self, answer: FuseWays, wire: str) -> tuple[OtherWay, ...]:
        """Which other fuse a branch could hang on; `answer` is the car's own."""
        return other_fuses(self.job, self.kinds, self._amps, answer, wire, through=self._fuse_amps)

    def why(self, cell: str, tell: Tell | None = None) -> Why:
        """The way back of a size, a rating, a length or a pin: `car.why("W104.size_mm2")`, `car.why("FAN1.pin")`.

        Raises:
            OutOfReach: no such wire, fuse or need, or a column nobody decides.
        """
        if cell.endswith(".pin"):
            cell_named(self.job, cell)
            return why_need(self.job, self.allocated(tell), cell)
        if cell.endswith(".length_mm"):
            return why_length(self.job, self.kinds, self.routes, cell)
        return why_size(self.job, cell, lambda look_at: self.sized(tell, look_at))
