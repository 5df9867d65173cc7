"""Which two open ends does one lost wire leave? Part of NET-1.

An end that wants a feed or an earth, and an open end that could give it, are one cause where nothing else could be
meant: of all ends that may be on the same circuit there is one of each. The end that gives is then folded beneath the
end that wants, which names it, and the trial joins the two. Where there are more of either it cannot be told which
belong together, and each stands by itself. So it is with a terminal without a wire and a wire with a free end that one
circuit has one of each of, where neither leads to a feed or an earth: a sender and its gauge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from loomwright.job.vehicle import metals_of
from loomwright.network.records import Changes, Short
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import earthed_post, live_post, plain_side
from loomwright.tables.kinds import resolve_settings

__all__ = ["with_its_metal", "with_one_cause"]


def with_one_cause(ways: Ways, open_ends: Sequence[Told]) -> tuple[Told, ...]:
    """The open ends, both ends of one lost wire told as one."""
    scene = ways.scene
    wants = {k: side for k, told in enumerate(open_ends) if (side := _wanted(scene, told))}
    gives = {k: side for k, told in enumerate(open_ends) if k not in wants and (side := _given(ways, told))}
    circuits = {k: _circuits(scene, _point(open_ends[k])) for k in (*wants, *gives)}
    joined: dict[int, int] = {}
    for wanting in wants:
        givers = _of_one_circuit(wanting, wants[wanting], gives, circuits)
        if len(givers) == 1 and _of_one_circuit(givers[0], wants[wanting], wants, circuits) == [wanting]:
            joined[wanting] = givers[0]
    joined |= _free_ends(scene, open_ends, {*joined, *joined.values()})
    return tuple(
        _told_with(told, open_ends[joined[k]], wants.get(k, "")) if k in joined else told
        for k, told in enumerate(open_ends)
        if k not in joined.values()
    )


def with_its_metal(scene: Scene, told: Sequence[Told]) -> tuple[Told, ...]:
    """A metal without a strap beneath the only earth point on it that has lost its wire: that wire is the strap."""
    known = set(metals_of(scene.job))
    metals = {k: one.finding.at for k, one in enumerate(told) if known.issuperset(one.finding.at)}
    points: dict[str, list[int]] = {}
    for k, one in enumerate(told):
        part = scene.parts.get(one.finding.at[0].split(".", 1)[0])
        if one.finding.rule == "NET-1" and one.trial is not None and part is not None and part.kind == "earth_point":
            points.setdefault(str(resolve_settings(scene.kind(part.id), part.settings).get("on", "")), []).append(k)
    above: dict[int, int] = {}
    for k, names in metals.items():
        open_on_it = [point for name in names for point in points.get(name, ())]
        if len(open_on_it) == 1:
            above[open_on_it[0]] = k
    return tuple(
        replace(one, finding=replace(one.finding, folded=(*one.finding.folded, told[above[k]].finding)))
        if k in above
        else one
        for k, one in enumerate(told)
        if k not in above.values()
    )


def _free_ends(scene: Scene, open_ends: Sequence[Told], spoken_for: set[int]) -> dict[int, int]:
    """Terminals without a wire that the only free end of their circuit belongs to."""
    bare: dict[str, list[int]] = {}
    free: dict[str, list[int]] = {}
    for k, told in enumerate(open_ends):
        first = told.finding.at[0]
        if k in spoken_for or told.finding.rule != "NET-1":
            continue
        if first in scene.wires and len(told.finding.at) == 2:
            free.setdefault(scene.wires[first].circuit or "", []).append(k)
        elif len(told.finding.at) == 1 and told.trial is None:
            own = scene.parts.get(first.split(".", 1)[0])
            bare.setdefault((own.circuit if own is not None else None) or "", []).append(k)
    return {
        ends[0]: free[circuit][0]
        for circuit, ends in bare.items()
        if circuit and len(ends) == 1 and len(free.get(circuit, ())) == 1
    }


def _of_one_circuit(end: int, side: str, among: Mapping[int, str], circuits: Mapping[int, frozenset[str]]) -> list[int]:
    """The ends of a side that may be on the same circuit as one; an end whose circuit nobody wrote may be on any."""
    own = circuits[end]
    return [k for k in among if among[k] == side and (not own or not circuits[k] or own & circuits[k])]


def _point(told: Told) -> str:
    """The point that is open; of a wire with a free end the point at its other end."""
    return told.finding.at[-1]


def _wanted(scene: Scene, told: Told) -> str:
    """The side a terminal without a wire was meant for, as its trial has it; nothing for other findings."""
    at = told.finding.at
    if told.trial is None or len(at) != 1 or len(told.trial.shorts) != 1:
        return ""
    short = told.trial.shorts[0]
    if short.a != at[0]:
        return ""
    return {live_post(scene): "plus", earthed_post(scene): "minus"}.get(short.b, "")


def _given(ways: Ways, told: Told) -> str:
    """The side an open end leads to; nothing where it leads to neither, to both, or stands for more than one end."""
    if told.trial is not None or len(told.finding.at) > 2:
        return ""
    node = ways.scene.compiled.node_of.get(ways.scene.point(_point(told)))
    side = "" if node is None else ways.side(node)
    return side if side in ("plus", "minus") else ""


def _circuits(scene: Scene, point: str) -> frozenset[str]:
    """The circuits of a point's part, else of the wires at that part; none where nobody wrote one."""
    name = point.split(".", 1)[0]
    part = scene.parts.get(name)
    if part is not None and part.circuit:
        return frozenset((part.circuit,))
    wires = (wire for at, found in scene.wires_at.items() if at.split(".", 1)[0] == name for wire in found)
    return frozenset(wire.circuit for wire in wires if wire.circuit)


def _told_with(told: Told, other: Told, side: str) -> Told:
    """An end that wants its feed or earth, with the end that gives it beneath."""
    point, far = _point(told), _point(other)
    if not side:
        wire = other.finding.at[0]
        finding = replace(
            told.finding,
            wrong=f"{told.finding.wrong}; {wire}, from {far}, has a free end",
            mend=f"Join the free end of {wire} to {point} if that is where it belongs, else run a wire to {point}",
            folded=(other.finding,),
        )
        return replace(told, finding=finding, trial=other.trial)
    what = plain_side(side)
    finding = replace(
        told.finding,
        wrong=f"{told.finding.wrong}; {far}, which leads to {'a ' if side == 'plus' else ''}{what}, is open as well",
        mend=f"Run the wire from {point} to {far} if that is the one that is lost, else wire {point} to its {what}",
        folded=(other.finding,),
    )
    return replace(told, finding=finding, trial=Changes(shorts=(Short(point, far),)))
