"""What does a recipe take for an answer, and which does it take where none is given?

Each answer is looked up in the job: a new part's id is one not used yet, a feed a terminal that is there, an earth
point the nearest one. Whatever does not fit is told with the rest at once, naming the answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import count
from math import dist

from loomwright.brief.recipe import Ask, Recipe, names_in
from loomwright.job.conditions import parse_condition
from loomwright.job.job import Job
from loomwright.job.nearest import nearest
from loomwright.job.points import Kinds, split_point, terminals_of
from loomwright.job.rows import Part
from loomwright.quantities.parsing import parse_quantity
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.tables.kinds import terminal_of

__all__ = ["Answers", "answered", "filled_in", "number_of"]

Answers = Mapping[str, str]
_COUNTED = ("busbar", "splice")


def answered(job: Job, recipe: Recipe, given: Answers, kinds: Kinds) -> Answers:
    """Every answer of a recipe: those given, looked up in the job, and the usual ones for the rest.

    Args:
        given: name -> answer; `takes` of the ask says what it may be.
    Raises:
        BadDocument: an answer that is missing, does not fit, or that nothing asks for; all of them are listed.
    """
    problems = [
        _problem(recipe, name, given[name], ", ".join(ask.name for ask in recipe.asks), "Leave it out")
        for name in given
        if all(ask.name != name for ask in recipe.asks)
    ]
    answers: dict[str, str] = {}
    unclear: set[str] = set()
    for ask in recipe.asks:
        how, _, rests_on = ask.usual.partition(":")
        if how.startswith("@") and rests_on in unclear and not given.get(ask.name, "").strip():
            answers[ask.name] = ""  # it follows from an answer that is told already
            unclear.add(ask.name)
            continue
        try:
            answers[ask.name] = _answer(job, ask, given.get(ask.name, "").strip(), answers, kinds)
        except OutOfReach as fault:
            mend = f"Say {ask.name}=…: {ask.says}"
            problems.append(_problem(recipe, ask.name, str(fault.found), fault.allowed, mend))
            answers[ask.name] = ""
            unclear.add(ask.name)
    if problems:
        raise BadDocument(tuple(problems))
    return answers


def filled_in(text: str, answers: Answers) -> str:
    """A text with the answers put in for their names."""
    for name in names_in(text):
        text = text.replace(f"{{{name}}}", answers[name])
    return text


def _free_stud(job: Job, part: Part, before: Answers) -> str:
    """The first counted terminal of a busbar or splice that no wire ends at and no answer took: `BUS1.4`."""
    taken = {end for wire in job.wires if wire.fitted != "removed" for end in (wire.from_, wire.to)}
    taken |= set(before.values())
    points = (f"{part.id}.{number}" for number in count(1))
    return next(point for point in points if point not in taken)


def _problem(recipe: Recipe, name: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=f"recipe {recipe.id}", row=None, column=name, found=found, allowed=allowed, mend=mend)


def _answer(job: Job, ask: Ask, given: str, before: Answers, kinds: Kinds) -> str:
    text = given or _usual(job, ask, before)
    if not text:
        raise OutOfReach(ask.name, "", _allowed(job, ask))
    if ask.takes in ("new part", "new circuit"):
        used = {row.id for row in (job.parts if ask.takes == "new part" else job.circuits)}
        used |= {before[name] for name in before}
        if given and given in used:
            raise OutOfReach(ask.name, given, "an id that is not used yet")
        return _not_used(text, used)
    if ask.takes == "place":
        return _place(job, ask, text)
    if ask.takes in ("part", "earth"):
        return _part(job, ask, text)
    if ask.takes == "feed":
        return _feed(job, ask, text, before, kinds)
    if ask.takes == "choice" and text not in ask.allowed:
        raise OutOfReach(ask.name, text, ", ".join(ask.allowed))
    if ask.takes == "number":
        return f"{number_of(ask.name, text, ask.unit):g}"
    if ask.takes == "when" and text not in ("always", "never"):
        parse_condition(text)
    return text


def number_of(name: str, text: str, unit: str = "") -> float:
    """A figure that was typed, with a decimal point or comma, with its unit or without.

    Args:
        unit: what it is asked in; `1` or blank for a count or a share.
    Raises:
        OutOfReach: it is not one, of another quantity, or not above nothing.
    Example:
        >>> number_of("alternator_a", "90A", "A"), number_of("ohm", "2k2", "ohm"), number_of("share", "0,4")
        (90.0, 2200.0, 0.4)
    """
    found = parse_quantity(text, "" if unit == "1" else unit, name=name, decimal_comma=True)
    if not found > 0.0:
        raise OutOfReach(name, text, "a figure above nothing")
    return found


def _usual(job: Job, ask: Ask, before: Answers) -> str:
    if not ask.usual.startswith("@"):
        return filled_in(ask.usual, before)
    how, _, name = ask.usual[1:].partition(":")
    if how == "only":
        fitting = [part.id for part in job.parts if part.kind in ask.kinds and part.fitted != "removed"]
        return fitting[0] if len(fitting) == 1 else ""
    if how == "place":
        part = split_point(before.get(name, ""))[0]
        return next((row.place or "" for row in job.parts if row.id == part), "")
    return _nearest_earth(job, before.get(name, "")) if how == "near" else ""


def _nearest_earth(job: Job, place: str) -> str:
    """The earth point at a place, else the nearest by measure: on the body where one is, since all meet there."""
    points = [row for row in job.parts if row.kind == "earth_point" and row.fitted != "removed"]
    points = [row for row in points if row.settings.get("on", "body") == "body"] or points
    beside = [row.id for row in points if row.place == place]
    if beside:
        return beside[0]
    where = _where(job)
    away = [(dist(where[place], where[row.place]), row.id) for row in points if {place, row.place} <= where.keys()]
    return min(away)[1] if away else ""


def _where(job: Job) -> Mapping[str, tuple[float, float, float]]:
    """The places whose measures are typed: place -> x, y, z. [mm]"""
    found = {}
    for row in job.places:
        if row.x_mm is not None and row.y_mm is not None and row.z_mm is not None:
            found[row.id] = (row.x_mm, row.y_mm, row.z_mm)
    return found


def _not_used(text: str, used: set[str]) -> str:
    if text not in used:
        return text
    number = next(k for k in range(2, len(used) + 3) if f"{text}{k}" not in used)
    return f"{text}{number}"


def _place(job: Job, ask: Ask, text: str) -> str:
    if all(row.id != text for row in job.places):
        raise OutOfReach(ask.name, text, ", ".join(row.id for row in job.places) or "a place of the sheet places")
    return text


def _part(job: Job, ask: Ask, text: str) -> str:
    wanted = ask.kinds or ("earth_point",)
    fitting = [part.id for part in job.parts if part.kind in wanted and part.fitted != "removed"]
    if text not in fitting:
        raise OutOfReach(ask.name, text, _allowed(job, ask))
    return text


def _feed(job: Job, ask: Ask, text: str, before: Answers, kinds: Kinds) -> str:
    """A point to take current from: as it was named, or the next free stud of a busbar, or the far end of a fuse."""
    name, terminal = split_point(text)
    there = {row.id: row for row in job.parts if row.fitted != "removed"}
    part = there.get(name)
    if part is None:
        like = nearest(name, there)
        raise OutOfReach(ask.name, text, _allowed(job, ask) + (f"; nearest part: {like}" if like else ""))
    kind = kinds[part.kind]
    if terminal:
        if terminal_of(kind, terminal) is None and terminal not in terminals_of(job, kinds, name):
            raise OutOfReach(ask.name, text, f"a terminal of {name}")
        return text
    if part.kind in _COUNTED:
        return _free_stud(job, part, before)
    if part.kind == "fuse":
        return f"{name}.2"
    raise OutOfReach(ask.name, text, f"a terminal of {name}: write {name}. and its number")


def _allowed(job: Job, ask: Ask) -> str:
    if ask.takes == "place":
        return ", ".join(row.id for row in job.places) or "a place of the sheet places"
    if ask.takes in ("part", "earth"):
        wanted = ask.kinds or ("earth_point",)
        fitting = [part.id for part in job.parts if part.kind in wanted and part.fitted != "removed"]
        return ", ".join(fitting) or f"a part of kind {' or '.join(wanted)}; there is none yet"
    if ask.takes == "feed":
        return "a busbar, a splice, a fuse, or any point such as KEY.15"
    return f"a figure in {ask.unit}" if ask.unit else "an answer"
