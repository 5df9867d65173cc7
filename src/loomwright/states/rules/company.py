"""Does a lamp hang on the wire of lamps of another purpose? NET-7, a fault.

A net, wires, joints and fuses, that feeds lamps feeds lamps of one purpose: the brake lamps, the tail, position and
plate lamps, the main beams, the dipped beams, the turn lamps of one side. What each is says its role, and a trailer's
way; switches say it by their marks 54, 58, 56a, 56b, L and R. One that is alone among two or more of one other purpose
is in the wrong place. Where one of that purpose is missing there and sits the other way about, two wires are exchanged:
on one lamp, on two like plugs, at a trailer's socket. Every lamp that is dark or lit wrongly because of it folds
beneath.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.findings import Finding, id_order
from loomwright.network.records import Changes, Short
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.rules.bridges import first_four, turned
from loomwright.states.rules.lamps import lamps_of

__all__ = ["company_findings"]

_PURPOSES = {
    "brake_lamp": "brake",
    "plate_lamp": "tail",
    "tail": "tail",
    "tail_left": "tail",
    "tail_right": "tail",
    "position_left": "tail",
    "position_right": "tail",
    "main_left": "main beam",
    "main_right": "main beam",
    "dipped_left": "dipped beam",
    "dipped_right": "dipped beam",
    "turn_left_front": "left turn",
    "turn_left_rear": "left turn",
    "turn_right_front": "right turn",
    "turn_right_rear": "right turn",
}
_MARKS = {
    "54": "brake",
    "58": "tail",
    "58L": "tail",
    "58R": "tail",
    "56a": "main beam",
    "56b": "dipped beam",
    "L": "left turn",
    "R": "right turn",
}
_MARKED_KIND = "switch_matrix"


@dataclass(frozen=True, slots=True)
class _Member:
    """One terminal in a net: a lamp's (is_lamp) with what it may be for, or a switch's with what its mark says."""

    point: str
    purposes: frozenset[str]
    is_lamp: bool


def company_findings(scene: Scene) -> Iterator[Told]:
    """Lamps on the wire of lamps of another purpose; two that are exchanged are told once."""
    if not scene.role_of:
        return
    nets = _members(scene, joined_of(scene))
    odd = {member.point: most for members in nets.values() for member, most in _odd_ones(members)}
    told: set[str] = set()
    for point, most in sorted(odd.items(), key=lambda item: id_order(item[0])):
        if point in told:
            continue
        own = next(member for members in nets.values() for member in members if member.point == point)
        partner = _partner(nets, own, most)
        told |= {point, partner}
        yield _exchanged(scene, own, partner, most) if partner else _misplaced(scene, nets, own, most)


def _members(scene: Scene, joined: Joined) -> Mapping[int, Sequence[_Member]]:
    """What hangs on each net that is neither the supply nor earth."""
    lamps = lamps_of(scene, scene.cones)
    purposes: dict[int, set[str]] = {}
    for role, several in lamps.by_role.items():
        for lamp in several:
            for node in (lamp.a, lamp.b):
                if role in _PURPOSES:
                    purposes.setdefault(node, set()).add(_PURPOSES[role])
    found: dict[int, list[_Member]] = {}
    shared = joined.live | joined.earth | joined.stars
    for node, own in purposes.items():
        if joined.net_of[node] not in shared:
            member = _Member(scene.name_of(node), frozenset(own), is_lamp=True)
            found.setdefault(joined.net_of[node], []).append(member)
    for point in scene.wires_at:
        part, _, terminal = point.partition(".")
        if terminal in _MARKS and part in scene.parts and scene.parts[part].kind == _MARKED_KIND:
            net = joined.net_of[scene.node(point)]
            found.setdefault(net, []).append(_Member(point, frozenset({_MARKS[terminal]}), is_lamp=False))
    return found


def _odd_ones(members: Sequence[_Member]) -> Iterator[tuple[_Member, str]]:
    """Lamps alone of their purpose among two or more of one other, with what those are for."""
    for member in members:
        others = [other for other in members if other is not member]
        count = Counter(purpose for other in others for purpose in other.purposes)
        if not member.is_lamp or any(count[own] for own in member.purposes):
            continue
        # all the others are of one purpose
        most = [purpose for purpose, many in count.items() if many == len(others) >= 2]
        if most:
            yield member, most[0]


def _partner(nets: Mapping[int, Sequence[_Member]], own: _Member, most: str) -> str:
    """The lamp that sits where the odd one belongs and belongs where it sits; of the same part if there is one."""
    found = [
        other.point
        for members in nets.values()
        for other in members
        if other.is_lamp
        and other.point != own.point
        and most in other.purposes
        and not any(most in one.purposes for one in members if one is not other)
        and any(one.purposes & own.purposes for one in members if one is not other)
    ]
    part = own.point.partition(".")[0]
    return next((point for point in found if point.partition(".")[0] == part), found[0] if len(found) == 1 else "")


def _exchanged(scene: Scene, own: _Member, partner: str, most: str) -> Told:
    return _told(
        scene,
        (own.point, partner),
        wrong=f"{_belongs(own, most)}, {partner} the other way round",
        mend=f"Exchange the wires at {own.point} and {partner}",
        trial=turned(scene, own.point, partner),
    )


def _misplaced(scene: Scene, nets: Mapping[int, Sequence[_Member]], own: _Member, most: str) -> Told:
    purpose = min(own.purposes)
    among = [one.point for members in nets.values() for one in members if own in members and one is not own]
    home = [
        one.point
        for members in nets.values()
        for one in members
        if own not in members and own.purposes & one.purposes and all(own.purposes & two.purposes for two in members)
    ]
    wires = scene.wires_at.get(own.point, ())
    trial = None
    if home and len(wires) == 1:
        trial = Changes(opened=(wires[0].id,), shorts=(Short(own.point, home[0], 0.01),))
    return _told(
        scene,
        (own.point,),
        wrong=f"{_belongs(own, most)}: {' '.join(among[:4])}",
        mend=f"Take it to the wire of {home[0]}" if home else f"Give it the wire of the {purpose} lamps",
        trial=trial,
    )


def _belongs(own: _Member, most: str) -> str:
    return f"belongs on the wire of the {min(own.purposes)} lamps and hangs on that of the {most} lamps"


def _told(scene: Scene, points: tuple[str, ...], *, wrong: str, mend: str, trial: Changes | None) -> Told:
    parts = [point.partition(".")[0] for point in points]
    finding = Finding(
        rule="NET-7",
        severity="fault",
        at=first_four((parts[0], *points, *parts[1:])),
        touches=tuple(wire.id for point in points for wire in scene.wires_at.get(point, ())),
        label=f"{points[0]} ({scene.title(parts[0])})",
        wrong=wrong,
        source="common-practice",
        mend=mend,
    )
    return Told(finding, None, trial)
