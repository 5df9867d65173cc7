"""Does every contact, fuse, driver, diode and wire stay within what it may carry?

RAT-1: contacts, switches, diodes (`contact_ratings`), fuses, outputs, limited supplies, connector ways
(`supply_ratings`), windings that are made to be held at a current (`held_windings`). RAT-2: wires (`wire_ratings`).
Asked in every state that can occur; the worst is told. A rating that nobody knows is not judged, and a current equal to
a rating is allowed.

Heat follows the root of the mean square, so fuses, contacts and wires are judged by `pulsed` currents where outputs
pulse; outputs by the current they carry while on.
"""

from __future__ import annotations

from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.ratings.contact_ratings import contact_ratings
from loomwright.states.ratings.held_windings import winding_ratings
from loomwright.states.ratings.rating_ground import rating_ground
from loomwright.states.ratings.supply_ratings import (
    bank_ratings,
    fuse_ratings,
    joint_ratings,
    output_ratings,
    resistor_ratings,
    supply_ratings,
)
from loomwright.states.ratings.wire_ratings import wire_ratings

__all__ = ["watches"]


def watches(scene: Scene) -> tuple[Watch, ...]:
    """Every rating of the car, as questions."""
    ground = rating_ground(scene)
    return (
        *contact_ratings(ground),
        *fuse_ratings(ground),
        *output_ratings(ground),
        *bank_ratings(ground),
        *supply_ratings(ground),
        *joint_ratings(ground),
        *resistor_ratings(ground),
        *winding_ratings(ground),
        *wire_ratings(ground),
    )
