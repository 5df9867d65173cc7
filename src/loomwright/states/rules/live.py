"""Is each load live when the contact its circuit belongs to is, and only then? LIV-1.

Asked of loads whose circuit names a `feed`. *Live when it should be dead*: it works in a state in which its feed is
dead. *Dead when it should work*: it can be reached round the feed's contact, and in some position of the key in which
the feed is live (for terminal 30: key off) it works in no state. Its own switch, relay and drives only narrow the
states in which it works: what a controller drives is not asked the second question, nor what hangs on 30 behind a
relay.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.cones import LooksAt
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Ways, live_way, ways_of
from loomwright.states.rules.coil_ends import coils_of, worked_from
from loomwright.states.rules.feeds import Feed, feed_end, feed_name, feed_of
from loomwright.states.rules.live_coils import fed_coils
from loomwright.states.rules.load_elements import LoadElement, behind_ohm, load_elements, seen_of
from loomwright.states.rules.loads import way_names
from loomwright.states.rules.wrong_feeds import moved, taken_off
from loomwright.tables.constants import constant

__all__ = ["watches"]

_RELAYS_MOST = 3
"""How many relays one behind the other are followed [-]."""
_KEY_FEEDS = ("15", "75", "50")


def watches(scene: Scene) -> tuple[Watch, ...]:
    """One question a load and direction."""
    ways = ways_of(scene)
    found: list[Watch] = []
    feeds: dict[str, Feed | None] = {}
    for load, name in _asked(scene, ways):
        if name not in feeds:
            feeds[name] = feed_of(ways, name)
        feed = feeds[name]
        if feed is not None:
            found.append(_live_when_dead(ways, load, feed))
        found.extend(_dead_when_live(ways, load, name, feed))
    return tuple(found)


def _asked(scene: Scene, ways: Ways) -> Iterator[tuple[LoadElement, str]]:
    """The loads, and the coils on circuits of their own, each with the feed its circuit names."""
    fields = _fields(scene)
    for load in load_elements(scene):
        name = feed_name(scene, ways, load)
        if name and not _lit_from_alternator(ways, load, fields):
            yield load, name
    for coil, name in fed_coils(scene, ways):
        if not _is_driven(ways, coil) and (name == "30" or not _lit_from_alternator(ways, coil, fields)):
            yield coil, name


def _lit_from_alternator(ways: Ways, load: LoadElement, fields: frozenset[int]) -> bool:
    """A charge lamp, and whatever else hangs on D+: the alternator feeds it from behind while it turns."""
    scene = ways.scene
    if "charge_lamp" in (scene.parts[load.part].role or "").split():
        return True
    return any(node in fields for end in (load.a, load.b) for node in ways.region(end).nodes)


def _fields(scene: Scene) -> frozenset[int]:
    """The nodes that an alternator feeds by its own diodes."""
    elements = scene.compiled.network.elements
    return frozenset(scene.ends(k)[1] for k, element in enumerate(elements) if element.type == "trio")


def _live_when_dead(ways: Ways, load: LoadElement, feed: Feed) -> Watch:
    scene = ways.scene
    end = feed_end(ways, load)
    node = load.a if end is None else end
    trial = taken_off(ways, worked_from(ways, (load.a, load.b)) or node)
    return Watch(
        rule="LIV-1",
        severity="fault",
        at=(load.part, scene.name_of(node)),
        touches=way_names(ways, load),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=f"works while its feed, {_feed_words(scene, feed)}, is dead",
        mend=f"Follow the way given here from the source, and move its feed to {_feed_words(scene, feed)}",
        broken=partial(_works_unfed, load, behind_ohm(ways, load), feed),
        trial=trial,
        root=trial is not None,
        path_of=partial(_path, ways, load, node),
    )


def _works_unfed(load: LoadElement, behind: float, feed: Feed, answers: Answers) -> tuple[type_bool, type_float]:
    return load.works(answers, behind) & feed.dead(answers), load.across(answers)


def _path(ways: Ways, load: LoadElement, node: int, answers: Answers, row: int) -> tuple[str, ...]:
    """The way that makes it live: behind a relay that of the coil, which is where the wrong wire is, then its own."""
    scene = ways.scene
    names = list(live_way(scene, answers, row, node))
    coils = _coil_ends(ways, load)
    for _ in range(_RELAYS_MOST):
        names = [name for end in coils for name in live_way(scene, answers, row, end)] + names
        coils = coils_of(ways, coils)
    return tuple(dict.fromkeys(names))


def _feed_words(scene: Scene, feed: Feed) -> str:
    points = [scene.name_of(node) for node in feed.nodes]
    return feed.name if "." in feed.name or not points else f"{feed.name} at {points[0]}"


def _dead_when_live(ways: Ways, load: LoadElement, name: str, feed: Feed | None) -> Iterator[Watch]:
    """A question for each key position in which the feed is live, where the load's way does not come from the feed."""
    scene = ways.scene
    end = feed_end(ways, load)
    if end is None or "key" not in scene.compiled.variable_of:
        return
    if name == "30" and _coil_ends(ways, load):
        yield from _relay_fed_late(ways, load, end)
        return
    if name == "30" and scene.kind(load.part).duty == "controller":
        # its key line or its own clock says when it works: its supply alone is asked
        for key in _at_rest(scene):
            yield _supply_dead(ways, load, end, key)
        return
    if _is_driven(ways, load):
        return
    if name == "30":
        keys: tuple[str, ...] = _at_rest(scene)
    elif feed is not None and name in _KEY_FEEDS and not _comes_from(ways, load, end, feed):
        keys = feed.keys
    else:
        return
    late = moved(ways, end) if name == "30" else None
    for key in keys:
        what = late.words if late else "its feed"
        yield Watch(
            rule="LIV-1",
            severity="fault",
            at=(load.part, scene.name_of(end)),
            touches=way_names(ways, load),
            label=f"{load.part} ({scene.title(load.part)})",
            wrong=f"never works with the key at {key}, where its feed {name} is live",
            mend=f"Move {what} to terminal {name}: its way to the battery goes over another contact",
            quantifier="ever",
            broken=partial(_works_at, load, behind_ohm(ways, load), key),
            looks_at=seen_of(scene, load),
            trial=late.trial if late else None,
            root=late is not None,
        )


def _supply_dead(ways: Ways, load: LoadElement, end: int, key: str) -> Watch:
    scene = ways.scene
    return Watch(
        rule="LIV-1",
        severity="fault",
        at=(load.part, scene.name_of(end)),
        touches=way_names(ways, load),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=f"its supply at {scene.name_of(end)} is dead with the key at {key}, where its feed 30 is live",
        mend="Move that supply to terminal 30: its way to the battery goes over a contact",
        quantifier="ever",
        broken=partial(_fed_at, (end,), scene.vehicle.system_v, key),
        looks_at=LooksAt(nodes=(end,)),
    )


def _works_at(load: LoadElement, behind: float, key: str, answers: Answers) -> tuple[type_bool, type_float]:
    return load.works(answers, behind) & answers.at("key", key), np.zeros(answers.count)


def _relay_fed_late(ways: Ways, load: LoadElement, end: int) -> Iterator[Watch]:
    """Of a load on 30 behind a relay: is the relay's contact fed with the key off? Its coil is its own business."""
    scene = ways.scene
    before = _before_contacts(ways, end)
    if not before or before & ways.plus:
        return
    for key in _at_rest(scene):
        contact = _first_contact(ways, end)
        yield Watch(
            rule="LIV-1",
            severity="fault",
            at=(load.part, scene.name_of(end)),
            touches=way_names(ways, load),
            label=f"{load.part} ({scene.title(load.part)})",
            wrong=f"cannot work with the key at {key}, where its feed 30 is live: {contact}'s contact is dead then",
            mend=f"Move the feed of the contact of {contact} to terminal 30: its way to the battery goes over another",
            quantifier="ever",
            broken=partial(_fed_at, tuple(sorted(before)), scene.vehicle.system_v, key),
            looks_at=LooksAt(nodes=tuple(sorted(before))),
        )


def _fed_at(nodes: tuple[int, ...], system_v: float, key: str, answers: Answers) -> tuple[type_bool, type_float]:
    fed = np.zeros(answers.count, bool)
    for node in nodes:
        fed |= np.abs(np.nan_to_num(answers.volts(node))) >= constant("live_frac") * system_v
    return fed & answers.at("key", key), np.zeros(answers.count)


def _before_contacts(ways: Ways, end: int) -> frozenset[int]:
    """The nodes that a load's live end is joined to while its relays hold, over no switch and no other contact."""
    seen = {end}
    waiting = [end]
    crossed = False
    while waiting:
        for index, other in ways.near.get(waiting.pop(), ()):
            if other in seen or ways.scene.element(index).guards or not _is_closed_by_relay(ways.scene, index):
                continue
            crossed = crossed or bool(_relay_of(ways.scene, index))
            seen.add(other)
            waiting.append(other)
    return frozenset(seen) if crossed else frozenset()


def _is_closed_by_relay(scene: Scene, index: int) -> bool:
    """True of what always conducts, and of the contacts of relays."""
    devices = scene.compiled.network.devices
    return all(devices[device].what in ("fuse", "relay") for device, _ in scene.element(index).needs)


def _relay_of(scene: Scene, index: int) -> str:
    devices = scene.compiled.network.devices
    return next((scene.element(index).part for d, _ in scene.element(index).needs if devices[d].what == "relay"), "")


def _first_contact(ways: Ways, end: int) -> str:
    """The relay nearest to a load's live end."""
    region = ways.region(end)
    along = (_relay_of(ways.scene, index) for index in (*region.way_to(region.plus), *region.elements()))
    return next((name for name in along if name), "its relay")


def _at_rest(scene: Scene) -> tuple[str, ...]:
    """The key position in which only terminal 30 is live."""
    return (scene.compiled.network.variables[scene.compiled.variable_of["key"]].rest,)


def _is_driven(ways: Ways, load: LoadElement) -> bool:
    """True where a controller switches it, itself or its relay: when it works is then the sheet drives' business."""
    ends = [load.a, load.b, *_coil_ends(ways, load)]
    return any(
        ways.scene.element(index).type == "pin"
        for end in ends
        for goal in (ways.region(end).plus, ways.region(end).minus)
        for index in ways.region(end).way_to(goal)
    )


def _coil_ends(ways: Ways, load: LoadElement) -> tuple[int, ...]:
    """The ends of the coils that work the contacts on a load's way."""
    return coils_of(ways, (load.a, load.b))


def _comes_from(ways: Ways, load: LoadElement, end: int, feed: Feed) -> bool:
    """True where the load, or the coil of its relay, is fed over the feed's contact and no other way."""
    scene = ways.scene
    if not feed.nodes:
        # the old key switch is not opened: its contact cannot be followed, only its positions
        return bool(_coil_ends(ways, load))
    at_feed = frozenset(index for node in feed.nodes for index, _ in scene.at.get(node, ()))
    fed = [end, *(node for node in _coil_ends(ways, load) if ways.side(node) in ("plus", "both"))]
    return any(not ways.region(node, at_feed).reaches_plus or node in feed.nodes for node in fed)
