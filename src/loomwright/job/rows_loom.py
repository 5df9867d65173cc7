"""The sheets of the loom: wires, the connectors they end in, cables, crimp terminals, stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from loomwright.job.columns import column
from loomwright.job.row import Row
from loomwright.job.rows_car import FITTED

__all__ = ["SIDES", "Cable", "Connector", "Crimp", "StockRow", "Wire"]

SIDES = "pin|socket"
_SIZE: dict[str, Any] = {"least": 0.01, "most": 1000.0}
_LENGTH: dict[str, Any] = {"least": 1.0, "most": 100_000.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable(Row):
    """A multi-core or screened cable; its screen is a conductor."""

    id: str = column("id", "short name of the cable", key=True)
    kind: str = column("text", "what cable it is")
    cores: int | None = column(
        "count", "how many cores, the screen apart; kept, no answer rests on it", least=1, most=1000
    )
    lay_mm: float | None = column("number", "length of one twist", least=1.0, most=1000.0)
    drain_to: str = column("point", "where its screen is joined to earth")
    open_end: str = column("text", "the end at which the screen stays open; kept, no answer rests on it")


@dataclass(frozen=True, slots=True, kw_only=True)
class Crimp(Row):
    """A crimp terminal and what it takes."""

    terminal: str = column("text", "name of the crimp terminal", key=True)
    seal: str = column("text", "the wire seal that goes with it")
    size_from_mm2: float | None = column("number", "thinnest wire it takes", **_SIZE)
    size_to_mm2: float | None = column("number", "thickest wire it takes", **_SIZE)
    strip_mm: float | None = column("number", "bare length", least=0.1, most=200.0)
    die: str = column("text", "the die of the crimping tool")
    pull_n: float | None = column("number", "pull it must stand", least=0.1, most=100_000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire(Row):
    """One wire. from_, to: points or metals; a blank end is free, or goes to the pin of a need."""

    id: str = column("id", "short name, as printed on the label", key=True)
    circuit: str = column("ref", "circuit it belongs to", refers="circuits")
    from_: str = column("point", "part.terminal or metal it starts at")
    to: str = column("point", "part.terminal or metal it ends at")
    size_mm2: float | None = column("number", "conductor area; blank: to be decided", **_SIZE)
    colour: str = column("colour", "IEC 60757, base/tracer: WH/BU")
    insulation: str = column("text", "insulation; blank: 105 degC class")
    length_mm: float | None = column("number", "length along the loom; blank: by its route", **_LENGTH)
    via: tuple[str, ...] = column("refs", "runs or places it must follow", refers="runs places")
    twist: str = column("text", "name shared by the wires twisted together")
    screen: str = column("text", "name of the screen it lies in")
    cable: str = column("ref", "cable it is a core of", refers="cables")
    fitted: str = column("word", "new, kept from the car, from a donor, or removed", allowed=FITTED, blank="new")
    condition: str = column("text", "what state an old wire is in")
    ohm_per_m: float | None = column("number", "measured, where it is no plain copper wire", least=1e-6, most=1e6)
    terminal_from: str = column("text", "crimp terminal at the start")
    terminal_to: str = column("text", "crimp terminal at the end")
    seal_from: str = column("text", "wire seal at the start")
    seal_to: str = column("text", "wire seal at the end")
    built_length_mm: float | None = column("number", "what was really cut", **_LENGTH)
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Connector(Row):
    """Which cavities a connector has, and who mates with whom.

    terminals: the terminals of its part that it holds; `A*` = all that begin with A.
    """

    id: str = column("id", "short name of the connector", key=True)
    part: str = column("ref", "part whose terminals it holds", refers="parts", required=True)
    terminals: tuple[str, ...] = column("list", "which of the part's terminals it holds, apart by spaces, or A*")
    ways: int | None = column("count", "how many cavities it has", least=1, most=1000)
    family: str = column("text", "what connector it is")
    side: str = column("word", "pin or socket side", allowed=SIDES)
    mates: str = column("ref", "connector it goes together with", refers="connectors")
    layout: str = column("text", "how the cavities lie: rows x columns, pitch where measured")
    keying: str = column("text", "what keeps it from going elsewhere")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow(Row):
    """What the shop holds: wire by size and colour, terminals, sleeves, fuses. price: in the shop's currency."""

    item: str = column("text", "what it is", required=True)
    size_mm2: float | None = column("number", "conductor area", **_SIZE)
    colour: str = column("colour", "IEC 60757, base/tracer")
    length_m: float | None = column("number", "length in stock", least=0.0, most=1e6)
    price: float | None = column(
        "number", "price in the shop's currency: of that length of wire, of one of anything else", least=0.0, most=1e9
    )
