"""May a need be on a pin; if not, why not?

A pin does what it lists. It also does what another kind of pin stands in for, where what that takes is there already:
a 0 to 5 V input with a pull-up of its own reads a thermistor or a switch; half a bridge set to switch to earth is a
switch to earth. Beyond that the load must be within its rating, the pulses within its rate, and its side as asked.
"""

from __future__ import annotations

from loomwright.allocation.ground import AskedNeed, Ground
from loomwright.job.rows import ControllerPin
from loomwright.quantities.printing import for_print
from loomwright.tables.kinds import load_abilities
from loomwright.tables.stand_ins import STAND_INS

__all__ = ["a_ability", "ability_words", "able_pins", "can_do", "side_switched", "why_not"]

_LOW = ("low_side", "pwm", "injector", "main_relay")


def ability_words(ability: str) -> str:
    """What an ability is called: `switch to earth (low_side)`."""
    known = load_abilities().get(ability)
    return f"{known.title} ({ability})" if known else ability


def a_ability(ability: str) -> str:
    """What an ability is called, with its article: `an injector driver (injector)`."""
    words = ability_words(ability)
    return f"{'an' if words[:1] in 'aeio' else 'a'} {words}"


def can_do(pin: ControllerPin, ability: str) -> bool:
    """Whether a pin does a kind of work as it is."""
    if ability in pin.abilities:
        return True
    # the network takes a pin whose need it does not list for the first it lists
    first = pin.abilities[0] if pin.abilities else ""
    for one in STAND_INS.values():
        if (one.ability, one.by) == (ability, first):
            if one.how == "pull_up" and pin.pull_up_ohm:
                return True
            if one.how == "active_low" and pin.active == "low":
                return True
            if one.how == "active_high" and pin.active != "low":
                return True
    return False


def side_switched(pin: ControllerPin, ability: str) -> str:
    """The side a pin switches to when it does a kind of work: `low`, `high`; empty where it switches to none."""
    if ability in _LOW:
        return "low"
    if ability == "high_side":
        return "high"
    if ability == "half_bridge":
        return pin.active or "high"
    return pin.active


def why_not(need: AskedNeed, pin: ControllerPin, *, ability: str = "", load_a: float | None = None) -> str:
    """Why a need may not be on a pin, in a few words; empty where it may. Where it is fixed is not asked.

    Args:
        ability: asked in place of the need's own.
        load_a: in place of what goes through the need's pin. [A]
    """
    row = need.row
    asked = ability or row.ability
    amps = need.load_a if load_a is None else load_a
    if not can_do(pin, asked):
        return f"is no {ability_words(asked)}"
    if amps is not None and pin.max_a is not None and amps > pin.max_a:
        return f"carries {for_print(pin.max_a, side='down')} A and {for_print(amps, side='up')} A are asked for"
    if row.pwm_hz and pin.pwm_hz is not None and row.pwm_hz > pin.pwm_hz:
        return f"is pulsed at up to {for_print(pin.pwm_hz)} Hz and {for_print(row.pwm_hz)} Hz are asked for"
    side = side_switched(pin, asked)
    if row.active and side and row.active != side:
        return f"switches to the {'supply' if side == 'high' else 'earth'} side and the other is asked for"
    return ""


def able_pins(ground: Ground, need: AskedNeed) -> tuple[str, ...]:
    """The pins a need may be on, where it is fixed not asked."""
    return tuple(name for name, pin in ground.pins.items() if not why_not(need, pin))
