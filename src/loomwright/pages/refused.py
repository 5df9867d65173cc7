"""How is a refusal told: as plain data to a script, in words on a page to a person?

What a request itself has wrong (a number that is none, a name that is too long) is told in the same shape as a cell
that cannot be read, so that there is one thing to look for.
"""

from __future__ import annotations

import logging
import secrets
from collections.abc import Mapping
from typing import Any

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from loomwright.pages.records.refusal_page import refusal_page
from loomwright.pages.rendering import page
from loomwright.pages.safe_headers import SAFE_HEADERS
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem, Refusal, as_plain

__all__ = ["ANSWERS", "broke", "nothing_there", "refused", "request_refused"]

_LOG = logging.getLogger("loomwright")
_SHOWN = 80
_NOT_READ, _NOT_LET_IN, _NOT_THEIRS, _NOT_THERE, _NOT_NOW = 400, 401, 403, 404, 409
_TOO_SLOW, _TOO_LARGE, _NO_SUCH_SORT, _NOT_SO, _BROKEN = 408, 413, 415, 422, 500
_WORDS = {_NOT_THERE: "nothing is at this address", 405: "this address is not asked in that way"}


class RefusedPlace(BaseModel):
    """One thing that stands in the way: where, what was found, what may stand there, what would mend it."""

    sheet: str
    row: int | None
    column: str
    found: str
    allowed: str
    mend: str


class Refused(BaseModel):
    """A refusal: everything that stands in the way."""

    refused: list[RefusedPlace]


ANSWERS: Mapping[int | str, dict[str, Any]] = {
    _NOT_READ: {"model": Refused, "description": "it cannot be taken apart"},
    _NOT_LET_IN: {"model": Refused, "description": "the device is not let in, or not any more"},
    _NOT_THEIRS: {"model": Refused, "description": "it is not for who asks, or no page of the shelf sent it"},
    _NOT_THERE: {"model": Refused, "description": "there is none of that name"},
    _TOO_SLOW: {"model": Refused, "description": "it came too slowly"},
    _TOO_LARGE: {"model": Refused, "description": "more was sent than is taken"},
    _NO_SUCH_SORT: {"model": Refused, "description": "what was sent is of a sort that is not taken"},
    _NOT_NOW: {"model": Refused, "description": "it cannot be answered or taken as things stand"},
    _NOT_SO: {"model": Refused, "description": "it is not taken as it was given"},
}
"""What every address may answer beside what it is asked for."""


def refused(request: Request, refusal: Exception, *, status: int = 0) -> Response:
    """A refusal, with the status that says what kind it is, unless one is given. status: of the answer. [-]"""
    kind = _NOT_THERE if isinstance(refusal, OutOfReach) else _NOT_NOW if isinstance(refusal, NoAnswer) else _NOT_SO
    status = status or kind
    is_page = not request.url.path.startswith("/api/") and "text/html" in request.headers.get("accept", "")
    if is_page and isinstance(refusal, Refusal):
        return page(request, "refusal.html", refusal_page(refusal), status=status)
    bad = refusal if isinstance(refusal, BadDocument) else BadDocument((_plain(str(refusal)),))
    return JSONResponse(as_plain(bad), status_code=status)


def request_refused(request: Request, fault: Exception) -> Response:
    """A request that does not say what it has to."""
    told = fault.errors() if isinstance(fault, RequestValidationError) else ()
    return refused(request, BadDocument(tuple(_problem(one) for one in told)))


def nothing_there(request: Request, fault: Exception) -> Response:
    """An address, or a way of asking it, that is none; a form that cannot be taken apart."""
    status = fault.status_code if isinstance(fault, HTTPException) else _NOT_THERE
    words = _WORDS.get(status, str(getattr(fault, "detail", fault)))
    return refused(request, BadDocument((_plain(words),)), status=status)


def broke(request: Request, fault: Exception) -> Response:
    """A mistake of ours: a word to look it up by, and nothing of what is inside."""
    word = secrets.token_hex(4)
    _LOG.error("%s: %s %s broke: %s", word, request.method, request.url.path, type(fault).__name__)
    words = f"it broke in here, which is a mistake of the program's; its own record has it under {word}"
    answer = JSONResponse(as_plain(BadDocument((_plain(words),))), _BROKEN)
    answer.headers.update(SAFE_HEADERS)
    return answer


def _problem(told: Mapping[str, Any]) -> Problem:
    """One piece of a request that cannot be read. told: where it stands, what it is, and what was looked for."""
    where = ".".join(str(piece) for piece in told["loc"][1:]) or "the request"
    found = str(told.get("input", ""))[:_SHOWN]
    allowed = str(told["msg"]).replace("Input should be ", "").replace("Field required", "something")
    return Problem(sheet="", row=None, column=where, found=found, allowed=allowed, mend="")


def _plain(words: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=words, allowed="", mend="")
