"""Give it a feed and a fuse of its own: a fuse in an unfused wire, one for what shares another's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.wire_ends import other_end, point_at
from loomwright.tables.conductors import sizes_mm2
from loomwright.tables.fuses import family_named
from loomwright.trials.bench import Bench
from loomwright.trials.edits import AddedRow, Edit
from loomwright.trials.mend import Idea

__all__ = ["fused_wires", "most_a", "rating_for", "split_fuses"]

_FAMILY = "blade_c"
_LOAD_FRAC = 0.75
"""Share of its rating a fuse carries for ever; common practice, no source. [-]"""
_FEED_MM2 = 4.0
_NEAR_MM = 140.0


def fused_wires(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A fuse at the head of a wire that has none: off a bar where the wire goes, or right at the source."""
    wires = [bench.scene.wires[name] for name in finding.at if name in bench.scene.wires]
    wires += [each for wire in wires for each in _upstream(bench, wire) if each not in wires]
    for wire in wires:
        if not wire.from_ or not wire.to:
            continue
        end, upper, lower = bench.upper_end(wire), bench.upper(wire), bench.lower(wire)
        rating = rating_for(bench, wire)
        if rating is None:
            continue
        for bar in _bars(bench, upper, lower):
            yield _fused(bench, wire, end, lower, bench.next_terminal(bar), bench.place_of(bar), rating)
        if bench.duty(upper) in ("supply", "join"):
            at = upper if bench.duty(upper) == "supply" else bench.next_terminal(split_point(upper)[0])
            yield _fused(bench, wire, end, lower, at, bench.place_of(upper), rating)


def split_fuses(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A second fuse beside one that two things share, for the one named; fed from the same side."""
    hand = [split_point(place)[0] for place in finding.at]
    shared = [bench.scene.parts[n] for n in (*finding.at, *finding.touches) if n in bench.scene.parts]
    for load, fuse in [(load, fuse) for load in dict.fromkeys(hand) for fuse in dict.fromkeys(shared)]:
        name = fuse.id
        if fuse.kind != "fuse":
            continue
        for side, feed in (("2", "1"), ("1", "2")):
            behind = bench.wires_at(f"{name}.{side}")
            if len(behind) < 2:
                continue
            for wire in behind:
                end = "from" if bench.scene.point(wire.from_) == f"{name}.{side}" else "to"
                other = point_at(wire, other_end(end))
                if split_point(other)[0] == load:
                    yield _beside(bench, fuse, wire, end, feed, load)


def rating_for(bench: Bench, wire: Wire) -> float | None:
    """The least rating that carries what flows in a wire in the sample states; None where none does. [A]"""
    most = most_a(bench, wire)
    return next((one for one in family_named(_FAMILY).ratings if one * _LOAD_FRAC >= most), None)


def most_a(bench: Bench, wire: Wire) -> float:
    """The most that flows in a wire in the sample states, cranking apart. [A]"""
    possible = bench.sample.possible & ~bench.sample.at("engine", "cranking")
    elements = [
        k for k, one in enumerate(bench.compiled.network.elements) if one.type == "wire" and one.name == wire.id
    ]
    amps = [np.abs(bench.sample.amps(index))[possible] for index in elements]
    return max((float(np.max(one, initial=0.0)) for one in amps), default=0.0)


def _upstream(bench: Bench, wire: Wire) -> list[Wire]:
    """The wires before one, back to the source, where nothing but contacts lies between."""
    found: list[Wire] = []
    here = wire
    for _ in range(4):
        upper = bench.upper(here)
        part = split_point(upper)[0]
        if bench.duty(upper) != "switch":
            break
        inlet = f"{part}.30"
        at = bench.wires_at(inlet) if bench.kinds[bench.scene.parts[part].kind].group == "relays" else ()
        at = at or bench.wires_of(part)
        before = [w for w in at if w not in (here, *found) and _lower_part(bench, w) == part]
        if len(before) != 1:
            break
        here = before[0]
        found.append(here)
    return found


def _lower_part(bench: Bench, wire: Wire) -> str:
    return split_point(bench.lower(wire))[0]


def _bars(bench: Bench, upper: str, lower: str) -> list[str]:
    """Bars that are live wherever the source is, in the place the wire goes to or comes from."""
    wanted = bench.live(upper)
    places = [bench.place_of(lower), bench.place_of(upper)]
    found: list[tuple[int, str]] = []
    for part in bench.scene.parts.values():
        if part.kind != "busbar" or part.place not in places or part.id == split_point(upper)[0]:
            continue
        live = next(
            (bench.live(end) for w in bench.wires_of(part.id) for end in (w.from_, w.to) if _on(end, part)), None
        )
        if live is not None and wanted is not None and bool((live == wanted).all()):
            found.append((places.index(part.place), part.id))
    return [name for _, name in sorted(found)]


def _on(end: str, part: Part) -> bool:
    return split_point(end)[0] == part.id


def _fused(bench: Bench, wire: Wire, end: str, lower: str, source: str, place: str, rating: float) -> Idea:
    name = bench.new_part(f"F{split_point(lower)[0]}")
    (new,) = bench.new_wires(1, wire.id)
    edits: tuple[Edit, ...] = (
        _fuse_row(name, f"fuse of {split_point(lower)[0]}", place, wire.circuit, _FAMILY, rating),
        _wire_row(new, wire, source, f"{name}.1", _feed_mm2(wire)),
    )
    tail = bench.completed(
        (*edits, bench.changed("wires", wire.id, end, f"{name}.2")),
        {new: _NEAR_MM},
    )
    moved = _moved_to_new(bench, wire, end, f"{name}.2", place)
    return Idea(
        says=f"Fit a {rating:g} A fuse {name} at {place or 'the source'}, fed from {source} by a new wire {new}, "
        f"and lead {wire.id} from it",
        edits=(*tail[:-1], *moved),
    )


def _moved_to_new(bench: Bench, wire: Wire, end: str, point: str, place: str) -> tuple[Edit, ...]:
    """One end of a wire at a part that is being added; its length by a stand-in at the same place."""
    stand_in = next(
        (f"{part.id}.2" for part in bench.scene.parts.values() if part.kind == "fuse" and part.place == place), ""
    )
    if not stand_in:
        return (bench.changed("wires", wire.id, end, point),)
    edits = bench.moved(wire, end, stand_in)
    return (bench.changed("wires", wire.id, end, point), *edits[1:])


def _beside(bench: Bench, fuse: Part, wire: Wire, end: str, feed: str, load: str) -> Idea:
    name = bench.new_part(f"F{load}")
    (new,) = bench.new_wires(1, wire.id)
    rating = float(fuse.settings.get("rating_a", "10"))
    family = fuse.settings.get("family", _FAMILY)
    before = bench.wires_at(f"{fuse.id}.{feed}")
    size = before[0].size_mm2 if before and before[0].size_mm2 else _feed_mm2(wire)
    edits: tuple[Edit, ...] = (
        _fuse_row(name, f"fuse of {load}", fuse.place, wire.circuit, family, rating),
        _wire_row(new, wire, f"{fuse.id}.{feed}", f"{name}.1", size),
        bench.changed("wires", wire.id, end, f"{name}.2"),
    )
    return Idea(
        says=f"Fit a {rating:g} A fuse {name} beside {fuse.id}, fed from {fuse.id}.{feed} by a new wire {new}, "
        f"and lead {wire.id} from it",
        edits=bench.completed(edits, {new: _NEAR_MM}),
    )


def _feed_mm2(wire: Wire) -> float:
    """Two sizes up from the wire behind, at least what a bar's tap is made in. [mm2]"""
    return next(size for size in sizes_mm2("metric") if size >= max(_FEED_MM2, wire.size_mm2 or 0.0))


def _fuse_row(name: str, title: str, place: str, circuit: str, family: str, rating: float) -> AddedRow:
    cells: Mapping[str, str] = {
        "id": name,
        "kind": "fuse",
        "name": title,
        "place": place,
        "circuit": circuit,
        "settings": f"rating_a={rating:g}; family={family}",
        "fitted": "new",
    }
    return AddedRow(sheet="parts", cells={column: text for column, text in cells.items() if text})


def _wire_row(name: str, beside: Wire, start: str, end: str, size_mm2: float) -> AddedRow:
    cells = {
        "id": name,
        "circuit": beside.circuit,
        "from": start,
        "to": end,
        "size_mm2": f"{size_mm2:g}",
        "fitted": "new",
    }
    return AddedRow(sheet="wires", cells={column: text for column, text in cells.items() if text})
