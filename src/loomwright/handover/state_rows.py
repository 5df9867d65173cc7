"""What does the car do in one state, and what should the meter read in those that matter, as flat rows?

In: an answer of the solver, or several with their titles. Out: volts by point, amps by wire and part element, how each
relay, controller and fuse lies; and the readings to expect, one row a state and point. A point without a path is not
0 V: its volts are not known, and `floating` says so.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.handover.asking import Asked, state_text
from loomwright.handover.plain_rows import Rows, by_id, known, typed_headings
from loomwright.network.solve import Solved

__all__ = ["AMPS", "EXPECTED", "RELAYS", "VOLTS", "amp_rows", "expected_rows", "relay_rows", "volt_rows"]

VOLTS = typed_headings("point volts:float floating:bool")
AMPS = typed_headings("element amps:float")
RELAYS = typed_headings("part what lies")
EXPECTED = typed_headings("state when point volts:float floating:bool")


def volt_rows(solved: Solved) -> Rows:
    """Volts of every point against the battery's earthed post."""
    return Rows(VOLTS, [(point, known(volts), volts is None) for point, volts in by_id(solved.volts)])


def amp_rows(solved: Solved) -> Rows:
    """Amps of every wire and part element, positive from `from` to `to` and into a part's first terminal."""
    return Rows(AMPS, [(name, known(amps)) for name, amps in by_id(solved.amps)])


def relay_rows(solved: Solved) -> Rows:
    """How each relay and controller lies, and which fuses have blown."""
    relays = [(part, "relay", lies) for part, lies in by_id(solved.relays)]
    controllers = [(part, "controller", "alive" if alive else "dead") for part, alive in by_id(solved.alive)]
    return Rows(RELAYS, [*relays, *controllers, *((part, "fuse", "blown") for part in solved.blown)])


def expected_rows(states: Iterable[Asked]) -> Rows:
    """What the meter should read at every point, one row a state and point."""
    return Rows(
        EXPECTED,
        [
            (asked.title, state_text(asked.state), point, known(volts), volts is None)
            for asked in states
            for point, volts in by_id(asked.solved.volts)
        ],
    )
