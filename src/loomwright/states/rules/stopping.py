"""Does the engine stop with the key (KEY-2)?

From key=run with the engine turning the key goes to off, or to accessory, while the crankshaft still turns. Nothing
that lets the engine fire may then stay live: no controller that drives injectors or ignition alive, no coil and no pump
fed from half the system's volts on.

The question is asked once for each way into a supply (`ways_in`): does it keep any of them on? And once for each thing
and for what no such way explains: its feed does not depend on the key. There a few states are solved beforehand and the
current is followed back through the relays (`kept_on`), so that the finding names the wire to look at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

import numpy as np

from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.looks import look
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.states.paths.firing import Firing
from loomwright.states.paths.joined import Joined
from loomwright.states.paths.kept_on import KeptOn, kept_on
from loomwright.states.paths.ways_in import WayIn

__all__ = ["stop_watches"]

Asks = Callable[[Answers], type_bool]


def stop_watches(scene: Scene, joined: Joined, firing: tuple[Firing, ...], ways: tuple[WayIn, ...]) -> list[Watch]:
    """The questions KEY-2 of a car; none without a key, or without an engine's controller, coil or pump."""
    if "key" not in scene.compiled.variable_of:
        return []
    asked = [one for one in firing if one.what != "injector"]
    made = []
    for way in ways:
        kept = [one for one in asked if way.net in one.rests.nets]
        if kept:
            made.append(_way_watch(scene, joined, way, kept))
    return [*made, *_own_watches(scene, joined, _one_a_net(asked), ways)]


def _one_a_net(firing: Iterable[Firing]) -> list[Firing]:
    """Of several coils on one feed, one."""
    found: dict[tuple[str, int], Firing] = {}
    for one in firing:
        found.setdefault((one.what if one.what != "controller" else one.part, one.net), one)
    return list(found.values())


def _stops(answers: Answers) -> type_bool:
    """Where the key has just gone off with the engine still turning."""
    return answers.at("key", "off", "accessory") & answers.turning()


def _is_on(one: Firing, answers: Answers) -> type_bool:
    return one.works(answers) if one.device >= 0 else one.fed(answers)


def _way_watch(scene: Scene, joined: Joined, way: WayIn, kept: list[Firing]) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = _stops(answers)
        if hit.any():
            hit &= way.rules(answers)
        if hit.any():
            hit &= np.logical_or.reduce([_is_on(one, answers) for one in kept])
        return hit, way.volts(answers)

    opened = next((place for place in way.at if place in scene.wires), None)
    names = dict.fromkeys(one.part for one in kept)
    return Watch(
        rule="KEY-2",
        severity="fault",
        at=way.at,
        touches=tuple(dict.fromkeys((*way.touches, *names))),
        label=f"{way.at[0]} at {way.part} ({scene.title(way.part)})",
        wrong=f"with the key off current comes back through it to {way.terminal}, and the engine can go on firing",
        broken=broken,
        unit="V",
        mend=_mend(way),
        trial=Changes(opened=(opened,)) if opened else None,
        root=opened is not None,
        path_of=partial(_path, scene, joined, way.flows[0][0]),
    )


def _mend(way: WayIn) -> str:
    if way.lamp:
        return (
            "Fit a diode in the lamp's lead, anode to the key's side, or feed the relays from a contact the lamp misses"
        )
    return f"Part it from {way.terminal}: a feed of its own, or a diode in the lead"


def _path(scene: Scene, joined: Joined, k: int, answers: Answers, row: int) -> tuple[str, ...]:
    forward = joined.polarity * float(answers.batch.amps[row, k]) > 0.0
    a, b = scene.ends(k)
    first, last = (a, b) if forward else (b, a)
    before = bringing(scene, answers, row, first, joined.polarity)
    return named(scene, (*before, k, *taking(scene, answers, row, last, joined.polarity)))


def _own_watches(scene: Scene, joined: Joined, asked: list[Firing], ways: tuple[WayIn, ...]) -> list[Watch]:
    """One question for all that the same thing keeps on, and one for each that nothing does in the states looked at."""
    values = look(scene, {"key": ("off", "accessory"), "engine": ("running", "idle")})
    answers = scene.answers(values)
    groups: dict[tuple[str, str], tuple[KeptOn | None, list[Firing]]] = {}
    for one in asked:
        why = _why(scene, joined, one, answers, partial(_stays_on, one, _near(one, ways)))
        name = (why.root, next(iter(why.at), "")) if why is not None else (one.part, f"{one.net}")
        groups.setdefault(name, (why, []))[1].append(one)
    return [_own_watch(scene, joined, why, kept, ways) for why, kept in groups.values()]


def _near(one: Firing, ways: tuple[WayIn, ...]) -> tuple[WayIn, ...]:
    return tuple(way for way in ways if way.net in one.rests.nets)


def _stays_on(one: Firing, near: tuple[WayIn, ...], answers: Answers) -> type_bool:
    """Where it stays on with the key off, and by none of the ways in that have a question of their own."""
    hit = _stops(answers)
    if hit.any():
        hit &= _is_on(one, answers)
    if hit.any():
        for way in near:
            hit &= ~way.rules(answers)
    return hit


def _why(scene: Scene, joined: Joined, one: Firing, answers: Answers, broken: Asks) -> KeptOn | None:
    """What keeps it on, in the plainest of a few states that break it."""
    rows = np.flatnonzero(broken(answers) & answers.possible)
    return kept_on(scene, joined, answers, int(rows[0]), one.node) if len(rows) else None


def _own_watch(scene: Scene, joined: Joined, why: KeptOn | None, kept: list[Firing], ways: tuple[WayIn, ...]) -> Watch:
    one = kept[0]

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = np.logical_or.reduce([_stays_on(each, _near(each, ways), answers) for each in kept])
        return hit, np.nan_to_num(np.abs(answers.volts(one.node)), nan=0.0)

    names = tuple(dict.fromkeys(each.part for each in kept))
    wires = tuple(wire.id for wire in scene.wires_at.get(scene.name_of(one.node), ()))
    root = why.root if why is not None and why.root in scene.parts else one.part
    hand = tuple(dict.fromkeys((*(why.at if why is not None else wires)[:1], root, *names)))[:4]
    held = f", held by {root} ({scene.title(root)})" if root not in names else ""
    return Watch(
        rule="KEY-2",
        severity="fault",
        at=hand,
        touches=tuple(dict.fromkeys((*(why.along if why is not None else ()), *wires, *names))),
        label=", ".join(f"{name} ({scene.title(name)})" for name in names[:3]),
        wrong=f"stays live with the key off and the engine turning{held}",
        broken=broken,
        unit="V",
        mend=f"Feed {root} from a contact that the key opens, or have what holds it let go with the key",
        path_of=lambda answers, row: kept_on(scene, joined, answers, row, one.node).along,
    )
