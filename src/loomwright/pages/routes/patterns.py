"""The page of patterns: every piece that pages are put together from, at both sizes, so that it can be looked at."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from loomwright.pages.records.patterns_page import patterns_page
from loomwright.pages.rendering import page

__all__ = ["router"]

router = APIRouter(include_in_schema=False)


@router.get("/patterns")
def patterns(request: Request) -> HTMLResponse:
    """Every component and every weight of finding."""
    return page(request, "patterns.html", patterns_page(request.query_params.get("set", "")))
