"""Which wires are shown to be built, in which groups, and what is the next step of each end?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import Progress, Wire
from loomwright.job.wire_ends import END_WORDS, ENDS, point_at
from loomwright.loom.as_built_records import Ask
from loomwright.loom.built_steps import AT_ENDS, WireSteps, next_step
from loomwright.loom.cut_list import ALLOWANCE_MM
from loomwright.pages.addresses import JobLinks
from loomwright.pages.records.built_view import BuiltView
from loomwright.quantities.printing import for_print

__all__ = ["EndCell", "WireGroup", "WireRow", "counts_of", "groups_of", "is_done", "place_names"]

NOWHERE = "no place"
_NO_CIRCUIT = "no circuit"
_AGAIN: Mapping[str, str] = {"re-crimp": "crimped", "re-pin": "seated", "move": "seated", "re-label": "labelled"}
"""What a change asks at an end -> the step that is taken down when it is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndCell:
    """One end of a wire. done: steps done there.   next: the step that its button takes down; empty: none is left.

    asked: steps to do again there, since a change asks for it.   others: further steps that may be taken down.
    """

    end: str
    word: str
    point: str
    href: str
    done: tuple[str, ...]
    next: str
    asked: tuple[str, ...]
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WireRow:
    """One wire. cut_mm: what the cut list says, for the field; empty where nobody knows the length.

    was_cut: what was cut, in words; empty where it is not.   marks: words of what changes ask of it.
    last: the newest step and the key of its row, which can be taken back; the key None where there is none. [-]
    """

    wire: str
    anchor: str
    href: str
    colour: str
    circuit: str
    size: str
    cut_mm: str
    was_cut: str
    next: str
    ends: tuple[EndCell, ...]
    is_proved: bool
    is_done: bool
    marks: tuple[str, ...]
    last: str
    last_key: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WireGroup:
    """Wires of one circuit or at one place. done, of: wires done of all shown and not shown. [-]"""

    title: str
    rows: tuple[WireRow, ...]
    done: int
    of: int


def groups_of(
    view: BuiltView,
    left: str,
    by: str,
    circuit: str,
    place: str,
    marks: Mapping[str, Sequence[Ask]],
    links: JobLinks,
) -> tuple[WireGroup, ...]:
    """The wires to show, in groups.

    Args:
        view: what there is to build.
        left: left, done or all.
        by: circuit, or place: then an end stands where it is seated.
        circuit: only this one, where given.
        place: only ends at this one, where given.
        marks: wire -> what changes ask of it.
        links: addresses of things.
    """
    groups: dict[str, list[tuple[Wire, tuple[str, ...]]]] = {}
    for wire in view.wires_to_build:
        if circuit and wire.circuit != circuit:
            continue
        places = {end: view.place_of(point_at(wire, end)) or NOWHERE for end in ENDS}
        if place and place not in places.values():
            continue
        if by == "place":
            for where in dict.fromkeys(places.values()):
                if not place or where == place:
                    ends = tuple(end for end in ENDS if places[end] == where)
                    groups.setdefault(where, []).append((wire, ends))
        else:
            groups.setdefault(wire.circuit or _NO_CIRCUIT, []).append((wire, ENDS))
    found = []
    for title in sorted(groups, key=lambda word: (word in (NOWHERE, _NO_CIRCUIT), word)):
        members = groups[title]
        rows = [_row(view, wire, ends, marks, links, place=title if by == "place" else "") for wire, ends in members]
        shown = [
            row for row in rows if left == "all" or row.is_done == (left == "done") or (left == "left" and row.marks)
        ]
        if shown:
            found.append(
                WireGroup(
                    title=view.place_names.get(title, title) if by == "place" else title,
                    rows=tuple(shown),
                    done=sum(row.is_done for row in rows),
                    of=len(rows),
                )
            )
    return tuple(found)


def counts_of(wires: Iterable[Wire], steps: Mapping[str, WireSteps]) -> Mapping[str, int]:
    """How many wires are left and how many are done. [-]"""
    all_wires = list(wires)
    done = sum(is_done(wire, steps.get(wire.id), ENDS) for wire in all_wires)
    return {"left": len(all_wires) - done, "done": done, "all": len(all_wires)}


def is_done(wire: Wire, steps: WireSteps | None, ends: Iterable[str]) -> bool:
    """Whether nothing is left to do at some ends of a wire but to prove it."""
    return steps is not None and all(not _next(wire, steps, end) for end in ends)


def place_names(view: BuiltView) -> tuple[tuple[str, str], ...]:
    """The places where ends are, id and name, in order of name."""
    there = {view.place_of(point_at(wire, end)) for wire in view.wires_to_build for end in ENDS} - {""}
    return tuple(sorted(((name, view.place_names.get(name, name)) for name in there), key=lambda pair: pair[1]))


def _row(
    view: BuiltView,
    wire: Wire,
    ends: tuple[str, ...],
    marks: Mapping[str, Sequence[Ask]],
    links: JobLinks,
    *,
    place: str,
) -> WireRow:
    steps = view.steps.get(wire.id)
    asks = marks.get(wire.id, ())
    cells = tuple(_cell(wire, steps, end, links, asks) for end in ends)
    done = is_done(wire, steps, ends)
    key, last = view.lasts.get(wire.id, (None, None))
    whole = is_done(wire, steps, ENDS)
    is_proved = steps is not None and steps.proved is not None
    to_prove = "proved" if whole and not is_proved else ""
    return WireRow(
        wire=wire.id,
        anchor=f"wire-{wire.id}{f'-{place}' if place else ''}",
        href=links.thing(wire.id),
        colour=wire.colour,
        circuit=wire.circuit,
        size="" if wire.size_mm2 is None else f"{for_print(wire.size_mm2)} mm²",
        cut_mm="" if wire.length_mm is None else f"{wire.length_mm + ALLOWANCE_MM:g}",
        was_cut=_was_cut(steps),
        next=_wire_next(wire, steps, asks) or to_prove,
        ends=cells,
        is_proved=is_proved,
        is_done=done,
        marks=tuple(dict.fromkeys(ask.does for ask in asks)),
        last="" if last is None else _last(last),
        last_key=key,
    )


def _wire_next(wire: Wire, steps: WireSteps | None, asks: Sequence[Ask]) -> str:
    """Whether a wire is to be cut: it is not yet, or what was cut cannot be used."""
    is_uncut = next_step(steps, "from") == "cut" and wire.fitted == "new"
    return "cut" if is_uncut or any(ask.does == "scrap" for ask in asks) else ""


def _cell(wire: Wire, steps: WireSteps | None, end: str, links: JobLinks, asks: Sequence[Ask]) -> EndCell:
    done = tuple(step for step in AT_ENDS if steps is not None and step in steps.ends[end])
    following = _next(wire, steps, end)
    point = point_at(wire, end)
    return EndCell(
        end=end,
        word=END_WORDS[end],
        point=point,
        href=links.thing(point) if point else "",
        done=done,
        next="" if following == "cut" else following,
        asked=tuple(dict.fromkeys(_AGAIN[ask.does] for ask in asks if ask.end == end and ask.does in _AGAIN)),
        others=() if following == "cut" else tuple(step for step in AT_ENDS if step != following),
    )


def _next(wire: Wire, steps: WireSteps | None, end: str) -> str:
    """What is left at an end; a wire that is not new is never cut."""
    following = next_step(steps, end)
    return "crimped" if following == "cut" and wire.fitted != "new" else following


def _was_cut(steps: WireSteps | None) -> str:
    if steps is None or steps.cut is None:
        return ""
    return "cut" if steps.length_mm is None else f"cut {for_print(steps.length_mm, digits=6)} mm"


def _last(row: Progress) -> str:
    end = END_WORDS.get(row.end, "")
    return f"{end}: {row.step}" if end else row.step
