"""What was done to the car before a reading: fuses pulled, relays and plugs out, wires off, the battery through a lamp?

A net that hangs together looks alike at every point of it. Taken apart it does not: what is off is elements that
conduct no more, put beside every fault. A wire comes off at its first end, or at the end that is named; what it touches
somewhere along it stays with its other end. A lamp of 21 W in the battery's lead is its hot resistance in the battery:
whatever is shorted, 1.8 A flow and no fuse blows.

Source: a lamp of 21 W in place of a fuse or in the battery's lead, practice of the trade: common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.network.records import Law
from loomwright.proving.suspects import Suspect
from loomwright.refusals import OutOfReach
from loomwright.states.asking.scene import Scene

__all__ = ["LAMP", "lifted_at", "off_says", "off_trouble", "put_off"]

LAMP = "lamp"
"""The word for a lamp in the battery's lead."""
_LAMP_OHM = 12.0 * 12.0 / 21.0
"""Of the lamp when it is hot [ohm]."""
_FUSES = ("fuse", "breaker", "link")
_FUSE_BITS, _PART_BITS, _WIRE_BITS, _SPLICE_BITS, _LAMP_BITS, _SAME_NUT_BITS = 0.1, 0.2, 0.25, 0.45, 0.4, 0.05
"""Trouble of a fuse pulled, a part unplugged, a wire off its terminal, out of a splice, of the lamp, of one more wire
under the same nut: ours [bit]."""


def put_off(scene: Scene, off: Sequence[str]) -> Suspect:
    """What is off, as changes of the network.

    Args:
        off: fuses, relays and parts by id, wires by id or `wire:terminal` where it is the second end, `lamp`.
    Raises:
        OutOfReach: neither a part nor a wire of the car.
    """
    if not off:
        return Suspect(kind="none", at=())
    opened: list[int] = []
    lifted: list[tuple[int, int]] = []
    added: tuple[tuple[int, float], ...] = ()
    for name in off:
        if name == LAMP and name not in scene.parts:
            added = tuple((k, _LAMP_OHM) for k in _batteries(scene)[:1])
        elif name in scene.elements_of:
            opened += scene.elements_of[name]
        else:
            wire, end, _ = lifted_at(scene, name)
            mine = scene.compiled.elements_of.get(wire, ())
            opened += mine
            lifted += [(k, end) for k in mine]
    return Suspect(kind="off", at=tuple(off), opened=tuple(opened), added_ohm=added, lifted=tuple(lifted))


def lifted_at(scene: Scene, name: str) -> tuple[str, int, str]:
    """Which wire is off, at which of its ends (0, 1), and the terminal there.

    Args:
        name: a wire, off at its first end, or `wire:terminal`.
    Raises:
        OutOfReach: no wire of the car, or it has no end there.
    """
    wire, colon, terminal = name.partition(":")
    row = scene.wires.get(wire)
    if row is None:
        raise OutOfReach("off", name, "fuses, relays and parts, wires, or lamp")
    ends = (row.from_, row.to)
    if not colon:
        return wire, 0, ends[0]
    for end, point in enumerate(ends):
        if scene.point(terminal) == scene.point(point):
            return wire, end, point
    raise OutOfReach("off", name, f"{wire} ends at {ends[0]} and at {ends[1]}")


def off_says(scene: Scene, off: Sequence[str]) -> str:
    """What to do to the car first, in words of the trade; empty where nothing."""
    pulled = [name for name in off if _is_fuse(scene, name)]
    out = [name for name in off if name in scene.parts and name not in pulled]
    ends = [lifted_at(scene, name) for name in off if name not in scene.parts and name != LAMP]
    lifted = [f"{wire} at {point}" for wire, _, point in ends]
    said = []
    if LAMP in off and LAMP not in scene.parts:
        said.append("the battery's earth lead through a lamp of 21 W")
    if pulled:
        said.append(f"{_listed(pulled)} pulled")
    said += [f"{name} {'out' if scene.kind(name).group == 'relays' else 'unplugged'}" for name in out]
    if lifted:
        said.append(f"{_listed(lifted)} off")
    return ", ".join(said)


def off_trouble(scene: Scene, off: Sequence[str], now: Sequence[str]) -> float:
    """The trouble of what has to come off or go back, against what a reading tells. [bit]

    Args:
        now: what is off already.
    """
    found, nuts = 0.0, set[str]()
    for name in sorted(set(off) ^ set(now)):
        at = lifted_at(scene, name)[2] if name not in scene.parts and name != LAMP else name
        found += _SAME_NUT_BITS if at in nuts else _bits(scene, name)
        nuts.add(at)
    return found


def _bits(scene: Scene, name: str) -> float:
    if name in scene.parts:
        return _FUSE_BITS if _is_fuse(scene, name) else _PART_BITS
    if name == LAMP:
        return _LAMP_BITS
    splice = scene.parts.get(lifted_at(scene, name)[2].split(".")[0])
    return _SPLICE_BITS if splice is not None and splice.kind == "splice" else _WIRE_BITS


def _is_fuse(scene: Scene, name: str) -> bool:
    return any(scene.element(k).type in _FUSES for k in scene.elements_of.get(name, ()))


def _batteries(scene: Scene) -> list[int]:
    return [k for k, element in enumerate(scene.compiled.network.elements) if element.law == Law.BATTERY]


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
