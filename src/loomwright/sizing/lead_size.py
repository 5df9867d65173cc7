"""Which wires of the starter's lead are laid thicker than each needs to be, so that the lead is one size?

One current flows from the battery's post to the starter through every wire of its lead, past an isolator or a joint.
Least copper would have a long piece thick and a short one thin; what is cut off one drum and crimped with one die is
one size all along. Of the open wires of the lead each is given the thickest that any of them needs.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.sizing.fuse_asks import Guarding
from loomwright.sizing.taps import starter_cables

__all__ = ["one_size_leads"]


def one_size_leads(
    guarding: Guarding, allowed: Mapping[str, tuple[float, ...]], sizes_mm2: Mapping[str, float]
) -> dict[str, str]:
    """Wires of the starter's lead that are laid as another, thicker one of it, with that one.

    Args:
        guarding: the car with the sizes chosen so far.
        allowed: sizes that each open wire may have. [mm2]
        sizes_mm2: of all open wires, each by its own limits. [mm2]
    """
    lead = sorted(starter_cables(guarding.scene, guarding.conduction, guarding.fused) & sizes_mm2.keys())
    if not lead:
        return {}
    thickest = max(lead, key=lambda name: (sizes_mm2[name], name))
    size_mm2 = sizes_mm2[thickest]
    return {name: thickest for name in lead if sizes_mm2[name] < size_mm2 and size_mm2 in allowed[name]}
