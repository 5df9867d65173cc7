"""What do the pages of the circuit drawings show: all of them, and one as it is printed, what is looked for marked?

In: the car's circuits as they are laid out, a circuit, a sheet, how near, a word. Out: records. What is looked for is
looked for in all drawings, so that a wire is found whichever circuit it lies in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import painted_circuit
from loomwright.drawings.symbols.items import Drawing, Text, WireStroke
from loomwright.pages.addresses import job_path
from loomwright.pages.records.car_page import NO_CIRCUIT
from loomwright.pages.records.drawing_view import (
    NEARNESS,
    DrawnView,
    Nearer,
    drawn_view,
    looked_for,
    nearer_links,
)
from loomwright.refusals import OutOfReach

__all__ = ["DrawingPage", "DrawingsPage", "FoundIn", "SheetLine", "drawing_page", "drawings_page"]

_MOST_FOUND = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """One sheet that can be looked at. tracks: from which to which.   wires: drawn on it. [-]"""

    circuit: str
    title: str
    sheet: int
    sheets: int
    tracks: str
    wires: int
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundIn:
    """One place where what is looked for stands. track: the nearest one's number. [-]"""

    words: str
    circuit: str
    sheet: int
    track: int | None
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingsPage:
    """All drawings, and where what is looked for stands. more: hits that are not told. [-]"""

    sheets: tuple[SheetLine, ...]
    find: str
    found: tuple[FoundIn, ...]
    more: int
    here: str
    board_href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingPage:
    """One sheet. near: the ways of looking.   before, after: word and address of the sheets beside it.

    lit_href: the same circuit lit by a state.   found: where else what is looked for stands.
    """

    circuit: str
    title: str
    sheet: int
    sheets: int
    view: DrawnView
    near: tuple[Nearer, ...]
    near_word: str
    find: str
    found: tuple[FoundIn, ...]
    more: int
    here: str
    before: tuple[str, str]
    after: tuple[str, str]
    all_href: str
    lit_href: str


def drawings_page(car: Car, job: str, find: str = "") -> DrawingsPage:
    """All drawings of a job.

    Args:
        job: its name, for the addresses.
        find: what is looked for in them.
    """
    made = _made(car)
    found = _found(made, job, find)
    return DrawingsPage(
        sheets=tuple(_line(job, name, one) for (name, _), one in made.items()),
        find=find,
        found=found[:_MOST_FOUND],
        more=max(len(found) - _MOST_FOUND, 0),
        here=job_path(job, "drawings"),
        board_href=job_path(job, "board"),
    )


def drawing_page(car: Car, job: str, circuit: str, *, sheet: int, near: str, find: str = "") -> DrawingPage:
    """One sheet of one circuit, as it is printed.

    Args:
        job: its name, for the addresses.
        sheet: its number, from 1. [-]
        near: one of `NEARNESS`.
        find: what is looked for.
    Raises:
        OutOfReach: no such circuit or sheet.
    """
    made = _made(car)
    one = made.get((circuit, sheet))
    if one is None:
        circuits = " ".join(dict.fromkeys(name for name, _ in made)) or "none: no wire is in this job"
        if not any(name == circuit for name, _ in made):
            raise OutOfReach("drawing", circuit, circuits)
        raise OutOfReach("sheet", str(sheet), f"1 to {max(number for name, number in made if name == circuit)}")
    keys = list(made)
    place = keys.index((circuit, sheet))
    found = _found(made, job, find)
    return DrawingPage(
        circuit=circuit,
        title=one.title,
        sheet=one.sheet,
        sheets=one.sheets,
        view=drawn_view(one.items, one.width_mm, one.height_mm, near=near, find=find, label=_called(circuit, one)),
        near=nearer_links(near, {word: _href(job, circuit, sheet, word, find) for word in NEARNESS}),
        near_word=near,
        find=find,
        found=found[:_MOST_FOUND],
        more=max(len(found) - _MOST_FOUND, 0),
        here=job_path(job, "drawing", circuit),
        before=_beside(job, made, keys[place - 1], near, find) if place else ("", ""),
        after=_beside(job, made, keys[place + 1], near, find) if place + 1 < len(keys) else ("", ""),
        all_href=job_path(job, "drawings", query={"find": find}),
        lit_href=job_path(job, "circuit", circuit),
    )


def _made(car: Car) -> Mapping[tuple[str, int], Drawing]:
    """Every sheet by its circuit and number, in the order of the job."""
    return {
        (circuit or NO_CIRCUIT, one.sheet): one
        for circuit in car.laid.sheets
        for one in painted_circuit(car.laid, circuit)
    }


def _href(job: str, circuit: str, sheet: int, near: str = "", find: str = "") -> str:
    number = str(sheet) if sheet > 1 else ""
    return job_path(job, "drawing", circuit, query={"sheet": number, "near": near, "find": find})


def _called(circuit: str, one: Drawing) -> str:
    return f"{circuit}, sheet {one.sheet} of {one.sheets}" if one.sheets > 1 else circuit


def _beside(
    job: str, made: Mapping[tuple[str, int], Drawing], key: tuple[str, int], near: str, find: str
) -> tuple[str, str]:
    return _called(key[0], made[key]), _href(job, *key, near, find)


def _line(job: str, circuit: str, one: Drawing) -> SheetLine:
    numbers = [track.number for track in one.tracks]
    return SheetLine(
        circuit=circuit,
        title=one.title,
        sheet=one.sheet,
        sheets=one.sheets,
        tracks=f"{min(numbers)} to {max(numbers)}" if numbers else "",
        wires=len({item.about for item in one.items if isinstance(item, WireStroke)}),
        href=_href(job, circuit, one.sheet),
    )


def _found(made: Mapping[tuple[str, int], Drawing], job: str, find: str) -> tuple[FoundIn, ...]:
    return tuple(
        FoundIn(
            words=text.text,
            circuit=circuit,
            sheet=sheet,
            track=_track(one, text),
            href=_href(job, circuit, sheet, "", find),
        )
        for (circuit, sheet), one in made.items()
        for text in looked_for(one.items, find)
    )


def _track(one: Drawing, text: Text) -> int | None:
    nearest = min(one.tracks, key=lambda track: (abs(track.x_mm - text.x_mm), track.number), default=None)
    return nearest.number if nearest is not None else None
