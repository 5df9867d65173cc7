"""Does the current of one load have to go through another (SNK-2)?

Loads meet at a net that has nothing better: what one brings, another takes on. That is how a lost earth shows (the
lamps of a cluster return through each other), and two lamps of different feeds on one door switch. For every net where
loads meet, broken where

    loads bring it more than contacts, drivers and wires do,    and loads take more from it than those do,
    the load that brings most meets one of another purpose,     and one of the two carries a fifth of its rated amps

Of another purpose: its far end is a feed of its own, not earth; or it goes on to earth and belongs to another circuit,
or is another filament of the same part. A chain that is meant to be one (two fans in series at the low speed) has one
circuit and goes on to earth.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from loomwright.network.records import Changes, Element, Short
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.gate_ways import is_earthed, is_fed
from loomwright.states.paths.joined import Joined
from loomwright.tables.constants import constant

__all__ = ["series_watches"]

_LEAST_A = 1e-3
_TELL_TALES = ("turn_tell_tale", "charge_lamp")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Meeting:
    """A net where loads meet. loads, others: elements at its border. senses: 1 where their amps count into the net.

    pairs: load by load, whether current that goes from the one (row) on through the other (column) is a sneak.
    """

    net: int
    loads: tuple[int, ...]
    senses: NDArray[np.float64]
    others: tuple[int, ...]
    other_senses: NDArray[np.float64]
    rated_a: NDArray[np.float64]
    pairs: NDArray[np.bool_]


def series_watches(scene: Scene, joined: Joined, lamps: frozenset[str]) -> list[Watch]:
    """The questions SNK-2, one for each net where the current of a load could go on through another.

    Args:
        lamps: charge lamps, which feed a field by design.
    """
    made = []
    for net in range(len(joined.nodes)):
        if net in joined.live or net in joined.earth or net in joined.stars:
            continue
        if is_fed(scene, joined, net) and not is_earthed(scene, joined, net):
            continue  # a supply: what comes into it by another way is SNK-3's
        loads = tuple(k for k in joined.border[net] if _is_load(scene, k, lamps))
        pairs = np.array([[_is_sneak(scene, joined, net, one, two) for two in loads] for one in loads], bool)
        if pairs.any():
            made.append(_watch(scene, joined, _meeting(scene, joined, net, loads, pairs)))
    return made


def _is_load(scene: Scene, k: int, lamps: frozenset[str]) -> bool:
    element = scene.element(k)
    if element.part not in scene.parts or element.part in lamps or element.type == "pin":
        return False
    if (scene.parts[element.part].role or "") in _TELL_TALES or scene.kind(element.part).duty in ("sensor", "gauge"):
        return False
    return element.load or (element.type == "coil" and not _is_starter(scene, element.part))


def _is_starter(scene: Scene, part: str) -> bool:
    return any(scene.element(k).type == "starter_motor" for k in scene.elements_of.get(part, ()))


def _far(scene: Scene, joined: Joined, net: int, k: int) -> int:
    a, b = joined.nets(scene, k)
    return b if a == net else a


def _is_sneak(scene: Scene, joined: Joined, net: int, load: int, other: int) -> bool:
    """Whether current that goes on from one load through the other is nobody's design."""
    first, second = scene.element(load), scene.element(other)
    far, onward = _far(scene, joined, net, load), _far(scene, joined, net, other)
    if onward == far or far in joined.earth or (first.part == second.part and first.name == second.name):
        return False
    if onward not in joined.earth:
        return True
    return first.part == second.part or _purpose(scene, first) != _purpose(scene, second)


def _purpose(scene: Scene, element: Element) -> tuple[str, ...]:
    """The circuits a load belongs to: its own, else those of its wires."""
    part = scene.parts[element.part]
    if part.circuit:
        return (part.circuit,)
    points = [point for point in scene.wires_at if point.split(".")[0] == part.id]
    return tuple(sorted({wire.circuit for point in points for wire in scene.wires_at[point] if wire.circuit}))


def _meeting(scene: Scene, joined: Joined, net: int, loads: tuple[int, ...], pairs: NDArray[np.bool_]) -> _Meeting:
    others = tuple(k for k in joined.border[net] if k not in loads)

    def senses(elements: tuple[int, ...]) -> NDArray[np.float64]:
        return np.array([joined.polarity * (1 if joined.nets(scene, k)[1] == net else -1) for k in elements], float)

    return _Meeting(
        net=net,
        loads=loads,
        senses=senses(loads),
        others=others,
        other_senses=senses(others),
        rated_a=np.array([scene.element(k).rated_a or np.inf for k in loads]),
        pairs=pairs,
    )


def _broken(meeting: _Meeting, answers: Answers) -> tuple[type_bool, type_float]:
    flows = answers.batch.amps[:, list(meeting.loads)] * meeting.senses
    brought: type_float = np.maximum(flows, 0.0)
    amps: type_float = brought.max(axis=1)
    hit: type_bool = amps > _LEAST_A
    if not hit.any():
        return hit, amps
    rest = answers.batch.amps[:, list(meeting.others)] * meeting.other_senses
    taken = np.maximum(-flows, 0.0)
    hit &= brought.sum(axis=1) > np.maximum(rest, 0.0).sum(axis=1)
    hit &= taken.sum(axis=1) > np.maximum(-rest, 0.0).sum(axis=1)
    partners = meeting.pairs[brought.argmax(axis=1)]
    onward = np.where(partners, taken, 0.0)
    hit &= onward.sum(axis=1) > _LEAST_A
    glows = np.abs(flows) >= constant("glow_dim_frac") * meeting.rated_a
    hit &= (glows & (partners | (brought >= amps[:, None]))).any(axis=1)
    return hit, amps


def _watch(scene: Scene, joined: Joined, meeting: _Meeting) -> Watch:
    involved: NDArray[np.bool_] = np.logical_or(meeting.pairs.any(axis=0), meeting.pairs.any(axis=1))
    loads = [k for k, is_in in zip(meeting.loads, involved.tolist(), strict=True) if is_in]
    parts = tuple(dict.fromkeys(scene.element(k).part for k in loads))
    point = _common_point(scene, joined, meeting.net, loads[0])
    switched = is_earthed(scene, joined, meeting.net)
    lost = not switched and all(_far(scene, joined, meeting.net, k) not in joined.earth for k in loads)
    wires = joined.wires[meeting.net]
    hand = tuple(dict.fromkeys((point.split(".")[0], *wires[:1], *parts)))[:4]
    ends = [wire.id for k in loads for node in scene.ends(k) for wire in scene.wires_at.get(scene.name_of(node), ())]
    touched = dict.fromkeys((*parts, *wires, *ends, point))
    words = ", ".join(f"{part} ({scene.title(part)})" for part in parts[:4])
    reference = scene.compiled.network.nodes[scene.compiled.network.reference]
    return Watch(
        rule="SNK-2",
        severity="fault",
        at=hand,
        touches=tuple(place for place in touched if place not in hand),
        label=f"{point} ({'earth' if lost else 'joint'} of {words})",
        wrong="has no way to earth of its own: what one brings goes on through another"
        if lost
        else "what one brings goes on through another, neither of which is its way",
        broken=partial(_broken, meeting),
        unit="A",
        mend=_mend(point, lost, switched),
        trial=Changes(shorts=(Short(point, reference),)) if lost else None,
        root=lost,
        path_of=partial(_path, scene, joined, scene.compiled.node_of[point]),
    )


def _mend(point: str, lost: bool, switched: bool) -> str:
    if lost:
        return f"Give {point} an earth: look for the wire that should join it to the body or the engine"
    if switched:
        return "Feed both from one contact, or put a diode in the lead of each where they meet"
    return f"Look for the feed or the earth of {point} that is missing"


def _common_point(scene: Scene, joined: Joined, net: int, load: int) -> str:
    """What the loads share: a metal, a splice or a busbar where there is one, else the first load's own terminal."""
    names = [scene.name_of(node) for node in joined.nodes[net]]
    metals = [name for name in names if "." not in name]
    joins = [name for name in names if "._" not in name and _is_join(scene, name.split(".")[0])]
    a, b = scene.ends(load)
    own = scene.name_of(a if joined.net_of[a] == net else b)
    return (*metals, *joins, own)[0]


def _is_join(scene: Scene, part: str) -> bool:
    return part in scene.parts and scene.kind(part).duty in ("join", "supply")


def _path(scene: Scene, joined: Joined, node: int, answers: Answers, row: int) -> tuple[str, ...]:
    before = bringing(scene, answers, row, node, joined.polarity)
    after = taking(scene, answers, row, node, joined.polarity)
    return named(scene, (*before, *after))
