"""Is anything wired the wrong way round, or to more volts than it is made for? NET-4 and NET-5.

NET-4, read off the sheets: a battery, the first or another one, whose plus is on the body of a negative-earth car (or
the other way about); a coil with a diode across it whose cathode side leads to earth only while its other side leads to
a feed: that one would short its feed through the diode; and a diode in line with a load that is turned against it.
NET-4, asked of every state: more than a quarter of the system's volts between plus and minus terminal of a part that
has them, the wrong way round.
NET-5, asked of every state: a part with rated volts of its own sees more than one and a half times as much.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Region, Ways
from loomwright.states.rules.bridges import earthed_post, first_four, live_post, turned
from loomwright.states.rules.load_elements import LoadElement, load_elements
from loomwright.tables.constants import constant

__all__ = ["polarity_findings", "polarity_watches"]

_NOT_ASKED = ("charge_lamp", "turn_tell_tale")
"""LEDs that stand between two feeds see both directions in a sound car; their diode blocks the one."""


def polarity_watches(scene: Scene, ways: Ways) -> Iterator[Watch]:
    """Is a part with a plus and a minus ever fed the wrong way round, or with too many volts?"""
    for part in scene.parts.values():
        roles = (part.role or "").split()
        if scene.kinds[part.kind].duty == "controller":
            yield from _controller(ways, part)
        elif not any(role in _NOT_ASKED for role in roles) and part.kind != "battery":
            yield from _marked(ways, part)
    for load in load_elements(scene):
        if scene.parts[load.part].rated_v is not None:
            yield _too_many_volts(scene, load)


def _marked(ways: Ways, part: Part) -> Iterator[Watch]:
    """The pairs of marked terminals of a part: 5v1 with e1, 5v2 with e2, else each plus with the first minus."""
    scene = ways.scene
    kind = scene.kinds[part.kind]
    pluses = [terminal.name for terminal in kind.terminals if terminal.polarity > 0]
    minuses = [terminal.name for terminal in kind.terminals if terminal.polarity < 0]
    for plus in pluses:
        pair = {"5v1": "e1", "5v2": "e2"}.get(plus, "")
        minus = pair if pair in minuses else minuses[0] if minuses else "case" if part.kind == "alternator" else ""
        points = (f"{part.id}.{plus}", f"{part.id}.{minus}")
        if minus and points[0] in scene.wires_at and points[1] in scene.compiled.node_of:
            yield _reversed(ways, part, *points)


def _controller(ways: Ways, part: Part) -> Iterator[Watch]:
    """A controller's supply pins against the star its earths meet in."""
    scene = ways.scene
    star = f"{part.id}._star"
    for index, element in enumerate(scene.compiled.network.elements):
        if element.part == part.id and element.name.endswith(".draw") and star in scene.compiled.node_of:
            yield _reversed(ways, part, scene.name_of(scene.ends(index)[0]), star)


def _reversed(ways: Ways, part: Part, plus: str, minus: str) -> Watch:
    scene = ways.scene
    wires = tuple(wire.id for point in (plus, minus) for wire in scene.wires_at.get(point, ()))
    mend = f"Exchange the wires at {plus} and {minus}"
    if scene.vehicle.earth == "positive":
        mend = f"{part.id} wants a negative-earth car: convert the car, or feed it through an isolated converter"
    is_pair = "._" not in minus
    # where the sheets show it turned it is a root; else it may follow from something lost elsewhere
    is_turned = is_pair and (ways.side(scene.node(plus)) == "minus" or ways.side(scene.node(minus)) == "plus")
    return Watch(
        rule="NET-4",
        severity="fault",
        at=first_four((part.id, plus, minus)) if is_pair else (part.id, plus),
        touches=wires,
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=f"is fed the wrong way round between {plus} and {minus if is_pair else 'its earths'}",
        mend=mend,
        unit="V",
        broken=partial(_backwards, scene.node(plus), scene.node(minus), scene.vehicle.system_v / 4.0),
        trial=turned(scene, plus, minus) if is_turned else None,
        root=is_turned,
        worst=True,
    )


def _backwards(plus: int, minus: int, least_v: float, answers: Answers) -> tuple[type_bool, type_float]:
    volts = answers.volts(plus) - answers.volts(minus)
    return volts < -least_v, volts


def _too_many_volts(scene: Scene, load: LoadElement) -> Watch:
    rated_v = scene.parts[load.part].rated_v or scene.vehicle.system_v
    allowed_v = constant("over_volts_factor") * rated_v
    return Watch(
        rule="NET-5",
        severity="fault",
        at=(load.part,),
        touches=tuple(wire.id for node in (load.a, load.b) for wire in scene.wires_at.get(scene.name_of(node), ())),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong="gets more volts than it is made for",
        allowed=allowed_v,
        unit="V",
        source="common-practice",
        mend=f"Fit one made for {scene.vehicle.system_v:g} V, or a converter before it",
        broken=partial(_above, load, allowed_v),
        worst=True,
    )


def _above(load: LoadElement, allowed_v: float, answers: Answers) -> tuple[type_bool, type_float]:
    volts = load.across(answers)
    return volts > allowed_v, np.nan_to_num(volts)


def polarity_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """A battery the wrong way round, and suppressed coils that would short their feed."""
    battery = _battery(scene, ways)
    if battery is not None:
        yield battery
    yield from _other_batteries(scene, ways)
    for part in scene.parts.values():
        if part.kind == "diode":
            yield from _blocking(ways, part)
    for part in scene.parts.values():
        for index in scene.elements_of.get(part.id, ()):
            element = scene.element(index)
            if element.type == "diode" and "suppressor" in element.name:
                # the diode's first node is its anode: that side must be the coil's minus
                anode, cathode = scene.ends(index)
                if ways.side(cathode) == "minus" and ways.side(anode) == "plus":
                    yield _shorting(scene, part, scene.name_of(cathode), scene.name_of(anode))


def _blocking(ways: Ways, part: Part) -> Iterator[Told]:
    """A diode in line with a load, turned so that nothing ever flows: its cathode is where the feed comes from.

    One of its ends reaches a feed, or an earth, through the load alone: it is no diode across a coil.
    """
    scene = ways.scene
    for index in scene.elements_of.get(part.id, ()):
        if scene.element(index).type != "diode":
            continue
        anode, cathode = scene.ends(index)
        plain = [ways.region(end, frozenset((index,))) for end in (anode, cathode)]
        if any(region.reaches_plus and region.reaches_minus for region in plain):
            continue
        sides = [_beyond(ways, region, index) for region in plain]
        if sides == ["minus", "plus"] and any(region.is_lost for region in plain):
            points = (scene.name_of(cathode), scene.name_of(anode))
            wires = tuple(wire.id for point in points for wire in scene.wires_at.get(point, ()))
            finding = Finding(
                rule="NET-4",
                severity="fault",
                at=first_four((part.id, *points)),
                touches=wires,
                label=f"{part.id} ({scene.title(part.id)})",
                wrong=f"its cathode is where the feed comes from, at {points[0]}: nothing ever flows through it",
                mend=f"Exchange the wires at {points[0]} and {points[1]}",
            )
            yield Told(finding, None, turned(scene, *points))


def _beyond(ways: Ways, region: Region, diode: int) -> str:
    """What one end of a diode leads to: by itself, else through the loads there; nothing where they differ."""
    if not region.is_lost:
        return "plus" if region.reaches_plus else "minus"
    scene = ways.scene
    inside = set(region.nodes)
    without = frozenset((diode,))
    far = {
        "plus" if beyond.reaches_plus else "minus" if beyond.reaches_minus else ""
        for index, element in enumerate(scene.compiled.network.elements)
        if element.load or element.type == "coil"
        for one, other in (scene.ends(index), scene.ends(index)[::-1])
        if one in inside and other not in inside
        for beyond in (ways.region(other, without),)
    } - {""}
    return far.pop() if len(far) == 1 else ""


def _shorting(scene: Scene, part: Part, cathode: str, anode: str) -> Told:
    wires = tuple(wire.id for point in (cathode, anode) for wire in scene.wires_at.get(point, ()))
    finding = Finding(
        rule="NET-4",
        severity="fault",
        at=first_four((part.id, cathode, anode)),
        touches=wires,
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=f"its suppression diode has its cathode on {cathode}, which leads to earth: switched on, it is a short",
        mend=f"Exchange the wires at {cathode} and {anode}, or fit one with a resistor across its coil",
    )
    return Told(finding, None, turned(scene, cathode, anode))


def _other_batteries(scene: Scene, ways: Ways) -> Iterator[Told]:
    """A second battery whose post of the live side is on the metal and whose other post is not.

    Joined to the first one it makes a short of both in series.
    """
    first = {live_post(scene).split(".", 1)[0], earthed_post(scene).split(".", 1)[0]}
    for part in scene.parts.values():
        if part.kind != "battery" or part.id in first:
            continue
        posts = (f"{part.id}.+", f"{part.id}.-")
        live, earthed = posts if scene.vehicle.earth == "negative" else posts[::-1]
        if scene.node(live) in ways.minus and scene.node(earthed) not in ways.minus:
            wrong = f"{live} is on the metal of a car whose earth is {scene.vehicle.earth}: joined to the first battery"
            finding = Finding(
                rule="NET-4",
                severity="fault",
                at=(part.id, live, earthed),
                touches=tuple(wire.id for point in posts for wire in scene.wires_at.get(point, ())),
                label=f"{part.id} ({scene.title(part.id)})",
                wrong=f"{wrong} it is a dead short of both",
                mend=f"Exchange the leads at {live} and {earthed} before anything joins the two",
            )
            yield Told(finding, None, turned(scene, live, earthed))


def _battery(scene: Scene, ways: Ways) -> Told | None:
    """The battery's live post on the metal, its earthed post off it."""
    live, earthed = live_post(scene), earthed_post(scene)
    metals = {scene.compiled.node_of[name] for name in ("body", "engine") if name in scene.compiled.node_of}
    if not (metals & ways.plus) or metals & ways.minus:
        return None
    part = live.split(".", 1)[0]
    wires = tuple(wire.id for point in (live, earthed) for wire in scene.wires_at.get(point, ()))
    finding = Finding(
        rule="NET-4",
        severity="fault",
        at=first_four((part, live, earthed)),
        touches=wires,
        label=f"{part} ({scene.title(part)})",
        wrong=f"{live} is on the metal of a car whose earth is {scene.vehicle.earth}",
        mend=f"Exchange the leads at {live} and {earthed}, or say in the sheet vehicle that its earth is the other",
    )
    return Told(finding, None, turned(scene, live, earthed))
