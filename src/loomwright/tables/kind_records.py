"""What is a part kind, as records?

A kind says which terminals a thing has, which settings describe it, and which electrical elements lie between the
terminals. It is data: the library's kinds are TOML, a job's own kinds are rows of its sheet `kinds`, both end up here.
Code exists for element types only (`element_types`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["DUTIES", "Ability", "Kind", "KindElement", "KindSetting", "KindTerminal", "Param", "empty"]

Param = float | str | bool | tuple[str, ...]
"""What a parameter of an element may be; a text `$name` stands for the part's setting of that name."""

DUTIES = (
    "supply",
    "protection",
    "switch",
    "load",
    "sensor",
    "gauge",
    "join",
    "controller",
    "boundary",
    "passive",
)
"""What a kind is for; rules about purpose look at it."""


def empty() -> Mapping[str, tuple[str, ...]]:
    """A mapping with nothing in it that cannot be written to."""
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class KindTerminal:
    """One terminal of a kind, or a pattern (`*`, `*p`) of a numbered one.

    required: a sound car never leaves it open.   max_wires: most wires it takes, None where there is no limit. [-]
    polarity: 1 goes to plus, -1 to minus, 0 either. [-]
    """

    name: str
    required: bool = False
    max_wires: int | None = None
    polarity: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class KindSetting:
    """One setting of a kind.

    default: figure or word; None where nothing typical is known, and then the figure is unknown and nothing is judged
    by it; `$other` is what the setting `other` has.   unit: ending or sign; empty for words, counts and ratios.
    number: it is a figure.   allowed: the words that may stand there; empty = any.   signed: may be below nothing.
    typical: the default is generic, so a result that rests on it says so.
    scale: the default is for 12 V and goes with rated volts / 12 to this power (1 volts, 2 ohms, -1 amps). [-]
    source: key in `sources.csv`.   help: one line for the person who fills it in.
    """

    name: str
    default: float | str | None
    unit: str = ""
    number: bool = False
    allowed: tuple[str, ...] = ()
    signed: bool = False
    typical: bool = False
    scale: int = 0
    source: str = ""
    help: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindElement:
    """One electrical element between terminals.

    between: terminals, `_x` inner nodes, `@metal` a metal of the car, `*` patterns of numbered terminals; first to
    second is the design direction where `polar` is set.   params: by type, see `element_types`.
    only_if: setting -> the words with which the element is there (`given`, `missing` ask whether it has a figure);
    terminal -> `wired` or `open`. All must hold.
    """

    name: str
    type: str
    between: tuple[str, ...]
    params: Mapping[str, Param]
    only_if: Mapping[str, tuple[str, ...]] = field(default_factory=empty)

    @property
    def load(self) -> bool:
        """True where the element is what the part is for."""
        return self.params.get("load") is True

    @property
    def polar(self) -> bool:
        """True where current has a design direction, first node to second."""
        return self.params.get("polar") is True


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of part.

    group: the chapter of the library.   duty: one of `DUTIES`.   variable: the state variable it moves, empty = named
    by the setting `variable`, else the part's id.   positions: in order, `rest` first unless said; `momentary` spring
    back. positions_by: setting -> its word -> the positions there are then.
    case: the metal its `case` or `_case` is bolted to, `$x` by setting, empty where it has none.
    numbered: terminals are counted, `1 2 3 …` in the pattern's form, as many as are wired.
    needs_one_of: of each group at least one terminal is wired in a sound car.
    """

    id: str
    title: str
    group: str
    duty: str
    terminals: tuple[KindTerminal, ...] = ()
    settings: tuple[KindSetting, ...] = ()
    elements: tuple[KindElement, ...] = ()
    variable: str = ""
    positions: tuple[str, ...] = ()
    rest: str = ""
    momentary: tuple[str, ...] = ()
    positions_by: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=lambda: MappingProxyType({}))
    case: str = ""
    numbered: bool = False
    needs_one_of: tuple[tuple[str, ...], ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ability:
    """What a controller pin of an ability is, electrically, where its own row says nothing else.

    direction: `in`, `out`, `power`, `earth` or `bus`.   on_ohm: resistance when driven. [ohm]
    limit_factor: a driver clamps at its rating times this. [-]
    input_ohm: what the pin looks like from outside when it only listens. [ohm]
    source_v, source_ohm: the pull-up or supply behind it; None where it has none. [V, ohm]
    title: what it is, in a few words.   description: what it means.   source: key in `sources.csv`.
    """

    id: str
    title: str
    direction: str
    description: str
    on_ohm: float | None = None
    limit_factor: float | None = None
    input_ohm: float = 1e6
    source_v: float | None = None
    source_ohm: float | None = None
    source: str = "common-practice"
