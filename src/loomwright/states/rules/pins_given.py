"""Does each wire lead to the controller pin that its need is given? NET-6.

Read off the sheets: what wires, splices and connectors join to the terminal of a need holds another pin of the
controller and not the pin the need is given. Two wires exchanged in one plug are two such needs. Needs whose way leads
over a fuse, a contact or a part are not asked: there no pin is met. Of a choice (`option`) none is asked.

The trial exchanges the wires of the two pins, so what follows from a wrong pin stands beneath it. Where the right
pin is empty that lies beneath as well, and all of it beneath a pin with two wires where one of them is this one: one
wire in the wrong hole is told once (`wrong_holes_once`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from loomwright.findings import Finding
from loomwright.job.choices import choice_groups, group_of
from loomwright.job.rows import Need
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.bridges import first_four, turned
from loomwright.states.signals.earth_nets import wired_nodes

__all__ = ["pin_findings", "wrong_holes_once"]


def pin_findings(scene: Scene) -> Iterator[Told]:
    """Needs whose wire ends in another pin than theirs."""
    pins = {f"{pin.part}.{pin.terminal}": pin for pin in scene.job.controller_pins if pin.part in scene.parts}
    given = {name: point for point, pin in pins.items() for name in (pin.id, pin.terminal, point)}
    told: set[frozenset[str]] = set()
    chosen = choice_groups(scene.job.needs)
    for need in scene.job.needs:
        if not need.pin or group_of(need) in chosen or need.pin not in given or need.part not in scene.parts:
            continue
        own = scene.point(f"{need.part}.{need.terminal}")
        if own in pins or own not in scene.wires_at:
            continue
        met = _pins_met(scene, own, pins)
        right = given[need.pin]
        if not met or right in met:
            continue
        pair = frozenset((met[0], right))
        if pair not in told:
            told.add(pair)
            yield _wrong_pin(scene, need, own, met[0], right)


def wrong_holes_once(told: Sequence[Told]) -> tuple[Told, ...]:
    """Each wire that sits in another pin's hole told once, at the root of what is empty or doubled because of it."""
    beneath: dict[int, list[Told]] = {}
    gone: set[int] = set()
    mends: dict[int, str] = {}
    for k, one in enumerate(told):
        if one.finding.rule != "NET-6" or one.trial is not None or len(one.finding.at) < 3:
            continue
        own, met, right = one.finding.at[:3]
        empty = [j for j, other in enumerate(told) if _is_empty(other, right, one.finding.touches[-1])]
        double = next((j for j, other in enumerate(told) if _is_double(other, met, one)), None)
        gone |= set(empty)
        if double is None:
            beneath[k] = [told[j] for j in empty]
            continue
        gone.add(k)
        beneath.setdefault(double, []).extend((one, *(told[j] for j in empty)))
        mends[double] = f"Take the wire of {own} from {met} to {right}, which its need is given"
    return tuple(
        replace(
            one,
            finding=replace(
                one.finding,
                mend=mends.get(k, one.finding.mend),
                folded=(*one.finding.folded, *(other.finding for other in beneath[k])),
            ),
        )
        if k in beneath
        else one
        for k, one in enumerate(told)
        if k not in gone
    )


def _is_empty(other: Told, right: str, need: str) -> bool:
    finding = other.finding
    return (finding.rule, finding.at) == ("NET-1", (right,)) and need in finding.touches and not finding.folded


def _is_double(other: Told, met: str, wrong_pin: Told) -> bool:
    finding = other.finding
    shared = set(finding.touches) & set(wrong_pin.finding.touches)
    return finding.rule == "NET-2" and finding.at[:1] == (met,) and len(shared) > 1


def _pins_met(scene: Scene, point: str, pins: Mapping[str, object]) -> list[str]:
    nodes, _ = wired_nodes(scene, (scene.node(point),))
    return sorted({scene.name_of(node) for node in nodes} & set(pins))


def _wrong_pin(scene: Scene, need: Need, own: str, met: str, right: str) -> Told:
    wires = tuple(wire.id for point in (met, own, right) for wire in scene.wires_at.get(point, ()))
    finding = Finding(
        rule="NET-6",
        severity="fault",
        at=first_four((own, met, right)),
        touches=tuple(dict.fromkeys((*wires, need.id))),
        label=f"{own} ({scene.title(need.part)})",
        wrong=f"leads to {met}, and the need {need.id} is given {right}",
        mend=f"Move its wire from {met} to {right}, or give the need {need.id} the pin it is wired to",
    )
    trial = turned(scene, met, right) if right in scene.wires_at else None
    return Told(finding, None, trial)
