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
from loomwright.job.rows import Gate
from loomwright.refusals import OutOfReach

__all__ = ["SetUpStep", "gate_of", "newest_of", "set_up_steps", "stall_rpm", "step_cells"]

STAGE = "gearbox"
_VERDICTS = ("passed", "failed", "waived")
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


def set_up_steps(box: Box) -> tuple[SetUpStep, ...]:
    """The set-up of this gearbox, step by step."""
    left = gear_unplugged(box)
    unplugged = f"gear {left}" if left else "the gear that the maker's manual names"
    positions = " ".join(box.highest)
    rows = (
        (
            "Coils and plug",
            "Key off. No lamp, test or series, into the controller's plug.",
            "Measure every coil cold at the loom's end of the gearbox plug; again hot later.",
            (
                "Gear solenoids as the manual says, on/off types 10 to 30 Ω, pressure and lock-up types 3 to 6 Ω "
                "typical; none to earth."
            ),
        ),
        (
            "Selector adjustment",
            "Key off, handbrake on, chocks at two wheels. Nobody under the car.",
            f"Lever through P R N {positions}, slowly; read the range switch at every position and half-way between.",
            (
                "The code of each position alone in its detent, starter in P and N only, reverse lamps in R only, "
                "no gap code at rest."
            ),
        ),
        (
            "Starter inhibit proved",
            (
                "Ignition coils unplugged by their connector, injection off. A driver seated, foot brake on, nobody "
                "in front or behind."
            ),
            "Try the starter in every position.",
            "It turns in P and N, in no other. A bypassed inhibit carries a tag and blocks the handover.",
        ),
        (
            "Fluid, first fill",
            (
                "It engages here for the first time: chocks at all wheels, handbrake on, a driver seated, nobody in "
                "front, behind or under it. Fluid of a running box burns. Level by a firm floor, never by a jack."
            ),
            "Fill to the cold mark, start, foot brake on, lever through every position, five seconds each; top up.",
            "Level at the manual's mark at the manual's temperature, red or amber, no froth, no leak.",
        ),
        (
            "First engagement",
            (
                "Chocks at all wheels, handbrake and foot brake on, a driver seated, nobody in front or behind. "
                "Doors shut."
            ),
            "At idle, N to D, N to R, three times each.",
            "It engages within about 1.5 s, without a bang, idle is held; the lever says what the box does.",
        ),
        (
            "Line pressure",
            (
                "Chocks at all wheels, handbrake and foot brake on, a driver seated, nobody in front, behind or "
                "under it: the gauge is read from beside. Its hose clear of hot and turning parts, out of the "
                "fan's plane."
            ),
            "Gauge on the tapping: idle in P D R; then the pressure solenoid unplugged for a moment.",
            "The manual's figures; with it unplugged full pressure, never less.",
        ),
        (
            "Wheels clear",
            (
                "Driven wheels off the ground on stands, others chocked; nobody beside the wheels. No pedal to "
                "the floor: "
                "a free wheel turns twice as fast."
            ),
            "Each gear held by the controller in turn; compare engine speed and output speed.",
            "Engine over output speed: "
            + ", ".join(f"gear {k} {ratio:.2f}" for k, ratio in enumerate(box.ratios, start=1))
            + ", within 3 % with little load.",
        ),
        (
            "Loom unplugged",
            "Wheels still clear, idle only, nobody beside the wheels.",
            "Key off, gearbox plug off, start, D.",
            f"It is in {unplugged}; the owner is told so.",
        ),
        (
            "Reverse inhibit",
            "Wheels still clear, idle only.",
            "D at idle, let the wheels turn above "
            + (f"{box.reverse_inhibit_kmh:g} km/h" if box.reverse_inhibit_kmh is not None else "8 km/h")
            + ", lever to R.",
            "Reverse stays out until the wheels have all but stopped.",
        ),
        (
            "Brakes before rolling",
            "Servo and brake lamps proved before it moves.",
            "Engine running, foot brake: the servo helps; lamps light; then walking speed in the yard.",
            "It stops straight, the lamps light, the lever is in P by the driver only.",
        ),
        (
            "Stall test",
            (
                "Five seconds at most, then a minute in N at 1000 1/min. Fluid hot, all wheels chocked, both "
                "brakes on, a driver "
                "seated, nobody in front or behind. Not where the maker forbids it."
            ),
            "Foot brake hard, D, full pedal; read the engine speed. The same in R.",
            (
                f"The manual's stall speed ({_stall_words(box)}): far above is a slipping clutch or low pressure, far "
                "below a weak engine or its converter."
            ),
        ),
        (
            "Adaptation drive",
            (
                "Two people: one drives, one watches the log; lawful speeds on a quiet road, never the driver alone "
                "with a screen."
            ),
            (
                "Fluid at 60 to 90 °C. Light pedal through all gears ten times, half pedal five, stops by "
                "coasting; then a hill, then "
                "one kick-down."
            ),
            (
                "Changes in 0.3 to 0.6 s without flare or bang, no change undone, lock-up not below the fluid's "
                "and coolant's least "
                "temperature (18 and 60 °C in one published case), fluid under the hot mode."
            ),
        ),
        (
            "Fluid, last check",
            "Exhaust and box are hot.",
            "Level again at the manual's temperature; coils again, hot.",
            "At the mark, not burnt; coils as the manual says. Lines written out and kept with the job.",
        ),
    )
    return tuple(
        SetUpStep(number=number, title=title, caution=caution, does=does, seen=seen, keeps_safe=title in _NEVER_WAIVED)
        for number, (title, caution, does, seen) in enumerate(rows, start=1)
    )
