"""The web application: the shelf on one side, pages and answers on the other.

Everything a request needs hangs on one `Desk`. Refusals become an answer in one place: words on a page, plain data
for a script. Nothing is loaded from elsewhere and nothing inline is run; the policy says so to the browser.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse
from fastapi.staticfiles import StaticFiles

from loomwright.pages.addresses import offered_paths
from loomwright.pages.cars import Cars
from loomwright.pages.checking import CheckBench
from loomwright.pages.desk import Desk
from loomwright.pages.records.refusal_page import refusal_page
from loomwright.pages.rendering import page
from loomwright.pages.routes import ROUTERS
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Refusal, as_plain
from loomwright.store.shelf import Shelf

__all__ = ["make_app"]

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
}


def make_app(shelf: Shelf, *, who: str) -> FastAPI:
    """The application on a shelf; the shelf is closed by whoever opened it."""
    desk = Desk(shelf=shelf, bench=CheckBench(), cars=Cars(), who=who)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        desk.bench.warm()
        yield
        desk.bench.close()

    app = FastAPI(title="loomwright", version="1", lifespan=lifespan, docs_url=None, redoc_url=None)
    app.state.desk = desk
    app.add_exception_handler(Refusal, _refused)
    app.middleware("http")(_with_headers)
    static = Path(str(resources.files("loomwright.pages").joinpath("static")))
    app.mount("/static", StaticFiles(directory=static), name="static")
    for router in ROUTERS:
        app.include_router(router)
    app.state.offered = offered_paths(
        route.path for router in ROUTERS for route in router.routes if hasattr(route, "path")
    )
    return app


async def _with_headers(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
    answer = await call_next(request)
    for name, value in _HEADERS.items():
        answer.headers.setdefault(name, value)
    return answer


def _refused(request: Request, refusal: Exception) -> Response:
    """A refusal, with the status that says what kind it is: plain data for a script, words on a page for a person."""
    status = 404 if isinstance(refusal, OutOfReach) else 409 if isinstance(refusal, NoAnswer) else 422
    is_page = not request.url.path.startswith("/api/") and "text/html" in request.headers.get("accept", "")
    if is_page and isinstance(refusal, Refusal):
        return page(request, "refusal.html", refusal_page(refusal), status=status)
    told = as_plain(refusal) if isinstance(refusal, BadDocument) else {"refused": [{"found": str(refusal)}]}
    return JSONResponse(told, status_code=status)
