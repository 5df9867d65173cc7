"""What is asked of the controller's pins, and what can each pin do? The sheets looked through once.

In: the job as the sheets have it, with its kept decisions. Out: the needs that are asked (those at a removed part are
not), the pins of controllers that are there, and for each need what goes through its pin, where it is fixed and where
it is now:

- amps: `load_a`; where that is blank, what its part draws at that terminal when the battery is charging, 13.5 V at a
  12 V car (`motor_at_v`): resistances by that voltage, lamps and motors by their own figures. Unknown at
  splices; then no limit is asked of it. Inputs and earths carry what the sensors make, and are not asked.
- fixed: the pin typed in its row, or the pin that a wire from the need's point is drawn to.
- now: the pin that is kept for it as a decision; *built* where its wire is crimped, seated, sleeved, labelled or proved
  there.
- side of a pin: its bank; without one, its plug; without one, its controller.
- distance: from the part's place to the controller's along the runs, else in a straight line, else unknown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from math import dist

from loomwright.findings import id_order
from loomwright.job.decided import is_at_need, with_decided
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import ControllerPin, Need, Part, Wire
from loomwright.job.vehicle import vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.routes.run_map import run_map
from loomwright.routes.ways import shortest_ways
from loomwright.tables.constants import constant
from loomwright.tables.kinds import design_a, elements_of, load_abilities, resolve_settings

__all__ = ["AskedNeed", "Ground", "ground_of", "is_made_up", "pins_named"]

_BUILT = ("crimped", "seated", "sleeved", "labelled", "proved")
_LIBRARY_V = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedNeed:
    """One need. load_a: through its pin, None where unknown. [A]   fixed: its pin, None where it is open.

    by: what fixes it: `typed`, or the wire that is drawn there; empty where it is open.
    now: the pin kept for it.   built: whether its wire is made up at its pin, fixed or kept.   wire: between them.
    """

    row: Need
    load_a: float | None
    fixed: str | None
    by: str
    now: str | None
    built: bool
    wire: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What allocation works from. needs, pins: by name, in order.   side: pin -> bank, plug or controller.

    plug: pin -> the connector that holds it, empty where none does.   distance_mm: (place, controller) -> along the
    runs, None where nobody knows. [mm]   place: part -> its place.
    """

    job: Job
    kinds: Kinds
    needs: Mapping[str, AskedNeed]
    pins: Mapping[str, ControllerPin]
    side: Mapping[str, str]
    plug: Mapping[str, str]
    place: Mapping[str, str]
    distance_mm: Mapping[tuple[str, str], float | None]

    def far_mm(self, need: str, pin: str) -> float | None:
        """How far a need's part is from a pin's controller. [mm]"""
        row = self.needs[need].row
        return self.distance_mm.get((self.place.get(row.part, ""), self.pins[pin].part))


def pins_named(name: str, pins: Mapping[str, ControllerPin]) -> tuple[str, ...]:
    """The pins that a name may mean: by its own name, by its point, else by its terminal."""
    if name in pins:
        return (name,)
    points = tuple(pin.id for pin in pins.values() if f"{pin.part}.{pin.terminal}" == name)
    return points or tuple(pin.id for pin in pins.values() if pin.terminal == name)


def is_made_up(job: Job, wire: str, end: str) -> bool:
    """Whether an end of a wire, `from` or `to`, is crimped or further."""
    return any(one.wire == wire and one.step in _BUILT and (one.end or "both") in ("both", end) for one in job.progress)


def ground_of(job: Job, kinds: Kinds) -> Ground:
    """What the sheets say of needs and pins.

    Args:
        job: as the sheets have it, its decisions beside it.
        kinds: the library's and the job's own.
    """
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    rows = sorted((pin for pin in job.controller_pins if pin.part in parts), key=lambda pin: id_order(pin.id))
    pins = {pin.id: pin for pin in rows}
    plug = {pin.id: _plug(job, pin) for pin in rows}
    side = {pin.id: f"{pin.part} bank {pin.bank}" if pin.bank else plug[pin.id] or pin.part for pin in rows}
    needs = {need.id: need for need in job.needs if not need.part or need.part in parts}
    wired = tuple(_wired(job, needs, pins))
    kept = {one.row: one.value for one in job.decisions if (one.sheet, one.column) == ("needs", "pin")}
    at_v = constant("motor_at_v") * vehicle_of(job).system_v / _LIBRARY_V
    asked = {}
    for name in sorted(needs, key=id_order):
        need = needs[name]
        drawn = next(((wire, pin) for wire, row, pin, is_typed in wired if row == name and is_typed), None)
        typed = pins_named(need.pin, pins) if need.pin else ()
        fixed = typed[0] if typed else drawn[1] if drawn else None
        now = kept.get(name) if kept.get(name) in pins else None
        at = fixed if fixed is not None else now
        wire = next((wire for wire, row, _, _ in wired if row == name), "")
        asked[name] = AskedNeed(
            row=need,
            load_a=_load_a(need, parts.get(need.part), kinds, at_v),
            fixed=fixed,
            by="" if fixed is None else "typed" if typed else drawn[0] if drawn else "",
            now=now,
            built=at is not None and _is_built(job, wire, f"{pins[at].part}.{pins[at].terminal}"),
            wire=wire,
        )
    place = {part.id: part.place for part in parts.values() if part.place}
    return Ground(
        job=job,
        kinds=kinds,
        needs=asked,
        pins=pins,
        side=side,
        plug=plug,
        place=place,
        distance_mm=_distances(job, place, asked, pins),
    )


def _plug(job: Job, pin: ControllerPin) -> str:
    rows = [row for row in job.connectors if row.part == pin.part]
    return next((row.id for row in rows if any(fnmatchcase(pin.terminal, each) for each in row.terminals)), "")


def _wired(
    job: Job, needs: Mapping[str, Need], pins: Mapping[str, ControllerPin]
) -> Iterator[tuple[str, str, str, bool]]:
    """Wires straight from a need's point to a pin: wire, need, pin, whether both its ends are typed."""
    points = {f"{pin.part}.{pin.terminal}": pin.id for pin in pins.values()}
    typed = {wire.id: wire for wire in job.wires}
    for wire in with_decided(job).wires:
        if wire.fitted == "removed":
            continue
        for one, other in ((wire.from_, wire.to), (wire.to, wire.from_)):
            if other in points and one:
                row = typed[wire.id]
                for need in needs.values():
                    if is_at_need(need, one) and _serves(need, pins[points[other]], wire, needs):
                        yield wire.id, need.id, points[other], bool(row.from_ and row.to)


def _serves(need: Need, pin: ControllerPin, wire: Wire, needs: Mapping[str, Need]) -> bool:
    """Whether a wire at a need's point is that need's: two needs at one point each take the wire to their own pin."""
    rivals = [one for one in needs.values() if one.part == need.part and one.terminal == need.terminal]
    if len(rivals) == 1:
        return True
    names = (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")
    owner = next((one.id for one in rivals if one.pin in names), None)
    return bool(wire.id) and owner == need.id


def _load_a(need: Need, part: Part | None, kinds: Kinds, at_v: float) -> float | None:
    """What goes through a need's pin. [A]"""
    if need.load_a is not None:
        return need.load_a
    kind = kinds.get(part.kind) if part is not None else None
    ability = load_abilities().get(need.ability)
    if part is None or kind is None or ability is None or ability.direction != "out":
        return None
    try:
        settings = resolve_settings(kind, part.settings, part.rated_v or _LIBRARY_V)
        elements = elements_of(kind, settings)
    except OutOfReach:  # the sheets' own check tells of it
        return None
    names = [terminal.name for terminal in kind.terminals]
    terminal = need.terminal or (names[0] if len(names) == 1 else "")
    found = [design_a(element, at_v) for element in elements if terminal in element.between]
    known = [amps for amps in found if amps is not None]
    return sum(known) if known else None


def _is_built(job: Job, wire: str, point: str) -> bool:
    """Whether a wire is made up at its end at a point."""
    row = next((each for each in with_decided(job).wires if each.id == wire), None)
    if row is None:
        return False
    ends = [end for end, at in (("from", row.from_), ("to", row.to)) if at == point] or ["both"]
    return any(is_made_up(job, wire, end) for end in ends)


def _distances(
    job: Job, place: Mapping[str, str], needs: Mapping[str, AskedNeed], pins: Mapping[str, ControllerPin]
) -> dict[tuple[str, str], float | None]:
    boxes = {pin.part for pin in pins.values()}
    starts = {place[need.row.part] for need in needs.values() if need.row.part in place}
    wanted = {(start, place[box]) for start in starts for box in boxes if box in place}
    ways = shortest_ways(run_map(job), [pair for pair in wanted if pair[0] != pair[1]])
    at = {row.id: (row.x_mm, row.y_mm, row.z_mm) for row in job.places}
    found: dict[tuple[str, str], float | None] = {}
    for start in starts:
        for box in boxes:
            if box not in place:
                found[start, box] = None
            elif start == place[box]:
                found[start, box] = 0.0
            elif (start, place[box]) in ways:
                found[start, box] = ways[start, place[box]].along_mm
            else:
                found[start, box] = _straight_mm(at.get(start), at.get(place[box]))
    return found


_Spot = tuple[float | None, float | None, float | None]


def _straight_mm(one: _Spot | None, other: _Spot | None) -> float | None:
    """The straight line between two places; None where a coordinate is missing. [mm]"""
    if one is None or other is None:
        return None
    first = [each for each in one if each is not None]
    second = [each for each in other if each is not None]
    return dist(first, second) if len(first) == len(second) == len(one) else None
