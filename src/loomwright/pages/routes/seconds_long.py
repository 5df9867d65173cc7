"""What do pages have in common whose answer takes seconds: stopping it, working it out after all, a workbook of it?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fastapi import APIRouter, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.handover.lists import PackList
from loomwright.job.vehicle import vehicle_of
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerBench
from loomwright.pages.desk import Desk
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.sheets.list_workbook import pack_workbook

__all__ = ["offer_stop", "workbook_answer"]

_WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_SEE_OTHER = 303


_NO_QUERY: Mapping[str, str] = {}


def offer_stop(
    router: APIRouter,
    word: str,
    question: str,
    bench: Callable[[Desk], AnswerBench[Any]],
    *,
    part: str = "",
    query: Mapping[str, str] = _NO_QUERY,
) -> None:
    """Give a page, or a part of one, `stop` and `again`, which lead back to it.

    Args:
        word: of the page in its address.
        question: under which its answer is kept.
        bench: where it is worked out.
        part: of the page, in the address of its buttons and as the place that is come back to; the whole page if empty.
        query: the questions of the address that is come back to.
    """

    def stop(desk: AtDesk, job: JobName) -> Response:
        """Stop working it out."""
        bench(desk).stop((job, desk.shelf.now(job).revision, question))
        return RedirectResponse(job_path(job, word, query=query, at=part), _SEE_OTHER)

    def again(desk: AtDesk, job: JobName) -> Response:
        """Work it out after all."""
        bench(desk).again((job, desk.shelf.now(job).revision, question))
        return RedirectResponse(job_path(job, word, query=query, at=part), _SEE_OTHER)

    path = f"/j/{{job}}/{word}/{part}" if part else f"/j/{{job}}/{word}"
    for name, answer in (("stop", stop), ("again", again)):
        router.add_api_route(f"{path}/{name}", answer, methods=["POST"], include_in_schema=False)


def workbook_answer(car: Car, lists: Sequence[PackList], *, revision: int, called: str) -> Response:
    """Lists of a car as a workbook to be kept.

    Args:
        revision: of the job. [-]
        called: the file's name before its revision.
    """
    data = pack_workbook(lists, title=vehicle_of(car.filled).title, revision=str(revision))
    name = f"{called} revision {revision}.xlsx"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return Response(data, media_type=_WORKBOOK, headers=headers)
