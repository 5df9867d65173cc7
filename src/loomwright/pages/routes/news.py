"""What has changed and what the rules find now, for pages that stay open."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Query

from loomwright.findings import as_plain as finding_as_plain
from loomwright.pages.checking import Standing
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router", "standing_plain"]

router = APIRouter(prefix="/api")

_LONGEST_WAIT_S = 25.0
WaitS = Annotated[float, Query(ge=0, le=_LONGEST_WAIT_S)]


@router.get("/j/{job}/news")
async def news(
    desk: AtDesk, job: JobName, after: Annotated[int, Query(ge=0, le=2**53)], wait_s: WaitS = _LONGEST_WAIT_S
) -> dict[str, Any]:
    """Wait for a revision after the one known; gives the newest there is then."""
    revision = await desk.news.wait(job, after, at_most_s=wait_s)
    return {"revision": revision}


@router.get("/j/{job}/findings")
def findings(desk: AtDesk, job: JobName) -> dict[str, Any]:
    """The findings of the newest revision, or how far they are worked out."""
    return standing_plain(desk.bench.look(desk.shelf.now(job)))


@router.post("/j/{job}/stop")
def stop(desk: AtDesk, job: JobName) -> dict[str, Any]:
    """Stop the check that runs for this job."""
    desk.bench.stop(desk.shelf.now(job))
    return {"stopped": True}


@router.post("/j/{job}/again")
def again(desk: AtDesk, job: JobName) -> dict[str, Any]:
    """Check after all what was stopped."""
    snapshot = desk.shelf.now(job)
    desk.bench.again(snapshot)
    return standing_plain(desk.bench.look(snapshot))


def standing_plain(standing: Standing) -> dict[str, Any]:
    """How far a check is, as plain data."""
    told: dict[str, Any] = {
        "revision": standing.revision,
        "known": standing.is_known,
        "stopped": standing.stopped,
        "done": standing.done,
        "of": standing.of,
        "ahead": standing.ahead,
        "problems": [asdict(problem) for problem in standing.problems],
    }
    if standing.checked is not None:
        told["findings"] = [finding_as_plain(finding) for finding in standing.checked.findings]
        told["states_searched"] = standing.checked.states_searched
    return told
