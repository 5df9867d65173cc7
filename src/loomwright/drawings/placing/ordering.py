"""In which order do units stand side by side, so that few wires cross?

Barycentre sweeps: row by row, down and up in turn, every unit goes to the mean place of what it is joined to in the
row before; its ports and pins sort themselves the same way. After each sweep the crossings are counted and the best
order is kept. Then neighbours change places as long as that takes crossings away. Two beginnings are tried: the order
of the sheets, and the order in which the ways are followed from the supply. Ties keep what was there, so the same job
gives the same order.

    crossings of a channel = pairs of links whose order differs above and below
                           + for a link that turns back: the links that end between its two pins
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawings.content.sketch import SIDES, Side
from loomwright.drawings.placing.grid import Cell, Grid, Pin, port_pins

__all__ = ["Order", "channel_crossings", "order_of"]

_SWEEPS = 8
_SWAPS = 4
_BEYOND = 10.0
Rows = list[list[Cell]]
Places = dict[Pin, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Order:
    """Who stands beside whom.

    rows: the cells of each row.   upper, lower: the pins along the upper and the lower edge of each row.
    ports: (unit, side) -> its ports in order, each with its pins.   crossings: how many there are. [-]
    """

    rows: tuple[tuple[Cell, ...], ...]
    upper: tuple[tuple[Pin, ...], ...]
    lower: tuple[tuple[Pin, ...], ...]
    ports: Mapping[tuple[int, Side], tuple[tuple[int, tuple[Pin, ...]], ...]]
    crossings: int


def order_of(grid: Grid, *, rough: bool = False) -> Order:
    """The order with the fewest crossings that the sweeps find.

    Args:
        rough: two sweeps and no counting, for what is parted afterwards; its crossings are -1.
    """
    if rough:
        state = _State(grid, _as_followed(grid), _all_ports(grid))
        state.sweep(down=True)
        state.sweep(down=False)
        return state.order(count=False)
    best: Order | None = None
    for beginning in (_as_followed(grid), _as_listed(grid), _as_followed(grid, last_first=True)):
        order = _swapped(grid, _swept(grid, beginning))
        if best is None or order.crossings < best.crossings:
            best = order
        if best.crossings == 0:
            break
    assert best is not None
    return best


def channel_crossings(pairs: Sequence[tuple[tuple[float, bool], tuple[float, bool]]]) -> int:
    """How many crossings one channel has: each link as two pins, (place, on the upper edge).

    Example:
        >>> channel_crossings([((0.0, True), (1.0, False)), ((1.0, True), (0.0, False))])
        1
    """
    through = []
    turning: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
    for (one, one_above), (other, other_above) in pairs:
        if one_above == other_above:
            turning[one_above].append((min(one, other), max(one, other)))
        else:
            through.append((one, other) if one_above else (other, one))
    count = 0
    for number, (top, bottom) in enumerate(through):
        for above, below in through[number + 1 :]:
            count += (top - above) * (bottom - below) < 0
    for above_edge, spans in turning.items():
        for number, (left, right) in enumerate(spans):
            ends = (top if above_edge else bottom for top, bottom in through)
            count += sum(left < end < right for end in ends)
            count += sum((left < one < right) != (left < other < right) for one, other in spans[number + 1 :])
    return count


def _as_listed(grid: Grid) -> Rows:
    rows: Rows = [[] for _ in range(grid.rows)]
    for unit, row in enumerate(grid.row_of):
        rows[row].append(("unit", unit))
    for row, links in enumerate(grid.passing):
        rows[row].extend(("pass", link) for link in links)
    return rows


def _as_followed(grid: Grid, *, last_first: bool = False) -> Rows:
    """Units and links in the order in which they are met, from each unit of the upper rows downward.

    Args:
        last_first: of several ways, the last listed is followed first.
    """
    near: dict[int, list[int]] = {}
    for link in grid.sketch.links:
        one, other = (end.unit for end in link.ends)
        near.setdefault(one, []).append(other)
        near.setdefault(other, []).append(one)
    met: dict[int, int] = {}
    for start in sorted(range(len(grid.row_of)), key=lambda unit: (grid.row_of[unit], unit)):
        waiting = [start]
        while waiting:
            unit = waiting.pop()
            if unit not in met:
                met[unit] = len(met)
                ahead = [one for one in near.get(unit, ()) if one not in met]
                waiting.extend(ahead if last_first else reversed(ahead))
    rows = _as_listed(grid)

    def place(cell: Cell) -> tuple[int, int]:
        if cell[0] == "unit":
            return met[cell[1]], 0
        return min(met[end.unit] for end in grid.sketch.links[cell[1]].ends), 1 + cell[1]

    return [sorted(row, key=place) for row in rows]


def _all_ports(grid: Grid) -> dict[tuple[int, Side], list[tuple[int, tuple[Pin, ...]]]]:
    return {(unit, side): port_pins(grid, unit, side) for unit in range(len(grid.sketch.units)) for side in SIDES}


def _swept(grid: Grid, rows: Rows) -> Order:
    state = _State(grid, rows, _all_ports(grid))
    best = state.order()
    for sweep in range(_SWEEPS):
        state.sweep(down=sweep % 2 == 0)
        order = state.order()
        if order.crossings < best.crossings:
            best = order
        if best.crossings == 0 and sweep >= 1:
            break
    return best


class _State:
    """An order while it is swept."""

    def __init__(
        self, grid: Grid, rows: Rows, ports: dict[tuple[int, Side], list[tuple[int, tuple[Pin, ...]]]]
    ) -> None:
        self.grid = grid
        self.rows = rows
        self.ports = ports
        self.other: list[dict[Pin, tuple[Pin, bool]]] = [{} for _ in grid.nets]
        for channel, nets in enumerate(grid.nets):
            for net in nets:
                one, other = net.pins
                self.other[channel][one] = (other, net.above[1])
                self.other[channel][other] = (one, net.above[0])

    def edge(self, row: int, side: Side) -> Iterator[Pin]:
        """The pins along one edge of a row, left to right."""
        for kind, number in self.rows[row]:
            if kind == "pass":
                yield ("pass", number, row)
            else:
                for _, pins in self.ports[number, side]:
                    yield from pins

    def places(self, row: int, side: Side) -> Places:
        """Where each pin along an edge is, 0 on the left to 1 on the right."""
        pins = list(self.edge(row, side))
        return {pin: (number + 0.5) / len(pins) for number, pin in enumerate(pins)}

    def sweep(self, *, down: bool) -> None:
        """All rows once, each by the one before it."""
        for row in range(self.grid.rows) if down else range(self.grid.rows - 1, -1, -1):
            channel = row if down else row + 1
            before = row - 1 if down else row + 1
            side: Side = "upper" if down else "lower"
            fixed: Places = {}
            if 0 <= before < self.grid.rows:
                fixed = self.places(before, "lower" if down else "upper")
            self._sort(row, side, channel, fixed)

    def _sort(self, row: int, side: Side, channel: int, fixed: Places) -> None:
        cells = self.rows[row]
        middle = {cell: (number + 0.5) / len(cells) for number, cell in enumerate(cells)}
        cell_of = {pin: cell for cell in cells for pin in self._pins(cell, row, side)}
        wanted: Places = {}
        turning: dict[Pin, Cell] = {}
        beside: dict[Cell, list[Cell]] = {}
        for pin, cell in cell_of.items():
            partner = self.other[channel].get(pin)
            if partner is not None and partner[0] in fixed:
                wanted[pin] = fixed[partner[0]]
            elif partner is not None and partner[0] in cell_of:
                turning[pin] = cell_of[partner[0]]
                beside.setdefault(cell, []).append(turning[pin])
        keys: dict[Cell, float] = {}
        for cell in cells:
            known = [wanted[pin] for pin in self._pins(cell, row, side) if pin in wanted]
            if known:
                keys[cell] = sum(known) / len(known)
        for cell in cells:
            if cell not in keys:
                # what hangs on a neighbour only goes where that one goes, on the side where it was
                near = [one for one in beside.get(cell, ()) if one in keys and one != cell]
                shift = 1e-6 if near and middle[cell] > middle[near[0]] else -1e-6
                keys[cell] = sum(keys[one] for one in near) / len(near) + shift if near else middle[cell]
        cells.sort(key=lambda cell: keys[cell])
        after = {cell: number for number, cell in enumerate(cells)}
        for pin, there in turning.items():
            # a link that turns back leaves on the side of its other end
            step = after[there] - after[cell_of[pin]]
            wanted[pin] = _BEYOND * step if step else 0.5
        for cell in cells:
            if cell[0] == "unit":
                self._sort_ports(cell[1], side, wanted)

    def _sort_ports(self, unit: int, side: Side, wanted: Places) -> None:
        """The ports of a unit, and the pins of each, by where they lead; what leads nowhere keeps its place."""
        ports = self.ports[unit, side]
        if sum(len(pins) for _, pins in ports) < 2:
            return
        place = {pin: number for number, pin in enumerate(pin for _, pins in ports for pin in pins)}
        known = sorted(value for value in wanted.values() if -1.0 <= value <= 1.0)
        default = known[len(known) // 2] if known else 0.5

        def want(pin: Pin) -> tuple[float, int]:
            return wanted.get(pin, default), place[pin]

        found = [(port, tuple(sorted(pins, key=want))) for port, pins in ports]

        def mean(one: tuple[int, tuple[Pin, ...]]) -> tuple[float, int]:
            return sum(want(pin)[0] for pin in one[1]) / len(one[1]), place[one[1][0]]

        self.ports[unit, side] = sorted(found, key=mean)

    def _pins(self, cell: Cell, row: int, side: Side) -> list[Pin]:
        if cell[0] == "pass":
            return [("pass", cell[1], row)]
        return [pin for _, pins in self.ports[cell[1], side] for pin in pins]

    def order(self, *, count: bool = True) -> Order:
        """The order as it is now, with its crossings."""
        upper = [tuple(self.edge(row, "upper")) for row in range(self.grid.rows)]
        lower = [tuple(self.edge(row, "lower")) for row in range(self.grid.rows)]
        return Order(
            rows=tuple(tuple(row) for row in self.rows),
            upper=tuple(upper),
            lower=tuple(lower),
            ports={key: tuple(found) for key, found in self.ports.items()},
            crossings=sum(_crossings(self.grid, channel, upper, lower) for channel in range(self.grid.rows + 1))
            if count
            else -1,
        )


def _crossings(grid: Grid, channel: int, upper: Sequence[Sequence[Pin]], lower: Sequence[Sequence[Pin]]) -> int:
    """The crossings of one channel: its upper edge is the lower edge of the row above."""
    if len(grid.nets[channel]) < 2:
        return 0
    above = {pin: float(number) for number, pin in enumerate(lower[channel - 1])} if channel else {}
    below = {pin: float(number) for number, pin in enumerate(upper[channel])} if channel < grid.rows else {}
    return channel_crossings(
        [
            (
                ((above if net.above[0] else below)[net.pins[0]], net.above[0]),
                ((above if net.above[1] else below)[net.pins[1]], net.above[1]),
            )
            for net in grid.nets[channel]
        ]
    )


def _swapped(grid: Grid, order: Order) -> Order:
    """Neighbours in a row change places, and ports and pins of a unit, as long as that takes crossings away."""
    if order.crossings == 0:
        return order
    state = _State(grid, [list(row) for row in order.rows], {key: list(found) for key, found in order.ports.items()})
    for _ in range(_SWAPS):
        better = False
        for row in range(grid.rows):
            better |= _swap_cells(state, row)
            for kind, unit in state.rows[row]:
                if kind == "unit":
                    better |= _swap_ports(state, row, unit)
                    better |= _swap_pins(state, row, unit)
        if not better:
            break
    found = state.order()
    return found if found.crossings < order.crossings else order


def _around(state: _State, row: int) -> int:
    upper = {one: tuple(state.edge(one, "upper")) for one in (row, row + 1) if one < state.grid.rows}
    lower = {one: tuple(state.edge(one, "lower")) for one in (row - 1, row) if one >= 0}
    count = 0
    for channel in (row, row + 1):
        count += _crossings_at(state, channel, lower.get(channel - 1, ()), upper.get(channel, ()))
    return count


def _crossings_at(state: _State, channel: int, above_pins: Sequence[Pin], below_pins: Sequence[Pin]) -> int:
    nets = state.grid.nets[channel]
    if len(nets) < 2:
        return 0
    above = {pin: float(number) for number, pin in enumerate(above_pins)}
    below = {pin: float(number) for number, pin in enumerate(below_pins)}
    return channel_crossings(
        [
            (
                ((above if net.above[0] else below)[net.pins[0]], net.above[0]),
                ((above if net.above[1] else below)[net.pins[1]], net.above[1]),
            )
            for net in nets
        ]
    )


def _swap_cells(state: _State, row: int) -> bool:
    cells = state.rows[row]
    better = False
    now = _around(state, row)
    for left in range(len(cells) - 1):
        if now == 0:
            break
        cells[left], cells[left + 1] = cells[left + 1], cells[left]
        then = _around(state, row)
        if then < now:
            now, better = then, True
        else:
            cells[left], cells[left + 1] = cells[left + 1], cells[left]
    return better


def _swap_ports(state: _State, row: int, unit: int) -> bool:
    better = False
    for side in SIDES:
        ports = state.ports[unit, side]
        if len(ports) < 2:
            continue
        now = _around(state, row)
        for left in range(len(ports) - 1):
            if now == 0:
                break
            ports[left], ports[left + 1] = ports[left + 1], ports[left]
            then = _around(state, row)
            if then < now:
                now, better = then, True
            else:
                ports[left], ports[left + 1] = ports[left + 1], ports[left]
    return better


def _swap_pins(state: _State, row: int, unit: int) -> bool:
    better = False
    for side in SIDES:
        ports = state.ports[unit, side]
        for number, (port, pins) in enumerate(ports):
            now = _around(state, row) if len(pins) > 1 else 0
            for left in range(len(pins) - 1):
                if now == 0:
                    break
                before = ports[number][1]
                ports[number] = (port, (*before[:left], before[left + 1], before[left], *before[left + 2 :]))
                then = _around(state, row)
                if then < now:
                    now, better = then, True
                else:
                    ports[number] = (port, before)
    return better
