"""What is known of the engine: what its file, or the sheet `vehicle`, says; the usual figure for what they do not say?

Every name is one of `ENGINE`, with what it may be. A name that is not there is told with the nearest one. An injector's
flow needs the pressure it was measured at: without it the flow is no figure, and it is refused, not guessed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil
from types import MappingProxyType

from loomwright.calibration.fuel import Fuel, fuel_called
from loomwright.job.engine_figures import ENGINE_SPANS, ENGINE_WHOLE, ENGINE_WORDS, engine_allowed
from loomwright.job.nearest import nearest
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.tables.start_figures import figure, start_figures

__all__ = ["ENGINE", "LISTS", "WORDS", "Engine", "engine_of"]

_USUAL: Mapping[str, float] = MappingProxyType(
    {
        "injector_ohm": 14.5,
        "fuel_kpa": 300.0,
        "compression": 9.5,
        "peak_torque_rpm": 3800.0,
        "limit_rpm": 6000.0,
        "most_kpa": 100.0,
        "baro_kpa": 100.0,
        "air_c": 20.0,
        "coolant_c": 88.0,
        "ballast_ohm": 0.0,
        "fans": 2.0,
        "shots": 1.0,
    }
)
ENGINE: Mapping[str, tuple[float, float, float | None]] = MappingProxyType(
    {name: (*span, _USUAL.get(name)) for name, span in ENGINE_SPANS.items()}
)
"""Figure of an engine -> the least and the most it may be, and what is taken where nobody says it; None: nothing."""
WORDS = ENGINE_WORDS
"""Word of an engine -> what it may be, the first where nobody says it."""
LISTS: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {
        "rpm": (500.0, 800.0, 1100.0, 1500.0, 2000.0, 2500.0, 3000.0, 3500.0, 4000.0, 4500.0, 5000.0, 6000.0),
        "kpa": (20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0),
        "volts": (8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0),
        "coolant": (-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 40.0, 60.0, 80.0, 100.0),
    }
)
"""Breakpoints by name, those taken where the user's controller has no others and the engine goes no further."""
_REACHES: Mapping[str, str] = MappingProxyType({"rpm": "limit_rpm", "kpa": "most_kpa"})
"""Breakpoints -> how far the engine goes along them."""
_BEYOND: Mapping[str, tuple[float, int]] = MappingProxyType({"rpm": (1000.0, 9), "kpa": (10.0, 6)})
"""Breakpoints -> beyond the usual ones their step is a multiple of this, and there are at most so many. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """An engine as far as it is known.

    given: names that were said.   figures: name -> value, the usual one where nothing was said.
    delays: volts and milliseconds of its injectors. [-]
    changed: starting figures of the table that its file sets.   lists: breakpoints by name.   words: by name.
    """

    given: frozenset[str]
    figures: Mapping[str, float]
    changed: Mapping[str, float]
    lists: Mapping[str, tuple[float, ...]]
    words: Mapping[str, str]
    fuel: Fuel
    delays: tuple[tuple[float, float], ...] = ()

    def has(self, *names: str) -> bool:
        """Whether all of them are known."""
        return all(name in self.figures for name in names)

    def at(self, name: str) -> float:
        """A figure of the engine, or of the table of starting figures, in the unit its name ends with. [-]"""
        if name in self.figures:
            return self.figures[name]
        return self.changed.get(name, 0.0) if name in self.changed else figure(name)


def engine_of(said: Mapping[str, object]) -> Engine:
    """The engine that a file or a sheet describes.

    Args:
        said: name -> a number, a word, or a list of numbers (of pairs for `delays`: volts and milliseconds).
    Raises:
        BadDocument: names that nobody knows, figures that cannot be meant, all of them.
    Example:
        >>> engine_of({"displacement_cc": 1998, "cylinders": 4}).at("compression")
        9.5
    """
    taken = _Taken(
        figures={name: usual for name, (_, _, usual) in ENGINE.items() if usual is not None},
        lists=dict(LISTS),
        words={name: allowed[0] for name, allowed in WORDS.items()},
        fuel=fuel_called("petrol"),
    )
    problems: list[Problem] = []
    known = (*ENGINE, *LISTS, *WORDS, "fuel", "delays", *start_figures())
    for name, value in said.items():
        if name not in known:
            like = nearest(name, known)
            problems.append(_problem(name, str(value), "names of an engine", f"Write {like}" if like else "Drop it"))
            continue
        try:
            taken.take(name, value)
        except OutOfReach as fault:
            problems.append(_problem(name, str(fault.found), fault.allowed, "Look it up in the maker's data"))
    figures = taken.figures
    problems += _lacking(figures)
    if problems:
        raise BadDocument(tuple(problems))
    figures.setdefault("injectors", figures["cylinders"])
    ends = {name: _up_to(name, figures[most]) for name, most in _REACHES.items() if name not in said}
    return Engine(
        given=frozenset(said),
        figures=MappingProxyType(figures),
        changed=MappingProxyType(taken.changed),
        lists=MappingProxyType(taken.lists | ends),
        words=MappingProxyType(taken.words),
        fuel=taken.fuel,
        delays=taken.delays,
    )


@dataclass(slots=True, kw_only=True, eq=False)
class _Taken:
    """What of an engine was said so far, the usual where nothing was; each as of `Engine`."""

    figures: dict[str, float]
    lists: dict[str, tuple[float, ...]]
    words: dict[str, str]
    fuel: Fuel
    changed: dict[str, float] = field(default_factory=dict)
    delays: tuple[tuple[float, float], ...] = ()

    def take(self, name: str, value: object) -> None:
        """Take one thing that was said; OutOfReach where it cannot be meant."""
        if name in ENGINE:
            low, high, _ = ENGINE[name]
            self.figures[name] = _number(name, value, low, high)
            if name in ENGINE_WHOLE and self.figures[name] % 1.0:
                raise OutOfReach(name, value, engine_allowed(name))
        elif name in start_figures():
            self.changed[name] = _number(name, value, -1e6, 1e6)
        elif name in LISTS:
            self.lists[name] = _rising(name, value)
        elif name in WORDS:
            self.words[name] = _word(name, str(value))
        elif name == "fuel":
            self.fuel = fuel_called(str(value))
        else:
            self.delays = _pairs(value)


def _lacking(figures: Mapping[str, float]) -> Iterator[Problem]:
    """What has to be said beside what was."""
    if "injector_cc_per_min" in figures and "injector_kpa" not in figures:
        allowed = "the pressure that flow was measured at (300 is usual, 250 to 400 are met)"
        yield _problem("injector_kpa", "", allowed, "Look it up beside the flow")
    for name in ("displacement_cc", "cylinders"):
        if name not in figures:
            yield _problem(name, "", "a number", "Without it no air, no fuel can be worked out")


def _up_to(name: str, most: float) -> tuple[float, ...]:
    """The usual breakpoints as far as an engine goes: fewer, or more of them, and one where it ends. [-]"""
    usual = LISTS[name]
    step, count = _BEYOND[name]
    if most > usual[-1]:
        step *= ceil((most - usual[-1]) / (count * step))
        usual += tuple(usual[-1] + step * n for n in range(1, ceil((most - usual[-1]) / step)))
    kept = [figure for figure in usual if figure < most]
    if len(kept) > 1 and most - kept[-1] < (kept[-1] - kept[-2]) / 2.0:
        kept.pop()  # two breakpoints close together tell no more than one
    return (*kept, most)


def _number(name: str, value: object, low: float, high: float) -> float:
    try:
        found = float(str(value).replace(",", "."))
    except ValueError:
        raise OutOfReach(name, value, f"{low:g} to {high:g}") from None
    if not low <= found <= high:
        raise OutOfReach(name, value, f"{low:g} to {high:g}")
    return found


def _rising(name: str, value: object) -> tuple[float, ...]:
    pieces: Sequence[object] = value if isinstance(value, list | tuple) else str(value).split()
    found = tuple(_number(name, piece, -100.0, 20_000.0) for piece in pieces)
    if not 2 <= len(found) <= 64 or any(b <= a for a, b in pairwise(found)):
        raise OutOfReach(name, " ".join(map(str, pieces)), "2 to 64 numbers that rise")
    return found


def _pairs(value: object) -> tuple[tuple[float, float], ...]:
    rows = value if isinstance(value, list | tuple) else [piece.split(":") for piece in str(value).split()]
    if not all(isinstance(row, list | tuple) and len(row) == 2 for row in rows):
        raise OutOfReach("delays", value, "pairs of volts and milliseconds, [[8, 1.55], [14, 0.85]]")
    found = sorted((_number("delays", v, 4.0, 32.0), _number("delays", ms, 0.01, 20.0)) for v, ms in rows)
    return tuple(found)


def _word(name: str, value: str) -> str:
    if value not in WORDS[name]:
        raise OutOfReach(name, value, ", ".join(WORDS[name]))
    return value


def _problem(name: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="engine", row=None, column=name, found=found, allowed=allowed, mend=mend)
