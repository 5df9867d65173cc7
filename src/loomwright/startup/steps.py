"""Which stages and items can a first start have? The list as it ships, before any job is looked at.

Data: one TOML file a stage in `tables/first_start/`, in the order of their names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from loomwright.refusals import TableFault
from loomwright.tables.load import read_toml, table_names

__all__ = ["FACTS", "Measure", "Step", "StepStage", "step_stages"]

FACTS = ("wasted_spark", "distributor", "returnless", "oil_tell_tale", "throttle_track", "trigger")
"""What is worked out of several sheets, for `only` and `never`."""
_FOLDER = "first_start"
_WORDS = ("kind", "role", "setting", "zone", "circuit", "fact", "property")

Entry = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A figure that is read. least, most: in `unit`, None: no bound.   solved: two points, the second may be blank.

    figure: the job's own (`job_facts.figures_of`), which goes before the bounds; blank: none.
    firm: `most` holds beside it too.
    within: how far from that, or from what the solved network gives. [-]
    system_v: the bounds are those of a car of so many volts.
    """

    unit: str
    least: float | None
    most: float | None
    source: str
    solved: tuple[str, ...]
    state: Mapping[str, str]
    figure: str
    firm: bool
    within: float
    system_v: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One item. only, never: entries of which one must, none may, be in the job.   each: once for each part found."""

    id: str
    does: str
    sees: str
    fails: str
    caution: str
    source: str
    only: tuple[Entry, ...]
    never: tuple[Entry, ...]
    each: bool
    waivable: bool
    measure: Measure | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StepStage:
    """One stage. name: of its file without the number."""

    name: str
    title: str
    cautions: tuple[str, ...]
    steps: tuple[Step, ...]


@cache
def step_stages() -> tuple[StepStage, ...]:
    """All stages in order.

    Raises:
        TableFault: a file that does not hold together.
    Example:
        >>> step_stages()[0].title
        'Before any power'
    """
    stages = tuple(_stage(name, read_toml(_FOLDER, name)) for name in table_names(_FOLDER, "toml"))
    ids = [step.id for stage in stages for step in stage.steps]
    for name in ids:
        if ids.count(name) > 1:
            raise TableFault(_FOLDER, name, "id", "two items of one name")
    return stages


def _stage(name: str, entry: Mapping[str, Any]) -> StepStage:
    return StepStage(
        name=name.split("_", 1)[1],
        title=str(entry["title"]),
        cautions=tuple(entry.get("cautions", ())),
        steps=tuple(_step(name, each) for each in entry["items"]),
    )


def _step(file: str, entry: Mapping[str, Any]) -> Step:
    for name in ("id", "does", "sees", "fails", "source"):
        if not str(entry.get(name, "")).strip():
            raise TableFault(f"{_FOLDER}/{file}", str(entry.get("id", "?")), name, "nothing there")
    for sides in ("only", "never"):
        for each in entry.get(sides, ()):
            if not each or set(each) - set(_WORDS) or each.get("fact", FACTS[0]) not in FACTS:
                raise TableFault(f"{_FOLDER}/{file}", entry["id"], sides, dict(each))
    return Step(
        **{name: str(entry.get(name, "")) for name in ("id", "does", "sees", "fails", "caution", "source")},
        only=tuple(entry.get("only", ())),
        never=tuple(entry.get("never", ())),
        each=bool(entry.get("each", False)),
        waivable=bool(entry.get("waivable", True)),
        measure=_measure(file, entry) if "measure" in entry else None,
    )


def _measure(file: str, entry: Mapping[str, Any]) -> Measure:
    given = entry["measure"]
    bounded = "least" in given or "most" in given
    if not given.get("source") or not (bounded or "solved" in given):
        raise TableFault(f"{_FOLDER}/{file}", entry["id"], "measure", "a figure without a limit or a source")
    return Measure(
        unit=str(given.get("unit", "")),
        least=given.get("least"),
        most=given.get("most"),
        source=str(given["source"]),
        solved=tuple(given.get("solved", ())),
        state=dict(given.get("state", {})),
        figure=str(given.get("figure", "")),
        firm=bool(given.get("firm", False)),
        within=float(given.get("within", 0.0)),
        system_v=given.get("system_v"),
    )
