"""What does the network look like with other sizes in some wires?

A wire's element is one conductance a temperature row: length times ohms a metre, hot, plus its joints. Only the first
part goes with its size, and in a straight line with the ohms a metre, so two sizes fix it for all:

    R_row(s) = R_row(s1) + (r(s) - r(s1)) * (R_row(s2) - R_row(s1)) / (r(s2) - r(s1))

r is the table's ohms a metre. The rest of the network stays, so only its arrays are made anew.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cache

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, refigured
from loomwright.network.records import Network
from loomwright.sizing.open_cells import with_choice
from loomwright.tables.conductors import ohm_per_m_20c

__all__ = ["WireOhms", "resized", "wire_ohms"]

_THIN_MM2, _THICK_MM2 = 0.5, 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WireOhms:
    """A wire's resistance whatever its size, one figure a temperature row.

    element: of the network. fixed_ohm: joints. [ohm]   length_m: times hotter than 20 degC: what r(s) is taken by. [m]
    """

    element: int
    fixed_ohm: tuple[float, ...]
    length_m: tuple[float, ...]

    def ohm(self, size_mm2: float, row: int) -> float:
        """Its resistance in a size. [ohm]

        Args:
            size_mm2: the size. [mm2]
            row: of temperature.
        """
        return self.fixed_ohm[row] + _ohm_per_m(size_mm2) * self.length_m[row]

    def figures(self, size_mm2: float) -> tuple[tuple[float, float], ...]:
        """Its element's figures in a size.

        Args:
            size_mm2: the size. [mm2]
        """
        return tuple((1.0 / self.ohm(size_mm2, row), 0.0) for row in range(len(self.fixed_ohm)))


def wire_ohms(job: Job, kinds: Kinds, network: Network, wires: Collection[str]) -> Mapping[str, WireOhms]:
    """The resistance of some wires by their size; wires with a measured resistance have none that goes with size.

    Args:
        job: with any sizes for these wires, and their lengths.
        network: of that job.
    """
    first = {
        wire.id: wire.size_mm2
        for wire in job.wires
        if wire.id in wires and wire.ohm_per_m is None and wire.size_mm2 is not None
    }
    if not first:
        return {}
    second = {name: _THIN_MM2 if size_mm2 > _THIN_MM2 else _THICK_MM2 for name, size_mm2 in first.items()}
    other = build_network(with_choice(job, second, {}), kinds)
    at = {element.name: index for index, element in enumerate(network.elements) if element.is_wire}
    return {
        name: _between(network, other, at[name], (first[name], second[name])) for name in first if name in at
    }  # fmt: skip


def resized(compiled: Compiled, ohms: Mapping[str, WireOhms], sizes_mm2: Mapping[str, float]) -> Compiled:
    """The network with these sizes in these wires."""
    elements = list(compiled.network.elements)
    for name, size_mm2 in sizes_mm2.items():
        if name in ohms:
            index = ohms[name].element
            elements[index] = replace(elements[index], figures=ohms[name].figures(size_mm2))
    return refigured(compiled, elements)


@cache
def _ohm_per_m(size_mm2: float) -> float:
    """The table's figure, looked up once a size. [ohm/m]"""
    return ohm_per_m_20c(size_mm2)


def _between(one: Network, other: Network, index: int, sizes_mm2: tuple[float, float]) -> WireOhms:
    """What goes with the size of a wire and what does not, from two sizes of it."""
    r_one, r_other = (ohm_per_m_20c(size) for size in sizes_mm2)
    rows = list(zip(one.elements[index].figures, other.elements[index].figures, strict=True))
    length_m = tuple((1.0 / a[0] - 1.0 / b[0]) / (r_one - r_other) for a, b in rows)
    return WireOhms(
        element=index,
        fixed_ohm=tuple(1.0 / a[0] - r_one * m for (a, _), m in zip(rows, length_m, strict=True)),
        length_m=length_m,
    )
