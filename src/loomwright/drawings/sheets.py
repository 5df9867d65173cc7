"""Into how many sheets does a circuit go, and how is it parted?

A circuit that fits an A4 page, upright or lying, is one sheet. A wider one is laid out as a whole first, to see what
stands beside what, and parted there where the fewest wires are cut; one with too many rows is parted between rows.
Each part is looked at in the same way again. Supply lines, earths, bars and controllers are drawn on every sheet that
needs them, with the terminals needed there; a bar tells where it goes on. A wire that is cut is drawn on the sheet of
its first end, with an arrow to the track of the other, where an arrow tells the wire's own track. One part that is
wider than a sheet with all that hangs on it is drawn on several, each with the terminals needed there and the track
where it goes on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from loomwright.drawings.content.sketch import SIDES, End, Link, Port, Ref, Sketch, Unit, Words
from loomwright.drawings.content.wiring import Wiring
from loomwright.drawings.page import A4, field_mm
from loomwright.drawings.placing.grid import grid_of
from loomwright.drawings.placing.layout import Laid, laid_out
from loomwright.drawings.placing.ordering import order_of
from loomwright.drawings.placing.rows import rows_of

__all__ = ["fits", "sheets_of"]

_SPREAD = ("line", "earth", "bar", "controller")
_FOLLOWS = ("arrow", "free")
_IN_PIECES = ("box",)
"""A part of these forms is drawn on several sheets where one is too narrow: its terminals stand side by side."""

_NEAR = 0.3
_MANY_LINKS = 120
_SHARE_LINKS = 45
_ALSO = "also "


def sheets_of(wiring: Wiring, sketch: Sketch) -> tuple[Laid, ...]:
    """The sheets of a circuit, left to right."""
    if len(sketch.links) > _MANY_LINKS:
        # too much to be laid out as one: parted by the order alone
        parts = _parted(sketch, _rough_places(sketch), ceil(len(sketch.links) / _SHARE_LINKS))
        if len(parts) > 1:
            return tuple(laid for part in parts for laid in sheets_of(wiring, part))
    whole = laid_out(wiring, sketch)
    upright, lying = field_mm(*A4), field_mm(*A4[::-1])
    if fits(whole):
        return (whole,)
    if whole.high_mm > upright[1]:
        parts = _parted(sketch, _row_places(whole), ceil(whole.high_mm / upright[1]))
    else:
        most = lying[0] if whole.high_mm <= lying[1] else upright[0]
        parts = _parted(sketch, _places(whole), max(2, ceil(whole.wide_mm / most)))
    if len(parts) < 2:
        parts = _parted_part(sketch, _places(whole), max(2, ceil(whole.wide_mm / lying[0])))
    if len(parts) < 2:
        return (whole,)
    return tuple(laid for part in parts for laid in sheets_of(wiring, part))


def fits(laid: Laid) -> bool:
    """Whether a sheet goes on an A4 page, upright or lying."""
    fields = (field_mm(*A4), field_mm(*A4[::-1]))
    return any(laid.wide_mm <= wide and laid.high_mm <= high for wide, high in fields)


def _parted(
    sketch: Sketch, places: Mapping[int, float], count: int, spread: frozenset[int] = frozenset()
) -> tuple[Sketch, ...]:
    """The sketch in `count` parts or fewer, each a sheet; units of `spread` are drawn on every one that needs them."""
    spread |= {number for number, unit in enumerate(sketch.units) if unit.form in _SPREAD}
    solid = [number for number in range(len(sketch.units)) if number not in spread]
    sheet_of = _dealt(sketch, places, solid, count, spread)
    used = sorted(set(sheet_of.values()))
    return tuple(_Part(sketch, sheet_of, sheet).sketch() for sheet in used)


def _parted_part(sketch: Sketch, places: Mapping[int, float], count: int) -> tuple[Sketch, ...]:
    """The sketch parted through the part on which most hangs; not at all where none can be drawn in pieces."""
    hangs: dict[int, int] = {}
    for link in sketch.links:
        for unit in {end.unit for end in link.ends}:
            if sketch.units[unit].form in _IN_PIECES:
                hangs[unit] = hangs.get(unit, 0) + 1
    if not hangs:
        return ()
    widest = max(hangs, key=lambda unit: (hangs[unit], -unit))
    return _parted(sketch, places, count, frozenset((widest,)))


def _places(whole: Laid) -> dict[int, float]:
    """Where across each unit stands, in the middle of its pins. [mm]"""
    found = {}
    for unit in range(len(whole.sketch.units)):
        across = [whole.at[pin] for side in SIDES for _, pins in whole.order.ports[unit, side] for pin in pins]
        found[unit] = sum(across) / len(across) if across else 0.0
    return found


def _row_places(whole: Laid) -> dict[int, float]:
    return {unit: float(row) for unit, row in enumerate(whole.grid.row_of)}


def _rough_places(sketch: Sketch) -> dict[int, float]:
    """Where across each unit would stand, in shares of its row, by the order alone."""
    order = order_of(grid_of(sketch, rows_of(sketch)), rough=True)
    return {
        cell[1]: (number + 0.5) / len(row) for row in order.rows for number, cell in enumerate(row) if cell[0] == "unit"
    }


def _dealt(
    sketch: Sketch, places: Mapping[int, float], solid: Sequence[int], count: int, spread: frozenset[int]
) -> dict[int, int]:
    """The sheet of each solid unit: breaks near even steps, where the fewest links are cut."""
    leaders = {unit: _leader(sketch, unit, spread) for unit in solid}
    order = sorted(set(leaders.values()), key=lambda unit: (places[unit], unit))
    rank = {unit: number for number, unit in enumerate(order)}
    sums = [0] * len(order)
    for unit in solid:
        sums[rank[leaders[unit]]] += len(sketch.units[unit].ports) + 1
    for number in range(1, len(sums)):
        sums[number] += sums[number - 1]
    links = []
    for link in sketch.links:
        if all(end.unit in leaders for end in link.ends):
            low, high = sorted(rank[leaders[end.unit]] for end in link.ends)
            links.append((low, high))
    breaks: list[int] = []
    before = 0
    for sheet in range(1, count):
        aim = sums[-1] * sheet / count if sums else 0.0
        later = range(before + 1, len(order))
        choices = [n for n in later if abs(sums[n - 1] - aim) <= sums[-1] / count * _NEAR]
        choices = choices or sorted(later, key=lambda n: abs(sums[n - 1] - aim))[:1]
        if not choices:
            break
        before = min(choices, key=lambda n: (sum(low < n <= high for low, high in links), abs(sums[n - 1] - aim), n))
        breaks.append(before)
    return {unit: sum(rank[leaders[unit]] >= place for place in breaks) for unit in solid}


def _leader(sketch: Sketch, unit: int, spread: frozenset[int]) -> int:
    """An arrow goes where the unit goes that it hangs on."""
    if sketch.units[unit].form not in _FOLLOWS:
        return unit
    for link in sketch.links:
        ends = [end.unit for end in link.ends]
        if unit in ends:
            other = ends[0] if ends[1] == unit else ends[1]
            return unit if other in spread or sketch.units[other].form in _FOLLOWS else other
    return unit


@dataclass(slots=True)
class _Part:
    """One part of a sketch while it is put together."""

    whole: Sketch
    sheet_of: Mapping[int, int]
    sheet: int

    def sketch(self) -> Sketch:
        """The part as a sketch of its own."""
        kept = {unit: self.whole.units[unit] for unit, sheet in self.sheet_of.items() if sheet == self.sheet}
        links = [link for link in self.whole.links if self._sheet(link) == self.sheet]
        ports: dict[int, dict[int, int]] = {}
        for unit, what in kept.items():
            ports[unit] = {port: port for port in range(len(what.ports))}
        spread: dict[int, list[int]] = {}
        for link in links:
            for end in link.ends:
                if end.unit not in self.sheet_of and end.port not in spread.setdefault(end.unit, []):
                    spread[end.unit].append(end.port)
        units: dict[int, Unit] = dict(kept)
        for number, needed in spread.items():
            ports[number] = {port: count for count, port in enumerate(needed)}
            units[number] = self._copy(number, needed)
        order = sorted(units)
        number_of = {unit: count for count, unit in enumerate(order)}
        made = [units[unit] for unit in order]
        drawn: list[Link] = []
        for link in links:
            drawn.append(self._link(link, number_of, ports, made))
        for link in self.whole.links:
            if link not in links and self._is_cut(link):
                drawn.append(self._far_end(link, number_of, ports, made))
        return replace(self.whole, units=tuple(made), links=tuple(drawn))

    def _sheet(self, link: Link) -> int:
        """The sheet a link is drawn on: that of its solid ends, the first where they differ."""
        solid = [self.sheet_of[end.unit] for end in link.ends if end.unit in self.sheet_of]
        if solid:
            return solid[0]
        shared = self._sheets_of(link.ends[0].unit) & self._sheets_of(link.ends[1].unit)
        either = self._sheets_of(link.ends[0].unit) | self._sheets_of(link.ends[1].unit)
        return min(shared or either or {0})

    def _sheets_of(self, unit: int) -> set[int]:
        """The sheets on which a spread unit has a solid neighbour."""
        return {
            self.sheet_of[end.unit]
            for link in self.whole.links
            if any(one.unit == unit for one in link.ends)
            for end in link.ends
            if end.unit in self.sheet_of
        }

    def _is_cut(self, link: Link) -> bool:
        """Whether a link ends on this sheet and is drawn on another."""
        return any(self.sheet_of.get(end.unit) == self.sheet for end in link.ends)

    def _copy(self, number: int, ports: Sequence[int]) -> Unit:
        """A spread unit with the ports that this sheet needs; a bar or a part tells where the rest of it is."""
        unit = self.whole.units[number]
        words = unit.words
        if unit.form == "bar" or unit.form in _IN_PIECES:
            rest = [port for port in range(len(unit.ports)) if port not in ports]
            elsewhere = [port for port in rest if self._is_drawn(number, port)]
            if elsewhere:
                ref = Ref(target=unit.ports[elsewhere[0]].point, circuit=self.whole.circuit)
                kept = tuple(one for one in words if one.pieces[0] != _ALSO)
                words = (*kept, Words(style="figure", pieces=(_ALSO, ref)))
        return replace(unit, ports=tuple(unit.ports[port] for port in ports), words=words)

    def _is_drawn(self, unit: int, port: int) -> bool:
        return any(end.unit == unit and end.port == port for link in self.whole.links for end in link.ends)

    def _end(self, end: End, number_of: Mapping[int, int], ports: Mapping[int, Mapping[int, int]]) -> End:
        return End(unit=number_of[end.unit], port=ports[end.unit][end.port], side=end.side)

    def _link(
        self,
        link: Link,
        number_of: Mapping[int, int],
        ports: Mapping[int, Mapping[int, int]],
        made: list[Unit],
    ) -> Link:
        """A link of this sheet; where its other end is elsewhere, it ends at an arrow."""
        ends = []
        for end, other in (link.ends, link.ends[::-1]):
            if end.unit in number_of:
                ends.append(self._end(end, number_of, ports))
            else:
                point = self.whole.units[end.unit].ports[end.port].point
                ends.append(self._arrow(other, Ref(target=point, circuit=self.whole.circuit), point, link, made))
        return replace(link, ends=(ends[0], ends[1]))

    def _far_end(
        self,
        link: Link,
        number_of: Mapping[int, int],
        ports: Mapping[int, Mapping[int, int]],
        made: list[Unit],
    ) -> Link:
        """The end of a link that is drawn on another sheet: a lead to an arrow that tells where."""
        here = next(end for end in link.ends if self.sheet_of.get(end.unit) == self.sheet)
        there = next(end for end in link.ends if end is not here)
        point = self.whole.units[there.unit].ports[there.port].point
        target = link.wire or point
        arrow = self._arrow(here, Ref(target=target, circuit=self.whole.circuit), point, link, made)
        return Link(wire="", ends=(self._end(here, number_of, ports), arrow))

    def _arrow(self, at: End, ref: Ref, point: str, link: Link, made: list[Unit]) -> End:
        """An arrow that hangs on an end: to the track where a link goes on."""
        down = at.side == "lower"
        words = (Words(style="figure", pieces=("→ ", ref)), Words(style="note", pieces=(point,)))
        port = Port(terminal="", point="", side="upper" if down else "lower")
        made.append(
            Unit(
                form="arrow",
                symbol="arrow",
                about=link.wire or point.partition(".")[0],
                ports=(port,),
                words=words,
                band="late" if down else "early",
                foreign=True,
            )
        )
        return End(unit=len(made) - 1, port=0, side=port.side)
