"""Which state variables does the car have, and which values can each take?

A *state* of the car is a value for each: the key, the selector, every other switch, what the engine and the battery
are doing, and the figures that conditions look at. Names and values come from the parts' kinds, from the sheet
`contacts`, from the sheet `variables`, and from the conditions the job contains. Parts that name the same variable
are ganged. A figure is looked at once in every interval between the limits that are named (`samples`), and at the
ambients of the vehicle.

The key and the selector are there where a part has them or a condition names them: an installer who has not opened
the old ignition switch still says `key=run`. `unplugged` is no variable of the search; it names what a person has
taken off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.asked import conditions_asked
from loomwright.job.conditions import Term
from loomwright.job.figures import plain_figure, text_of_figure
from loomwright.job.job import Job
from loomwright.job.points import Kinds, kinds_of
from loomwright.job.rows import Part, SwitchContact, VariableRow
from loomwright.job.samples import cuts_of, sample_values
from loomwright.job.vehicle import Vehicle, vehicle_of
from loomwright.quantities import ending_of
from loomwright.refusals import OutOfReach
from loomwright.tables.kinds import Kind, positions_of, resolve_settings

__all__ = [
    "BATTERY",
    "ENGINE",
    "UNPLUGGED",
    "Variable",
    "declared_variables",
    "is_figure",
    "is_figure_row",
    "rest_state",
    "variables_of",
]

ENGINE = ("stopped", "cranking", "idle", "running")
BATTERY = ("full", "flat", "cold_weak", "absent", "jump")
UNPLUGGED = "unplugged"
"""The name under which conditions speak of connectors that are off; not a variable of the search."""

_KEY = ("off", "accessory", "run", "start")
_SELECTOR = ("P", "R", "N", "D", "3", "2", "1")
_FIRST = ("key", "selector", "engine", "battery", "ambient_c", "coolant_c")


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """One state variable.

    values: what it can be, neighbours next to each other; figures as text, ascending.
    rest: its value when nothing is said.   momentary: values that spring back.
    numeric: a figure, in the unit its name ends with.   parts: the parts that move it.
    """

    name: str
    values: tuple[str, ...]
    rest: str
    momentary: tuple[str, ...] = ()
    numeric: bool = False
    parts: tuple[str, ...] = ()


def is_figure(name: str) -> bool:
    """Whether a variable of that name is a figure: it ends with a unit.

    Example:
        >>> is_figure("coolant_c"), is_figure("key")
        (True, False)
    """
    return ending_of(name) is not None and "_" in name


def is_figure_row(row: VariableRow) -> bool:
    """Whether a row of the sheet `variables` is about a figure: its name ends with a unit and it lists no words."""
    return is_figure(row.name) and all(
        _figure(word) is not None for word in (*row.values, *row.order, row.rest) if word
    )


def variables_of(job: Job, kinds: Kinds) -> tuple[Variable, ...]:
    """All state variables of a job: key, selector, engine, battery, the ambients, then the others by name.

    Args:
        kinds: those of the library; the job's own are added.
    """
    known = kinds_of(job, kinds)
    terms = [term for asked in conditions_asked(job, known) for term in asked.condition.terms]
    found = {variable.name: variable for variable in _all(job, known, terms)}
    first = [found.pop(name) for name in _FIRST if name in found]
    return (*first, *(found[name] for name in sorted(found)))


def declared_variables(job: Job, kinds: Kinds) -> tuple[Variable, ...]:
    """The variables there are without a condition naming them: of parts, of the sheet, and the usual ones."""
    known = kinds_of(job, kinds)
    usual = (Term(variable="key", op="=", values=()), Term(variable="selector", op="=", values=()))
    return tuple(_all(job, known, usual))


def rest_state(variables: Iterable[Variable]) -> Mapping[str, str | float]:
    """The state of the car when nothing is said: every variable at rest, figures as figures."""
    return {variable.name: float(variable.rest) if variable.numeric else variable.rest for variable in variables}


def _all(job: Job, kinds: Kinds, terms: Sequence[Term]) -> Iterator[Variable]:
    """Words first; a name that has words is no figure, whatever it ends with."""
    words = {variable.name: variable for variable in _words(job, kinds, terms)}
    yield from words.values()
    yield from (figure for figure in _figures(job, terms) if figure.name not in words)


def _words(job: Job, kinds: Kinds, terms: Iterable[Term]) -> Iterator[Variable]:
    """The variables whose values are words."""
    found: dict[str, Variable] = {}
    for variable in _of_switches(job, kinds):
        found[variable.name] = _ganged(found[variable.name], variable) if variable.name in found else variable
    for row in job.variables:
        if row.name and not is_figure_row(row):
            found[row.name] = _own(row, found.get(row.name))
    named = {term.variable for term in terms}
    if "key" in named:
        found.setdefault("key", Variable(name="key", values=_KEY, rest="off", momentary=("start",)))
    if "selector" in named:
        found.setdefault("selector", Variable(name="selector", values=_SELECTOR, rest="P"))
    found["engine"] = Variable(name="engine", values=ENGINE, rest="stopped")
    found["battery"] = Variable(name="battery", values=BATTERY, rest="full")
    yield from found.values()


def _of_switches(job: Job, kinds: Kinds) -> Iterator[Variable]:
    """One variable for each switch, or for each gang of it, not yet ganged."""
    contacts: dict[str, list[SwitchContact]] = {}
    for row in job.contacts:
        contacts.setdefault(row.part, []).append(row)
    for part in job.parts:
        kind = kinds.get(part.kind)
        if kind is None or part.fitted == "removed":
            continue
        if part.id in contacts:
            yield from _of_contacts(part, kind, contacts[part.id])
        elif kind.positions:
            yield _of_kind(part, kind)


def _of_kind(part: Part, kind: Kind) -> Variable:
    """The variable of a switch whose kind says its positions."""
    settings = _settings(part, kind)
    positions, momentary = positions_of(kind, settings)
    # positions that a setting brings along have a rest of their own: the middle of a switch with three
    return Variable(
        name=_own_name(part, kind, settings),
        values=positions,
        rest=kind.rest if positions == kind.positions else positions[0],
        momentary=tuple(word for word in (momentary or kind.momentary) if word in positions),
        parts=(part.id,),
    )


def _of_contacts(part: Part, kind: Kind, rows: list[SwitchContact]) -> Iterator[Variable]:
    """The variables of a switch whose rows say its positions, one for each gang or each variable that is named."""
    settings = _settings(part, kind)
    gangs = {row.gang for row in rows if not row.variable}
    own = _own_name(part, kind, settings)
    by_name: dict[str, list[SwitchContact]] = {}
    for row in rows:
        name = row.variable or (own if len(gangs) <= 1 else f"{part.id}.{row.gang}")
        by_name.setdefault(name, []).append(row)
    for name, group in by_name.items():
        placed = [(row.order if row.order is not None else count, count, row) for count, row in enumerate(group)]
        listed = tuple(dict.fromkeys(row.position for _, _, row in sorted(placed, key=lambda place: place[:2])))
        # rows of a switch with positions of its own may leave out those in which nothing is joined
        values = kind.positions if kind.positions and set(listed) <= set(kind.positions) else listed
        momentary = {row.position for row in group if row.momentary}
        if values == kind.positions:
            momentary.update(kind.momentary)
        rest = kind.rest if kind.rest in values else values[0]
        yield Variable(
            name=name,
            values=values,
            rest=rest,
            momentary=tuple(value for value in values if value in momentary),
            parts=(part.id,),
        )


def _own_name(part: Part, kind: Kind, settings: Mapping[str, float | str]) -> str:
    return str(settings.get("variable") or kind.variable or part.id)


def _settings(part: Part, kind: Kind) -> Mapping[str, float | str]:
    """The part's settings with defaults; without what cannot be read, which reading has said already."""
    try:
        return resolve_settings(kind, part.settings)
    except OutOfReach:
        return {**resolve_settings(kind, {}), **part.settings}


def _ganged(one: Variable, other: Variable) -> Variable:
    """One variable that several parts move: all their positions, in the order first met."""
    return Variable(
        name=one.name,
        values=tuple(dict.fromkeys((*one.values, *other.values))),
        rest=one.rest,
        momentary=tuple(dict.fromkeys((*one.momentary, *other.momentary))),
        parts=(*one.parts, *other.parts),
    )


def _own(row: VariableRow, moved: Variable | None) -> Variable:
    """A variable as the job's own row says it; a switch that moves it adds the positions the row leaves out."""
    listed = row.order if set(row.order) >= set(row.values) else row.values
    values = tuple(dict.fromkeys((*listed, *(moved.values if moved else ())))) or ("off", "on")
    return Variable(
        name=row.name,
        values=values,
        rest=row.rest or (row.values[0] if row.values else moved.rest if moved else values[0]),
        momentary=row.momentary or (moved.momentary if moved else ()),
        parts=moved.parts if moved else (),
    )


def _figures(job: Job, terms: Iterable[Term]) -> Iterator[Variable]:
    """The variables that are figures, each at one value in every interval that conditions tell apart."""
    vehicle = vehicle_of(job)
    named: dict[str, list[Term]] = {"ambient_c": [], "coolant_c": []}
    own = {row.name: row for row in job.variables if is_figure_row(row)}
    for name in own:
        named.setdefault(name, [])
    for term in terms:
        if is_figure(term.variable):
            named.setdefault(term.variable, []).append(term)
    for name, uses in named.items():
        row = own.get(name)
        wanted = [value for word in row.values if (value := _figure(word)) is not None] if row else []
        rest = _rest_figure(name, row, wanted, vehicle)
        always = [vehicle.design_ambient_c, vehicle.cranking_ambient_c] if name == "ambient_c" else []
        values = sample_values(cuts_of(uses), [*wanted, rest, *always])
        yield Variable(
            name=name, values=tuple(text_of_figure(value) for value in values), rest=text_of_figure(rest), numeric=True
        )


def _rest_figure(name: str, row: VariableRow | None, wanted: list[float], vehicle: Vehicle) -> float:
    """The value of a figure when nothing is said."""
    rest = _figure(row.rest) if row is not None and row.rest else None
    if rest is not None:
        return rest
    if wanted:
        return wanted[0]
    return vehicle.design_ambient_c if name.endswith("_c") else 0.0


def _figure(word: str) -> float | None:
    """The figure a word is, or None where it is none."""
    try:
        return plain_figure(word, "")
    except OutOfReach:
        return None
