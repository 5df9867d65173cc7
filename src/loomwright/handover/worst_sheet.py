"""What do the worst cases of a car say: as plain data, and as lists of a workbook?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import starmap

from loomwright.handover.lists import PackList
from loomwright.quantities import ending_of, unit_word
from loomwright.sizing.drawn_on import DrawnOn
from loomwright.sizing.worst_cases import WorstCase, WorstCases

__all__ = ["drawn_plain", "state_words", "worst_lists", "worst_plain"]

_DIGITS = 6
_FIGURE = re.compile(r"-?\d+(\.\d+)?")
_JUST_BEGUN = ("phase", "first")


def state_words(state: Mapping[str, str], before: Mapping[str, str]) -> str:
    """A state in words, what it does not name at rest; a figure with its unit.

    Example:
        >>> state_words({"key": "run", "coolant_c": "108"}, {"key": "start"}), state_words({}, {})
        ('key run, coolant 108 °C, after key start', 'everything at rest')
    """
    told = ", ".join(starmap(_set_words, state.items())) or "everything at rest"
    after = ", ".join(starmap(_set_words, before.items()))
    return f"{told}, after {after}" if after else told


def _set_words(name: str, value: str) -> str:
    """How one variable stands: its name without the unit it ends with, the unit behind the figure."""
    if (name, value) == _JUST_BEGUN:
        return "the first seconds"
    ending = ending_of(name)
    if ending is None or not _FIGURE.fullmatch(value):
        return f"{name.replace('_', ' ')} {value}"
    return f"{name.removesuffix(f'_{ending}').replace('_', ' ')} {value} {unit_word(ending)}".rstrip()


def worst_plain(worst: WorstCases, of: Sequence[str] = ()) -> dict[str, object]:
    """The worst cases as plain data.

    Args:
        of: only these names; all where empty.
    """
    cases = [one for one in worst.cases if not of or one.name in of]
    return {
        "states_searched": worst.states_searched,
        "solved": worst.solved,
        "worst": [_plain(one) for one in cases],
    }


def drawn_plain(supplies: Iterable[DrawnOn], of: Sequence[str] = ()) -> list[dict[str, object]]:
    """The supplies and what draws on them as plain data."""
    return [
        {
            "name": one.name,
            "what": one.what,
            "label": one.label,
            "rating_a": one.rating_a,
            "rated_a": round(one.rated_a, _DIGITS),
            "loads": list(one.loads),
        }
        for one in supplies
        if not of or one.name in of
    ]


def worst_lists(worst: WorstCases, supplies: Iterable[DrawnOn]) -> tuple[PackList, ...]:
    """Both as lists of a workbook."""
    rows = tuple(
        (
            one.name,
            one.what,
            one.label,
            f"{one.amps:.3f}",
            state_words(one.state, one.before),
            "" if one.share_frac is None else f"{one.share_frac:.3f}",
            f"{one.judged_a:.3f}" if one.judged else "",
            f"{one.allowed_a:.2f}" if one.share_frac is not None else "",
            one.judged,
            state_words(one.share_state, one.share_before) if one.judged else "",
        )
        for one in worst.cases
    )
    drawn = tuple(
        (
            one.name,
            one.what,
            one.label,
            "" if one.rating_a is None else f"{one.rating_a:g}",
            f"{one.rated_a:.2f}",
            str(len(one.loads)),
            " ".join(one.loads),
        )
        for one in supplies
    )
    headings = ("id", "what", "label", "most A", "in the state", "share of rating", "amps there", "allowed A")
    figures = ("most A", "share of rating", "amps there", "allowed A")
    return (
        PackList(name="worst cases", headings=(*headings, "held against", "in that state"), rows=rows, figures=figures),
        PackList(
            name="drawn on",
            headings=("id", "what", "label", "rating A", "all on A", "loads", "which"),
            rows=drawn,
            figures=("rating A", "all on A", "loads"),
        ),
    )


def _plain(one: WorstCase) -> dict[str, object]:
    found: dict[str, object] = {
        "name": one.name,
        "what": one.what,
        "label": one.label,
        "amps": round(one.amps, _DIGITS),
        "state": dict(one.state),
        "before": dict(one.before),
        "share_frac": None,
    }
    if one.share_frac is not None:
        found |= {
            "share_frac": round(one.share_frac, _DIGITS),
            "judged_a": round(one.judged_a, _DIGITS),
            "allowed_a": round(one.allowed_a, _DIGITS),
            "judged": one.judged,
            "share_state": dict(one.share_state),
            "share_before": dict(one.share_before),
        }
    return found
