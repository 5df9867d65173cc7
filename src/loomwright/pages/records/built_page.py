"""What does the page of what is built say: what changes ask of it, and every wire with its next step?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.job.rows import Wire
from loomwright.loom.as_built_plain import changed_at
from loomwright.loom.as_built_records import ASKS, AsBuilt, Ask
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.built_rows import WireGroup, counts_of, groups_of, place_names
from loomwright.pages.records.built_view import BuiltView
from loomwright.pages.records.stage_counts import plural
from loomwright.refusals import Problem
from loomwright.store.earlier import Earlier
from loomwright.store.snapshot import Snapshot

__all__ = ["AskGroup", "AskLine", "BuiltPage", "BuiltPick", "built_page"]

_HOUR_MINUTES = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltPick:
    """What is picked. left: left, done, or all.   by: circuit or place.

    of: the revision it is built from; None: the newest. [-]
    """

    left: str = "left"
    by: str = "circuit"
    circuit: str = ""
    place: str = ""
    of: int | None = None

    def query(self) -> Mapping[str, str]:
        """The same as it stands in an address."""
        return {
            "left": "" if self.left == "left" else self.left,
            "by": "" if self.by == "circuit" else self.by,
            "circuit": self.circuit,
            "place": self.place,
            "of": "" if self.of is None else str(self.of),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class AskLine:
    """One thing that is asked of a built wire.

    changed, since: the revision it came with, and the one it was built from; None where nobody knows. [-]
    minutes, or_minutes: what it takes, and the other way to mend it. [min]
    """

    wire: str
    href: str
    says: str
    changed: int | None
    changed_href: str
    since: int | None
    minutes: float
    or_minutes: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AskGroup:
    """All lines of one sort. means: what the word means."""

    does: str
    means: str
    lines: tuple[AskLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltPage:
    """The page. problems: why a step was not taken down.   hours: what is asked takes. [h]   of: built from. [-]"""

    groups: tuple[AskGroup, ...]
    looks: tuple[AskLine, ...]
    proofs: tuple[tuple[str, float], ...]
    fresh: tuple[tuple[str, str], ...]
    stays: tuple[tuple[tuple[str, ...], str], ...]
    unknown: tuple[int, ...]
    hours: float
    built: int
    as_asked: int
    wires: tuple[WireGroup, ...]
    counts: Mapping[str, int]
    circuits: tuple[str, ...]
    places: tuple[tuple[str, str], ...]
    pick: BuiltPick
    of: int
    here: str
    step_to: str
    back_to: str
    problems: tuple[Problem, ...]
    is_typed: bool
    summary: str


def built_page(
    snapshot: Snapshot,
    told: AsBuilt | None,
    past: Earlier,
    view: BuiltView,
    links: JobLinks,
    pick: BuiltPick,
    problems: tuple[Problem, ...] = (),
) -> BuiltPage:
    """The page of what is built.

    Args:
        snapshot: the job now.
        told: what changes ask; None while the rows do not fit each other.
        past: the job as it stood when it was built.
        view: the job at the revision it is built from now.
        links: addresses of its things.
        pick: what of it is shown.
        problems: why a step was not taken down.
    """
    asks = told.asks if told is not None else ()
    lines = {does: tuple(_line(ask, past, links, snapshot) for ask in asks if ask.does == does) for does in ASKS}
    marks: dict[str, list[Ask]] = {}
    for ask in asks:
        if ask.does not in ("look", "shorten"):
            marks.setdefault(ask.wire, []).append(ask)
    wires, steps = view.wires_to_build, view.steps
    shown = groups_of(view, pick.left, pick.by, pick.circuit, pick.place, marks, links)
    return BuiltPage(
        groups=tuple(
            AskGroup(does=does, means=means, lines=lines[does])
            for does, means in ASKS.items()
            if does != "look" and lines[does]
        ),
        looks=lines["look"],
        proofs=tuple((one.says, one.minutes) for one in (told.proofs if told is not None else ())),
        fresh=tuple((name, links.thing(name)) for name in (told.fresh if told is not None else ())),
        stays=_stays(told),
        unknown=told.unknown if told is not None else (),
        hours=(told.minutes if told is not None else 0.0) / _HOUR_MINUTES,
        built=len(steps),
        as_asked=len(told.untouched) if told is not None else 0,
        wires=shown,
        counts=counts_of(wires, steps),
        circuits=tuple(sorted({wire.circuit for wire in wires if wire.circuit})),
        places=place_names(view),
        pick=pick,
        of=view.revision,
        here=job_path(snapshot.name, "built", query=pick.query()),
        step_to=job_path(snapshot.name, "built", "step"),
        back_to=job_path(snapshot.name, "built", "back"),
        problems=problems,
        is_typed=told is not None,
        summary=_summary(wires, steps),
    )


def _line(ask: Ask, past: Earlier, links: JobLinks, snapshot: Snapshot) -> AskLine:
    number = changed_at(ask, past.changed)
    there = links.page_named("revisions")
    return AskLine(
        wire=ask.wire,
        href=links.thing(ask.wire),
        says=ask.says.removeprefix(ask.wire).lstrip(" ,:"),
        changed=number,
        changed_href=f"{there}?from={number - 1}&to={number}" if there and number is not None and number > 1 else "",
        since=ask.since,
        minutes=ask.minutes,
        or_minutes=ask.or_minutes,
    )


def _stays(told: AsBuilt | None) -> tuple[tuple[tuple[str, ...], str], ...]:
    """What is not decided anew, and of which wires it is true."""
    found: dict[str, list[str]] = {}
    for one in told.wires if told is not None else ():
        for text in one.stays:
            found.setdefault(text, []).append(one.wire)
    return tuple((tuple(wires), text) for text, wires in found.items())


def _summary(wires: Iterable[Wire], steps: Mapping[str, object]) -> str:
    all_wires = list(wires)
    cut = sum(wire.id in steps for wire in all_wires)
    return f"{plural(cut, 'wire')} of {len(all_wires)} cut"
