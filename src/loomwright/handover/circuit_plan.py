"""What does each circuit do in one state: which of its wires are energised, what it draws, which loads work?

In: the job, a `StateLook`. Out: one `CircuitState` a circuit, in the order of the sheet, wires without a circuit last.
A part counts for its own circuit, else for the one with most of its wires. What a circuit *draws* is the sum of the
amps of its loads; what it *carries* is the largest current in one of its wires, its loads' or another circuit's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.handover.state_look import StateLook, is_energised, loads_working, wire_volts
from loomwright.job.job import Job
from loomwright.job.rows import Wire

__all__ = ["BatteryState", "CarState", "CircuitState", "LoadState", "car_state", "homes_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """A part that does work. amps: what it draws. [A]   works: it draws half its rated current or more."""

    part: str
    name: str
    amps: float
    works: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitState:
    """One circuit in a state.

    wires, energised, floating: how many, and how many of them. [-]   drawn_a: by its loads. [A]
    carried_a: the largest current in one of its wires, `most_wire`. [A]   has_volts: some wire of it is energised.
    """

    id: str
    name: str
    class_: str
    wires: int
    energised: int
    floating: int
    drawn_a: float
    carried_a: float
    most_wire: str
    loads: tuple[LoadState, ...]

    @property
    def has_volts(self) -> bool:
        """Whether any wire of it is energised."""
        return self.energised > 0

    @property
    def working(self) -> int:
        """How many of its loads work. [-]"""
        return sum(load.works for load in self.loads)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryState:
    """A battery. volts: across its posts, None where it is not there. [V]

    out_a: what it gives; below nothing it takes. [A]
    """

    part: str
    volts: float | None
    out_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CarState:
    """The whole car in a state.

    alternator_a: what the alternators give. [A]   drawn_a: what all loads draw. [A]
    energised: the wires that are, in order.
    """

    batteries: tuple[BatteryState, ...]
    alternator_a: float | None
    drawn_a: float
    circuits: tuple[CircuitState, ...]
    energised: tuple[str, ...]


def car_state(job: Job, look: StateLook) -> CarState:
    """What the whole car does in a state, circuit by circuit.

    Args:
        job: with what was decided filled in.
    """
    loads = _loads(job, look)
    homes = homes_of(job)
    wires: dict[str, list[Wire]] = {}
    for wire in job.wires:
        if wire.fitted != "removed":
            wires.setdefault(wire.circuit, []).append(wire)
    named = [(row.id, row.name, row.class_) for row in job.circuits]
    if "" in wires:
        named.append(("", "", ""))
    at_home: dict[str, list[LoadState]] = {}
    for part, load in loads.items():
        at_home.setdefault(homes.get(part, ""), []).append(load)
    return CarState(
        batteries=_batteries(look),
        alternator_a=_given(look, "alternator"),
        drawn_a=sum(load.amps for load in loads.values()),
        circuits=tuple(
            _circuit(look, (name, title, class_), wires.get(name, []), at_home.get(name, []))
            for name, title, class_ in named
        ),
        energised=tuple(
            sorted((wire.id for found in wires.values() for wire in found if is_energised(look, wire)), key=id_order)
        ),
    )


def homes_of(job: Job) -> Mapping[str, str]:
    """Part -> its circuit: its own, else the one with most of its wires."""
    counts: dict[str, Counter[str]] = {}
    for wire in job.wires:
        for end in (wire.from_, wire.to):
            if end and wire.fitted != "removed":
                counts.setdefault(end.partition(".")[0], Counter())[wire.circuit] += 1
    found = {part: count.most_common(1)[0][0] for part, count in counts.items()}
    return found | {part.id: part.circuit for part in job.parts if part.circuit}


def _circuit(look: StateLook, named: tuple[str, str, str], wires: list[Wire], loads: list[LoadState]) -> CircuitState:
    amps = {wire.id: abs(look.solved.amps.get(wire.id, 0.0)) for wire in wires}
    most = max(amps, key=lambda wire: amps[wire], default="")
    return CircuitState(
        id=named[0],
        name=named[1],
        class_=named[2],
        wires=len(wires),
        energised=sum(is_energised(look, wire) for wire in wires),
        floating=sum(wire_volts(look, wire) == (None, None) for wire in wires),
        drawn_a=sum(load.amps for load in loads),
        carried_a=amps.get(most, 0.0),
        most_wire=most,
        loads=tuple(sorted(loads, key=lambda load: id_order(load.part))),
    )


def _loads(job: Job, look: StateLook) -> dict[str, LoadState]:
    """The loads by part; one with several elements works where any of them does."""
    loads, drawn, works = loads_working(look)
    names = {part.id: part.name for part in job.parts}
    found: dict[str, LoadState] = {}
    for part, amps, on in zip(loads.parts, drawn, works, strict=True):
        had = found.get(part)
        found[part] = LoadState(
            part=part,
            name=names.get(part, ""),
            amps=amps + (had.amps if had else 0.0),
            works=on or (had is not None and had.works),
        )
    return found


def _batteries(look: StateLook) -> tuple[BatteryState, ...]:
    found = []
    for element in look.compiled.network.elements:
        if element.type != "battery":
            continue
        nodes = look.compiled.network.nodes
        one, other = (look.solved.volts.get(nodes[node]) for node in (element.a, element.b))
        known = one is not None and other is not None
        found.append(
            BatteryState(
                part=element.part,
                volts=abs(one - other) if known and one is not None and other is not None else None,
                out_a=-look.solved.amps.get(element.name, 0.0),
            )
        )
    return tuple(found)


def _given(look: StateLook, kind: str) -> float | None:
    """What the machines of a type give; None where the car has none. [A]"""
    names = {one.name for one in look.compiled.network.elements if one.type == kind}
    return sum(-look.solved.amps[name] for name in names) if names else None
