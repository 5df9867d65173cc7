"""What a request works with: the shelf, the check bench, the cars being asked, and who is asking."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import Request

from loomwright.allocation.allocated import Allocation
from loomwright.gearbox.fewest import TradeOff
from loomwright.handover.symptom import SymptomTable
from loomwright.logs.judged import Judged
from loomwright.loom.weighing import Weighed
from loomwright.pages.answer_bench import AnswerBench
from loomwright.pages.cars import Cars
from loomwright.pages.checking import CheckBench
from loomwright.pages.day_work import Days
from loomwright.pages.deciding import Decided
from loomwright.pages.doors.doorway import visitor_of
from loomwright.pages.gear_work import GearsFound
from loomwright.pages.meter_work import MeterBench
from loomwright.pages.news_board import NewsBoard
from loomwright.pages.paper_bench import PaperBench
from loomwright.pages.records.ways_page import Arranged
from loomwright.proving.coverage import Coverage
from loomwright.proving.fault_table import FaultTable
from loomwright.proving.plan import TestPlan
from loomwright.sizing.sized import Sized
from loomwright.sizing.tolerance import Strays
from loomwright.sizing.why import Why
from loomwright.sizing.worst_cases import WorstCases
from loomwright.store.shelf import Shelf
from loomwright.survey.records import NextReading
from loomwright.trials.accepting import Accepting
from loomwright.trials.mend import Mends
from loomwright.trials.wrong import Wrong

__all__ = ["Desk", "at_desk", "desk_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What requests work with. bench, papers, whys, mends, worsts, wrongs, strays, adds: what is worked out
    beside the pages.

    meters: those of the shop, while they are read.   news: who waits.

    who: the person at this server, or the name of the device that asks.
    """

    shelf: Shelf
    bench: CheckBench
    papers: PaperBench
    whys: AnswerBench[Why]
    mends: AnswerBench[Mends]
    worsts: AnswerBench[WorstCases]
    wrongs: AnswerBench[Wrong]
    strays: AnswerBench[Strays]
    adds: AnswerBench[Accepting]
    decides: AnswerBench[Decided]
    pins: AnswerBench[Allocation]
    faults: AnswerBench[FaultTable]
    plans: AnswerBench[TestPlan]
    coverages: AnswerBench[Coverage]
    sizes: AnswerBench[Sized]
    ways: AnswerBench[Arranged]
    placings: AnswerBench[tuple[Weighed, ...]]
    surveys: AnswerBench[tuple[NextReading, ...]]
    logs: AnswerBench[Judged]
    handovers: AnswerBench[Mapping[str, bytes]]
    gears: AnswerBench[GearsFound]
    fewests: AnswerBench[TradeOff]
    symptoms: AnswerBench[SymptomTable]
    meters: MeterBench
    news: NewsBoard
    cars: Cars
    days: Days
    who: str

    def close(self) -> None:
        """Stop what is being worked out."""
        self.news.close()
        self.bench.close()
        self.papers.close()
        self.whys.close()
        self.mends.close()
        self.worsts.close()
        self.wrongs.close()
        self.strays.close()
        self.adds.close()
        self.decides.close()
        self.pins.close()
        self.faults.close()
        self.plans.close()
        self.coverages.close()
        self.sizes.close()
        self.ways.close()
        self.placings.close()
        self.surveys.close()
        self.logs.close()
        self.handovers.close()
        self.gears.close()
        self.fewests.close()
        self.symptoms.close()
        self.meters.close()


def desk_of(request: Request) -> Desk:
    """The desk of a request, in the name of who asks."""
    desk: Desk = request.app.state.desk
    visitor = visitor_of(request)
    return desk if visitor is None or visitor.name == desk.who else replace(desk, who=visitor.name)


async def at_desk(request: Request) -> Desk:
    """The desk, for an address that asks for it; not worth a thread of its own."""
    return desk_of(request)
