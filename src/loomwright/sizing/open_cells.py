"""Which sizes and ratings are to be decided, and what may stand in each cell?

A wire is open while its size is blank; a fuse or a breaker while its rating is. Not open: what is removed; a wire that
is cut already (its kept decision stands, else what the records say was cut); a wire with a free end. Sizes are those
the shop holds (sheet `stock`, rows whose item is wire and has a size), else the standard row; ratings those the family
is made with. Lengths are the sheet's, what was built, what is kept, else by the route; where there is none, a metre is
taken and the wire is told as not settled.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from loomwright.job.crimp_fits import EndFit, end_fits
from loomwright.job.decided import SETTINGS, cut_wires, with_decided, without_decisions
from loomwright.job.figures import plain_figure
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import Circuit, Part, Wire
from loomwright.refusals import OutOfReach
from loomwright.routes.decisions import with_lengths
from loomwright.routes.records import Routes
from loomwright.tables.ampacity import continuous_a
from loomwright.tables.conductors import ohm_per_m_20c, sizes_mm2
from loomwright.tables.constants import constant
from loomwright.tables.fuses import breaker_ratings, family_named
from loomwright.tables.kinds import Kind, resolve_settings
from loomwright.tables.limits import least_size_mm2

__all__ = [
    "RATING",
    "SIZE",
    "OpenCells",
    "OpenFuse",
    "OpenWire",
    "Pinned",
    "Unsettled",
    "class_of",
    "open_cells",
    "stocked_mm2",
    "with_choice",
]

SIZE = "size_mm2"
RATING = SETTINGS + "rating_a"
_DEFAULT_CLASS = "supply"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenWire:
    """A wire whose size is to be decided.

    circuit_class: of its circuit. least_mm2: the thinnest of that class. [mm2]
    length_mm: as it will be judged. [mm]   length_by: typed, built, kept, route, or taken where nobody knows it.
    fits: what is known of the terminals at its ends.
    """

    wire: str
    circuit_class: str
    least_mm2: float
    length_mm: float
    length_by: str
    fits: tuple[EndFit, ...] = ()

    def is_taken(self, size_mm2: float) -> bool:
        """Whether the terminals at its ends take a size.

        Args:
            size_mm2: of the conductor. [mm2]
        """
        return all(fit.takes(size_mm2) for fit in self.fits)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenFuse:
    """A fuse or a breaker whose rating is to be decided. family: empty for a breaker. ratings: made, rising. [A]"""

    part: str
    family: str
    ratings: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsettled:
    """A cell that could not be decided, or not for certain: why, and what would mend it. cell: `W5.size_mm2`."""

    cell: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinned:
    """What is typed in cells whose limits are asked for all the same, by wire and by fuse. sizes_mm2: [mm2]

    ratings_a: [A]
    """

    sizes_mm2: Mapping[str, float] = FixedMap()
    ratings_a: Mapping[str, float] = FixedMap()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenCells:
    """What is to be decided in a job.

    job: with everything that is known filled in, what is open blank; lengths are there for all open wires.
    sizes_mm2: that may be chosen, thinnest first. [mm2]   is_stock: they are what the shop holds.
    frozen: wires that are cut, with the size that stands.   unsettled: what cannot be decided.
    pinned: cells that are typed and looked at as if they were open, with what stands there.
    """

    job: Job
    wires: Mapping[str, OpenWire]
    fuses: Mapping[str, OpenFuse]
    sizes_mm2: tuple[float, ...]
    is_stock: bool
    frozen: Mapping[str, float]
    unsettled: tuple[Unsettled, ...]
    pinned: Pinned


def open_cells(job: Job, kinds: Kinds, routes: Routes, look_at: Iterable[str] = ()) -> OpenCells:
    """What is to be decided in a job, kept decisions that are not frozen left aside.

    Args:
        job: as the sheets have it.
        kinds: the library's and the job's own.
        routes: of the same job.
        look_at: wires and fuses whose limits are asked for though their cell is typed.
    """
    cut = cut_wires(job)
    again = [(one.sheet, one.row, one.column) for one in job.decisions if _is_mine(one.sheet, one.column, one.row, cut)]
    typed_mm = {wire.id for wire in job.wires if wire.length_mm is not None}
    kept_mm = {one.row for one in job.decisions if (one.sheet, one.column) == ("wires", "length_mm")}
    known = with_decided(with_lengths(without_decisions(job, again), kinds, routes))
    known = replace(known, wires=tuple(_as_cut(job, wire) for wire in known.wires))
    pinned = _pinned(known, frozenset(look_at))
    known = _without_pinned(known, pinned)
    circuits = {circuit.id: circuit for circuit in job.circuits}
    fits = end_fits(known)
    wires: dict[str, OpenWire] = {}
    unsettled: list[Unsettled] = []
    filled = []
    for wire in known.wires:
        filled.append(wire)
        if wire.size_mm2 is not None or wire.fitted == "removed":
            continue
        if not wire.from_ or not wire.to or (wire.id in cut and wire.id not in pinned.sizes_mm2):
            unsettled.append(_cut_unsaid(wire) if wire.id in cut else _free_end(wire))
            continue
        by = _length_by(wire, wire.id in typed_mm, wire.id in kept_mm)
        length_mm = wire.length_mm if wire.length_mm is not None else constant("provisional_length_mm")
        filled[-1] = replace(wire, length_mm=length_mm)
        if by == "taken":
            unsettled.append(_no_length(wire, length_mm))
        circuit_class = class_of(wire, circuits)
        wires[wire.id] = OpenWire(
            wire=wire.id,
            circuit_class=circuit_class,
            least_mm2=least_size_mm2(circuit_class),
            length_mm=length_mm,
            length_by=by,
            fits=fits.get(wire.id, ()),
        )
    held = stocked_mm2(job)
    return OpenCells(
        job=replace(known, wires=tuple(filled)),
        wires=wires,
        fuses={part.id: fuse for part in known.parts if (fuse := _open_fuse(part, kinds)) is not None},
        sizes_mm2=held or sizes_mm2("road"),
        is_stock=bool(held),
        frozen={wire.id: wire.size_mm2 for wire in known.wires if wire.id in cut and wire.size_mm2 is not None},
        unsettled=tuple(unsettled),
        pinned=pinned,
    )


def class_of(wire: Wire, circuits: Mapping[str, Circuit]) -> str:
    """The class of a wire's circuit; that of supplies where it has none."""
    circuit = circuits.get(wire.circuit)
    return circuit.class_ if circuit is not None and circuit.class_ else _DEFAULT_CLASS


def stocked_mm2(job: Job) -> tuple[float, ...]:
    """The sizes of wire the shop holds, thinnest first; none where the sheet says nothing of wire. [mm2]

    Sizes that no table covers are left out: nothing would be known of them.
    """
    rows = (row for row in job.stock if "wire" in row.item.lower().replace("-", " ").split())
    held = {row.size_mm2 for row in rows if row.size_mm2 is not None and row.length_m != 0.0}
    return tuple(size for size in sorted(held) if _is_covered(size))


def with_choice(
    job: Job,
    sizes_mm2: Mapping[str, float],
    ratings_a: Mapping[str, float],
    made: dict[tuple[str, float], Wire] | None = None,
) -> Job:
    """The job with sizes and ratings written into their cells.

    Args:
        made: wires in a size that were made before, of a job that differs in sizes and ratings alone; more are put in.
    """
    made = {} if made is None else made
    for wire in job.wires:
        size_mm2 = sizes_mm2.get(wire.id)
        if size_mm2 is not None and (wire.id, size_mm2) not in made:
            made[wire.id, size_mm2] = replace(wire, size_mm2=size_mm2)
    wires = tuple(made[wire.id, sizes_mm2[wire.id]] if wire.id in sizes_mm2 else wire for wire in job.wires)
    parts = tuple(_rated(part, ratings_a[part.id]) if part.id in ratings_a else part for part in job.parts)
    return replace(job, wires=wires, parts=parts)


def _pinned(job: Job, names: Collection[str]) -> Pinned:
    sizes = {wire.id: wire.size_mm2 for wire in job.wires if wire.id in names and wire.size_mm2 is not None}
    rated = {
        part.id: part.settings["rating_a"] for part in job.parts if part.id in names and "rating_a" in part.settings
    }
    return Pinned(
        sizes_mm2=FixedMap(sizes),
        ratings_a=FixedMap({name: plain_figure(text, "a") for name, text in rated.items() if text}),
    )


def _without_pinned(job: Job, pinned: Pinned) -> Job:
    wires = tuple(replace(wire, size_mm2=None) if wire.id in pinned.sizes_mm2 else wire for wire in job.wires)
    parts = tuple(
        replace(part, settings=FixedMap({name: text for name, text in part.settings.items() if name != "rating_a"}))
        if part.id in pinned.ratings_a
        else part
        for part in job.parts
    )
    return replace(job, wires=wires, parts=parts)


def _rated(part: Part, rating_a: float) -> Part:
    return replace(part, settings=FixedMap({**part.settings, "rating_a": f"{rating_a:g}"}))


def _is_covered(size_mm2: float) -> bool:
    try:
        ohm_per_m_20c(size_mm2)
        continuous_a(size_mm2)
    except OutOfReach:
        return False
    return True


def _is_mine(sheet: str, column: str, row: str, cut: Iterable[str]) -> bool:
    return (sheet == "wires" and column == SIZE and row not in cut) or (sheet == "parts" and column == RATING)


def _as_cut(job: Job, wire: Wire) -> Wire:
    """A wire with the size that was cut, where no sheet and no decision has one."""
    if wire.size_mm2 is not None:
        return wire
    cut_mm2 = [row.size_mm2 for row in job.progress if row.wire == wire.id and row.size_mm2 is not None]
    return replace(wire, size_mm2=cut_mm2[-1]) if cut_mm2 else wire


def _length_by(wire: Wire, is_typed: bool, is_kept: bool) -> str:
    if wire.length_mm is None:
        return "taken"
    if wire.built_length_mm is not None:
        return "built"
    return "typed" if is_typed else "kept" if is_kept else "route"


def _open_fuse(part: Part, kinds: Kinds) -> OpenFuse | None:
    kind = kinds.get(part.kind)
    types = {element.type for element in kind.elements} if kind is not None else set()
    if kind is None or part.fitted == "removed" or part.settings.get("rating_a"):
        return None
    if "breaker" in types:
        return OpenFuse(part=part.id, family="", ratings=breaker_ratings())
    if "fuse" not in types or not _has_setting(kind):
        return None
    family = family_named(str(resolve_settings(kind, part.settings).get("family", "blade_c")))
    return OpenFuse(part=part.id, family=family.id, ratings=family.ratings)


def _has_setting(kind: Kind) -> bool:
    return any(setting.name == "rating_a" for setting in kind.settings)


def _free_end(wire: Wire) -> Unsettled:
    return Unsettled(
        cell=f"{wire.id}.{SIZE}",
        why="one of its ends is free, so nothing is known of what it carries",
        mend="Say in the sheet wires where it ends",
    )


def _cut_unsaid(wire: Wire) -> Unsettled:
    return Unsettled(
        cell=f"{wire.id}.{SIZE}",
        why="it is cut already, and nobody wrote down from which size",
        mend="Look at the wire, and type its size",
    )


def _no_length(wire: Wire, length_mm: float) -> Unsettled:
    return Unsettled(
        cell=f"{wire.id}.length_mm",
        why=f"nobody gave its length and no route leads it; {length_mm / 1000.0:g} m is taken for its size",
        mend="Type its length, or give both ends a place and the runs between them",
    )
