"""What is done on the car, in which order, with which cautions, and what must be seen at each step?

Deferring to the maker's manual at every figure. Source: common practice, no source, but for the temperatures of the
converter clutch (`gear-enable`) and the steps that the table names.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.gearbox.box import Box
from loomwright.gearbox.box_checking import gear_unplugged
from loomwright.gearbox.set_up_rows import ROWS
from loomwright.job.rows import Gate
from loomwright.refusals import OutOfReach

__all__ = ["SetUpStep", "gate_of", "newest_of", "set_up_steps", "stall_rpm", "step_cells"]

STAGE = "gearbox"
_VERDICTS = ("passed", "failed", "waived")
_INHIBIT_KMH = 8.0  # where the box names none; common practice, no source
_NEVER_WAIVED = ("Selector adjustment", "Starter inhibit proved", "Reverse inhibit", "Brakes before rolling")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpStep:
    """One step. caution: stands before the work; empty where none can hurt.   seen: what must be seen to go on.

    keeps_safe: somebody is hurt where it does not hold, so it is never waived.
    """

    number: int
    title: str
    caution: str
    does: str
    seen: str
    keeps_safe: bool = False


def gate_of(step: SetUpStep) -> str:
    """What a step is called in the sheet `gates`."""
    return f"set-up: {step.title.lower()}"


def newest_of(steps: Sequence[SetUpStep], gates: Sequence[Gate]) -> Mapping[int, Gate]:
    """Step by number -> the newest row that was written down of it."""
    named = {gate_of(one): one.number for one in steps}
    return {named[row.gate]: row for row in gates if row.stage == STAGE and row.gate in named}


def step_cells(
    steps: Sequence[SetUpStep], number: int, verdict: str, read: str = "", reason: str = ""
) -> Mapping[str, str]:
    """The row of the sheet `gates` for a step that was done.

    Args:
        number: of the step. [-]
        verdict: passed, failed or waived.
        read: what was read, a figure, or seen, in words.
        reason: why it is waived, or what is to be done about it.
    Raises:
        OutOfReach: no such step or verdict; waived without a reason; a step that can hurt somebody is not waived.
    """
    step = next((one for one in steps if one.number == number), None)
    if step is None:
        raise OutOfReach("step", str(number), f"1 to {len(steps)}")
    if verdict not in _VERDICTS:
        raise OutOfReach(step.title, verdict, " ".join(_VERDICTS))
    if verdict == "waived" and step.keeps_safe:
        raise OutOfReach(step.title, "waived", "passed only: it can hurt somebody")
    if verdict == "waived" and not reason.strip():
        raise OutOfReach(step.title, "waived", "a reason: say why it is not needed here")
    is_figure = read.strip().removeprefix("-").replace(".", "", 1).isdecimal()
    words = "; ".join(text.strip() for text in ("" if is_figure else read, reason) if text.strip())
    value = read.strip() if is_figure else ""
    cells = {"gate": gate_of(step), "stage": STAGE, "verdict": verdict, "value": value, "reason": words}
    return {name: text for name, text in cells.items() if text}


def stall_rpm(box: Box) -> float:
    """Engine speed with the turbine held and full pedal: where the pump takes what the engine gives, n = K(0) sqrt(T).

    Example:
        >>> from loomwright.gearbox.box_reading import shipped_box
        >>> round(stall_rpm(shipped_box()), -2)
        2100.0
    """
    from scipy.optimize import brentq  # here: half a second that few questions need

    def left_nm(rpm: float) -> float:
        return float(np.interp(rpm, box.engine.torque_rpm, box.engine.torque_nm)) - (rpm / box.converter.k_rpm[0]) ** 2

    low, high = box.engine.idle_rpm, box.engine.limit_rpm
    if left_nm(low) <= 0.0 or left_nm(high) >= 0.0:
        return low if left_nm(low) <= 0.0 else high
    return float(brentq(left_nm, low, high))


def _stall_words(box: Box) -> str:
    extent = [
        word for word, is_so in (("converter", box.converter.is_typical), ("engine", box.engine.is_estimated)) if is_so
    ]
    told = f"in the model about {round(stall_rpm(box), -2):.0f} 1/min"
    return f"{told}, {' and '.join(extent)} typical" if extent else told


def _figures(box: Box) -> Mapping[str, str]:
    """What the words of the steps leave open."""
    left = gear_unplugged(box)
    return {
        "positions": " ".join(box.highest),
        "unplugged": f"gear {left}" if left else "the gear that the maker's manual names",
        "ratios": ", ".join(f"gear {k} {ratio:.2f}" for k, ratio in enumerate(box.ratios, start=1)),
        "inhibit": f"{_INHIBIT_KMH if box.reverse_inhibit_kmh is None else box.reverse_inhibit_kmh:g}",
        "stall": _stall_words(box),
    }


def set_up_steps(box: Box) -> tuple[SetUpStep, ...]:
    """The set-up of this gearbox, step by step."""
    figures = _figures(box)
    rows = ((title, *(words.format_map(figures) for words in more)) for title, *more in ROWS)
    return tuple(
        SetUpStep(number=number, title=title, caution=caution, does=does, seen=seen, keeps_safe=title in _NEVER_WAIVED)
        for number, (title, caution, does, seen) in enumerate(rows, start=1)
    )
