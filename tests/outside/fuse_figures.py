"""Gates, resistance, melting and derating of fuses: by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite

from loomwright.sizing.fused import Fuse
from loomwright.sizing.shorts import clearing_s
from loomwright.tables.fuses import fuse_ohm, gate, melting_a2s, usable_a
from loomwright.tables.load import read_rows

__all__ = ["FUSES"]

MILLI = 1000.0


def _opens_no_sooner_s(family: str, rating_a: str, amps: str) -> float:
    return gate(family, float(amps) / float(rating_a), float(rating_a))[0]


def _opens_no_later_s(family: str, rating_a: str, amps: str) -> float | str:
    return _or_never(gate(family, float(amps) / float(rating_a), float(rating_a))[1])


def _lasts_s(family: str, rating_a: str, amps: str) -> float | str:
    """How long we let a fuse last when we judge the wire behind it."""
    fuse = Fuse(part="F", element=0, what="fuse", rating_a=float(rating_a), family=family, trips_at=0.0)
    time_s = clearing_s(fuse, float(amps))
    return "not known" if time_s is None else _or_never(time_s)


def _melts_s(family: str, rating_a: str, amps: str) -> float:
    """When the printed let-through would have melted it."""
    energy_a2s = melting_a2s(family, float(rating_a))
    if energy_a2s is None:
        raise ValueError(f"no let-through is printed for {family} {rating_a} A")
    return energy_a2s / float(amps) ** 2


def _usable_a(family: str, rating_a: str, ambient_c: str) -> float:
    return usable_a(family, float(rating_a), float(ambient_c))


def _cold_mohm(family: str, rating_a: str) -> float:
    return fuse_ohm(family, float(rating_a)) * MILLI


def _read_across_ma(family: str, rating_a: str, millivolts: str) -> float:
    """The small current that a millivolt reading across a fuse stands for."""
    return float(millivolts) / fuse_ohm(family, float(rating_a))


def _hot_over_cold(family: str, rating_a: str) -> float:
    """Resistance at rated current over the cold one."""
    row = next(
        row for row in read_rows("fuse_values") if row["family"] == family and float(row["rating_a"]) == float(rating_a)
    )
    return float(row["drop_mv"]) / (float(row["cold_mohm"]) * float(rating_a))


def _or_never(time_s: float) -> float | str:
    return time_s if isfinite(time_s) else "never"


FUSES: Mapping[str, Callable[..., float | str]] = {
    "opens_no_sooner_s": _opens_no_sooner_s,
    "opens_no_later_s": _opens_no_later_s,
    "lasts_s": _lasts_s,
    "melts_s": _melts_s,
    "usable_a": _usable_a,
    "cold_mohm": _cold_mohm,
    "read_across_ma": _read_across_ma,
    "hot_over_cold": _hot_over_cold,
}
