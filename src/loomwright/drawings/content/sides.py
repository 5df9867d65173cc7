"""On which side of a bar or a box does each wire come in?

Contacts, fuses, lamps know their upper and lower end. A bar takes a wire on the side from which it comes; a box turns
a terminal down where all its wires lead on to a controller, since controllers stand below what they sense and drive.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.drawings.content.sketch import End, Link, Side, Sketch, Unit
from loomwright.drawings.content.wiring import Wiring

__all__ = ["with_sides"]

_MOST_JOINTS = 50


def with_sides(wiring: Wiring, sketch: Sketch) -> Sketch:
    """The same sketch with every end on its side."""
    at: dict[tuple[int, int], list[int]] = {}
    for number, link in enumerate(sketch.links):
        for end in link.ends:
            at.setdefault((end.unit, end.port), []).append(number)
    units = [_turned_down(sketch, number, at) for number in range(len(sketch.units))]
    links = [
        replace(link, ends=(_own_side(units, link.ends[0]), _own_side(units, link.ends[1]))) for link in sketch.links
    ]
    return replace(sketch, units=tuple(units), links=tuple(_at_bars(wiring, units, link) for link in links))


def _own_side(units: list[Unit], end: End) -> End:
    unit = units[end.unit]
    return end if unit.form == "bar" else replace(end, side=unit.ports[end.port].side)


def _at_bars(wiring: Wiring, units: list[Unit], link: Link) -> Link:
    one, other = link.ends
    bars = [units[end.unit].form == "bar" for end in link.ends]
    if not link.wire or not any(bars):
        return link
    if all(bars):
        points = [units[end.unit].ports[end.port].point for end in link.ends]
        above = wiring.depth(points[0]) <= wiring.depth(points[1])
        sides: tuple[Side, Side] = ("lower", "upper") if above else ("upper", "lower")
        return replace(link, ends=(replace(one, side=sides[0]), replace(other, side=sides[1])))
    if bars[0]:
        return replace(link, ends=(replace(one, side=_facing(other.side)), other))
    return replace(link, ends=(one, replace(other, side=_facing(one.side))))


def _facing(side: Side) -> Side:
    return "upper" if side == "lower" else "lower"


def _turned_down(sketch: Sketch, number: int, at: dict[tuple[int, int], list[int]]) -> Unit:
    """A box with the terminals that lead to controllers on its lower side; a bridge with both legs down, or upright."""
    unit = sketch.units[number]
    if unit.form not in ("box", "bridge"):
        return unit
    down = [
        bool(at.get((number, port))) and _leads_to_controller(sketch, number, port, at)
        for port in range(len(unit.ports))
    ]
    if unit.form == "bridge":
        if not all(down):
            return replace(unit, form="inline")
        return replace(unit, ports=tuple(replace(port, side="lower") for port in unit.ports))
    return replace(
        unit,
        ports=tuple(
            replace(port, side="lower" if low else port.side) for port, low in zip(unit.ports, down, strict=True)
        ),
    )


def _leads_to_controller(sketch: Sketch, number: int, port: int, at: dict[tuple[int, int], list[int]]) -> bool:
    """Whether a port's wires end, over joints, at a controller's upper side or another box, and some at the first."""
    seen = {(number, port)}
    waiting = [(number, port)]
    found = False
    for _ in range(_MOST_JOINTS):
        if not waiting:
            break
        here = waiting.pop()
        for link in at.get(here, ()):
            for end in sketch.links[link].ends:
                place = (end.unit, end.port)
                unit = sketch.units[end.unit]
                if place in seen:
                    continue
                seen.add(place)
                if unit.form == "controller" and unit.ports[end.port].side == "upper":
                    found = True
                elif unit.form == "bar":
                    waiting.extend(
                        (end.unit, other) for other in range(len(unit.ports)) if (end.unit, other) not in seen
                    )
                    seen.update((end.unit, other) for other in range(len(unit.ports)))
                elif unit.form not in ("box", "bridge", "controller"):
                    return False
    return found
