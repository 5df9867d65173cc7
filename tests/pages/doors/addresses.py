"""Every address of the application, found by walking its routers, with something to ask it by."""

from __future__ import annotations

import re

from fastapi import FastAPI
from fastapi.routing import APIRoute

from loomwright.pages.routes import ROUTERS
from tests.pages.doors.shop import JOB

FILLED = {"job": JOB, "sheet": "wires", "row": "1", "number": "1", "wire": "W3", "part": "LA1", "cell": "W3.length_mm"}
READS = {"GET", "HEAD", "OPTIONS"}


def all_routes() -> list[APIRoute]:
    """Every address of every router."""
    return [route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)]


def ways_in(app: FastAPI) -> set[tuple[str, str]]:
    """Every method and address of an application, whatever holds it."""
    return {
        (method, route.path)
        for route in app.routes
        for method in (getattr(route, "methods", None) or {"GET"})
        if hasattr(route, "path")
    } | {(method, route.path) for route in all_routes() for method in route.methods}


def changes() -> list[tuple[str, str]]:
    """Every method and address that changes something, as the method says."""
    return sorted((method, route.path) for route in all_routes() for method in route.methods - READS)


def looks() -> list[str]:
    """Every address that is only looked at."""
    return sorted(route.path for route in all_routes() if "GET" in route.methods)


def asked(path: str) -> str:
    """An address with its names filled in."""
    return re.sub(r"\{(\w+)[^}]*\}", lambda found: FILLED.get(found[1], "x"), path)
