"""Where along the runs may a splice lie?

    not within a run that has a hole (nobody says where along it), passes something hot, moves, or lies at a fuel line
    not within a wet run, unless the splice is sealed
    not at a place that is wet (unless sealed) or hotter than splice_hottest_c
    not at a way-point, where no part but splices, earth points and connectors between looms sits, if a run that ends
    there has a hole (it is the wall, most likely), or every run there moves or is hot

Where a place will not do, the spot `splice_apart_mm` from it along each run that will do counts beside the places.
Source: practice of the trade; the two figures common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.rows import Place, Run
from loomwright.routes.run_map import HUNDREDTHS, RunMap, Stretch, run_map
from loomwright.tables.constants import constant

__all__ = ["SpliceGround", "Spot", "splice_findings", "splice_ground"]

_HANGING = ("splice", "earth_point", "inline_connector")
_HARMS = {"hot": "passes something hot", "moving": "moves", "fuel": "lies at a fuel line", "wet": "is wet"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a splice might lie. node: its name on the map.   place: at which place; empty: within a run.

    run, beyond, apart_mm: within which run, from which of its places, how far. [mm]
    barred: why not; empty where it may.   needs_seal: it may where the splice is sealed.
    """

    node: str
    place: str
    run: str
    beyond: str
    apart_mm: float
    barred: str
    needs_seal: bool

    def bars(self, *, is_sealed: bool) -> str:
        """Why a splice may not lie there; empty where it may.

        Args:
            is_sealed: the splice keeps water out.
        """
        return "" if self.needs_seal and is_sealed else self.barred

    @property
    def called(self) -> str:
        """Where, in words."""
        return self.place or f"{self.apart_mm:g} mm from {self.beyond} in {self.run}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpliceGround:
    """Every spot, by its name on the map, and the map with the spots within runs on it."""

    spots: Mapping[str, Spot]
    runs: RunMap


def splice_ground(job: Job) -> SpliceGround:
    """Where splices of a job might lie, and where they may not.

    Example:
        >>> runs = (Run(id="R1", from_="a", to="b", length_mm=900.0, hole_mm=20.0), Run(id="R2", from_="b", to="c"))
        >>> ground = splice_ground(Job(places=(Place(id="a"), Place(id="b")), runs=runs))
        >>> ground.spots["b"].barred
        'nothing sits there, and R1 passes a hole: it is beneath it, most likely'
    """
    measured = run_map(job)
    runs = {run.id: run for run in job.runs}
    rows = {place.id: place for place in job.places}
    parts = all_looked_at(job.parts, ("kind", "fitted", "place"))
    seated = {part.place for part in parts if part.kind not in _HANGING and part.fitted != "removed"}
    spots = {}
    for name in dict.fromkeys([*rows, *measured.at]):
        ending = [runs[stretch.run] for stretch in measured.at.get(name, ())]
        barred, needs_seal = _at_place(rows.get(name, Place(id=name)), ending, is_seated=name in seated)
        spots[name] = Spot(node=name, place=name, run="", beyond="", apart_mm=0.0, barred=barred, needs_seal=needs_seal)
    apart = round(constant("splice_apart_mm") * HUNDREDTHS)
    stretches = dict(measured.stretches)
    at = {place: list(found) for place, found in measured.at.items()}
    for stretch in measured.stretches.values():
        barred, needs_seal = _in_run(runs[stretch.run])
        for end in dict.fromkeys((stretch.one, stretch.other)):
            if (barred and not needs_seal) or not spots[end].barred or stretch.hundredths <= 2 * apart:
                continue
            node = f"{stretch.run}\n{end}"
            spots[node] = Spot(
                node=node,
                place="",
                run=stretch.run,
                beyond=end,
                apart_mm=apart / HUNDREDTHS,
                barred=barred,
                needs_seal=needs_seal,
            )
            for piece in _pieces(stretch, node, end, apart):
                stretches[piece.run] = piece
                for place in (piece.one, piece.other):
                    at.setdefault(place, []).append(piece)
    on = replace(measured, stretches=stretches, at={place: tuple(found) for place, found in at.items()})
    return SpliceGround(spots=spots, runs=on)


def splice_findings(job: Job) -> Iterator[Finding]:
    """RTE-10: new splices at a place where none may lie; wet places are RTE-7's.

    Args:
        job: as the sheets have it.
    """
    parts = all_looked_at(job.parts, ("id", "name", "kind", "fitted", "place"))
    mine = [part for part in parts if part.kind == "splice" and part.fitted == "new" and part.place]
    if not mine:
        return
    spots = splice_ground(job).spots
    for part in mine:
        spot = spots.get(part.place)
        if spot is not None and spot.barred and not spot.needs_seal:
            yield Finding(
                rule="RTE-10",
                severity="note",
                at=(part.id,),
                touches=(part.place,),
                label=f"{part.id} (splice{', ' + part.name if part.name else ''})",
                wrong=f"it lies at {part.place}: {spot.barred}",
                source="common-practice",
                mend="Lay it where the command splices says, or held and clear of it",
            )


def _at_place(place: Place, ending: list[Run], *, is_seated: bool) -> tuple[str, bool]:
    """Why a splice may not lie at a place, and whether a sealed one may."""
    hottest_c = constant("splice_hottest_c")
    if place.ambient_c is not None and place.ambient_c > hottest_c:
        return f"it is {place.ambient_c:g} °C hot there, {hottest_c:g} °C at most", False
    if ending and not is_seated:
        holed = next((run.id for run in ending if run.hole_mm is not None), "")
        if holed:
            return f"nothing sits there, and {holed} passes a hole: it is beneath it, most likely", False
        for word in ("moving", "hot"):
            if all(word in run.hazards for run in ending):
                verb = "moves" if word == "moving" else "passes something hot"
                return f"nothing holds it there, and every run that ends there {verb}", False
    return ("it is wet, and the splice is not sealed", True) if place.wet else ("", False)


def _in_run(run: Run) -> tuple[str, bool]:
    """Why a splice may not lie within a run, and whether a sealed one may."""
    if run.hole_mm is not None:
        return f"{run.id} passes a hole", False
    harm = next((word for word in _HARMS if word in run.hazards), "")
    if not harm and run.surface_c is not None and run.surface_c > constant("splice_hottest_c"):
        harm = "hot"
    return (f"{run.id} {_HARMS[harm]}", harm == "wet") if harm else ("", False)


def _pieces(stretch: Stretch, node: str, end: str, apart: int) -> tuple[Stretch, Stretch]:
    """A run cut in two at a spot: the piece to the near place and the rest."""
    far = stretch.beyond(end)
    near_weighed = round(stretch.weighed * apart / stretch.hundredths)
    return (
        replace(stretch, run=f"{node}\nnear", one=end, other=node, hundredths=apart, weighed=near_weighed),
        replace(
            stretch,
            run=f"{node}\nfar",
            one=node,
            other=far,
            hundredths=stretch.hundredths - apart,
            weighed=stretch.weighed - near_weighed,
        ),
    )
