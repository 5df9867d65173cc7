"""What was read at a test: what does it mean, how did it come out, and should it be asked once more?

A figure may say its unit. One of another quantity is refused with what is wanted. A reading that can hardly be meant is
asked about once, and kept if it is insisted on: more volts than the car has as it stands, volts the other way round,
less than no ohms, a 1 alone where open is looked for, more amps than a battery gives, or a bare figure that would fit
if it were milli or kilo. A test that cannot be made is `not done`, with the reason. Nothing is ever written over: a
re-test is one more row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isinf
from re import fullmatch

from loomwright.proving.plan import PlannedTest
from loomwright.proving.typed import figure_read
from loomwright.proving.volts_asked import asks_of_volts, state_of_text
from loomwright.quantities import for_print
from loomwright.refusals import OutOfReach

__all__ = ["TOLD", "Taken", "most_meant", "taken"]

TOLD: Mapping[str, tuple[str, ...]] = {
    "lamp": ("dark", "dim", "full"),
    "hand": ("yes", "no"),
    "look": ("yes", "no"),
}
"""What a test without a figure may be answered with."""

_NOT = ("-", "not possible", "not done")
_MOST = {"A": 2000.0, "ohm": 1e9, "degC": 60.0}
_VOLTS_FACTOR = 1.6
"""More than this times the system's volts is no reading of a car at rest: our choice [-]."""
_MILLI = 1000.0
_NULLED_OHM = -0.1
"""Leads that were nulled may leave a joint this much under nought: common practice, no source [ohm]."""
_OPEN_OHM = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The cells of a row of `proofs`. asks: why it should be read again before it is kept, empty where it is plain."""

    cells: Mapping[str, str]
    asks: str = ""

    @property
    def verdict(self) -> str:
        """`passed`, `failed` or `not done`."""
        return self.cells["verdict"]


def taken(
    test: PlannedTest,
    typed: str,
    *,
    time: str,
    who: str = "",
    instrument: str = "",
    warmth: str = "",
    notes: str = "",
    system_v: float = 12.0,
) -> Taken:
    """What was typed at a test, as a row of the sheet `proofs`.

    Args:
        typed: a figure, with its unit or bare; `open`; a word of the test; `-` where it could not be made.
        time: when, as it is written down.
        notes: anything worth knowing; why it could not be made.
        system_v: of the car. [V]
    Raises:
        OutOfReach: no figure, a unit of another quantity, another word, or no reason why it could not be made.
    """
    text = typed.strip()
    about = {
        "test": test.id,
        "point": test.point,
        "to": test.to,
        "when": test.when,
        "low": "" if test.low is None else f"{test.low:.6g}",
        "high": "" if test.high is None else f"{test.high:.6g}",
        "unit": test.unit,
        "instrument": instrument,
        "warmth": warmth,
        "time": time,
        "who": who,
    }
    if text.lower() in _NOT:
        if not notes.strip():
            raise OutOfReach("notes", "", "why the test could not be made")
        return _row(about, verdict="not done", notes=notes)
    if test.measure in TOLD:
        return _word(test, text.lower(), about, notes)
    value = figure_read(text, test.unit)
    if isinf(value):
        return _row(about, verdict="passed" if test.high is None else "failed", value="open", notes=notes)
    verdict = "passed" if _within(test, value) else "failed"
    asks = _asks(test, text, value, system_v)
    return _row(about, verdict=verdict, value=f"{value:.6g}", notes=notes, asks=asks)


def most_meant(unit: str, system_v: float) -> float:
    """The largest figure that is taken without asking, in `unit`.

    Args:
        unit: V, ohm, A or degC.
        system_v: of the car. [V]
    Example:
        >>> most_meant("A", 12.0)
        2000.0
    """
    return _VOLTS_FACTOR * system_v if unit == "V" else _MOST[unit]


def _word(test: PlannedTest, word: str, about: Mapping[str, str], notes: str) -> Taken:
    if word not in TOLD[test.measure]:
        raise OutOfReach("value", word, " ".join(TOLD[test.measure]) + ", or - where it could not be made")
    passed = word == test.word if test.measure != "lamp" else _as_dark(word, test.word)
    value = word if test.measure == "lamp" else ""
    said = "; ".join(text for text in (notes.strip(), "" if value else f"answered {word}") if text)
    return _row(about, verdict="passed" if passed else "failed", value=value, notes=said)


def _as_dark(word: str, expected: str) -> bool:
    """A lamp may be darker than expected, never brighter: what it glows with is what flows."""
    order = TOLD["lamp"]
    return order.index(word) <= order.index(expected or "dark")


def _within(test: PlannedTest, value: float) -> bool:
    shown = abs(value) if test.unit == "A" else value
    if test.unit == "ohm" and _NULLED_OHM <= value < 0.0:
        shown = 0.0
    elif test.unit == "ohm" and value < 0.0:
        return False
    return (test.low is None or shown >= test.low) and (test.high is None or shown <= test.high)


def _asks(test: PlannedTest, text: str, value: float, system_v: float) -> str:
    bare = fullmatch(r"[+-]?[0-9]*[.,]?[0-9]+\.?", text) is not None
    if test.unit == "V" and (asked := asks_of_volts(value, state_of_text(test.when), system_v)):
        return asked
    if abs(value) > most_meant(test.unit, system_v):
        return f"{for_print(value)} {test.unit} is more than this car can show. Read it again, or insist"
    if test.unit == "ohm" and value < _NULLED_OHM:
        return "less than no ohms: something was live, or the leads were nulled crossed. Read it again, or insist"
    if test.unit == "ohm" and bare and value == 1.0 and test.high is None and (test.low or 0.0) >= _OPEN_OHM:
        return "1 ohm, or a 1 alone at the left of the display? That one is over its range: write open. Or insist"
    if test.unit == "V" and not _within(test, value) and _within(test, -value):
        wanted = for_print(test.expected or -value)
        looked = f"{for_print(value)} V where {wanted} V is looked for"
        return f"{looked}: were the leads changed over? Read it again, or insist"
    if bare and not _within(test, value):
        for factor, word in ((1.0 / _MILLI, "milli"), (_MILLI, "kilo")):
            if value and _within(test, value * factor) and (test.expected or 0.0) * value > 0.0:
                near = abs(value * factor) >= 0.1 * abs(test.expected or 0.0)
                if near:
                    return f"{text} {test.unit}, or {text} {word}-{test.unit}? Write the unit, or insist"
    return ""


def _row(about: Mapping[str, str], *, verdict: str, value: str = "", notes: str = "", asks: str = "") -> Taken:
    cells = {**about, "verdict": verdict, "value": value, "notes": notes.strip()}
    return Taken(cells={name: text for name, text in cells.items() if text}, asks=asks)
