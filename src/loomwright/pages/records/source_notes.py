"""Where do the limits come from that findings are held to?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.tables.load import read_rows

__all__ = ["SourceNote", "source_notes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceNote:
    """Where limits come from. title: of the source, edition: of it.   numbers: of findings that are held to it. [-]"""

    key: str
    title: str
    edition: str
    numbers: tuple[int, ...]


def source_notes(limits: Iterable[tuple[str, int]]) -> tuple[SourceNote, ...]:
    """The sources of limits, in order of the findings that name them.

    Args:
        limits: key of the source, blank where there is none, and number of the finding.
    """
    numbers: dict[str, list[int]] = {}
    for key, number in limits:
        if key:
            numbers.setdefault(key, []).append(number)
    known = {row["key"]: row for row in read_rows("sources")}
    return tuple(
        SourceNote(
            key=key,
            title=known[key]["title"] if key in known else key,
            edition=known[key]["edition"] if key in known else "",
            numbers=tuple(found),
        )
        for key, found in numbers.items()
    )
