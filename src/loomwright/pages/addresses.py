"""Where in the browser does each thing of a job have its page?

Addresses are readable and stable and carry the state, so that one can be sent on. A thing whose page is not there is
named without a link; nothing on a page leads nowhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from urllib.parse import quote, urlencode

from loomwright.store.snapshot import Snapshot

__all__ = ["JobLinks", "Thing", "job_path", "offered_paths", "own_path", "state_text", "things_of"]

_PAGES: Mapping[str, str] = {
    "wires": "wire",
    "parts": "part",
    "circuits": "circuit",
    "connectors": "connector",
    "old_wires": "survey",
}
_NAMED = (
    *("wires", "parts", "circuits", "connectors", "places", "runs", "needs", "old_wires", "cables", "metals"),
    *("snags", "questions"),
)
_PARAMETER = re.compile(r"\{[^}]*\}")
_KEPT_IN_STATES = ",=:|-<>"  # a plus sign in an address is a blank


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A row that has a name. key: its own number. [-]"""

    sheet: str
    key: int


def offered_paths(paths: Iterable[str]) -> frozenset[str]:
    """The addresses an application answers to, names of their parameters left out.

    Example:
        >>> sorted(offered_paths(["/j/{job}/wire/{wire}", "/"]))
        ['/', '/j/{}/wire/{}']
    """
    return frozenset(_PARAMETER.sub("{}", path) for path in paths)


def job_path(job: str, *pieces: str, query: Mapping[str, str] | None = None, at: str = "") -> str:
    """The address of a page of a job; empty questions are left out.

    Example:
        >>> job_path("my van", "wire", "W1")
        '/j/my%20van/wire/W1'
        >>> job_path("van", "car", query={"state": "key=run,engine=idle", "before": ""})
        '/j/van/car?state=key=run,engine=idle'
        >>> job_path("van", "prove", query={"test": "live/BAT.+/rest"})
        '/j/van/prove?test=live%2FBAT.%2B%2Frest'
    """
    path = "/".join(["/j", quote(job, safe=""), *(quote(piece, safe="") for piece in pieces)])
    asked = urlencode(
        {name: text for name, text in (query or {}).items() if text}, safe=_KEPT_IN_STATES, quote_via=quote
    )
    return path + (f"?{asked}" if asked else "") + (f"#{quote(at, safe='')}" if at else "")


def own_path(asked: str) -> str:
    """Where to go on to: an address of this shelf, or the page of all jobs where it is none.

    Example:
        >>> own_path("/j/van?q=a"), own_path("//elsewhere"), own_path("http://elsewhere/"), own_path("/\\\\elsewhere")
        ('/j/van?q=a', '/', '/', '/')
    """
    plain = "\\" not in asked and asked.isprintable()
    return asked if plain and asked.startswith("/") and not asked.startswith("//") else "/"


def state_text(state: Mapping[str, str]) -> str:
    """A state as it stands in an address.

    Example:
        >>> state_text({"key": "run", "engine": "idle"})
        'key=run,engine=idle'
    """
    return ",".join(f"{name}={value}" for name, value in state.items())


@lru_cache(maxsize=16)
def things_of(snapshot: Snapshot) -> Mapping[str, Thing]:
    """Every row that has an id: id -> its sheet and number; where two sheets share one, wires and parts come first."""
    found: dict[str, Thing] = {}
    for sheet in _NAMED:
        for row in snapshot.rows.get(sheet, ()):
            name = row.cells.get("id", "")
            if name:
                found.setdefault(name, Thing(sheet=sheet, key=row.key))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLinks:
    """The addresses of one job. offered: those the application answers to.   things: its rows by name.

    asked: questions that the pages of things are asked along with, such as the state of the car.
    """

    job: str
    offered: frozenset[str]
    things: Mapping[str, Thing] = field(default_factory=dict)
    asked: Mapping[str, str] = field(default_factory=dict)

    def has(self, *pieces: str) -> bool:
        """Whether there is a page at an address of jobs; `{}` stands for a name."""
        return "/".join(["/j/{}", *pieces]) in self.offered

    def page(self, kind: str, name: str) -> str:
        """The page of a wire, part, circuit or connector; empty where there is none."""
        return job_path(self.job, kind, name, query=self.asked) if name and self.has(kind, "{}") else ""

    def pages_of(self, sheet: str) -> str:
        """Where the pages of a sheet's things are, their names to follow; empty where there are none."""
        kind = _PAGES.get(sheet, "")
        return job_path(self.job, kind, "") if kind and self.has(kind, "{}") else ""

    def page_named(self, word: str) -> str:
        """A page of the job by its word, `built`, `arrival`; empty where there is none."""
        return job_path(self.job, word) if self.has(word) else ""

    def stages(self, stage: str = "") -> str:
        """The page of all stages, at one of them."""
        return job_path(self.job, at=stage)

    def thing(self, place: str) -> str:
        """The page of what an id or a point names, else its row in its sheet; empty where it is neither."""
        name = place.removeprefix("~").partition(".")[0]
        there = self.things.get(place) or self.things.get(name)
        if there is None:
            return ""
        kind = _PAGES.get(there.sheet, "")
        named = place if place in self.things else name
        return (self.page(kind, named) if kind else "") or self.cell(there.sheet, there.key)

    def sheet(self, sheet: str) -> str:
        """The grid of a sheet; empty where there is none."""
        return job_path(self.job, "sheet", sheet) if self.has("sheet", "{}") else ""

    def cell(self, sheet: str, key: int | None, column: str = "") -> str:
        """The grid of a sheet with a cell picked; the sheet alone where the row is not known.

        Args:
            key: the row's own number. [-]
        """
        if not self.has("sheet", "{}"):
            return ""
        if key is None:
            return self.sheet(sheet)
        return job_path(self.job, "sheet", sheet, query={"row": str(key), "column": column})

    def photos(self, sheet: str, key: int) -> str:
        """The photos of a row; empty where there is no such page.

        Args:
            key: the row's own number. [-]
        """
        return job_path(self.job, "photos", sheet, str(key)) if self.has("photos", "{}", "{}") else ""

    def findings(self, **asked: str) -> str:
        """The findings, of a stage, circuit, place or severity."""
        return job_path(self.job, "findings", query=asked)

    def mends(self, mark: str) -> str:
        """The mends that were tried for a finding of that mark; empty where there is no such page."""
        return job_path(self.job, "mends", mark) if self.has("mends", "{}") else ""

    def way(self, mark: str, circuit: str = "") -> str:
        """The way of the current of a finding of that mark, by itself or on a circuit's drawing; empty: no page."""
        if circuit and self.has("circuit", "{}"):
            return job_path(self.job, "circuit", circuit, query={"way": mark})
        return job_path(self.job, "way", mark) if self.has("way", "{}") else ""

    def car(self, state: Mapping[str, str], before: Mapping[str, str], unplug: Iterable[str]) -> str:
        """The car in a state; empty where there is no such page."""
        if not self.has("car"):
            return ""
        asked = {"state": state_text(state), "before": state_text(before), "unplug": ",".join(unplug)}
        return job_path(self.job, "car", query=asked)
