"""What must be said before anything is corrected: a spark so far off that it hurts, readings that scatter, none left.

A spark far too early kicks the starter back and breaks pistons; far too late the exhaust glows. Neither engine is to be
revved for the sake of more readings. A mark that no engine would run at is another mark, or another stroke.

Source: from how many degrees on it hurts, at what scatter a trigger is not steady, and where no engine runs any more:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection

__all__ = ["DANGER_DEG", "NO_ENGINE_DEG", "danger_of", "none_left", "scatter_of"]

DANGER_DEG = 8.0
"""So far from what is commanded it hurts: our choice [deg]."""
NO_ENGINE_DEG = 45.0
"""So far off no engine runs [deg]."""
_SCATTER_DEG = 2.0


def danger_of(off_deg: float, *, turns: bool = True) -> tuple[str, ...]:
    """The words that stand first; none where the spark is near enough.

    Args:
        off_deg: seen less commanded, before top centre. [deg]
        turns: whether the engine ran while it was read.
    Example:
        >>> danger_of(3.0), danger_of(30.0)[0][:41]
        ((), 'Danger: the spark comes 30.0° too early. ')
    """
    if turns and abs(off_deg) >= NO_ENGINE_DEG:
        told = (
            f"No engine runs with its spark {abs(off_deg):.0f}° off. Is it the mark of this cylinder, on this pulley? "
            "Stop it, find top centre with a stop in the plug hole, and correct nothing until that is known."
        )
        return (told,)
    if abs(off_deg) < DANGER_DEG:
        return ()
    if off_deg > 0.0:
        told = (
            f"Danger: the spark comes {off_deg:.1f}° too early. No load, no revs: it breaks pistons, and kicks the "
            "starter back. Correct it with injection off, on the starter, before any higher speed is read."
        )
        return (told,)
    told = (
        f"Danger: the spark comes {-off_deg:.1f}° too late: exhaust and valves glow within minutes. At idle only and "
        "briefly until it is corrected; no higher speed is read before."
    )
    return (told,)


def scatter_of(spread_deg: float) -> tuple[str, ...]:
    """What is said where readings scatter more than a steady trigger's do.

    Args:
        spread_deg: of readings round their line. [deg]
    Example:
        >>> scatter_of(0.4)
        ()
    """
    if spread_deg <= _SCATTER_DEG:
        return ()
    told = (
        f"The readings scatter by {spread_deg:.1f}°, a steady trigger's by less than one. Before all correcting: "
        "the crank sensor's gap and screen, the light's clamp (its arrow, one lead alone), each speed held steady; "
        "then read again."
    )
    return (told,)


def none_left(mistakes: Collection[str], first: str) -> tuple[str, ...]:
    """What is done next where every reading was set apart.

    Args:
        mistakes: what was wrong with them.
        first: the cylinder whose mark is looked at.
    Example:
        >>> none_left((), "1")
        ('No reading is left: read three speeds or more, from idle to the highest that is safe.',)
    """
    told = "No reading is left: read three speeds or more, from idle to the highest that is safe."
    if "a light on another cylinder" in mistakes:
        told = (
            f"Put the light's clamp on the lead of cylinder {first} and read again at idle. If it was there: stop. The "
            "coils are changed over, or the trigger is whole firing intervals off, and it fires into open valves. With "
            "injection off, look at the firing order and at the coils' plugs."
        )
    elif "a turn off" in mistakes:
        told = (
            "Stop: it fires a whole turn off. With injection off and a finger on the plug hole, see that the spark "
            "comes as it blows; mend the cam sensor's edge or its angle, then read again at idle."
        )
    return (told,)
