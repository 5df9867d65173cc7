"""How is a figure of a gearbox file taken in, so that one that cannot be used is told with its mend?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import Any

from loomwright.refusals import Problem

__all__ = ["Faults", "figure", "figures", "pairs"]


class Faults:
    """What is in the way, gathered while a file is read."""

    def __init__(self, name: str, *, sheet: str = "") -> None:
        self._sheet = sheet or name
        self._mark = "gear." if sheet else ""
        self._found: list[Problem] = []

    def add(self, column: str, found: str, allowed: str, mend: str) -> None:
        """One more thing."""
        where = self._mark + column
        self._found.append(Problem(sheet=self._sheet, row=None, column=where, found=found, allowed=allowed, mend=mend))

    def strange(self, entries: Mapping[str, Any], known: Iterable[str], under: str = "") -> None:
        """Names that nobody asks for."""
        words = tuple(known)
        for name in entries:
            if name not in words:
                self.add(under + name, name, " ".join(words), "Take it out, or spell it as one of these")

    def table(self, entries: Mapping[str, Any], name: str, under: str = "") -> Mapping[str, Any]:
        """A table within; empty where it is not there or is none."""
        inside = entries.get(name, {})
        if isinstance(inside, Mapping):
            return inside
        self.add(under + name, str(inside), f"a table, [{name}]", "Put its figures under that heading")
        return {}

    def problems(self) -> tuple[Problem, ...]:
        """All of it."""
        return tuple(self._found)


def figure(
    faults: Faults,
    entries: Mapping[str, Any],
    name: str,
    least: float,
    most: float,
    *,
    under: str = "",
    usual: float | None = None,
    needed: str = "",
) -> float:
    """One figure; where it cannot be used that is told and the least stands in.

    Args:
        least: it may be. [-]
        most: it may be. [-]
        usual: where it is left out. [-]
        needed: how to come by it, where it must be there.
    """
    if name not in entries:
        if needed:
            faults.add(under + name, "", f"{least:g} to {most:g}", needed)
            return least
        return least if usual is None else usual
    value = _number(entries[name])
    if value is None or not least <= value <= most:
        faults.add(under + name, str(entries[name]), f"{least:g} to {most:g}", needed or "Type a figure in that range")
        return least
    return value


def figures(
    faults: Faults,
    entries: Mapping[str, Any],
    name: str,
    least: float,
    most: float,
    *,
    under: str = "",
    usual: tuple[float, ...] = (),
    what: str = "a list of figures",
) -> tuple[float, ...]:
    """A list of figures.

    Args:
        least: each may be. [-]
        most: each may be. [-]
        usual: where it is left out. [-]
    """
    listed = entries.get(name, list(usual))
    if not isinstance(listed, list) or not listed:
        faults.add(under + name, "" if name not in entries else str(listed), what, "Type them as a list in [ ]")
        return (1.0,)
    found = []
    for place, one in enumerate(listed, start=1):
        value = _number(one)
        if value is None or not least <= value <= most:
            text = f"{one} as number {place}"
            faults.add(under + name, text, f"{least:g} to {most:g}", f"Type figure {place} of the list again")
        else:
            found.append(value)
    return tuple(found) or (1.0,)


def pairs(
    faults: Faults, entries: Mapping[str, Any], name: str, under: str, what: str
) -> tuple[tuple[float, float], ...]:
    """A list of points."""
    listed = entries.get(name)
    found = []
    for point in listed if isinstance(listed, list) else []:
        numbers = [_number(one) for one in point] if isinstance(point, list) else []
        if len(numbers) == 2 and numbers[0] is not None and numbers[1] is not None:
            found.append((numbers[0], numbers[1]))
        else:
            faults.add(under + name, str(point), what, "A hole in the curve: type both figures of the point")
    if len(found) < 2:
        faults.add(under + name, str(listed), what, "Two points or more")
    return tuple(found)


def _number(one: object) -> float | None:
    if isinstance(one, bool) or not isinstance(one, int | float) or not isfinite(one):
        return None
    return float(one)
