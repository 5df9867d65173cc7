"""Which volts can hardly be meant, so that they are asked about once before they are kept?

A car with its engine stopped shows no more than a full battery with a charger just off; with the engine turning no more
than its alternator is set to. What is more was read in another state than was written down, in another unit, or with a
charger on. It is asked about, and kept where somebody insists.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.quantities import for_print
from loomwright.tables.old_wires import survey_figure

__all__ = ["asks_of_volts", "state_of_text"]

_NOMINAL_V = 12.0
_TURNING = ("idle", "running")
_THOUSAND = 1000.0
_LAST_DIGIT_V = 1e-6
"""Less than any meter shows: a figure at the bound is not over it [V]."""


def state_of_text(text: str) -> dict[str, str]:
    """Variable -> value of a state as it is written; what is no pair is left out.

    Example:
        >>> state_of_text("key=run, engine=running"), state_of_text("")
        ({'key': 'run', 'engine': 'running'}, {})
    """
    pairs = (pair.partition("=") for pair in text.split(","))
    return {name.strip(): value.strip() for name, sign, value in pairs if sign}


def asks_of_volts(value_v: float, state: Mapping[str, str], system_v: float) -> str:
    """Why a figure is asked about; empty where it is plain.

    Args:
        value_v: what the meter showed. [V]
        state: the car as it stood; what is not named is at rest.
        system_v: of the car. [V]
    Source:
        `most_rest_v` and `most_charging_v` of the survey's figures, which say where they come from.
    Example:
        >>> asks_of_volts(15.0, {"key": "run"}, 12.0)[:45]
        '15 V with the engine stopped is more than 13.'
        >>> asks_of_volts(14.2, {"engine": "running"}, 12.0)
        ''
    """
    turning = state.get("engine", "") in _TURNING
    most_v = survey_figure("most_charging_v" if turning else "most_rest_v") * system_v / _NOMINAL_V
    if abs(value_v) <= most_v + _LAST_DIGIT_V:
        return ""
    if abs(value_v) / _THOUSAND <= most_v and abs(value_v) > 2.0 * most_v:
        return f"{for_print(value_v)} V, or {for_print(value_v)} mV? Write the unit, or insist"
    stood = "with the engine running" if turning else "with the engine stopped"
    asked = "Was a charger on, or another unit shown?" if turning else "Was the engine running, or a charger on?"
    return f"{for_print(value_v)} V {stood} is more than {for_print(most_v)} V. {asked} Read it again, or insist"
