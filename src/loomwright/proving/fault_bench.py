"""What would the meter read with each fault in the car?

One network holds the car, the meters and a bridge of no conductance wherever a short could be; a fault changes figures
in it, so it is turned into arrays once; two wires that may have changed places have a second self each, that carries
nothing until they have. Every fault is solved in every state in which something was or could be read; the volts of all
nodes come with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.build import ohmmeter
from loomwright.network.compiled import Compiled, compile_network, with_figures
from loomwright.network.records import FIGURES, Element, Law, Network
from loomwright.network.solve import Batch, solve_many
from loomwright.proving.suspects import Suspect
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["FaultBench", "bench_of"]

Figures = NDArray[np.float64]
End = tuple[int, int]
Tell = Callable[[int, int], None]
_BRIDGE, _OHMMETER = "suspect.", "ohmmeter."
_NOTHING = Suspect(kind="none", at=())
_ANSWERS = ("values", "v", "floating", "devices", "buzz", "amps", "status")
_FLOWS_A = 1e-10
"""What carries less carries nothing: through a meter of ten megohm it would be a millivolt [A]."""
_MOVES_V = 0.002
"""Volts that are moved by less stand still: a fifth of what is kept of them [V]."""
_MOVES_AT_OHMS_V = 5e-5
"""The same under an ohmmeter, whose milliampere makes a tenth of a millivolt on a tenth of an ohm [V]."""
_NEAR_FRAC = 0.8
"""A fuse that carries more than this share of what opens it may do so once anything moves [0..1]."""
_AT_ONCE = 64
"""Faults whose answers are held at a time [-]."""
_ALONE = 16
"""Faults one thread solves before it is given more [-]."""
_WORKERS = 2
"""Threads that solve; the solver lets go of the interpreter meanwhile [-]."""


@dataclass(frozen=True, slots=True, eq=False)
class FaultBench:
    """The car with every bridge in it. figures: of the sound car.

    bridge_of: two nodes of the scene -> the element that may join them.
    halves: a wire that may touch along its length, and which of two such it is -> its halves, to and from the middle.
    touch: a node of the scene and which middle -> the element that may join them. none where shorts lie at terminals.
    crossed: a wire's end and the end it may have changed places with -> the element that is that wire then.
    moves_v: volts that are moved by less stand still. [V]
    """

    scene: Scene
    compiled: Compiled
    figures: Figures
    bridge_of: dict[tuple[int, int], int]
    crossed: dict[tuple[End, End], int]
    halves: dict[tuple[int, int], tuple[int, int]]
    touch: dict[tuple[int, int], int]
    moves_v: float = _MOVES_V

    def solved(
        self,
        suspects: Sequence[Suspect],
        states: type_i,
        before: type_i | None = None,
        tell: Tell | None = None,
        put: Suspect = _NOTHING,
    ) -> Iterator[Batch]:
        """Every fault in every state, one fault after the other; solved where it touches anything.

        Args:
            states: value indices, one row a state.
            before: the states they are come from; from rest where left out.
            tell: called with faults done and to do; may raise Stopped.
            put: what was done to the car beforehand, such as a fuse pulled.
        """
        sound = self.solved_once(put, states, before)
        done = 0
        if len(suspects) <= _ALONE:
            yield from (self._beside(sound, one, states, before, put) for one in suspects)
            return
        with ThreadPoolExecutor(_WORKERS) as pool:
            for first in range(0, len(suspects), _AT_ONCE):
                some = suspects[first : first + _AT_ONCE]
                shares = [some[k : k + _ALONE] for k in range(0, len(some), _ALONE)]
                for share in pool.map(
                    lambda few: [self._beside(sound, one, states, before, put) for one in few], shares
                ):
                    yield from share
                    done += len(share)
                    if tell is not None:
                        tell(done, len(suspects))

    def _beside(self, sound: Batch, suspect: Suspect, states: type_i, before: type_i | None, put: Suspect) -> Batch:
        """One fault in some states, solved where it is not left out for touching nothing."""
        rows = np.flatnonzero(self.touches(suspect, sound)) if before is None else np.arange(len(states))
        if not len(rows):
            return sound
        if put.kind != _NOTHING.kind:
            suspect = Suspect(kind=put.kind, at=(), both=(*put.singles, *suspect.singles))
        found = self.solved_once(suspect, states[rows], None if before is None else before[rows])
        if len(rows) == len(states):
            return found
        return Batch(**{name: _laid_over(getattr(sound, name), getattr(found, name), rows) for name in _ANSWERS})

    def touches(self, suspect: Suspect, sound: Batch) -> NDArray[np.bool_]:
        """The states in which a fault moves anything, by what flows and stands there in the sound car.

        What opens or hinders moves no volts where nothing flows in it, nor does a short between points that stand at
        the same volts, nor a relay held as it lies.

        Args:
            sound: the sound car in those states.
        """
        found = np.zeros(len(sound.v), bool)
        for one in suspect.singles:
            if one.swapped is not None:
                found[:] = True
            if one.held is not None:
                found |= sound.devices[:, one.held[0]] != int(one.held[1])
            if one.bridge is not None:
                for node in {one.bridge[0], *(self.scene.ends(one.along) if one.along >= 0 else ())}:
                    found |= np.abs(sound.v[:, node] - sound.v[:, one.bridge[1]]) > self.moves_v
            for k in one.opened:
                found |= np.abs(sound.amps[:, k]) > _FLOWS_A
            if one.blows is not None:
                device, most_a = one.blows
                fuse = self.compiled.network.devices[device].senses[0].element
                found |= np.abs(sound.amps[:, fuse]) > _NEAR_FRAC * most_a
            for k, ohm in one.added_ohm:
                found |= np.abs(sound.amps[:, k]) * ohm > self.moves_v
        return found

    def solved_once(self, suspect: Suspect, states: type_i, before: type_i | None = None) -> Batch:
        """One fault solved in some states.

        Args:
            states: value indices, one row a state.
            before: the states they are come from; from rest where left out.
        """
        compiled = self.with_fault(suspect)
        start = None if before is None else solve_many(compiled, before).devices
        found = solve_many(compiled, states, start)
        return self._as_in_scene(suspect, found) if self.halves else found

    def with_ohmmeter(self, number: int) -> tuple[FaultBench, int]:
        """The same with one of its ohmmeters alone, and the element that is it.

        Args:
            number: which of them, as they were put in. [-]
        """
        figures = self.figures.copy()
        meters = [k for k, one in enumerate(self.compiled.network.elements) if one.name.startswith(_OHMMETER)]
        for k in meters[:number] + meters[number + 1 :]:
            figures[self._rows(k)] = _silent(Law.CLAMP, figures[self._rows(k)][0])
        return replace(self, figures=figures, compiled=with_figures(self.compiled, figures)), meters[number]

    def lost_a(self, suspect: Suspect, batch: Batch) -> tuple[tuple[int, Figures], ...]:
        """Wires that touch along their length -> amps at the second end less those at the first, by state. [A]"""
        return tuple((k, batch.amps[:, self.halves[k, slot][1]]) for slot, k in enumerate(_along(suspect)))

    def _as_in_scene(self, suspect: Suspect, found: Batch) -> Batch:
        """Nodes as the scene numbers them, without the middles; a wire that touches carries what its first end does."""
        last = self.scene.compiled.arrays.nodes
        keep = [*range(last), found.v.shape[1] - 1]
        amps = found.amps
        for slot, k in enumerate(_along(suspect)) if self.halves else ():
            one, other = self.halves[k, slot]
            amps[:, k] = amps[:, one]
            amps[:, other] -= amps[:, one]
        return replace(found, v=found.v[:, keep], floating=found.floating[:, keep], amps=amps)

    def with_fault(self, suspect: Suspect) -> Compiled:
        """The network with one fault in it, or with both of a pair."""
        if suspect.kind == _NOTHING.kind:
            return self.compiled
        compiled = self.compiled
        for one in suspect.singles:
            if one.blows is not None:
                device, most_a = one.blows
                sense_on = compiled.arrays.sense_on.copy()
                sense_on[compiled.arrays.sense_ptr[device]] = most_a
                compiled = replace(compiled, arrays=compiled.arrays._replace(sense_on=sense_on))
            if one.held is not None:
                device, lies = one.held
                stuck = compiled.arrays.stuck.copy()
                stuck[device] = 1 if lies else 0
                compiled = replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))
        figures = self.figures.copy()
        for element, rows in self.changed(suspect).items():
            figures[self._rows(element)] = rows
        return with_figures(compiled, figures)

    def changed(self, suspect: Suspect) -> dict[int, Figures]:
        """Element -> its rows of figures with a fault in the car, or with both of a pair."""
        found: dict[int, Figures] = {}
        slots = {k: slot for slot, k in enumerate(_along(suspect))} if self.halves else {}
        for one in suspect.singles:
            if one.along in slots:
                self._touching(one, slots[one.along], found)
            else:
                self._put(one, found)
        for k, end in (lifted for one in suspect.singles for lifted in one.lifted):
            if k in slots:
                half = self.halves[k, slots[k]][end]
                found[half] = np.zeros_like(found[half])
        return found

    def _touching(self, suspect: Suspect, slot: int, found: dict[int, Figures]) -> None:
        """A wire in two pieces, and where they meet on what it touches."""
        k = suspect.along
        whole = self.figures[self._rows(k)]
        found[k] = np.zeros_like(whole)
        for one, share in zip(self.halves[k, slot], (suspect.along_frac, 1.0 - suspect.along_frac), strict=True):
            found[one] = whole.copy()
            found[one][:, 0] /= share
        if suspect.bridge is not None:
            rows = self.figures[self._rows(touch := self.touch[suspect.bridge[1], slot])].copy()
            rows[:, 0] = 1.0 / suspect.bridge_ohm
            found[touch] = rows

    def _put(self, suspect: Suspect, found: dict[int, Figures]) -> None:
        """What a fault changes, put in beside what another changed already."""

        def now(element: int) -> Figures:
            return found[element] if element in found else self.figures[self._rows(element)].copy()

        for k in suspect.opened:
            law = self.compiled.network.elements[k].law
            found[k] = np.array([_silent(law, row) for row in now(k)])
        for k, ohm in suspect.added_ohm:
            rows = now(k)
            # a battery has its siemens in other places: giving and taking
            for column in (1, 3) if self.compiled.network.elements[k].law == Law.BATTERY else (0,):
                rows[:, column] = rows[:, column] / (1.0 + ohm * rows[:, column])
            found[k] = rows
        if suspect.bridge is not None:
            rows = now(bridge := self.bridge_of[_ordered(suspect.bridge)])
            rows[:, 0] = 1.0 / suspect.bridge_ohm
            found[bridge] = rows
        if suspect.swapped is not None:
            one, other = suspect.swapped
            for (k, end), there in ((one, other), (other, one)):
                found[self.crossed[(k, end), there]] = now(k)
            for k, _ in suspect.swapped:
                found[k] = np.zeros_like(now(k))

    def _rows(self, element: int) -> range:
        first = int(self.compiled.arrays.row[element])
        return range(first, first + len(self.compiled.network.elements[element].figures))


def bench_of(
    scene: Scene,
    suspects: Sequence[Suspect],
    meters: Sequence[tuple[int, int, float]] = (),
    *,
    along: bool = False,
    ohms_between: Sequence[tuple[int, int]] = (),
) -> FaultBench:
    """The car with every bridge and meter in it.

    Args:
        meters: two nodes of the scene and the ohms of the meter between them. [ohm]
        along: wires touch at half their length, so that they may come off at either end; else at their far end.
        ohms_between: nodes of the scene, two and two, each with an ohmmeter between them (`with_ohmmeter`).
    """
    network = scene.compiled.network
    place = _network_nodes(scene)
    singles = [part for one in suspects for part in one.singles]
    at_ends = [one.bridge for one in singles if one.bridge is not None and not (along and one.along >= 0)]
    pairs = list(dict.fromkeys(_ordered(one) for one in at_ends))
    added = [
        Element(name=f"{_BRIDGE}{k}", a=place[a], b=place[b], law=Law.LINEAR, figures=((0.0, 0.0),), type="bridge")
        for k, (a, b) in enumerate(pairs)
    ]
    swaps = list(dict.fromkeys(one.swapped for one in singles if one.swapped is not None))
    crossed = [way for one, other in swaps for way in ((one, other), (other, one))]
    added += [_crossed(network, f"changed.{k}", *way) for k, way in enumerate(crossed)]
    added += [
        Element(name=f"meter.{k}", a=place[a], b=place[b], law=Law.LINEAR, figures=((1.0 / ohm, 0.0),), type="meter")
        for k, (a, b, ohm) in enumerate(meters)
    ]
    added += [
        ohmmeter(f"{_OHMMETER}{k}", place[a], place[b], constant("meter_ohms_a"), constant("meter_ohms_v"))
        for k, (a, b) in enumerate(ohms_between)
    ]
    first = len(network.elements)
    middles, halves, touch = _middles(network, place, suspects, first + len(added)) if along else ([], {}, {})
    nodes = (*network.nodes, *dict.fromkeys(f"{_BRIDGE}along{slot}" for _, slot in halves))
    compiled = compile_network(replace(network, nodes=nodes, elements=(*network.elements, *added, *middles)))
    return FaultBench(
        scene=scene,
        compiled=compiled,
        figures=compiled.arrays.figures.copy(),
        bridge_of={(a, b): first + k for k, (a, b) in enumerate(pairs)},
        crossed={way: first + len(pairs) + k for k, way in enumerate(crossed)},
        halves=halves,
        touch=touch,
        moves_v=_MOVES_AT_OHMS_V if ohms_between else _MOVES_V,
    )


def _middles(
    network: Network, place: dict[int, int], suspects: Sequence[Suspect], first: int
) -> tuple[list[Element], dict[tuple[int, int], tuple[int, int]], dict[tuple[int, int], int]]:
    """One middle for all wires that may touch somewhere along them, since but one does at a time; two for pairs.

    Its halves carry nothing until a wire touches; then they are the wire.
    """
    added: list[Element] = []
    halves: dict[tuple[int, int], tuple[int, int]] = {}
    touch: dict[tuple[int, int], int] = {}
    for suspect in suspects:
        touching = [one for one in suspect.singles if one.along >= 0]
        for slot, one in enumerate(touching):
            node, name = len(network.nodes) + slot, f"{_BRIDGE}along{slot}"
            wire = network.elements[one.along]
            silent = tuple((0.0, 0.0) for _ in wire.figures)
            if (one.along, slot) not in halves:
                halves[one.along, slot] = (first + len(added), first + len(added) + 1)
                for a, b in ((wire.a, node), (node, wire.b)):
                    added.append(replace(wire, name=f"{name}.{len(added)}", a=a, b=b, figures=silent, type="bridge"))
            if one.bridge is not None and (one.bridge[1], slot) not in touch:
                touch[one.bridge[1], slot] = first + len(added)
                there = place[one.bridge[1]]
                added.append(
                    Element(
                        name=f"{name}.{len(added)}",
                        a=node,
                        b=there,
                        law=Law.LINEAR,
                        figures=((0.0, 0.0),),
                        type="bridge",
                    )
                )
    return added, halves, touch


def _along(suspect: Suspect) -> list[int]:
    """The wires that touch along their length, in order. [-]"""
    return [one.along for one in suspect.singles if one.along >= 0]


def _crossed(network: Network, name: str, wire: End, there: End) -> Element:
    """A wire with one end where another wire's end is, carrying nothing until they have changed places."""
    element, other = network.elements[wire[0]], network.elements[there[0]]
    node = (other.a, other.b)[there[1]]
    a, b = (node, element.b) if wire[1] == 0 else (element.a, node)
    silent = tuple((0.0, 0.0) for _ in element.figures)
    return replace(element, name=name, a=a, b=b, figures=silent, type="bridge")


def _ordered(pair: tuple[int, int]) -> tuple[int, int]:
    return (min(pair), max(pair))


def _network_nodes(scene: Scene) -> dict[int, int]:
    """Node of the compiled numbering -> node of the network's."""
    return {scene.compiled.node_of[name]: index for index, name in enumerate(scene.compiled.network.nodes)}


def _silent(law: Law, row: Figures) -> Figures:
    """Figures of an element that carries nothing, whatever its law."""
    quiet = np.zeros(FIGURES)
    if law == Law.LAMP:
        quiet[:] = row
        quiet[1], quiet[2] = 0.0, 1e12
    elif law in (Law.DIODE, Law.CURRENT, Law.POWER, Law.MOTOR, Law.CLAMP, Law.BATTERY):
        quiet[:] = row
        for k in {Law.DIODE: (2,), Law.CLAMP: (0, 4), Law.BATTERY: (1, 3, 4)}.get(law, (0,)):
            quiet[k] = 0.0
    return quiet


def _laid_over(sound: NDArray[Any], found: NDArray[Any], rows: type_i) -> NDArray[Any]:
    """The sound answers with some rows of others."""
    whole = sound.copy()
    whole[rows] = found
    return whole
