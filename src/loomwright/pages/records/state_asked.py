"""Which state of the car does an address ask about?

`state=key=run,engine=idle`, `before=` likewise, `unplug=XA,XB`. Only what the car has is taken; anything else is
refused with what there is. The strip's form sends its controls one by one, `set.key=run`; they are put together into
the address that can be sent on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.job.nearest import nearest
from loomwright.job.variables import Variable
from loomwright.network.records import Changes
from loomwright.pages.addresses import state_text
from loomwright.refusals import OutOfReach

__all__ = ["OFF", "SET", "StateAsked", "asked_of", "put_together"]

SET = "set."
"""What the fields of the strip begin with; the variable's name follows."""

OFF = "off"
"""The field of a plug that is off."""

_FIGURE_LEAST, _FIGURE_MOST = -1000.0, 100_000.0
_MOST_NAMES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class StateAsked:
    """A state as asked: variables that are not at rest, the state before, connectors and parts that are off."""

    state: Mapping[str, str]
    before: Mapping[str, str]
    unplugged: tuple[str, ...]

    @property
    def changes(self) -> Changes:
        """What differs from the sheets."""
        return Changes(unplugged=self.unplugged)

    @property
    def query(self) -> dict[str, str]:
        """The questions of an address that ask for this state."""
        return {
            "state": state_text(self.state),
            "before": state_text(self.before),
            "unplug": ",".join(self.unplugged),
        }

    @property
    def says(self) -> str:
        """The state in words; what it does not name is at rest."""
        told = [f"{name} {value}" for name, value in self.state.items()]
        told += [f"{name} off its plug" for name in self.unplugged]
        before = f", after {', '.join(f'{n} {v}' for n, v in self.before.items())}" if self.before else ""
        return (", ".join(told) or "everything at rest") + before


def asked_of(car: Car, state: str = "", before: str = "", unplug: str = "") -> StateAsked:
    """The state that an address asks about.

    Raises:
        OutOfReach: a variable, a value, a connector or a part that the car does not have.
    Example:
        >>> from loomwright.job.reading import job_from_text
        >>> car = Car(job_from_text({"parts": [{"id": "B", "kind": "battery"}]}))
        >>> asked_of(car, "engine=idle,battery=full").state
        {'engine': 'idle'}
    """
    variables = {variable.name: variable for variable in car.variables}
    off = [word for word in (piece.strip() for piece in unplug.split(",")) if word]
    known = {row.id for row in car.job.connectors} | {part.id for part in car.job.parts if part.fitted != "removed"}
    for name in off:
        if name not in known:
            raise OutOfReach("connector or part to unplug", name, _named(name, known))
    return StateAsked(
        state={name: value for name, value in _taken(state, variables).items() if value != variables[name].rest},
        before=_taken(before, variables),
        unplugged=tuple(dict.fromkeys(off)),
    )


def put_together(fields: Iterable[tuple[str, str]], rests: Mapping[str, str]) -> dict[str, str]:
    """The questions of an address, from the fields of the strip; what is at rest is left out.

    Example:
        >>> put_together([("set.key", "run"), ("set.light", "off"), ("off", "XA"), ("before", "")], {"light": "off"})
        {'state': 'key=run', 'unplug': 'XA'}
    """
    fields = list(fields)
    state = {name.removeprefix(SET): text for name, text in fields if name.startswith(SET)}
    moved = {name: text for name, text in state.items() if text and text != rests.get(name)}
    found = {name: text for name, text in fields if not name.startswith(SET) and name != OFF and text}
    found |= {"state": state_text(moved), "unplug": ",".join(text for name, text in fields if name == OFF)}
    return {name: text for name, text in found.items() if text}


def _taken(text: str, variables: Mapping[str, Variable]) -> dict[str, str]:
    found: dict[str, str] = {}
    for piece in (piece.strip() for piece in text.split(",")):
        if not piece:
            continue
        name, sign, value = (each.strip() for each in piece.partition("="))
        if not sign or not value:
            raise OutOfReach("state", piece, "variable=value, several joined by commas")
        if name not in variables:
            raise OutOfReach("state variable", name, _named(name, variables))
        found[name] = _value(variables[name], value)
    return found


def _value(variable: Variable, typed: str) -> str:
    if typed in variable.values:
        return typed
    if not variable.numeric:
        raise OutOfReach(variable.name, typed, " ".join(variable.values))
    try:
        figure = float(typed)
    except ValueError:
        raise OutOfReach(variable.name, typed, "a figure") from None
    if not math.isfinite(figure) or not _FIGURE_LEAST <= figure <= _FIGURE_MOST:
        raise OutOfReach(variable.name, typed, f"a figure from {_FIGURE_LEAST:g} to {_FIGURE_MOST:g}")
    same = next((one for one in variable.values if float(one) == figure), None)
    return f"{figure:g}" if same is None else same


def _named(name: str, there: Iterable[str]) -> str:
    names: Sequence[str] = sorted(there)
    like = nearest(name, names)
    listed = " ".join(names[:_MOST_NAMES]) + (" …" if len(names) > _MOST_NAMES else "")
    return (listed or "none in this job") + (f"; nearest: {like}" if like else "")
