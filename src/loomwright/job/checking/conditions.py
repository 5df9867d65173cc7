"""Does every condition ask about a variable there is, and about a value it can have?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from loomwright.job.asked import Asked, conditions_asked
from loomwright.job.checking.look import Look, told
from loomwright.job.conditions import Term, is_word
from loomwright.job.job import Job
from loomwright.job.nearest import is_look_alike
from loomwright.job.schema import rows_of
from loomwright.job.variables import UNPLUGGED, Variable, declared_variables, is_figure, is_figure_row
from loomwright.refusals import OutOfReach, Problem

__all__ = ["check_conditions", "check_variables"]

_TAKEN_NAMES = ("engine", "battery", UNPLUGGED, "before")
_NAMING = {"variables": ("name", "values"), "contacts": ("gang", "variable")}
_READ_WITH = ("readings", "proofs")
_MAKE_VARIABLES = frozenset({"parts", "contacts", "variables", "kinds"})


def check_variables(look: Look) -> Iterator[Problem]:
    """Rows of the sheet `variables` that take a name in use, list no values, or rest on a value they do not list."""
    yield from _unusable_words(look)
    for index, row in enumerate(look.job.variables):
        if row.name in _TAKEN_NAMES:
            allowed = f"a name of its own; {' '.join(_TAKEN_NAMES)} have their meaning already"
            yield look.problem("variables", index, "name", found=row.name, allowed=allowed, mend="Call it another name")
            continue
        if is_figure_row(row):
            continue
        if not row.values:
            allowed = "its values apart by spaces, or a name that ends with a unit (oil_kpa)"
            yield look.problem(
                "variables", index, "values", found="", allowed=allowed, mend="List the values it can have"
            )
        for column, words in (("rest", (row.rest,)), ("order", row.order), ("momentary", row.momentary)):
            for word in words:
                if word and row.values and word not in row.values:
                    yield look.unknown(
                        "variables",
                        index,
                        column,
                        word=word,
                        words=row.values,
                        what=f"values of {row.name}",
                        otherwise="Add it to the values",
                    )


def _unusable_words(look: Look) -> Iterator[Problem]:
    """Names and values of variables that no condition could speak of."""
    for sheet, fields in _NAMING.items():
        for index, row in enumerate(rows_of(look.job, sheet)):
            for field in fields:
                value = getattr(row, field)
                for word in value if isinstance(value, tuple) else (value,):
                    if word and not is_word(word):
                        allowed = "a word without blanks and without , ; | = < > !"
                        mend = "Write it as one word, as it shall stand in conditions"
                        yield look.problem(sheet, index, field, found=word, allowed=allowed, mend=mend)


def check_conditions(look: Look) -> Iterator[Problem]:
    """Terms about an unknown variable, an unknown value, or a comparison with a word."""
    if look.unread & _MAKE_VARIABLES or look.half_made:
        return
    try:
        known = {variable.name: variable for variable in declared_variables(_as_read(look.job), look.kinds)}
    except OutOfReach:
        # the vehicle's own figures cannot be read, which `check_vehicle` has told
        return
    for asked in _all_conditions(look):
        if asked.written:
            for term in asked.condition.terms:
                yield from _term(look, asked, term, known)


def _as_read(job: Job) -> Job:
    """The job without its own kinds, which are among the kinds of the look already."""
    return replace(job, kinds=())


def _all_conditions(look: Look) -> Iterator[Asked]:
    """Every condition a person wrote: those that matter to the car, and those under which something was read."""
    yield from conditions_asked(look.job, look.kinds)
    for sheet in _READ_WITH:
        for index, row in enumerate(rows_of(look.job, sheet)):
            yield Asked(sheet=sheet, index=index, column="when", condition=row.when)  # type: ignore[attr-defined]


def _term(look: Look, asked: Asked, term: Term, known: Mapping[str, Variable]) -> Iterator[Problem]:
    if term.variable == UNPLUGGED:
        yield from _plugs(look, asked, term)
        return
    variable = known.get(term.variable)
    if variable is None:
        yield from _unknown_variable(look, asked, term, known)
        return
    if variable.numeric:
        if term.number is None and not _are_figures(term):
            allowed = f"a figure, such as {term.variable}>=95"
            yield _problem(look, asked, found=term.text, allowed=allowed, mend="Write the figure")
        return
    if term.op not in ("=", "!="):
        allowed = f"{term.variable}= and one of {' '.join(variable.values)}"
        yield _problem(look, asked, found=term.text, allowed=allowed, mend="Name the values, with | between them")
        return
    for word in term.values:
        if word not in variable.values:
            yield _unknown_word(look, asked, term, word, variable.values)


def _plugs(look: Look, asked: Asked, term: Term) -> Iterator[Problem]:
    """Connectors that are named as unplugged and are not there."""
    if look.unread & {"connectors"}:
        return
    inline = [part.id for part in look.job.parts if _is_plug(look, part.kind)]
    there = (*look.ids["connectors"], *inline, "none")
    for word in term.values:
        if word not in there:
            yield _unknown_word(look, asked, term, word, there)


def _is_plug(look: Look, kind_id: str) -> bool:
    kind = look.kinds.get(kind_id)
    return kind is not None and kind.numbered and any(terminal.name in ("*p", "*s") for terminal in kind.terminals)


def _unknown_variable(look: Look, asked: Asked, term: Term, known: Mapping[str, Variable]) -> Iterator[Problem]:
    """A variable nobody has; a figure of a new name is fine unless it looks like a known one misspelt."""
    names = (*known, UNPLUGGED)
    like = next((name for name in names if is_look_alike(term.variable, name)), "")
    if not like and ((is_figure(term.variable) and _are_figures(term)) or asked.sheet in _READ_WITH):
        # a reading may be taken while a switch is on that nobody has put into the sheets
        return
    meant = like or look.nearest("state variables", term.variable, names)
    add = f"add a row {term.variable} to the sheet variables"
    mend = f"Write {meant}, or {add}" if meant else f"A{add[1:]}"
    allowed = told("state variables", names)
    yield _problem(look, asked, found=term.text, allowed=allowed, mend=mend)


def _unknown_word(look: Look, asked: Asked, term: Term, word: str, words: Iterable[str]) -> Problem:
    known = list(words)
    meant = look.nearest(f"values of {term.variable}", word, known)
    mend = f"Write {term.variable}={meant}" if meant else "Name one of these"
    found = f"{'before.' if term.before else ''}{term.variable}={word}"
    return _problem(look, asked, found=found, allowed=told(f"values of {term.variable}", known), mend=mend)


def _are_figures(term: Term) -> bool:
    return all(word.replace(".", "", 1).lstrip("+-").isdigit() for word in term.values)


def _problem(look: Look, asked: Asked, *, found: str, allowed: str, mend: str) -> Problem:
    where = f"{asked.setting}={found}" if asked.setting else found
    return look.problem(asked.sheet, asked.index, asked.column, found=where, allowed=allowed, mend=mend)
