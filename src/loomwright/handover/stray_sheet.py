"""What do the strays of a car say: in words, as plain data, and as lists of a workbook?"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.handover.lists import PackList
from loomwright.handover.worst_sheet import state_words
from loomwright.sizing.tolerance import Stray, Strays, Verdict

__all__ = ["passed_words", "stray_lists", "stray_words", "strays_plain"]

_DIGITS = 6
_PERCENT = 100.0


def stray_words(one: Stray) -> str:
    """How far one figure strays, in words."""
    unit = one.unit
    said = f"{one.solved:.3f} {unit} as solved, nine in ten {one.low:.3f} to {one.high:.3f}"
    said += f", all {one.least:.3f} to {one.most:.3f}"
    if one.bound is None:
        return said
    ends = f"{one.bound.least:.3f} to {one.bound.most:.3f} {unit}"
    return f"{said}; never beyond {ends}" if one.bound.holds else f"{said}; furthest met {ends}, not a bound"


def passed_words(passed: int, of: int, sure_frac: float) -> str:
    """A count of cars that pass, and what it is worth.

    Example:
        >>> passed_words(300, 300, 0.9901)
        'passes in 300 of 300 (sure of 99.0 %)'
    """
    # never rounded up to more than is sure
    percent = int(sure_frac * _PERCENT * 10.0) / 10.0
    return f"passes in {passed} of {of} (sure of {percent:.1f} %)"


def strays_plain(strays: Strays, of: Sequence[str] = ()) -> dict[str, object]:
    """The strays as plain data.

    Args:
        of: only these names; all where empty.
    """
    return {
        "samples": strays.cars,
        "seed": strays.seed,
        "states": strays.states,
        "drawn": strays.draws,
        "asked": strays.asked,
        "passed": strays.passed,
        "sure_frac": round(strays.sure_frac, _DIGITS),
        "collapsed": strays.collapsed,
        "strays": [_line(one) for one in strays.lines if not of or one.name in of],
        "verdicts": [
            _verdict(one)
            for one in strays.verdicts
            if not of or set(of) & {place.partition(".")[0] for place in one.at}
        ],
    }


def stray_lists(strays: Strays) -> tuple[PackList, ...]:
    """Both as lists of a workbook."""
    figures = ("solved", "least", "5 %", "half", "95 %", "most", "bound least", "bound most")
    rows = tuple(
        (
            one.name,
            one.what,
            one.label,
            one.unit,
            *(f"{figure:.4f}" for figure in (one.solved, one.least, one.low, one.middle, one.high, one.most)),
            "" if one.bound is None else f"{one.bound.least:.4f}",
            "" if one.bound is None else f"{one.bound.most:.4f}",
            "" if one.bound is None else "yes" if one.bound.holds else "no",
            state_words(one.state, one.before),
        )
        for one in strays.lines
    )
    verdicts = tuple(
        (
            one.rule,
            " ".join(one.at),
            one.label,
            one.wrong,
            str(one.passed),
            str(one.of),
            f"{one.sure_frac:.4f}",
            "yes" if one.as_solved else "no",
        )
        for one in strays.verdicts
    )
    return (
        PackList(
            name="strays",
            headings=("id", "what", "label", "unit", *figures, "bound holds", "in the state"),
            rows=rows,
            figures=figures,
        ),
        PackList(
            name="still passes",
            headings=("rule", "at", "label", "what", "passed", "of", "sure of", "passes as solved"),
            rows=verdicts,
            figures=("passed", "of", "sure of"),
        ),
    )


def _line(one: Stray) -> dict[str, object]:
    figures = {
        "solved": one.solved,
        "least": one.least,
        "low": one.low,
        "middle": one.middle,
        "high": one.high,
        "most": one.most,
    }
    bound = one.bound
    return {
        "name": one.name,
        "what": one.what,
        "label": one.label,
        "unit": one.unit,
        **{name: round(figure, _DIGITS) for name, figure in figures.items()},
        "bound": None
        if bound is None
        else {"least": round(bound.least, _DIGITS), "most": round(bound.most, _DIGITS), "holds": bound.holds},
        "state": dict(one.state),
        "before": dict(one.before),
    }


def _verdict(one: Verdict) -> dict[str, object]:
    return {
        "rule": one.rule,
        "at": list(one.at),
        "label": one.label,
        "wrong": one.wrong,
        "passed": one.passed,
        "of": one.of,
        "sure_frac": round(one.sure_frac, _DIGITS),
        "as_solved": one.as_solved,
    }
