"""What keeps a thing on in one state, followed back through the relays to what nobody switches off?

The current to a load, or to a controller's supply, is followed back to its source; every relay contact on the way leads
on to its coil, every driver to the controller that holds it, until there is nothing left that something else works.
What comes out are the wires and parts of that last way first, then those of the ways before it.

In: a solved state (`Answers` and a row) and a node. A relay held by a controller that it feeds itself is where it ends.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.joined import Joined
from loomwright.states.paths.tracing import live_way

__all__ = ["KeptOn", "kept_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOn:
    """root: the part at the end of the chain. at: the wires that feed it, nearest first. along: all on the ways."""

    root: str
    at: tuple[str, ...]
    along: tuple[str, ...]


def kept_on(scene: Scene, joined: Joined, answers: Answers, row: int, node: int) -> KeptOn:
    """What keeps a node live in a state.

    Args:
        row: which state of the batch.
        node: where the load or the controller is fed.
    """
    part = scene.name_of(node).split(".")[0]
    found = _at_node(_Case(scene=scene, joined=joined, answers=answers, row=row), node, part, frozenset())
    return replace(found, root=found.root or part)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Case:
    """One state."""

    scene: Scene
    joined: Joined
    answers: Answers
    row: int


def _at_node(case: _Case, node: int, part: str, seen: frozenset[int]) -> KeptOn:
    """What keeps a node live; with an empty root where the way leads back to a device that was met before."""
    scene = case.scene
    way = bringing(scene, case.answers, case.row, node, case.joined.polarity)
    along = named(scene, way) or live_way(scene, case.answers, case.row, node)
    inner = _deeper(case, way, seen)
    if inner is not None:
        return replace(inner, along=tuple(dict.fromkeys((*inner.along, *along))))
    wires = tuple(place for place in reversed(along) if place in scene.wires)
    return KeptOn(root=part, at=wires, along=along)


def _deeper(case: _Case, way: tuple[int, ...], seen: frozenset[int]) -> KeptOn | None:
    """What keeps on the last thing on a way that something else works; None where nothing on it is worked."""
    for k in reversed(way):
        for device, on in case.scene.element(k).needs:
            what = case.scene.compiled.network.devices[device].what
            if on and what in ("relay", "alive", "key_input"):
                if device in seen:
                    return KeptOn(root="", at=(), along=())
                return _device(case, device, seen | {device})
    return None


def _device(case: _Case, device: int, seen: frozenset[int]) -> KeptOn:
    scene, arrays = case.scene, case.scene.compiled.arrays
    found: list[KeptOn] = []
    for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
        element = int(arrays.sense_element[sense])
        if element >= 0:
            found.append(_coil(case, element, seen))
        else:
            node = int(arrays.sense_a[sense])
            found.append(_at_node(case, node, scene.name_of(node).split(".")[0], seen))
    along = tuple(dict.fromkeys(place for one in found for place in one.along))
    best = next((one for one in found if one.root), KeptOn(root="", at=(), along=()))
    return replace(best, along=along)


def _coil(case: _Case, element: int, seen: frozenset[int]) -> KeptOn:
    """What holds a relay in: a driver at its far end where there is one, else its feed."""
    scene = case.scene
    a, b = scene.ends(element)
    forward = case.joined.polarity * float(case.answers.batch.amps[case.row, element]) > 0.0
    feed, back = (a, b) if forward else (b, a)
    fed = _at_node(case, feed, scene.element(element).part, seen)
    onward = taking(scene, case.answers, case.row, back, case.joined.polarity)
    driven = _deeper(case, onward, seen)
    more = named(scene, onward)
    # a coil fed for ever is as it should be where something alive holds its other end; not where that is itself
    best, other = (driven, fed) if driven is not None and driven.root else (fed, driven)
    along = (*best.along, *more, *(other.along if other is not None else ()))
    return replace(best, along=tuple(dict.fromkeys(along)))
