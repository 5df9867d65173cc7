"""What of a drive is drawn: a window of it in short pieces, least and most of each, so that no spike is lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Traces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Traces:
    """A window of a drive. from_s, to_s: it reaches. [s]   whole_s: first and last time of the drive. [s]

    at_s: middles of its pieces. [s]   least, most: of each quantity in each piece; None where nothing was recorded.
    """

    from_s: float
    to_s: float
    whole_s: tuple[float, float]
    at_s: tuple[float, ...]
    least: Mapping[str, tuple[float | None, ...]]
    most: Mapping[str, tuple[float | None, ...]]
