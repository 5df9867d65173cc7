"""Which points and which variables does a truth table ask about?

A point is written as on the loom: a terminal or a metal for its volts; a wire, or an element `part.element`, for its
amps; a part for what it does: a relay is in or out, a controller alive or dead, anything else carries so many amps (its
loads; where it has none its fuse or contact that carries most). Variables are names, `key`, or names with the values
that are wanted, `key=run|start`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np

from loomwright.job.nearest import nearest
from loomwright.network.compiled import Compiled
from loomwright.refusals import OutOfReach
from loomwright.states.asking.cones import Cones

__all__ = ["AskedPoint", "AskedVariable", "asked_points", "asked_variables", "deciding_variables"]

_PARTED = re.compile(r"[,;\s]+")
_MACHINES = ("battery", "alternator")
_PASSING = ("fuse", "breaker", "link", "switch", "contact", "diode")
_MOST_NAMES = 12
_MOST_POINTS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedPoint:
    """One point. what: volts, amps, relay or alive.

    node: whose volts are asked, -1 where none are. [-]   elements: whose amps are added up.
    devices: relays, controllers, or the fuse that may blow.   gives: the amps are counted as given, not taken.
    any_of: of its elements the one that carries most counts, not their sum.   rated_a: of a load. [A]
    """

    name: str
    what: str
    node: int = -1
    elements: tuple[int, ...] = ()
    devices: tuple[int, ...] = ()
    gives: bool = False
    any_of: bool = False
    rated_a: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedVariable:
    """One variable. number: its place in the network. values: their numbers, in the order of the sheets. [-]"""

    name: str
    number: int
    values: tuple[int, ...]


def asked_points(compiled: Compiled, text: str | Iterable[str]) -> tuple[AskedPoint, ...]:
    """The points that a question names, each once.

    Args:
        text: names parted by commas or blanks, or the names.
    Raises:
        OutOfReach: a name that is neither a point, a wire, a part nor an element; none, or too many.
    """
    names = _PARTED.split(text) if isinstance(text, str) else text
    wanted = tuple(dict.fromkeys(name.strip() for name in names if name.strip()))
    if not wanted or len(wanted) > _MOST_POINTS:
        allowed = f"1 to {_MOST_POINTS} points, wires or parts, such as LA1.1, W5, K1"
        raise OutOfReach("points", f"{len(wanted)} of them" if wanted else "none", allowed)
    return tuple(_point(compiled, name) for name in wanted)


def asked_variables(compiled: Compiled, text: str) -> tuple[AskedVariable, ...]:
    """The variables that a question goes over, in its order.

    Args:
        text: `key, SW1=on|off`.
    Raises:
        OutOfReach: a variable or a value that the car does not have, one named twice, or none.
    """
    found: dict[str, AskedVariable] = {}
    variables = compiled.network.variables
    for piece in (piece.strip() for piece in text.replace(";", ",").split(",")):
        if not piece:
            continue
        name, sign, written = (word.strip() for word in piece.partition("="))
        number = compiled.variable_of.get(name)
        if number is None:
            raise OutOfReach("variable", name, _listed(name, compiled.variable_of))
        if name in found:
            raise OutOfReach("variable", name, "each variable once")
        values = variables[number].values
        words = [word.strip() for word in written.split("|") if word.strip()] if sign else list(values)
        for word in words:
            if word not in values:
                raise OutOfReach(name, word, " ".join(values))
        wanted = {values.index(word) for word in words} or set(range(len(values)))
        found[name] = AskedVariable(name=name, number=number, values=tuple(sorted(wanted)))
    if not found:
        raise OutOfReach("variables", "none", f"one or more of {_listed('', compiled.variable_of)}")
    return tuple(found.values())


def deciding_variables(
    compiled: Compiled, cones: Cones, points: Iterable[AskedPoint], *, most: int
) -> tuple[AskedVariable, ...]:
    """The variables that decide what some points do (their cones), as many as make no more than so many combinations.

    Args:
        most: combinations. [-]
    """
    arrays, variables = compiled.arrays, compiled.network.variables
    inside: set[int] = set()
    for point in points:
        touching = np.flatnonzero((arrays.a == point.node) | (arrays.b == point.node)) if point.node >= 0 else ()
        for element in (*point.elements, *(int(k) for k in touching)):
            inside |= cones.of_element.get(element, frozenset())
        for device in point.devices:
            inside |= cones.of_device.get(device, frozenset())
    taken: list[AskedVariable] = []
    count = 1
    for number in sorted(inside):
        values = tuple(range(len(variables[number].values)))
        if len(values) > 1 and count * len(values) <= most:
            count *= len(values)
            taken.append(AskedVariable(name=variables[number].name, number=number, values=values))
    return tuple(taken)


def _point(compiled: Compiled, name: str) -> AskedPoint:
    elements = compiled.network.elements
    named = compiled.elements_of.get(name, ())
    if any(elements[k].is_wire for k in named):
        return AskedPoint(name=name, what="amps", elements=named)
    if name in compiled.node_of and "._" not in name:
        return AskedPoint(name=name, what="volts", node=compiled.node_of[name])
    if named:
        return _carrying(compiled, name, named)
    mine = tuple(k for k, element in enumerate(elements) if element.part == name)
    if mine:
        return _of_part(compiled, name, mine)
    other = compiled.network.aliases.get(name, "")
    if other in compiled.node_of:
        return AskedPoint(name=name, what="volts", node=compiled.node_of[other])
    there = {one for one in (*compiled.node_of, *compiled.elements_of) if "._" not in one}
    raise OutOfReach("point", name, _listed(name, there | {one.part for one in elements if one.part}))


def _of_part(compiled: Compiled, name: str, mine: tuple[int, ...]) -> AskedPoint:
    devices = enumerate(compiled.network.devices)
    own = [(k, device.what) for k, device in devices if device.name.partition(".")[0] == name]
    for word, what in (("alive", "alive"), ("relay", "relay")):
        found = tuple(k for k, sort in own if sort == word)
        if found:
            return AskedPoint(name=name, what=what, devices=found)
    return _carrying(compiled, name, mine)


def _carrying(compiled: Compiled, name: str, mine: tuple[int, ...]) -> AskedPoint:
    """What some elements of one part carry."""
    elements = compiled.network.elements
    machines = tuple(k for k in mine if elements[k].type in _MACHINES)
    loads = tuple(k for k in mine if elements[k].load)
    passing = tuple(k for k in mine if elements[k].type in _PASSING)
    fuses = [k for k, device in enumerate(compiled.network.devices) if device.what == "fuse"]
    held = tuple(k for k in fuses if any(compiled.network.devices[k].name == elements[one].name for one in mine))
    rated = [elements[k].rated_a for k in loads]
    return AskedPoint(
        name=name,
        what="amps",
        elements=machines or loads or passing or mine,
        devices=held,
        gives=bool(machines),
        any_of=not machines and not loads,
        # a motor has two laws and one current
        rated_a=max((one for one in rated if one), default=None)
        if len({elements[k].name for k in loads}) == 1
        else None,
    )


def _listed(name: str, there: Collection[str]) -> str:
    near = nearest(name, sorted(there)) if name else ""
    words = sorted(there)
    listed = " ".join(words[:_MOST_NAMES]) + (" …" if len(words) > _MOST_NAMES else "")
    return (listed or "none in this job") + (f"; nearest: {near}" if near else "")
