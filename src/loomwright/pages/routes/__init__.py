"""One module a subject; the list of them is what the application answers to."""

from __future__ import annotations

from fastapi import APIRouter

from loomwright.pages.routes import (
    arrival,
    brief,
    built,
    car_page,
    circuits,
    decide,
    edits,
    fault,
    findings_page,
    fonts,
    grid,
    hours,
    mends,
    news,
    papers,
    patterns,
    photos,
    pins,
    questions,
    recipes,
    revisions,
    shelf_pages,
    snags,
    stages,
    things,
    truth,
    why,
    worst,
    wrong,
)

__all__ = ["ROUTERS"]

ROUTERS: tuple[APIRouter, ...] = (
    edits.router,
    news.router,
    fonts.router,
    shelf_pages.router,
    brief.router,
    stages.router,
    findings_page.router,
    mends.router,
    grid.router,
    recipes.router,
    decide.router,
    pins.router,
    fault.router,
    built.router,
    revisions.router,
    photos.router,
    papers.router,
    car_page.router,
    circuits.router,
    things.router,
    truth.router,
    why.router,
    worst.router,
    wrong.router,
    arrival.router,
    questions.router,
    snags.router,
    hours.router,
    patterns.router,
)
"""Every router, in the order in which addresses are looked up."""
