"""A sketch while it is being put together: units, ports and links are added, and looked up by the point they stand for.

The only thing here that changes while it is used; it is made and thrown away within one call.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.drawings.content.sketch import Band, End, Link, Port, Side, Sketch, Unit, UnitForm, Words

__all__ = ["Draft"]


class Draft:
    """Units and links of one circuit, growing."""

    def __init__(self, circuit: str) -> None:
        self.circuit = circuit
        self.units: list[Unit] = []
        self.links: list[Link] = []
        self.port_at: dict[str, tuple[int, int]] = {}

    def add_unit(
        self, form: UnitForm, symbol: str, about: str, words: tuple[Words, ...], band: Band, *, foreign: bool = False
    ) -> int:
        """A new unit without ports; its number."""
        self.units.append(
            Unit(form=form, symbol=symbol, about=about, ports=(), words=words, band=band, foreign=foreign)
        )
        return len(self.units) - 1

    def put(self, number: int, unit: Unit) -> None:
        """The same unit with something changed."""
        self.units[number] = unit

    def add_port(self, unit: int, port: Port, *, known: bool = True) -> int:
        """A port of a unit; its number. known: wires of that point end there."""
        self.units[unit] = replace(self.units[unit], ports=(*self.units[unit].ports, port))
        number = len(self.units[unit].ports) - 1
        if known and port.point:
            self.port_at[port.point] = (unit, number)
        return number

    def end(self, unit: int, port: int, side: Side | None = None) -> End:
        """An end at a port, on the port's own side unless said."""
        return End(unit=unit, port=port, side=side or self.units[unit].ports[port].side)

    def link(self, wire: str, one: End, other: End) -> None:
        """A wire between two ends, or a lead."""
        self.links.append(Link(wire=wire, ends=(one, other)))

    def sketch(self) -> Sketch:
        """What was put together."""
        return Sketch(circuit=self.circuit, units=tuple(self.units), links=tuple(self.links))
