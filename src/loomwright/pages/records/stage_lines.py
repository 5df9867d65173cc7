"""What of a stage can be counted in the rows of a job?

One function a stage: rows in, lines out. Only rows that are there are counted, whether or not they fit each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from loomwright.job.decided import SETTINGS
from loomwright.job.pins_waiting import pins_given
from loomwright.job.row import Row
from loomwright.job.rows import (
    Attempt,
    ControllerPin,
    Decision,
    Gate,
    Need,
    OldWire,
    Part,
    Progress,
    Proof,
    Question,
    Reading,
    Run,
    Snag,
    SwitchContact,
    VehicleProperty,
    Waiver,
    Wire,
    Wish,
)
from loomwright.pages.addresses import JobLinks
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds

__all__ = ["Line", "TypedRows", "lines_of"]

AnyRow = TypeVar("AnyRow", bound=Row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing that is counted in a stage.

    number, of: done of all; `of` is None where it is a count alone. [-]
    noun: what is left of it, in the singular; empty where nothing of it is ever left.
    counts_as_left: a count alone whose whole number is left.   is_grave: it comes before all others that are left.
    """

    what: str
    number: int
    of: int | None = None
    noun: str = ""
    counts_as_left: bool = False
    href: str = ""
    is_grave: bool = False

    @property
    def left(self) -> int:
        """What is left of it. [-]"""
        if not self.noun:
            return 0
        if self.of is not None:
            return max(self.of - self.number, 0)
        return self.number if self.counts_as_left else 0


class TypedRows:
    """The typed rows of a snapshot by sheet, those that could be read."""

    def __init__(self, snapshot: Snapshot) -> None:
        self._taken = snapshot.taken

    def of(self, sheet: str, row_type: type[AnyRow]) -> list[AnyRow]:
        """The rows of one sheet."""
        typed = (row.typed for row in self._taken.get(sheet, {}).values())
        return [row for row in typed if isinstance(row, row_type)]


def lines_of(stage: str, rows: TypedRows, links: JobLinks) -> list[Line]:
    """What is counted in a stage, findings apart."""
    return [*_LINES[stage](rows, links), *_asked_of(stage, rows, links)]


def _asked_of(stage: str, rows: TypedRows, links: JobLinks) -> list[Line]:
    """Questions, snags and gates that name the stage."""
    questions = [row for row in rows.of("questions", Question) if row.stage == stage]
    snags = [row for row in rows.of("snags", Snag) if row.stage == stage]
    gates = _latest(row for row in rows.of("gates", Gate) if row.stage == stage)
    found = []
    if questions:
        done = sum(row.status == "done" for row in questions)
        there = links.page_named("questions") or links.sheet("questions")
        found.append(
            Line(
                what="owner's questions answered", number=done, of=len(questions), noun="question to answer", href=there
            )
        )
    if snags:
        done = sum(row.status == "done" for row in snags)
        there = links.page_named("snags") or links.sheet("snags")
        found.append(Line(what="snags done", number=done, of=len(snags), noun="snag to mend", href=there))
    if gates:
        passed = sum(row.verdict in ("passed", "waived") for row in gates)
        there = links.sheet("gates")
        found.append(Line(what="gates passed or waived", number=passed, of=len(gates), noun="gate to pass", href=there))
    return found


def _latest(gates: Iterable[Gate]) -> list[Gate]:
    """The last word on each gate."""
    return list({row.gate: row for row in gates}.values())


def _arrival(rows: TypedRows, links: JobLinks) -> list[Line]:
    given = {row.name for row in rows.of("vehicle", VehicleProperty) if row.value}
    there = links.page_named("arrival") or links.sheet("vehicle")
    lines = [Line(what="vehicle's title given", number=int("title" in given), of=1, noun="title to give", href=there)]
    others = len(given - {"title"})
    lines.append(Line(what="other properties of the vehicle given", number=others, href=there))
    wishes = rows.of("wishes", Wish)
    if wishes:
        decided = sum(row.included != "asked" for row in wishes)
        lines.append(
            Line(what="wishes decided", number=decided, of=len(wishes), noun="choice of the owner", href=there)
        )
    return lines if given or wishes else []


def _survey(rows: TypedRows, links: JobLinks) -> list[Line]:
    old = rows.of("old_wires", OldWire)
    read = {row.old_wire for row in rows.of("readings", Reading) if row.old_wire}
    contacts = rows.of("contacts", SwitchContact)
    there = links.page_named("survey") or links.sheet("old_wires")
    lines = []
    if old:
        fated = sum(bool(row.fate) for row in old)
        lines.append(
            Line(what="old wires with a fate", number=fated, of=len(old), noun="wire without a fate", href=there)
        )
        lines.append(
            Line(
                what="old wires read at least once", number=sum(row.id in read for row in old), of=len(old), href=there
            )
        )
    if contacts:
        shown = sum(row.verified is True for row in contacts)
        lines.append(
            Line(
                what="switch positions shown by a continuity test",
                number=shown,
                of=len(contacts),
                noun="position to test",
                href=links.sheet("contacts"),
            )
        )
    lines.append(Line(what="readings taken", number=len(rows.of("readings", Reading)), href=links.sheet("readings")))
    return lines


def _plan(rows: TypedRows, links: JobLinks) -> list[Line]:
    parts = [row for row in rows.of("parts", Part) if row.fitted != "removed"]
    wires = [row for row in rows.of("wires", Wire) if row.fitted != "removed"]
    decided = {(row.sheet, row.row, row.column) for row in rows.of("decisions", Decision)}
    needs = rows.of("needs", Need)
    given = pins_given(needs, wires, rows.of("controller_pins", ControllerPin), decided)
    decide = links.page_named("decide")
    lines = [
        Line(what="parts", number=len(parts), href=links.sheet("parts")),
        Line(what="wires", number=len(wires), href=links.sheet("wires")),
    ]
    if needs:
        there = links.page_named("pins") or links.sheet("needs")
        # what waits for a pin is found broken by the rules, so the pins come first
        lines.append(
            Line(
                what="what the controller does, with a pin",
                number=given.done,
                of=given.of,
                noun="pin to decide",
                is_grave=True,
                href=there,
            )
        )
    if wires:
        sized = sum(row.size_mm2 is not None or ("wires", row.id, "size_mm2") in decided for row in wires)
        typed = [row for row in wires if row.id not in given.waiting]
        ended = sum(bool(row.from_ and row.to) or row.id in given.led for row in typed)
        there = links.sheet("wires")
        lines.append(Line(what="wires with both ends", number=ended, of=len(typed), noun="wire to end", href=there))
        there = decide or links.sheet("wires")
        lines.append(Line(what="wires with a size", number=sized, of=len(wires), noun="size to decide", href=there))
    fuses = [row for row in parts if row.kind in _rated_kinds()]
    if fuses:
        rated = sum(_is_rated(row, decided) for row in fuses)
        there = decide or links.sheet("parts")
        lines.append(Line(what="fuses with a rating", number=rated, of=len(fuses), noun="rating to decide", href=there))
    return lines


@lru_cache(maxsize=1)
def _rated_kinds() -> frozenset[str]:
    """Kinds of the library that have a rating to choose: fuses and breakers."""
    return frozenset(
        name
        for name, kind in load_kinds().items()
        if any(element.type in ("fuse", "breaker") for element in kind.elements)
        and any(setting.name == "rating_a" for setting in kind.settings)
    )


def _is_rated(part: Part, decided: set[tuple[str, str, str]]) -> bool:
    return bool(part.settings.get("rating_a")) or ("parts", part.id, f"{SETTINGS}rating_a") in decided


def _loom(rows: TypedRows, links: JobLinks) -> list[Line]:
    new = [row for row in rows.of("wires", Wire) if row.fitted == "new"]
    if not new:
        return []
    done = _steps(rows.of("progress", Progress))
    decided = {row.row for row in rows.of("decisions", Decision) if row.column == "length_mm"}
    long = sum(row.length_mm is not None or row.built_length_mm is not None or row.id in decided for row in new)
    there = links.page_named("built") or links.sheet("wires")
    return [
        Line(
            what="new wires cut",
            number=sum("cut" in done[row.id] for row in new),
            of=len(new),
            noun="wire to cut",
            href=there,
        ),
        Line(
            what="ends crimped", number=_ends(new, done, "crimped"), of=2 * len(new), noun="crimp to make", href=there
        ),
        Line(what="ends seated", number=_ends(new, done, "seated"), of=2 * len(new), noun="end to seat", href=there),
        Line(what="new wires with a length", number=long, of=len(new), href=links.sheet("wires")),
        *_drawn(rows, links),
    ]


def _drawn(rows: TypedRows, links: JobLinks) -> list[Line]:
    """The runs, which the car plan draws."""
    runs = rows.of("runs", Run)
    there = links.page_named("car-plan") or links.sheet("runs")
    return [Line(what="runs on the car plan", number=len(runs), href=there)] if runs else []


class _Steps(dict[str, set[str]]):
    """Wire -> steps done on it; `crimped from` for one end, `cut` for the wire as a whole."""

    def __missing__(self, wire: str) -> set[str]:
        return set()


def _steps(progress: Iterable[Progress]) -> _Steps:
    done = _Steps()
    for row in progress:
        ends = ("from", "to") if row.end in ("both", "") else (row.end,)
        done.setdefault(row.wire, set()).update({row.step, *(f"{row.step} {end}" for end in ends)})
    return done


def _ends(wires: Iterable[Wire], done: _Steps, step: str) -> int:
    return sum(f"{step} {end}" in done[wire.id] for wire in wires for end in ("from", "to"))


def _prove(rows: TypedRows, links: JobLinks) -> list[Line]:
    wires = [row for row in rows.of("wires", Wire) if row.fitted != "removed"]
    done = _steps(rows.of("progress", Progress))
    last = {(row.test, row.point, row.to, row.when.text): row.verdict for row in rows.of("proofs", Proof)}
    there = links.page_named("prove") or links.sheet("proofs")
    lines = []
    if wires:
        proved = sum("proved" in done[row.id] for row in wires)
        lines.append(
            Line(
                what="wires proved", number=proved, of=len(wires), noun="wire to prove", href=links.page_named("built")
            )
        )
    if last:
        passed = sum(verdict == "passed" for verdict in last.values())
        lines.append(Line(what="tests passed", number=passed, of=len(last), noun="test to pass", href=there))
    return lines


def _first_start(rows: TypedRows, links: JobLinks) -> list[Line]:
    tries = len(rows.of("attempts", Attempt))
    return [Line(what="tries to start", number=tries, href=links.sheet("attempts"))]


def _none(_: TypedRows, __: JobLinks) -> list[Line]:
    return []


def _handover(rows: TypedRows, links: JobLinks) -> list[Line]:
    snags = rows.of("snags", Snag)
    questions = rows.of("questions", Question)
    waived = rows.of("waived", Waiver)
    lines = []
    if snags:
        done = sum(row.status == "done" for row in snags)
        there = links.page_named("snags") or links.sheet("snags")
        lines.append(Line(what="snags of all stages done", number=done, of=len(snags), noun="snag to mend", href=there))
    if questions:
        done = sum(row.status == "done" for row in questions)
        there = links.page_named("questions") or links.sheet("questions")
        lines.append(
            Line(
                what="questions of all stages answered",
                number=done,
                of=len(questions),
                noun="question to answer",
                href=there,
            )
        )
    if waived:
        lines.append(Line(what="rules waived, each with its reason", number=len(waived), href=links.sheet("waived")))
    return lines


_LINES: Mapping[str, Callable[[TypedRows, JobLinks], list[Line]]] = {
    "arrival": _arrival,
    "survey": _survey,
    "plan": _plan,
    "loom": _loom,
    "prove": _prove,
    "first start": _first_start,
    "calibrate": _none,
    "gearbox": _none,
    "handover": _handover,
}
