"""What a change asks of what is built already, as records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.loom.built_steps import WireSteps

__all__ = ["ASKS", "AsBuilt", "Ask", "BuiltWire", "Does", "ProofAgain"]

Does = Literal[
    "shorten", "lengthen", "re-pin", "move", "re-crimp", "re-label", "twist", "scrap", "take out", "look", "prove"
]
"""What is to be done. `look`: the record does not tell, and nothing is inferred."""

ASKS: Mapping[Does, str] = {
    "scrap": "cannot be used: cut a new one",
    "take out": "no longer wanted",
    "lengthen": "too short",
    "move": "an end goes elsewhere",
    "re-pin": "an end goes into another cavity",
    "re-crimp": "another terminal or seal",
    "twist": "to be twisted",
    "re-label": "another label",
    "shorten": "too long: usable as it is",
    "prove": "proved before the change",
    "look": "not told by the record",
}
"""What is to be done -> what it means, the gravest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One thing a change asks of a built wire.

    end: from, to, or empty.   says: in a sentence.   was, now: what was built and what is asked, as printed.
    since: the revision it was built from; None where the record has none. [-]
    cells: sheet, row and column of what is not the same, so that its revision can be found.
    length_mm: how much too short or too long. [mm]
    minutes: what it takes beside the asks before it. [min]   or_minutes: the other way to mend it. [min]
    """

    wire: str
    does: Does
    end: str = ""
    says: str = ""
    was: str = ""
    now: str = ""
    since: int | None = None
    cells: tuple[tuple[str, str, str], ...] = ()
    length_mm: float | None = None
    minutes: float = 0.0
    or_minutes: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltWire:
    """A wire that has progress, and what is asked of it; nothing is asked where `asks` is empty.

    name: what it is called in the sheets now; empty where it is gone.   since: the revision it was cut from. [-]
    stays: decisions about it that stay as they were since it is cut, each in a sentence.
    """

    wire: str
    name: str
    steps: WireSteps
    since: int | None
    asks: tuple[Ask, ...]
    stays: tuple[str, ...] = ()

    @property
    def minutes(self) -> float:
        """What all of it takes. [min]"""
        return sum(ask.minutes for ask in self.asks)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofAgain:
    """A proof that no longer stands. row: its place in the sheet `proofs`, counted from nought. [-]

    wires: those it rests on that are, or were, worked on since.   minutes: to take it again. [min]
    """

    row: int
    test: str
    point: str
    to: str
    wires: tuple[str, ...]
    says: str
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """What is built against what is asked now.

    wires: those with progress, in order of id.   fresh: wires to cut that were not there when the last was cut.
    uncut: the other wires to cut.   proofs: those to take again.
    unknown: revisions that were built from and could not be had. [-]
    minutes: of everything asked, proofs with it; what is new to cut is not in it. [min]
    """

    wires: tuple[BuiltWire, ...]
    fresh: tuple[str, ...]
    uncut: tuple[str, ...]
    proofs: tuple[ProofAgain, ...]
    unknown: tuple[int, ...]
    minutes: float

    @property
    def asks(self) -> tuple[Ask, ...]:
        """Everything asked, wire by wire."""
        return tuple(ask for wire in self.wires for ask in wire.asks)

    @property
    def useless(self) -> frozenset[str]:
        """Wires that are built and have to be cut anew, by the name they have now."""
        return frozenset(one.name for one in self.wires if one.name and any(ask.does == "scrap" for ask in one.asks))

    @property
    def untouched(self) -> tuple[str, ...]:
        """Wires that are built and of which nothing is asked."""
        return tuple(wire.wire for wire in self.wires if not wire.asks)
