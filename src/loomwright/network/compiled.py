"""The network turned once into arrays and an elimination order, ready to be solved in any state.

In: a `Network`. Out: `Compiled`, which holds the arrays and finds nodes and elements by name. Elements that never
change
(no guard, no device, a straight line, figures that follow wire temperature only) are put into the base, one a thermal
row, and the nodes only they touch are eliminated here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

import numpy as np

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, TIER_RELAY, Arrays, Steps, type_f
from loomwright.network.elimination import eliminate
from loomwright.network.reach import reach_of
from loomwright.network.records import FIGURES, Element, Guard, Law, Network
from loomwright.network.schedule import Schedule, plan_elimination

__all__ = ["Compiled", "compile_network", "recompiled", "refigured", "with_figures"]

_TIERS = {"motor": TIER_MOTOR, "fuse": TIER_FUSE}


@dataclass(frozen=True, slots=True, eq=False)
class Compiled:
    """A network and its arrays; `node_of` and `elements_of` find things by name."""

    network: Network
    arrays: Arrays
    node_of: dict[str, int]
    elements_of: dict[str, tuple[int, ...]]
    device_of: dict[str, int]
    variable_of: dict[str, int]


def compile_network(network: Network) -> Compiled:
    """The arrays of a network, its order of elimination planned and its unchanging part eliminated."""
    nodes = len(network.nodes) - 1
    place = _places(network)
    fixed = [_is_fixed(element, network.thermal) for element in network.elements]
    ends = [(place[element.a], place[element.b]) for element in network.elements]
    changeable = {end for pair, still in zip(ends, fixed, strict=True) if not still for end in pair}
    # what a device looks at is asked after every pass
    for sense in (sense for device in network.devices for sense in device.senses):
        changeable |= {place[node] for node in (sense.a, sense.b, sense.beside) if node >= 0}
        changeable |= set(ends[sense.element]) if sense.element >= 0 else set()
    laws = [element.law for element in network.elements]
    bent = {end for pair, law in zip(ends, laws, strict=True) if law != Law.LINEAR for end in pair}
    schedule = plan_elimination(
        nodes,
        [(a, b) for a, b in ends if a < nodes and b < nodes],
        [2 if node in bent else 1 if node in changeable else 0 for node in range(nodes)],
        _tied([pair for pair, still in zip(ends, fixed, strict=True) if still], nodes),
    )
    arrays = _with_base(_arrays(network, place, schedule, fixed))
    named: dict[str, list[int]] = {}
    for index, element in enumerate(network.elements):
        named.setdefault(element.name, []).append(index)
    return Compiled(
        network=network,
        arrays=arrays,
        node_of={name: place[index] for index, name in enumerate(network.nodes)},
        elements_of={name: tuple(found) for name, found in named.items()},
        device_of={device.name: index for index, device in enumerate(network.devices)},
        variable_of={variable.name: index for index, variable in enumerate(network.variables)},
    )


def refigured(compiled: Compiled, elements: Sequence[Element]) -> Compiled:
    """The same network with other figures in its elements.

    Args:
        elements: those of the network, differing in figures alone, each with as many rows as before; what never changes
            still never does.
    """
    network = replace(compiled.network, elements=tuple(elements))
    return replace(with_figures(compiled, _figures(elements)), network=network)


def recompiled(compiled: Compiled, network: Network) -> Compiled:
    """The arrays of a network, those of another taken over where they differ in figures alone.

    The order of elimination hangs on what is joined and what changes, not on how much it conducts, so that the arrays
    are those that `compile_network` makes.

    Args:
        compiled: of a network that may be nearly the same.
    """
    had = compiled.network
    same = had.nodes == network.nodes and had.selectors == network.selectors and had.variables == network.variables
    if not same or _shape(had) != _shape(network):
        return compile_network(network)
    senses = [sense for device in network.devices for sense in device.senses]
    laid_out = compiled.arrays
    a, b, live = laid_out.a.tolist(), laid_out.b.tolist(), laid_out.live.tolist()
    arrays = laid_out._replace(
        sense_on=np.array([sense.on for sense in senses], float),
        sense_off=np.array([sense.off for sense in senses], float),
        reach=reach_of(network.elements, a, b, live, laid_out.step_of),
    )
    named = replace(compiled, network=network, arrays=arrays)
    return with_figures(named, _figures(network.elements))


def _shape(network: Network) -> tuple[object, ...]:
    """What of a network its arrays are laid out by."""
    elements = [
        (e.name, e.a, e.b, e.law, len(e.figures), e.selector, e.guards, e.needs, _is_fixed(e, network.thermal))
        for e in network.elements
    ]
    devices = [
        (d.name, d.what, d.guards, d.at_rest, d.stuck, [(s.element, s.a, s.b, s.beside) for s in d.senses])
        for d in network.devices
    ]
    return network.reference, network.thermal, elements, devices


def with_figures(compiled: Compiled, figures: type_f) -> Compiled:
    """The same network with other figures in its arrays; its records keep their own.

    Args:
        figures: as many rows as there are, in the same order.
    """
    arrays = compiled.arrays._replace(
        figures=figures,
        base_edge=np.zeros_like(compiled.arrays.base_edge),
        base_part=np.zeros_like(compiled.arrays.base_part),
        base_ref=np.zeros_like(compiled.arrays.base_ref),
    )
    return replace(compiled, arrays=_with_base(arrays))


def _places(network: Network) -> list[int]:
    """Node numbers with the reference last."""
    last = len(network.nodes) - 1
    place = list(range(len(network.nodes)))
    place[network.reference] = last
    for index in range(network.reference + 1, len(network.nodes)):
        place[index] = index - 1
    return place


def _tied(pairs: Iterable[tuple[int, int]], reference: int) -> set[int]:
    """Nodes that hang together with the reference by elements that never change."""
    beside: dict[int, list[int]] = {}
    for a, b in pairs:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    found, ahead = {reference}, [reference]
    while ahead:
        for node in beside.get(ahead.pop(), ()):
            if node not in found:
                found.add(node)
                ahead.append(node)
    return found


def _is_fixed(element: Element, thermal: int) -> bool:
    return (
        element.law == Law.LINEAR
        and not element.guards
        and not element.needs
        and element.selector in (-1, thermal)
        and all(row[1] == 0.0 for row in element.figures)
    )


def _arrays(network: Network, place: Sequence[int], schedule: Schedule, fixed: Sequence[bool]) -> Arrays:
    elements, devices = network.elements, network.devices
    nodes = len(network.nodes) - 1
    # an edge's number is its place among the neighbours of the node that goes first
    edges = [edge for group in schedule.near for _, edge in group]
    edge_place = dict(zip(edges, range(len(edges)), strict=True))
    slot_of = {pair: edge_place[index] for index, pair in enumerate(schedule.edges)}
    step_of = np.zeros(nodes + 1, np.int64)
    step_of[[*schedule.order, nodes]] = np.arange(nodes + 1)
    a = [place[element.a] for element in elements]
    b = [place[element.b] for element in elements]
    slots = [slot_of.get((min(p, q), max(p, q)), -1) for p, q in zip(a, b, strict=True)]
    joined = [p != q for p, q in zip(a, b, strict=True)]
    live = [k for k, still in enumerate(fixed) if not still and joined[k]]
    guards: list[Guard] = []
    guard_ptr = _run([element.guards for element in elements], guards)
    device_guard_ptr = [pointer + guard_ptr[-1] for pointer in _run([device.guards for device in devices], guards)]
    terms = [guard.holds for guard in guards]
    senses = [device.senses for device in devices]
    flat_senses = [sense for group in senses for sense in group]
    selectors = network.selectors
    return Arrays(
        nodes=nodes,
        a=_int(a),
        b=_int(b),
        law=_int(element.law for element in elements),
        row=_int(_starts(len(element.figures) for element in elements)[:-1]),
        selector=_int(element.selector for element in elements),
        figures=_figures(elements),
        from_step=step_of[a],
        to_step=step_of[b],
        slot=_int(slots),
        live=_int(live),
        nonlinear=_int(k for k in live if elements[k].law != Law.LINEAR),
        guard_ptr=_int(guard_ptr),
        need_ptr=_int(_starts(len(element.needs) for element in elements)),
        need_device=_int(device for element in elements for device, _ in element.needs),
        need_on=_byte(on for element in elements for _, on in element.needs),
        device_guard_ptr=_int(device_guard_ptr),
        term_ptr=_int(_starts(len(group) for group in terms)),
        term_variable=_int(variable for group in terms for variable, _ in group),
        term_mask=_int(sum(1 << value for value in values) for group in terms for _, values in group),
        sel_first=_int(selector.first for selector in selectors),
        sel_second=_int(selector.second for selector in selectors),
        sel_ptr=_int(_starts(len(s.rows) * len(s.rows[0]) for s in selectors)[:-1]),
        sel_columns=_int(len(selector.rows[0]) for selector in selectors),
        sel_rows=_int(row for selector in selectors for line in selector.rows for row in line),
        thermal=network.thermal,
        sense_ptr=_int(_starts(len(group) for group in senses)),
        sense_element=_int(sense.element for sense in flat_senses),
        sense_a=_int(place[sense.a] if sense.a >= 0 else -1 for sense in flat_senses),
        sense_b=_int(place[sense.b] if sense.b >= 0 else -1 for sense in flat_senses),
        sense_beside=_int(place[sense.beside] if sense.beside >= 0 else -1 for sense in flat_senses),
        sense_on=np.array([sense.on for sense in flat_senses], float),
        sense_off=np.array([sense.off for sense in flat_senses], float),
        tier=_byte(_TIERS.get(device.what, TIER_RELAY) for device in devices),
        at_rest=_byte(device.at_rest for device in devices),
        stuck=_byte(FREE if device.stuck is None else int(device.stuck) for device in devices),
        first_live_step=schedule.first_live,
        first_bent_step=schedule.first_bent,
        order=_int([*schedule.order, nodes]),
        step_of=step_of,
        steps=Steps(
            ptr=_int(_starts(len(group) for group in schedule.near)).astype(np.uint64),
            near=_int(step_of[node] for group in schedule.near for node, _ in group).astype(np.uint32),
            pair_ptr=_int(_starts(len(group) for group in schedule.pairs)).astype(np.uint64),
            pair_edge=_int(edge_place[edge] for group in schedule.pairs for edge in group).astype(np.uint32),
        ),
        reach=reach_of(elements, a, b, live, step_of),
        base_edge=np.zeros((_thermal_rows(network), max(1, len(edges)))),
        base_part=np.zeros((_thermal_rows(network), max(1, len(edges)))),
        base_ref=np.zeros((_thermal_rows(network), nodes + 1)),
    )


def _figures(elements: Sequence[Element]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """All rows of figures, one element's after the other's."""
    rows = [row for element in elements for row in element.figures]
    figures = np.zeros((max(1, len(rows)), FIGURES))
    for index, row in enumerate(rows):
        figures[index, : len(row)] = row
    return figures


def _with_base(arrays: Arrays) -> Arrays:
    """Stamp the unchanging elements and eliminate the nodes only they touch, once for each thermal row."""
    still = np.ones(len(arrays.a), bool)
    still[arrays.live] = False
    still &= arrays.a != arrays.b
    joined, ends = still & (arrays.slot >= 0), np.minimum(arrays.from_step, arrays.to_step)
    earthed = still & ~joined
    for thermal in range(arrays.base_edge.shape[0]):
        edge, ref = arrays.base_edge[thermal], arrays.base_ref[thermal]
        siemens = arrays.figures[arrays.row + np.where(arrays.selector >= 0, thermal, 0) * still, 0]
        np.add.at(edge, arrays.slot[joined], siemens[joined])
        np.add.at(ref, ends[earthed], siemens[earthed])
        eliminate(
            arrays.steps, np.uint64(0), np.uint64(arrays.first_live_step), edge, arrays.base_part[thermal], ref,
            np.zeros(arrays.nodes + 1), np.zeros(arrays.nodes + 1),
        )  # fmt: skip
    return arrays


def _thermal_rows(network: Network) -> int:
    if network.thermal < 0:
        return 1
    return 1 + max(row for line in network.selectors[network.thermal].rows for row in line)


def _run(groups: Sequence[tuple[Guard, ...]], into: list[Guard]) -> list[int]:
    pointers = [0]
    for group in groups:
        into.extend(group)
        pointers.append(pointers[-1] + len(group))
    return pointers


def _starts(lengths: Iterable[int]) -> list[int]:
    return list(accumulate(lengths, initial=0))


def _int(items: Iterable[int]) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return np.array(list(items), np.int64)


def _byte(items: Iterable[int | bool]) -> np.ndarray[tuple[int], np.dtype[np.uint8]]:
    return np.array([int(item) for item in items], np.uint8)
