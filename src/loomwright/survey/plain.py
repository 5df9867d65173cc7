"""The survey as plain lists and words, in the shape that `--json` prints and pages are filled from."""

from __future__ import annotations

from typing import Any

from loomwright.survey.records import NextReading, OldWireSaid, Query, Survey

__all__ = ["survey_plain"]

_DIGITS = 4


def survey_plain(survey: Survey) -> dict[str, Any]:
    """The survey: `wires` by id, function -> odds; `next`, the reading to take; what is said, asked, warned of."""
    return {
        "wires": {
            wire: {function: round(odds, _DIGITS) for function, odds in each.items()}
            for wire, each in survey.odds.items()
        },
        "next": _reading(survey.following[0]) if survey.following else None,
        "following": [_reading(each) for each in survey.following],
        "said": {wire.id: _wire(wire) for wire in survey.wires},
        "asks": [_query(each) for each in survey.queries],
        "colours": {habit: round(odds, _DIGITS) for habit, odds in survey.conventions.items()},
        "exact": survey.is_exact,
    }


def _wire(wire: OldWireSaid) -> dict[str, Any]:
    return {
        "colour": wire.colour,
        "place": wire.place,
        "stub": wire.stub,
        "readings": wire.readings,
        "likeliest": [
            {"function": each.function, "words": each.words, "probability": round(each.odds_frac, _DIGITS)}
            for each in wire.guesses
        ],
        "how_sure": wire.how_sure,
        "called": wire.is_called,
        "proved_live": wire.is_live_proved,
        "fate": wire.fate.fate,
        "reason": wire.fate.reason,
        "typed_fate": wire.fate.typed,
        "cautions": [{"caution": each.key, "says": each.says, "source": each.source} for each in wire.cautions],
        "change_mind": _reading(wire.change_mind) if wire.change_mind else None,
    }


def _query(query: Query) -> dict[str, Any]:
    odds = None if query.wrong_frac is None else round(query.wrong_frac, _DIGITS)
    return {
        "wire": query.wire,
        "row": query.row,
        "asks": query.asks,
        "says": query.says,
        "wrong": odds,
        "weighed": query.is_used,
    }


def _reading(each: NextReading) -> dict[str, Any]:
    return {
        "wire": each.wire,
        "look": each.look,
        "words": each.words,
        "when": each.when,
        "measure": each.measure,
        "stub": each.stub,
        "place": each.place,
        "bits": round(each.bits, _DIGITS),
        "minutes": round(each.minutes, 2),
        "warning": each.warning,
    }
