"""Which published drives can it be sent on, and which runs of our own?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = ["Cycle", "cycle_called"]

_MILE_KM = 1.609344
_EUROPEAN = ("urban", "urban", "urban", "urban", "extra_urban")
_TITLES: Mapping[str, str] = {
    "udds": "urban schedule of 40 CFR 86, appendix I",
    "wltc": "WLTC, class 3b, of UN GTR 15, annex 1",
    "hwfet": "highway schedule of 40 CFR 600, appendix I",
    "us06": "US06 schedule of 40 CFR 86, appendix I",
    "urban": "elementary urban cycle of UN Regulation 83",
    "extra_urban": "extra-urban cycle of UN Regulation 83",
    "european": "four urban cycles and the extra-urban one of UN Regulation 83",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """A drive by its points, straight between them. at_s: times. [s]   speed_kmh: speeds. [km/h]

    source: key of `sources`.   grade: how it came here: read, or recalled.
    """

    name: str
    title: str
    source: str
    grade: str
    at_s: tuple[float, ...]
    speed_kmh: tuple[float, ...]


def cycle_called(name: str) -> Cycle:
    """A cycle by its name.

    Raises:
        OutOfReach: there is none of that name, with those there are.
    Example:
        >>> cycle_called("urban").at_s[-1]
        195.0
    """
    if name not in _TITLES:
        raise OutOfReach("cycle", name, " ".join(_TITLES))
    times: list[float] = []
    speeds: list[float] = []
    source, grade = "", ""
    for part in _EUROPEAN if name == "european" else (name,):
        begin = times[-1] if times else 0.0
        for row in read_rows("drive_cycles"):
            if row["cycle"] == part and not (times and row["at_s"] == "0"):
                times.append(begin + float(row["at_s"]))
                source, grade = row["source"], row["grade"]
                speeds.append(float(row["speed"]) * (_MILE_KM if row["per"] == "mph" else 1.0))
    return Cycle(name=name, title=_TITLES[name], source=source, grade=grade, at_s=tuple(times), speed_kmh=tuple(speeds))
