"""What would a reading show, if the wire were this or that?

    expected_of(job, wire_odds, "run")  ->  for each likely function: about 12.4 V; near 0 V; anything

In: what a function shows in a look (the table), the volts of the system and which post is earthed. Out: words a person
holds against the meter, with the odds of the function. A table that says nothing says *anything*. Figures are typical.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.quantities.printing import for_print
from loomwright.survey.evidence import NOMINAL_V
from loomwright.survey.weighing import functions_of
from loomwright.tables.old_wires import WireFunction, survey_figure

__all__ = ["Expected", "expected_of", "shows_in"]

_MOST = 5
_LEAST_ODDS = 0.02
_ANYTHING = "anything"
_GLOWS: Mapping[str, str] = {
    "full": "lights full to the body",
    "dim": "lights dim to the body",
    "dark": "dark both ways",
    "earthed": "dark to the body, lights from the battery",
    "": _ANYTHING,
}
_NO_VOLTS: Mapping[str, str] = {
    "part": "some volts, fewer than the battery's",
    "pulsing": "comes and goes",
    "floating": "near 0 V, may drift",
    "earthed": "0 V",
    "": _ANYTHING,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What a reading would show under one function. odds_frac: of the function now. [0..1]"""

    function: str
    words: str
    odds_frac: float
    says: str


def expected_of(job: Job, odds: Mapping[str, float], look: str) -> tuple[Expected, ...]:
    """What a look would show under each function that is in the running, likeliest first.

    Args:
        job: for the volts of its system and functions of its own.
        odds: function -> how likely, of the wire. [0..1]
        look: the state it is looked at in.
    Example:
        >>> [each.says for each in expected_of(Job(), {"accessory": 0.7, "earth": 0.3}, "off")]
        ['near 0 V, may drift', '0 V']
    """
    vehicle = vehicle_of(job)
    scale = vehicle.system_v / NOMINAL_V
    sign = 1.0 if vehicle.earth == "negative" else -1.0
    named = {function.key: function for function in functions_of(job)}
    likely = sorted((key for key in odds if odds[key] >= _LEAST_ODDS and key in named), key=lambda key: -odds[key])
    return tuple(
        Expected(
            function=key,
            words=named[key].words,
            odds_frac=odds[key],
            says=shows_in(named[key], look, scale=scale, sign=sign),
        )
        for key in likely[:_MOST]
    )


def shows_in(function: WireFunction, look: str, *, scale: float = 1.0, sign: float = 1.0) -> str:
    """What a function shows in a look, in words.

    Args:
        function: what the wire would be.
        look: the state.
        scale: volts of the system against 12 V. [-]
        sign: -1 where the battery's plus is earthed. [-]
    Source:
        per row of `old_wire_functions.csv` and `old_wire_figures.csv`: typical.
    """
    if not function.is_known:
        return _ANYTHING
    if look == "ohms":
        if function.least_ohm is None or function.most_ohm is None:
            return _ANYTHING
        return f"{for_print(function.least_ohm)} to {for_print(function.most_ohm)} Ω"
    if look == "seen":
        return function.seen if function.seen else "nothing"
    if look == "lamp":
        return _GLOWS[function.lamp]
    word = function.shows.get(look, "")
    if word != "live":
        return _NO_VOLTS[word]
    sags = look in ("start", "start_in_gear")
    volts = (survey_figure("rest_v") - (survey_figure("start_sag_v") if sags else 0.0)) * scale * sign
    return f"about {for_print(volts)} V"
