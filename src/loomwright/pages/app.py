"""The web application: the shelf on one side, pages and answers on the other.

Everything a request needs hangs on one `Desk`. Refusals become an answer in one place: words on a page, plain data
for a script. Nothing is loaded from elsewhere and nothing inline is run; the policy says so to the browser.
"""

from __future__ import annotations

import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from fastapi.telemetry import TelemetryConfig
from starlette.exceptions import HTTPException

from loomwright.pages.addresses import offered_paths
from loomwright.pages.answer_bench import AnswerBench
from loomwright.pages.cars import Cars
from loomwright.pages.checking import CheckBench
from loomwright.pages.cut_off import CutOff
from loomwright.pages.day_work import Days
from loomwright.pages.desk import Desk
from loomwright.pages.doors.door import Door
from loomwright.pages.doors.doorway import Doorway, here_alone
from loomwright.pages.doors.once import Once
from loomwright.pages.first_page import ask_first_page
from loomwright.pages.meter_work import MeterBench
from loomwright.pages.news_board import NewsBoard
from loomwright.pages.paper_bench import PaperBench
from loomwright.pages.refused import ANSWERS, broke, nothing_there, refused, request_refused
from loomwright.pages.routes import ROUTERS
from loomwright.pages.safe_headers import SafeHeaders
from loomwright.refusals import Refusal
from loomwright.store.shelf import Shelf

__all__ = ["make_app"]

_TELLS_NOBODY: TelemetryConfig = {
    "tracing": False,
    "metrics": False,
    "logs": False,
    "operation_spans": False,
    "auto_configure": False,
}
"""What goes on at this desk stays here, whatever the machine is set up to report."""


def make_app(shelf: Shelf, *, who: str, doorway: Doorway | None = None) -> FastAPI:
    """The application on a shelf; the shelf is closed by whoever opened it.

    Args:
        who: the person at this machine.
        doorway: who else comes in; nobody where there is none.
    """
    doorway = doorway or here_alone(who)
    desk = _desk_on(shelf, who)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        desk.bench.warm()
        await ask_first_page(app)
        # what is loaded stays: looking through all of it again held a page up for a quarter of a second now and then
        gc.collect()
        gc.freeze()
        yield
        gc.unfreeze()
        desk.close()

    app = FastAPI(
        title="loomwright", version="1", lifespan=lifespan, docs_url=None, redoc_url=None, telemetry=_TELLS_NOBODY
    )
    app.state.desk = desk
    app.state.doorway = doorway
    app.add_exception_handler(Refusal, refused)
    app.add_exception_handler(RequestValidationError, request_refused)
    app.add_exception_handler(HTTPException, nothing_there)
    app.add_exception_handler(Exception, broke)
    # the last is passed first
    app.add_middleware(Once)
    app.add_middleware(Door, doorway=doorway)
    app.add_middleware(CutOff)
    app.add_middleware(SafeHeaders, doorway=doorway)
    static = Path(str(resources.files("loomwright.pages").joinpath("static")))
    app.mount("/static", StaticFiles(directory=static), name="static")
    for router in ROUTERS:
        app.include_router(router, responses=dict(ANSWERS))
    app.state.offered = offered_paths(
        route.path for router in ROUTERS for route in router.routes if hasattr(route, "path")
    )
    return app


def _desk_on(shelf: Shelf, who: str) -> Desk:
    """What lies on the desk of one application: its shelf, and a bench for each thing that takes longer."""
    return Desk(
        shelf=shelf,
        bench=CheckBench(),
        papers=PaperBench(shelf.folder),
        whys=AnswerBench(),
        mends=AnswerBench(),
        worsts=AnswerBench(),
        wrongs=AnswerBench(),
        strays=AnswerBench(),
        adds=AnswerBench(),
        decides=AnswerBench(),
        pins=AnswerBench(),
        faults=AnswerBench(kept=2),
        plans=AnswerBench(kept=8),
        coverages=AnswerBench(kept=4),
        sizes=AnswerBench(kept=8),
        ways=AnswerBench(kept=8),
        placings=AnswerBench(),
        surveys=AnswerBench(),
        logs=AnswerBench(kept=8),
        handovers=AnswerBench(kept=2),
        gears=AnswerBench(kept=8),
        fewests=AnswerBench(kept=8),
        symptoms=AnswerBench(kept=8),
        meters=MeterBench(),
        news=NewsBoard(shelf),
        cars=Cars(),
        days=Days(),
        who=who,
    )
