"""What must be known before a probe touches an old wire?

By its colour, by words of its place, plug, stretch and notes, and by the functions it is likely to have. The sentences
stand in `old_wire_cautions.csv` and refer to the maker's data; a caution is never a reading's result and never taken
back by one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from loomwright.job.rows import OldWire
from loomwright.survey.looks_of_wires import stretches_of
from loomwright.survey.records import Caution
from loomwright.tables.old_wires import WireCaution, wire_cautions

__all__ = ["CLOSED", "NO_LAMP", "cautions_of"]

CLOSED = frozenset({"airbag", "brakes"})
"""Cautions under which no reading is proposed and the wire is left alone."""
NO_LAMP = frozenset({"airbag", "airbag_place", "brakes", "data", "fuel_sender", "ignition"})
"""Cautions under which no test lamp is proposed."""
_LIKELY = 0.1


def cautions_of(wire: OldWire, odds: Mapping[str, float]) -> tuple[Caution, ...]:
    """The cautions a wire calls for.

    Args:
        wire: its row.
        odds: function -> how likely. [0..1]
    Example:
        >>> [each.key for each in cautions_of(OldWire(id="3", notes="in a yellow sleeve"), {})]
        ['airbag']
    """
    text = f"{wire.where} {wire.plug} {wire.segment} {wire.notes}".lower().replace("_", " ")
    return tuple(
        Caution(key=each.key, says=each.says, source=each.source)
        for each in wire_cautions()
        if _calls(each, wire, text, odds)
    )


def _calls(caution: WireCaution, wire: OldWire, text: str, odds: Mapping[str, float]) -> bool:
    if any(odds.get(function, 0.0) >= _LIKELY for function in caution.functions) or _has(text, caution.called):
        return True
    if not caution.colours:
        return _has(text, caution.places)
    return bool(set(stretches_of(wire)) & set(caution.colours)) and (not caution.places or _has(text, caution.places))


def _has(text: str, words: Iterable[str]) -> bool:
    return any(re.search(rf"\b{re.escape(word)}s?\b", text) for word in words)
