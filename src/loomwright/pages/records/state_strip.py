"""Which controls set the car, and where does each of their steps lead?

A step is the address of the same page with one variable changed, so the page needs no scripts and its address can be
sent on. A variable at rest is not written into the address.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.pages.addresses import state_text
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
_TURNED_DEG = 120.0
_KEPT = ",=:|+-<>"


@dataclass(frozen=True, slots=True, kw_only=True)
class StateStep:
    """One step of a control, and the address of the page in it. turn_deg: how far a key is turned there. [deg]"""

    value: str
    href: str
    is_set: bool
    springs_back: bool = False
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StateSet:
    """One control. title: its words.   unit: of a figure.   drawn: as what, for the look of it.   icon: its drawing."""

    name: str
    title: str
    unit: str
    drawn: str
    icon: str
    steps: tuple[StateStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StateStrip:
    """The controls in order. rest_href: the page with everything at rest; empty where it is."""

    sets: tuple[StateSet, ...]
    rest_href: str


def strip_of(
    path: str,
    variables: Iterable[Variable],
    *,
    state: Mapping[str, str],
    job: Job,
    unplugged: Sequence[str] = (),
    query: Mapping[str, str] | None = None,
) -> StateStrip:
    """The strip of a page.

    Args:
        path: the page's address without its state.
        variables: those of the car.
        state: what the address says; variables it does not name are at rest.
        job: for the parts' names, and the connectors that can be taken off.
        unplugged: connectors that are off.
        query: other questions of the address, which stay.
    Example:
        >>> from loomwright.job.job import Job
        >>> key = Variable(name="key", values=("off", "run"), rest="off")
        >>> strip = strip_of("/j/van/car", [key], state={}, job=Job())
        >>> [(step.value, step.href, step.is_set) for step in strip.sets[0].steps]
        [('off', '/j/van/car', True), ('run', '/j/van/car?state=key=run', False)]
    """
    others = dict(query or {})
    names = {part.id: part.name for part in job.parts}

    def there(new: Mapping[str, str], off: Sequence[str]) -> str:
        asked = {**others, "state": state_text(new), "unplug": ",".join(off)}
        text = urlencode({name: value for name, value in asked.items() if value}, safe=_KEPT, quote_via=quote)
        return f"{path}?{text}" if text else path

    sets = []
    for variable in variables:
        now = state.get(variable.name, variable.rest)
        steps = []
        for place, value in enumerate(variable.values):
            rest_of = {name: word for name, word in state.items() if name != variable.name}
            new = rest_of if value == variable.rest else {**rest_of, variable.name: value}
            steps.append(
                StateStep(
                    value=value,
                    href=there(new, unplugged),
                    is_set=_is_same(value, now),
                    springs_back=value in variable.momentary,
                    turn_deg=_turn_deg(place, len(variable.values)),
                )
            )
        if len(steps) > 1:
            sets.append(_set(variable, names, tuple(steps)))
    plugs = tuple(
        StateStep(
            value=one.id,
            href=there(state, _turned(unplugged, one.id)),
            is_set=one.id in unplugged,
        )
        for one in job.connectors
    )
    if plugs:
        sets.append(StateSet(name="unplugged", title="unplugged", unit="", drawn="plugs", icon="plug", steps=plugs))
    return StateStrip(sets=tuple(sets), rest_href=there({}, ()) if state or unplugged else "")


def _set(variable: Variable, names: Mapping[str, str], steps: tuple[StateStep, ...]) -> StateSet:
    ending = ending_of(variable.name) if variable.numeric else None
    title = names.get(variable.name) or variable.name.removesuffix(f"_{ending}" if ending else "")
    drawn = _DRAWN.get(variable.name) or ("scale" if variable.numeric else "switch")
    return StateSet(
        name=variable.name,
        title=title.replace("_", " "),
        unit=unit_word(ending) if ending else "",
        drawn=drawn,
        icon=_ICONS.get(variable.name, ""),
        steps=steps,
    )


def _turn_deg(place: int, of: int) -> float:
    """How far a key is turned in a position: from one side through upright to the other. [deg]"""
    return _TURNED_DEG * (place / (of - 1) - 0.5) if of > 1 else 0.0


def _turned(off: Sequence[str], connector: str) -> tuple[str, ...]:
    return tuple(one for one in off if one != connector) if connector in off else (*off, connector)


def _is_same(value: str, now: str) -> bool:
    if value == now:
        return True
    try:
        return float(value) == float(now)
    except ValueError:
        return False
