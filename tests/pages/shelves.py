"""A shelf with a small car on it, the application on that shelf, and pages taken apart, for tests."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping, Sequence
from functools import cache
from html.parser import HTMLParser
from itertools import count
from pathlib import Path

from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from loomwright.car import Checked
from loomwright.findings import Finding
from loomwright.job.reading import job_from_text
from loomwright.pages.addresses import JobLinks, things_of
from loomwright.pages.app import make_app
from loomwright.pages.checking import Standing
from loomwright.pages.doors.doorway import Doorway
from loomwright.store.shelf import Shelf
from loomwright.store.snapshot import Snapshot

Rows = Sequence[Mapping[str, str]]

SMALL: Mapping[str, Rows] = {
    "vehicle": [{"name": "title", "value": "a small car"}, {"name": "system_voltage", "value": "12"}],
    "places": [{"id": "bay", "name": "engine bay"}, {"id": "cabin"}],
    "circuits": [{"id": "work", "name": "work lamp", "class": "lighting", "feed": "15"}],
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "KEY", "kind": "key_switch", "place": "cabin"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay"},
        {"id": "SW1", "kind": "switch", "place": "cabin"},
        {"id": "LA1", "kind": "lamp", "name": "lamp over the bench", "circuit": "work", "settings": "watt=21"},
        {"id": "K1", "kind": "relay", "fitted": "removed"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "500", "fitted": "kept"},
        {"id": "W3", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "300", "colour": "RD"},
        {"id": "W4", "from": "F1.2", "to": "KEY.30", "size_mm2": "2.5", "length_mm": "1000"},
        {"id": "W5", "from": "KEY.15", "to": "SW1.1", "circuit": "work", "size_mm2": "1.5", "length_mm": "1000"},
        {"id": "W6", "from": "SW1.2", "to": "LA1.1", "circuit": "work", "length_mm": "1000", "colour": "WH/BU"},
        {"id": "W12", "from": "LA1.2", "to": "body", "circuit": "work", "size_mm2": "1.5", "length_mm": "1000"},
    ],
}
PAGES = frozenset({"/j/{}/wire/{}", "/j/{}/part/{}", "/j/{}/circuit/{}", "/j/{}/sheet/{}", "/j/{}/car"})
"""Addresses of an application that has all pages of things."""


def shelf_in(folder: Path, **jobs: Mapping[str, Rows]) -> Shelf:
    """A shelf with jobs of these names on it."""
    ticks = count()
    shelf = Shelf(folder / "shelf", lambda: f"2026-01-01T10:{next(ticks) % 60:02}:00")
    for name, sheets in jobs.items():
        shelf.add(name, job_from_text(sheets), who="sam")
    return shelf


@cache
def _first_app() -> FastAPI:
    """The application of which all others have their addresses."""
    with tempfile.TemporaryDirectory() as folder:
        shelf = Shelf(Path(folder), lambda: "now")
        made = make_app(shelf, who="sam")
        made.state.desk.close()
        shelf.close()
    return made


def app_on(shelf: Shelf, *, who: str = "sam", doorway: Doorway | None = None) -> FastAPI:
    """The application on that shelf, its addresses those of the first one made in the run.

    They are the same in every application and none of them knows of a shelf; to take them to pieces anew at the first
    question asked of each costs ten times what most pages do.
    """
    made = make_app(shelf, who=who, doorway=doorway)
    first = _first_app()
    assert made.state.offered == first.state.offered
    made.router.routes[:] = first.router.routes
    return made


def client_on(shelf: Shelf) -> TestClient:
    """A browser without scripts on that shelf."""
    return here(app_on(shelf))


def here(app: FastAPI) -> TestClient:
    """A browser without scripts at the machine itself."""
    return TestClient(app, base_url="http://127.0.0.1:8140", client=("127.0.0.1", 50000), follow_redirects=True)


def asked_from(app: FastAPI, client: str = "127.0.0.1", host: str = "127.0.0.1", **more: str) -> ASGIApp:
    """The application as somebody at an address asks it, under a name, with more headers; for makers of requests."""
    named = {"host": host, **{name.replace("_", "-"): value for name, value in more.items()}}

    async def asked(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            kept = [(name, value) for name, value in scope["headers"] if name.decode() not in named]
            added = [(name.encode(), value.encode()) for name, value in named.items()]
            scope = {**scope, "client": (client, 50000), "headers": [*kept, *added]}
        await app(scope, receive, send)

    return asked


def snapshot_of(folder: Path, more: Mapping[str, Rows] | None = None) -> Snapshot:
    """The small car, with some sheets added or replaced."""
    shelf = shelf_in(folder, small={**SMALL, **(more or {})})
    snapshot = shelf.now("small")
    shelf.close()
    return snapshot


def links_in(snapshot: Snapshot, offered: frozenset[str] = PAGES) -> JobLinks:
    """The addresses of a job in an application that has these pages."""
    return JobLinks(job=snapshot.name, offered=offered, things=things_of(snapshot))


def known(*findings: Finding) -> Standing:
    """A check that found these."""
    return Standing(revision=1, checked=Checked(findings=findings, states_searched=1234, solved=20, raw_states=2000))


class Page(HTMLParser):
    """A page taken apart: its elements with their attributes, and its words."""

    _VOID = frozenset({"meta", "link", "input", "br", "use", "path", "rect", "circle", "hr", "img"})

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self._open: list[str] = []
        self._pieces: list[str] = []
        self.unclosed: list[str] = []
        self.feed(html)
        self.close()
        self.unclosed += self._open

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in self._VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag):
        if tag in self._VOID:
            return
        if not self._open or self._open.pop() != tag:
            self.unclosed.append(tag)

    def handle_data(self, data):
        if "script" not in self._open and "style" not in self._open:
            self._pieces.append(data)

    @property
    def words(self) -> str:
        """Everything a person reads, blanks made one."""
        return re.sub(r"\s+", " ", " ".join(self._pieces)).strip()

    def all(self, tag: str) -> list[dict[str, str]]:
        """The attributes of every element of a sort."""
        return [attributes for name, attributes in self.elements if name == tag]

    def ids(self) -> list[str]:
        """Every id, in order."""
        return [attributes["id"] for _, attributes in self.elements if "id" in attributes]
