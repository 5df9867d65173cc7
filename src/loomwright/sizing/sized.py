"""What was decided for the blank sizes and ratings of a job, and what each limit asked for: records only.

The words of the limits: `strength` the thinnest of its circuit's class; `terminal` what is crimped to its ends; `heat`
what it carries at the hottest place it passes; `volts` what may be lost on the way to a load and back, or what the job
requires at a point; `fuse` what its fuses ask of it; `lead` what another wire of the starter's lead needs; `stock` the
shop does not hold the next thinner, which would do; `sizes` none by itself: of the sizes there are, the one at which
all wires hold together. Of a fuse: `load`, `starting`, `rush`, and `wire`, what the wires behind it stand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.network.arrays import type_i
from loomwright.sizing.open_cells import Unsettled

__all__ = ["LIMITS", "Ask", "Sized", "SizedFuse", "SizedWire"]

LIMITS = ("strength", "terminal", "heat", "fuse", "volts", "lead", "stock", "sizes")
"""The limits of a wire, in the order in which one is named where several rule."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ask:
    """What one limit asks, and how the size (or rating) that stands meets it.

    limit: its word. asks: the least that would satisfy it alone, in mm2 or A; None where nothing that may be chosen
    does, or where it asks for nothing. found, allowed: at what stands, in `unit`.
    thinner: found at the next thinner size, where that breaks it.
    at: the load, requirement, fuse or place it is about. rule: of protection. kind: how long the current lasts.
    values: the worst state. source: key of the source of the allowed figure. rests_on: wires, parts, places.
    """

    limit: str
    asks: float | None
    found: float | None = None
    allowed: float | None = None
    unit: str = ""
    thinner: float | None = None
    at: str = ""
    rule: str = ""
    kind: str = ""
    at_c: float | None = None
    values: type_i | None = None
    source: str = ""
    rests_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SizedWire:
    """One wire.

    size_mm2: None where none could be decided. [mm2]   decided_by: a limit, or typed, or cut.
    length_mm: None where nobody knows it. [mm]   length_by: typed, built, kept, route, taken.
    insulation_c, ambient_c: class, and the hottest place. [C]   thinner_mm2: the next thinner size there is. [mm2]
    amps: the worst that warms it. [A]   conductor_c: of its copper then, estimated by the square law. [C]
    drop_v: the most that is lost along it. [V]   values: the worst state for heat.
    every_state: whether the worst is over every state the search covers; else it is over those that were solved, and
    at_most_a is what the loads beyond it draw all together, where that is known. [A]
    """

    wire: str
    size_mm2: float | None
    decided_by: str
    length_mm: float | None
    length_by: str
    insulation_c: float | None = None
    ambient_c: float | None = None
    thinner_mm2: float | None = None
    amps: float = 0.0
    conductor_c: float | None = None
    drop_v: float = 0.0
    values: type_i | None = None
    every_state: bool = False
    at_most_a: float | None = None
    asks: tuple[Ask, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SizedFuse:
    """One fuse or breaker. rating_a: None where none could be decided. [A]   decided_by: a limit, or typed.

    amps: the worst that flows for ever. [A]   family: of its gates, empty for a breaker.
    """

    part: str
    rating_a: float | None
    decided_by: str
    family: str = ""
    amps: float = 0.0
    values: type_i | None = None
    every_state: bool = False
    at_most_a: float | None = None
    asks: tuple[Ask, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sized:
    """What was decided for a job, and what stands in it already.

    wires, fuses: all that are not removed, by id. decided: ids of those whose cell was blank.
    copper_g: of all new wires whose size and length are known. [g]
    proved: nothing that satisfies the limits has less copper; else no wire, and no two on one way, can be thinner.
    solved: states looked at. [-]   unsettled: what could not be decided, or not for certain.
    """

    wires: Mapping[str, SizedWire]
    fuses: Mapping[str, SizedFuse]
    decided: frozenset[str]
    copper_g: float
    proved: bool
    solved: int
    unsettled: tuple[Unsettled, ...]
    variables: tuple[tuple[str, tuple[str, ...], int], ...] = ()

    def sizes_mm2(self) -> dict[str, float]:
        """Wire -> the size decided for its blank cell. [mm2]"""
        return {
            name: one.size_mm2 for name, one in self.wires.items() if name in self.decided and one.size_mm2 is not None
        }

    def ratings_a(self) -> dict[str, float]:
        """Fuse -> the rating decided for its blank cell. [A]"""
        return {
            name: one.rating_a for name, one in self.fuses.items() if name in self.decided and one.rating_a is not None
        }

    def state_of(self, values: type_i | None) -> dict[str, str]:
        """A state by the names of its variables; only key, engine and what is not at rest."""
        if values is None:
            return {}
        return {
            name: words[int(value)]
            for (name, words, rest), value in zip(self.variables, values, strict=True)
            if int(value) != rest or name in ("key", "engine")
        }
