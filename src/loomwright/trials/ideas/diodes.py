"""Put a blocking diode into a wire through which current comes the wrong way."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import ENDS, other_end, point_at
from loomwright.trials.bench import Bench
from loomwright.trials.edits import AddedRow
from loomwright.trials.ideas.own_feeds import most_a
from loomwright.trials.mend import Idea

__all__ = ["blocking_diodes"]

_WIRES_MOST = 4
_CARRIES_A = 3.0
"""What the usual diode of that kind carries for ever; a typical figure. [A]"""
_FALLS_BACK_MM = 150.0


def blocking_diodes(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A diode behind the lamp or load, in the wire the current comes back by; first the way round its feed goes."""
    wires = [bench.scene.wires[n] for n in (*finding.at, *finding.path, *finding.touches) if n in bench.scene.wires]
    named = [split_point(place)[0] for place in (*finding.at, *finding.touches)]
    for wire in list(dict.fromkeys(wires))[:_WIRES_MOST]:
        if not wire.from_ or not wire.to or wire.size_mm2 is None or most_a(bench, wire) > _CARRIES_A:
            continue
        beside = next((end for end in (wire.from_, wire.to) if split_point(end)[0] in named), wire.from_)
        for towards in _ways_round(bench, wire):
            yield _with_diode(bench, wire, beside, towards)


def _ways_round(bench: Bench, wire: Wire) -> tuple[str, str]:
    """The ends the diode may let current go to: first away from the supplies, and towards an alternator."""
    upper = bench.upper_end(wire)
    for end in ENDS:
        part = bench.part_of(point_at(wire, end))
        if part is not None and part.kind == "alternator":
            # the lamp feeds the field, the field never the lamp
            return (end, other_end(end))
    return (other_end(upper), upper)


def _with_diode(bench: Bench, wire: Wire, beside: str, towards: str) -> Idea:
    name = bench.new_part(f"D{split_point(beside)[0]}")
    place = bench.place_of(beside)
    near = "from" if beside == wire.from_ else "to"
    far = other_end(near)
    near_point, far_point = point_at(wire, near), point_at(wire, far)
    inlet, outlet = (f"{name}.a", f"{name}.k") if towards == far else (f"{name}.k", f"{name}.a")
    (new,) = bench.new_wires(1, wire.id)
    row = {"id": name, "kind": "diode", "name": f"blocking diode in {wire.id}", "place": place, "circuit": wire.circuit}
    diode = AddedRow(sheet="parts", cells={**{k: v for k, v in row.items() if v}, "fitted": "new"})
    # the wire that is there stays whole as the long piece; a short one joins the diode to the part beside it
    cells = {
        "id": new,
        "circuit": wire.circuit,
        "from": near_point,
        "to": inlet,
        "size_mm2": f"{wire.size_mm2:g}",
        "colour": str(wire.colour or ""),
        "length_mm": f"{_FALLS_BACK_MM:g}",
        "fitted": "new",
    }
    short = AddedRow(sheet="wires", cells={column: text for column, text in cells.items() if text})
    moved = bench.changed("wires", wire.id, near, outlet)
    goes = far_point if towards == far else near_point
    says = (
        f"Fit a blocking diode {name} in {wire.id} at {split_point(beside)[0]}, its cathode towards {goes}: "
        f"{near_point} to {inlet} by a new wire {new}, {outlet} to {far_point} by {wire.id}"
    )
    return Idea(says=says, edits=(diode, short, moved))
