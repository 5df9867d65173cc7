"""Does what lies in a run go through its hole?

    RTE-8  the bundle with its covering, and 2 mm to draw it through, is wider than the hole of its run

Asked of every run whose hole is known, with the bundle as it comes out by hand (`run_sheet`). A warning; where a wire
of unknown thickness lies in it nothing is said. What would mend it is worked out: the hole it needs, whether it goes
through without its covering, or which of its wires, the thickest first, would have to go another way.

A bundle that goes through with a fifth to spare is not packed first.

Limits: connectors have to go through too, or be put on behind the hole; screens and jackets are left out.
Source: `tables.coverings`: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.findings import Finding
from loomwright.heat.packing import packed
from loomwright.job.cells_read import all_looked_at
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.loom.run_sheet import RunSheet, bare_sheet
from loomwright.quantities.printing import for_print
from loomwright.routes.bundles import bundle_mm, bundles
from loomwright.routes.lengths import SIZED_BY, core_mm
from loomwright.routes.records import Routes
from loomwright.tables.coverings import goes_through

__all__ = ["hole_findings"]

_MOST_PLACES = 4
_MOST_TOLD = 6
_WIDEST = 1.2
"""Of the estimate, what a bundle is at most as it packs: two thick wires and thin ones beside them, 2 / 1.2 root 2."""


def hole_findings(job: Job, routes: Routes, filled: Job | None = None) -> Iterator[Finding]:
    """RTE-8, in order of run.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        routes: of the same job.
        filled: the job with what is decided filled in, where it is known already.
    """
    holes = {run.id: run.hole_mm for run in job.runs if run.hole_mm is not None}
    if not holes:
        return
    filled = with_decided(job) if filled is None else filled
    holed = {
        name: bundle
        for name, bundle in bundles(job, routes, filled).items()
        if name in holes
        and bundle.bundle_mm is not None
        and not goes_through(_WIDEST * bundle.bundle_mm, bundle.covering, holes[name])
    }
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    thick = {wire.id: core_mm(wire, classes)[0] for wire in all_looked_at(filled.wires, SIZED_BY)}
    for bundle in holed.values():
        sheet = bare_sheet(job, routes, bundle, thick)
        if sheet.is_hole_too_small and sheet.hole_mm is not None and sheet.needed_mm is not None:
            names = tuple(dict.fromkeys(sheet.conductors))
            yield Finding(
                rule="RTE-8",
                severity="warning",
                at=(sheet.run, *names[: _MOST_PLACES - 1]),
                touches=names[_MOST_PLACES - 1 :],
                label=f"{sheet.run} (run{', ' + sheet.covering if sheet.covering else ', no covering'})",
                wrong=f"what lies in it, {len(sheet.conductors)} wires, does not go through its hole",
                found=sheet.needed_mm,
                allowed=sheet.hole_mm,
                unit="mm",
                source="common-practice",
                mend=_mend(sheet, sheet.hole_mm, sheet.needed_mm, thick),
            )


def _mend(sheet: RunSheet, hole_mm: float, needed_mm: float, thick: Mapping[str, float | None]) -> str:
    ways = [f"A hole of {for_print(needed_mm, side='up', digits=2)} mm"]
    if sheet.covering_kind and sheet.by_hand_mm is not None and goes_through(sheet.by_hand_mm, "", hole_mm):
        ways.append("the covering ended on both sides of the hole")
    out = _to_go(sheet, hole_mm, thick)
    if out:
        more = f" and {len(out) - _MOST_TOLD} more" if len(out) > _MOST_TOLD else ""
        ways.append(f"{' '.join(out[:_MOST_TOLD])}{more} led another way (via)")
    return ", or ".join(ways)


def _to_go(sheet: RunSheet, hole_mm: float, thick: Mapping[str, float | None]) -> list[str]:
    """The wires, the thickest first, without which the others go through; none where only all of them would do."""
    names = sorted(sheet.conductors, key=lambda name: -(thick[name] or 0.0))
    for count in range(1, len(names)):
        stay = [value for name in names[count:] if (value := thick[name]) is not None]
        if stay and _go_through(stay, sheet.covering, hole_mm):
            return list(dict.fromkeys(names[:count]))
    return []


def _go_through(wires_mm: Sequence[float], covering: str, hole_mm: float) -> bool:
    """Whether some wires go through a hole as they come out by hand; packed only where the estimate lets them."""
    if not goes_through(bundle_mm(wires_mm)[1], covering, hole_mm):
        return False
    return goes_through(packed(wires_mm, roughly=True).bundle_mm, covering, hole_mm)
