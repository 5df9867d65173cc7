"""One module a subject; the list of them is what the application answers to."""

from __future__ import annotations

from fastapi import APIRouter

from loomwright.pages.routes import edits, findings_page, fonts, grid, news, patterns, shelf_pages, stages

__all__ = ["ROUTERS"]

ROUTERS: tuple[APIRouter, ...] = (
    edits.router,
    news.router,
    fonts.router,
    shelf_pages.router,
    stages.router,
    findings_page.router,
    grid.router,
    patterns.router,
)
"""Every router, in the order in which addresses are looked up."""
