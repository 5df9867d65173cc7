"""Which controls set the car, and how does each stand?

The strip is a form that asks for the same page in another state, so the page needs no scripts and its address can be
sent on. A variable at rest is not written into the address. What matters for the page stands first, the rest is folded
away; a control that is not at rest is never folded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.pages.addresses import state_text
from loomwright.pages.records.state_asked import OFF, SET
from loomwright.quantities import ending_of, unit_word

__all__ = ["StateSet", "StateStep", "StateStrip", "strip_of"]

_ICONS: Mapping[str, str] = {
    "key": "key",
    "selector": "lever",
    "engine": "crank",
    "ambient_c": "thermometer",
    "coolant_c": "thermometer",
}
_DRAWN: Mapping[str, str] = {"key": "key", "selector": "lever"}
_ALWAYS = ("key", "selector", "engine")
_TURNED_DEG = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StateStep:
    """One step of a control. turn_deg: how far a key is turned there. [deg]"""

    value: str
    is_set: bool
    springs_back: bool = False
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StateSet:
    """One control. field: its name in the form.   title: its words.   unit: of a figure.

    drawn: as what, for the look of it.   icon: its drawing.   many: several of its steps may be set at once.
    """

    field: str
    title: str
    unit: str
    drawn: str
    icon: str
    steps: tuple[StateStep, ...]
    many: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StateStrip:
    """The controls in order, those that are folded away apart.

    action: the page they set.   hidden: other questions of its address.
    rest_href: the page with everything at rest; empty where it is.
    """

    action: str
    hidden: tuple[tuple[str, str], ...]
    sets: tuple[StateSet, ...]
    others: tuple[StateSet, ...]
    rest_href: str


def strip_of(
    path: str,
    variables: Iterable[Variable],
    *,
    state: Mapping[str, str],
    job: Job,
    unplugged: Sequence[str] = (),
    before: Mapping[str, str] | None = None,
    matters: Iterable[str] | None = None,
) -> StateStrip:
    """The strip of a page.

    Args:
        path: the page's address without its state.
        variables: those of the car.
        state: what the address says; variables it does not name are at rest.
        job: for the parts' names, and the connectors that can be taken off.
        unplugged: connectors and parts that are off.
        before: the state the car came from; it stays.
        matters: variables that stand first; None: all.
    Example:
        >>> from loomwright.job.job import Job
        >>> key = Variable(name="key", values=("off", "run"), rest="off")
        >>> strip = strip_of("/j/van/car", [key], state={"key": "run"}, job=Job())
        >>> [(step.value, step.is_set) for step in strip.sets[0].steps], strip.rest_href
        ([('off', False), ('run', True)], '/j/van/car')
    """
    names = {part.id: part.name for part in job.parts}
    first = None if matters is None else {*matters, *_ALWAYS}
    sets: list[StateSet] = []
    others: list[StateSet] = []
    for variable in variables:
        if len(variable.values) > 1:
            shown = first is None or variable.name in first or variable.name in state
            (sets if shown else others).append(_set(variable, names, state.get(variable.name, variable.rest)))
    plugs = [one.id for one in job.connectors]
    plugs += [name for name in unplugged if name not in plugs]
    if plugs:
        off = StateSet(
            field=OFF,
            title="unplugged",
            unit="",
            drawn="plugs",
            icon="plug",
            steps=tuple(StateStep(value=one, is_set=one in unplugged) for one in plugs),
            many=True,
        )
        (sets if first is None or unplugged else others).append(off)
    return StateStrip(
        action=path,
        hidden=(("before", state_text(before)),) if before else (),
        sets=tuple(sets),
        others=tuple(others),
        rest_href=path if state or unplugged or before else "",
    )


def _set(variable: Variable, names: Mapping[str, str], now: str) -> StateSet:
    ending = ending_of(variable.name) if variable.numeric else None
    title = names.get(variable.name) or variable.name.removesuffix(f"_{ending}" if ending else "")
    values = variable.values
    if variable.numeric and not any(_is_same(value, now) for value in values):
        values = tuple(sorted((*values, now), key=float))
    return StateSet(
        field=SET + variable.name,
        title=title.replace("_", " "),
        unit=unit_word(ending) if ending else "",
        drawn=_DRAWN.get(variable.name) or ("scale" if variable.numeric else "switch"),
        icon=_ICONS.get(variable.name, ""),
        steps=tuple(
            StateStep(
                value=value,
                is_set=_is_same(value, now),
                springs_back=value in variable.momentary,
                turn_deg=_turn_deg(place, len(values)),
            )
            for place, value in enumerate(values)
        ),
    )


def _turn_deg(place: int, of: int) -> float:
    """How far a key is turned in a position: from one side through upright to the other. [deg]"""
    return _TURNED_DEG * (place / (of - 1) - 0.5) if of > 1 else 0.0


def _is_same(value: str, now: str) -> bool:
    if value == now:
        return True
    try:
        return float(value) == float(now)
    except ValueError:
        return False
