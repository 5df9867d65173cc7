"""What did somebody mean by the points and readings they typed, on a command line or into a page?

Pairs are `0:5975 50:806.9`, readings `hours=12; air_c=18` or `type_k_mv=28; junction_c=30`, comparisons
`coolant=2.51/2.56; air=2.40/2.46` (what it should be, what it reads), a probe's moments `0.95/0.97 1.05/1.07@6`
(shown, logged, seconds since its heater came on).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields

from loomwright.calibration.sensor_curves import Compared
from loomwright.calibration.sensor_laws import READ_BY_LAW
from loomwright.calibration.sensors import BeforeCrank, ProbePair
from loomwright.job.nearest import nearest
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = ["BEFORE", "before_of", "compared_of", "named_words", "pairs_of", "probe_of", "read_by_law"]

BEFORE = tuple(one.name for one in fields(BeforeCrank))
"""Names of what is read before the first crank."""
_NEEDED = ("hours", "air_c")
_LONG_S = 60.0


def pairs_of(text: str, *, what: str = "points") -> tuple[tuple[float, float], ...]:
    """Pairs of figures.

    Args:
        text: as typed.
        what: what they are, for what is told.
    Raises:
        BadDocument: every piece that is no pair.
    Example:
        >>> pairs_of("0:5975 50:806,9")
        ((0.0, 5975.0), (50.0, 806.9))
    """
    found: list[tuple[float, float]] = []
    problems = []
    for piece in text.split():
        try:
            one, other = piece.replace(",", ".").split(":")
            found.append((float(one), float(other)))
        except ValueError:
            problems.append(_problem(what, piece, "two figures with a colon between", "Write 0:5975 50:806.9"))
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(found)


def named_words(text: str) -> dict[str, str]:
    """Names and their texts.

    Example:
        >>> named_words("hours=12; air_c=18")
        {'hours': '12', 'air_c': '18'}
    """
    pieces = (piece.partition("=") for piece in text.split(";") if piece.strip())
    return {name.strip(): value.strip() for name, _, value in pieces}


def before_of(typed: Mapping[str, str]) -> BeforeCrank:
    """What was read before the first crank.

    Args:
        typed: name -> figure; blank ones are left out.
    Raises:
        BadDocument: names nobody knows, figures that are none, no hours or no air.
    Example:
        >>> before_of({"hours": "12", "air_c": "18,5", "baro_kpa": ""}).air_c
        18.5
    """
    found, problems = _figures(typed, BEFORE)
    problems += [
        _problem(name, "", "a figure", "Without it nothing can be compared") for name in _NEEDED if name not in found
    ]
    if problems:
        raise BadDocument(tuple(problems))
    return BeforeCrank(**found)


def read_by_law(text: str) -> dict[str, float]:
    """One reading of a sensor that has a law of its own.

    Args:
        text: `type_k_mv=28; junction_c=30`.
    Raises:
        BadDocument: names no law has, figures that are none.
    Example:
        >>> read_by_law("type_k_mv=28; junction_c=30")
        {'type_k_mv': 28.0, 'junction_c': 30.0}
    """
    known = tuple(name for needed, more in READ_BY_LAW for name in (*needed, *more))
    found, problems = _figures(named_words(text), known)
    if problems:
        raise BadDocument(tuple(problems))
    return found


def compared_of(text: str, *, reference_v: float = 5.0) -> tuple[Compared, ...]:
    """Sensors beside what they should read.

    Args:
        text: `coolant=2.51/2.56; air=2.40/2.46`, volts expected and read. [V]
        reference_v: their supply. [V]
    Raises:
        BadDocument: a piece that is none.
    Example:
        >>> compared_of("coolant=2.5/2.55")
        (Compared(name='coolant', expected=0.5, read=0.51),)
    """
    if not reference_v > 0.0:
        raise OutOfReach("reference", reference_v, "above nothing")
    found, problems = [], []
    for name, pair in named_words(text).items():
        try:
            expected, read = (float(one.replace(",", ".")) for one in pair.split("/"))
            found.append(Compared(name=name, expected=expected / reference_v, read=read / reference_v))
        except ValueError:
            problems.append(_problem(name, pair, "volts expected / volts read", "Write coolant=2.51/2.56"))
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(found)


def probe_of(text: str) -> tuple[ProbePair, ...]:
    """What a probe's own display shows beside what the controller logs.

    Args:
        text: `0.95/0.97 1.05/1.07@6`, lambda shown and logged; behind the @ seconds since its heater came on, where it
            was less than a minute.
    Raises:
        BadDocument: every piece that is none.
    Example:
        >>> probe_of("0.95/0.97@6")
        (ProbePair(shown=0.95, logged=0.97, since_s=6.0),)
    """
    found, problems = [], []
    for piece in text.split():
        pair, _, since = piece.replace(",", ".").partition("@")
        try:
            shown, logged = (float(one) for one in pair.split("/"))
            found.append(ProbePair(shown=shown, logged=logged, since_s=float(since) if since else _LONG_S))
        except ValueError:
            problems.append(_problem("probe", piece, "lambda shown / lambda logged @ seconds", "Write 0.95/0.97@60"))
    if problems:
        raise BadDocument(tuple(problems))
    return tuple(found)


def _figures(typed: Mapping[str, str], known: Sequence[str]) -> tuple[dict[str, float], list[Problem]]:
    """The figures of known names, blank ones left out, and what is wrong with the others."""
    problems = []
    found: dict[str, float] = {}
    for name, text in typed.items():
        if name not in known:
            like = nearest(name, known)
            problems.append(_problem(name, text, " ".join(known), f"Write {like}" if like else "Drop it"))
        elif text.strip():
            try:
                found[name] = float(text.replace(",", "."))
            except ValueError:
                problems.append(_problem(name, text, "a figure", "Read it again"))
    return found, problems


def _problem(name: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column=name, found=found, allowed=allowed, mend=mend)
