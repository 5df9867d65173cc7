"""Earth this end: give a piece of metal or a load an earth of its own, or move an earth wire where it belongs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import point_at
from loomwright.trials.bench import Bench
from loomwright.trials.edits import AddedRow, Edit
from loomwright.trials.mend import Idea

__all__ = ["given_earths", "moved_earths"]

_LEAST_MM2 = 1.5
_NEAR_MM = 300.0
"""Length taken for an earth wire within one place, where no run says more. [mm]"""
_POINTS_MOST = 4
_ENDS_MOST = 3


def given_earths(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """An earth wire for the metal or the terminal the finding names, to an earth point that is there or a new one."""
    for end in _without_earth(bench, finding):
        place = _place_of(bench, end)
        beside = _beside(bench, end)
        if beside is None:
            continue
        size = max([_LEAST_MM2, *(wire.size_mm2 or 0.0 for wire in bench.wires_at(end))])
        for point in _earth_points(bench, place, "")[:_POINTS_MOST]:
            if bench.place_of(point) != place:
                continue
            yield Idea(
                says=f"Fit an earth wire from {end} to {point} ({bench.scene.title(split_point(point)[0])})",
                edits=_wire(bench, end, point, size, beside, ()),
            )
        if place:
            name = bench.new_part(f"E_{split_point(end)[0]}")
            row: Mapping[str, str] = {
                "id": name,
                "kind": "earth_point",
                "name": f"earth of {split_point(end)[0]}",
                "place": place,
                "circuit": beside.circuit,
                "settings": "on=body",
                "fitted": "new",
            }
            says = f"Fit an earth point {name} to bare body metal at {place}, and an earth wire from {end} to it"
            edits = _wire(bench, end, f"{name}.1", size, beside, (AddedRow(sheet="parts", cells=_filled(row)),))
            yield Idea(says=says, edits=edits)
        yield Idea(
            says=f"Fit an earth wire from {end} to the body, bare metal on both ends",
            edits=_wire(bench, end, "body", size, beside, ()),
        )


def moved_earths(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The earth wire the finding names, taken to an earth point of its own instead of a shared one."""
    names = [name for name in (*finding.at, *finding.path, *finding.touches) if name in bench.scene.wires]
    for name in list(dict.fromkeys(names))[:_ENDS_MOST]:
        wire = bench.scene.wires[name]
        for end, other in (("to", wire.from_), ("from", wire.to)):
            here = point_at(wire, end)
            if bench.duty(other) != "load" or bench.duty(here) == "load" or bench.is_reached(here):
                continue
            for point in _earth_points(bench, bench.place_of(other), wire.circuit)[:_POINTS_MOST]:
                if point == here:
                    continue
                yield Idea(
                    says=f"Take {wire.id}, the earth of {split_point(other)[0]}, to {point} "
                    f"({bench.scene.title(split_point(point)[0])}) instead of {here}",
                    edits=bench.moved(wire, end, point),
                )


def _without_earth(bench: Bench, finding: Finding) -> list[str]:
    """Metals and terminals of loads the finding names that lead to no earth."""
    metals = {metal.id for metal in bench.job.metals}
    found: list[str] = []
    for place in (*finding.at, *finding.touches):
        part, terminal = split_point(place)
        if place in metals and place not in found:
            found.append(place)
        elif part in bench.scene.parts and bench.duty(place) in ("load", "switch", "controller") and terminal:
            node = bench.node(place)
            if node is not None and node not in bench.conduction.earth and _is_minus(bench, place):
                found.append(place)
    for place in finding.at:
        if place in bench.scene.parts and bench.duty(place) in ("load", "controller"):
            found += [point for point in bench.open_terminals(place) if point not in found and _is_minus(bench, point)]
    return found[:_ENDS_MOST]


def _is_minus(bench: Bench, point: str) -> bool:
    """Whether a terminal goes to minus, or to either where no wire ends there."""
    part, name = split_point(point)
    for terminal in bench.kinds[bench.scene.parts[part].kind].terminals:
        if terminal.name == name:
            return terminal.polarity < 0 or (terminal.polarity == 0 and terminal.required and not bench.wires_at(point))
    return False


def _place_of(bench: Bench, end: str) -> str:
    """Where a terminal, or a piece of metal by what is wired or bolted to it, lies."""
    if split_point(end)[0] in bench.scene.parts:
        return bench.place_of(end)
    for wire in bench.wires_at(end):
        for other in (wire.from_, wire.to):
            if bench.place_of(other):
                return bench.place_of(other)
    bolted = [part for part in bench.scene.parts.values() if part.settings.get("bolted_to") == end]
    return bolted[0].place if bolted else ""


def _beside(bench: Bench, end: str) -> Wire | None:
    """A wire to take the number and the circuit of a new one from."""
    at = bench.wires_at(end) or bench.wires_of(split_point(end)[0])
    if at:
        return at[0]
    bolted = [part.id for part in bench.scene.parts.values() if part.settings.get("bolted_to") == end]
    return next((wire for part in bolted for wire in bench.wires_of(part)), None)


def _earth_points(bench: Bench, place: str, circuit: str) -> list[str]:
    """Earth points that lead to earth now, those of the place and of the circuit first."""
    found: list[tuple[tuple[bool, bool, str], str]] = []
    for part in bench.scene.parts.values():
        if part.kind != "earth_point" or bench.node(f"{part.id}.1") not in bench.conduction.earth:
            continue
        found.append(((part.circuit != circuit, part.place != place, part.id), f"{part.id}.1"))
    return [point for _, point in sorted(found)]


def _wire(
    bench: Bench, end: str, point: str, size_mm2: float, beside: Wire, first: tuple[Edit, ...]
) -> tuple[Edit, ...]:
    (name,) = bench.new_wires(1, beside.id)
    row = {
        "id": name,
        "circuit": beside.circuit,
        "from": end,
        "to": point,
        "size_mm2": f"{size_mm2:g}",
        "fitted": "new",
    }
    return bench.completed((*first, AddedRow(sheet="wires", cells=_filled(row))), {name: _NEAR_MM})


def _filled(row: Mapping[str, str]) -> Mapping[str, str]:
    return {column: text for column, text in row.items() if text}
