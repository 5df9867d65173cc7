"""What may a circuit lose, how thin may its wire be, and which words may the sheets use?

Drop limits go by the class of the circuit and stand for a 12 V car; at 24 V they double, at 6 V they halve. Sensor,
data and linkage circuits have no drop limit: they are judged by rules of their own. Limits of single joints and
segments are those other people print, each with its source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = [
    "CLASSES",
    "COLOURS",
    "FEEDS",
    "INSULATIONS_C",
    "ROLES",
    "drop_limit_v",
    "insulation_class_c",
    "least_size_mm2",
    "noise_of",
    "segment_limit_v",
    "terminal_meaning",
]

_NOMINAL_V = 12.0
_SYSTEMS_V = (6.0, 12.0, 24.0)
_TERMINALS = {row["terminal"]: row for row in read_rows("terminals")}
_SURE_BESIDE = {"1": "15", "4": "15", "C": "49a", "L": "49a", "R": "49a", "W": "B+"}
"""What one sign alone may be -> the terminal beside it that says it is: a coil, a flasher, a generator."""

CLASSES = tuple(row["class"] for row in read_rows("classes"))
"""The classes a circuit can have."""

ROLES = tuple(row["word"] for row in read_rows("words") if row["list"] == "role")
"""The purposes a part can be given."""

FEEDS = tuple(row["word"] for row in read_rows("words") if row["list"] == "feed")
"""The contacts a circuit can belong to by name; a part's terminal may stand there too."""

COLOURS: Mapping[str, str] = MappingProxyType({row["code"]: row["name"] for row in read_rows("colours")})
"""Colour codes of IEC 60757 -> their names."""

INSULATIONS_C: Mapping[str, float] = MappingProxyType(
    {row["letter"]: float(row["hottest_c"]) for row in read_rows("insulation")}
)
"""Temperature classes of vehicle wire -> the temperature they stand [C]."""


def drop_limit_v(circuit_class: str, system_v: float) -> float | None:
    """Volts a circuit of a class may lose there and back; None where it is not judged by drop. [V]

    Args:
        circuit_class: its class.
        system_v: 6, 12 or 24. [V]
    Raises:
        OutOfReach: no such class, or another system voltage.
    Source:
        per row of `classes.csv`: common practice, no source.
    Example:
        >>> drop_limit_v("charging", 24.0)
        1.0
    """
    if system_v not in _SYSTEMS_V:
        raise OutOfReach("system_v", system_v, "6 12 24")
    limit = _class(circuit_class)["limit_v"]
    return float(limit) * system_v / _NOMINAL_V if limit else None


def least_size_mm2(circuit_class: str) -> float:
    """Thinnest wire a circuit of a class may have, for its own strength. [mm2]

    Raises:
        OutOfReach: no such class.
    Source:
        per row of `classes.csv`: 0.5 standing free, 0.35 in a signal loom; common practice, no source.
    """
    return float(_class(circuit_class)["least_mm2"])


def segment_limit_v(segment: str, current_a: float = 0.0) -> float:
    """Volts one joint or one stretch may lose. [V]

    Args:
        segment: a row of `segment_limits.csv`: `wire_or_cable`, `connection`, `switch_contact`, `relay_contact` ….
        current_a: through it, where the limit goes with the current. [A]
    Raises:
        OutOfReach: no such segment.
    Source:
        per row of `segment_limits.csv`.
    Example:
        >>> segment_limit_v("relay_contact", 10.0)
        0.25
    """
    for row in read_rows("segment_limits"):
        if row["segment"] == segment:
            return float(row["limit_v"]) if row["limit_v"] else float(row["limit_ohm"]) * current_a
    raise OutOfReach("segment", segment, " ".join(row["segment"] for row in read_rows("segment_limits")))


def noise_of(circuit_class: str) -> str:
    """What circuits of a class have to do with noise: they give it, they are disturbed by it (`takes`), or neither.

    Args:
        circuit_class: its class; a blank one is neither.
    Raises:
        OutOfReach: no such class.
    Source:
        per row of `classes.csv`: common practice, no source.
    Example:
        >>> noise_of("ignition"), noise_of("data"), noise_of("")
        ('gives', 'takes', '')
    """
    return _class(circuit_class)["noise"] if circuit_class else ""


def insulation_class_c(words: str) -> float | None:
    """The temperature that a wire's insulation stands, from its class letter or its temperature; None = not known. [C]

    Args:
        words: what the sheet says: `B`, `125`, `125 C`; blank = the class taken where nothing is said.
    Source:
        per row of `insulation.csv`.
    Example:
        >>> insulation_class_c("C"), insulation_class_c("125 C"), insulation_class_c("")
        (125.0, 125.0, 105.0)
    """
    plain = words.strip().upper() or "105"
    if plain in INSULATIONS_C:
        return INSULATIONS_C[plain]
    figure = plain.removesuffix("C").removesuffix("°").strip()
    return float(figure) if figure.isascii() and figure.isdigit() else None


def terminal_meaning(terminal: str, beside: Collection[str]) -> str | None:
    """What a terminal number means by DIN 72552; None where it is none, or is not known here.

    One sign alone may be a number of anything: it counts only where another terminal of the part says of what.

    Args:
        terminal: its number.
        beside: all terminals of the part.
    Source:
        per row of `terminals.csv`.
    Example:
        >>> terminal_meaning("86", ("30", "85", "86", "87"))
        'relay coil, feed'
        >>> terminal_meaning("1", ("1", "15")), terminal_meaning("1", ("1", "2"))
        ('coil, low side', None)
    """
    row = _TERMINALS.get(terminal)
    if row is None or _SURE_BESIDE.get(terminal, terminal) not in beside:
        return None
    return row["meaning"] + (", from memory" if row["grade"] == "recalled" else "")


def _class(circuit_class: str) -> Mapping[str, str]:
    for row in read_rows("classes"):
        if row["class"] == circuit_class:
            return row
    raise OutOfReach("class", circuit_class, " ".join(CLASSES))
