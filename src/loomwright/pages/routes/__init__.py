"""One module a subject; the list of them is what the application answers to."""

from __future__ import annotations

from fastapi import APIRouter

from loomwright.pages.routes import edits, news

__all__ = ["ROUTERS"]

ROUTERS: tuple[APIRouter, ...] = (edits.router, news.router)
"""Every router, in the order in which addresses are looked up."""
