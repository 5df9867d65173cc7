"""How much of each sleeve, tube and tape covers the runs of a loom?

In: the job, and what lies in each of its runs. Out: a line for each covering and bore, in metres, of the runs in which
something new lies. Kept runs keep what they have on.

    bore of a tube        inner factor of its kind x the bundle as it is estimated, up to a whole millimetre
    metres of a tube      the runs it covers
    metres of tape        run x pi x (bundle + wall) / (19 mm / 2)       half lapped, tape of 19 mm

A run whose length nobody knows and a bundle of unknown thickness are told, not guessed. Source: half lapping and 19 mm:
common practice, no source; inner factors and walls: `tables.coverings`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, pi

from loomwright.job.job import Job
from loomwright.quantities.printing import for_print
from loomwright.routes.bundles import Bundle
from loomwright.routes.run_map import HUNDREDTHS, run_map
from loomwright.tables.coverings import Covering, covering_named

__all__ = ["CoveringLine", "covering_lines"]

_TAPE_MM = 19.0
_MILLI = 1000.0
_WITH_END = ("new", "donor")
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class CoveringLine:
    """One covering. item: its words, with the bore where it is a tube.   length_m: of it; None: not known. [m]

    runs: it covers.   mend: what to mind.
    """

    item: str
    length_m: float | None
    runs: tuple[str, ...]
    mend: str


def covering_lines(job: Job, runs: Mapping[str, Bundle]) -> tuple[CoveringLine, ...]:
    """What covers the runs, by what it is called.

    Args:
        job: the runs belong to.
        runs: what lies in each of them.
    """
    fresh = {wire.id for wire in job.wires if wire.fitted in _WITH_END}
    along_mm = {name: one.hundredths / HUNDREDTHS for name, one in run_map(job).stretches.items()}
    found: dict[tuple[str, str], list[tuple[str, float | None]]] = {}
    for name, bundle in runs.items():
        if bundle.covering.strip() and fresh & set(bundle.conductors):
            item, mend = _words(bundle)
            found.setdefault((item, mend), []).append((name, _length_mm(bundle, along_mm.get(name))))
    return tuple(
        CoveringLine(
            item=item,
            length_m=None if any(mm is None for _, mm in each) else sum(mm or 0.0 for _, mm in each) / _MILLI,
            runs=tuple(name for name, _ in each),
            mend=mend,
        )
        for (item, mend), each in sorted(found.items())
    )


def _words(bundle: Bundle) -> tuple[str, str]:
    kind = covering_named(bundle.covering)
    if kind is not None and _is_tape(kind):
        return bundle.covering, f"half lapped, {for_print(_TAPE_MM)} mm wide"
    if bundle.bundle_mm is None:
        return bundle.covering, "a wire in it has no size: nobody knows how wide"
    inner = 1.0 if kind is None else kind.inner_factor
    opens = "" if kind is None or kind.opens_to <= 1.0 else f", which opens to {for_print(kind.opens_to)} times its own"
    bore_mm = ceil(inner * bundle.bundle_mm - _SAME_MM)
    return f"{bundle.covering}, inside {bore_mm:2d} mm", f"over the bundle as estimated{opens}"


def _length_mm(bundle: Bundle, along_mm: float | None) -> float | None:
    """Of the covering over one run. [mm]"""
    kind = covering_named(bundle.covering)
    if along_mm is None or kind is None or not _is_tape(kind):
        return along_mm
    return None if bundle.bundle_mm is None else along_mm * pi * (bundle.bundle_mm + kind.wall_mm) / (_TAPE_MM / 2.0)


def _is_tape(kind: Covering) -> bool:
    return kind.id.startswith("tape")
