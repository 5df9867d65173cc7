"""Does every load work in some state the car can be in? NET-3 for loads, and the earth or feed that several have lost.

A load works where it has 75 % of its volts between its terminals and carries half its rated current; a load behind a
ballast or a series resistor is asked for its share. It is broken where no possible state shows that. A piece of the
loom on which loads hang, and which no contact, driver or wire could ever join to a supply or to earth, is told once, as
the root of what does not work because of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from loomwright.findings import Finding
from loomwright.network.controller import pin_ability
from loomwright.network.records import Changes, Short
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.telling import asked_again
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Region, Ways, names_of, part_of
from loomwright.states.rules.bridges import bridge, first_four, is_pull_winding, meant_side, plain_side
from loomwright.states.rules.coil_ends import dead_coil
from loomwright.states.rules.load_elements import LoadElement, behind_ohm, load_elements, seen_of
from loomwright.tables.kinds import terminal_of

__all__ = [
    "half_bridges",
    "load_watches",
    "lost_net_findings",
    "lost_points",
    "plain_point",
    "turned_by_bridges",
    "way_names",
    "with_the_lost",
]

_TOUCHES_MOST = 40
_BRIDGED = ("half_bridge",)


def load_watches(scene: Scene, ways: Ways) -> Iterator[Watch]:
    """One question a load: does it ever work?"""
    drawn: dict[str, list[LoadElement]] = {}
    wired = {point.split(".", 1)[0] for point in scene.wires_at}
    silent, bridged = _silent(scene), half_bridges(scene)
    for load in load_elements(scene):
        if load.part not in wired:
            continue  # told already: not one wire ends at it
        if scene.kind(load.part).duty == "controller":
            drawn.setdefault(load.part, []).append(load)
        elif not turned_by_bridges(ways, load, bridged):
            yield _watch(ways, load, (load,), silent)
    for loads in drawn.values():
        yield _watch(ways, loads[0], tuple(loads), silent)


def _watch(ways: Ways, load: LoadElement, loads: tuple[LoadElement, ...], silent: tuple[str, ...]) -> Watch:
    scene = ways.scene
    wrong, mend = _why(ways, load, silent)
    return Watch(
        rule="NET-3",
        severity="fault",
        at=first_four((load.part, *(point for point in _points(scene, load) if "._" not in point))),
        touches=way_names(ways, load),
        label=f"{load.part} ({scene.title(load.part)})",
        wrong=wrong,
        mend=mend,
        quantifier="ever",
        broken=partial(_works, loads, tuple(behind_ohm(ways, one) for one in loads)),
        looks_at=seen_of(scene, *loads),
    )


def _works(loads: tuple[LoadElement, ...], behind: tuple[float, ...], answers: Answers) -> tuple[type_bool, type_float]:
    works = np.zeros(answers.count, bool)
    for load, ohm in zip(loads, behind, strict=True):
        works = works | load.works(answers, ohm)
    return works, np.zeros(answers.count)


def _why(ways: Ways, load: LoadElement, silent: tuple[str, ...]) -> tuple[str, str]:
    """What keeps it from working, as far as the sheets show it, and the mend."""
    scene = ways.scene
    first, second = (plain_point(scene, point) for point in _points(scene, load))
    one, other = ways.side(load.a), ways.side(load.b)
    wrong = "never works: no state of the car gives it its volts"
    if one == other and one in ("plus", "minus"):
        far = "earth" if one == "plus" else "its feed"
        moved = first if _is_marked_for(scene, first, one) else second
        return f"{wrong}, both its ends lead to {'a feed' if one == 'plus' else 'earth'}", f"Move {moved} to {far}"
    for point, side in ((first, one), (second, other)):
        if not side:
            meant = plain_side(meant_side(ways, load.a if point == first else load.b))
            return f"{wrong}, {point} leads neither to a feed nor to earth", f"Join {point} to its {meant}"
    output = _never_driven(ways, load, silent)
    if output:
        return f"{wrong}, the output {output} is never on", f"Say in the sheet drives when {output} is on"
    coil = dead_coil(ways, (load.a, load.b))
    if coil is not None:
        relay, end, last = coil
        joined = f"{end} leads" if end == last else f"{end} leads no further than {last}, and so"
        return (
            f"{wrong}, since {relay} cannot pull in: {joined} to neither feed nor earth",
            f"Join {last} to what it is for",
        )
    way = names_of(scene, ways.region(load.a).way_to(ways.region(load.a).plus))
    along = " ".join(way[:4]) or first
    return (
        wrong,
        f"Measure from {first} back along {along}: find the contact that stays open, or the feed that is missing",
    )


def _is_marked_for(scene: Scene, point: str, side: str) -> bool:
    """True where a terminal is marked for the other side than the one it leads to, so that it is the one to move."""
    part, _, name = point.partition(".")
    terminal = terminal_of(scene.kind(part), name) if part in scene.parts else None
    sign = 0 if terminal is None else terminal.polarity * (1 if scene.vehicle.earth == "negative" else -1)
    return sign == (1 if side == "minus" else -1)


def _never_driven(ways: Ways, load: LoadElement, silent: tuple[str, ...]) -> str:
    """A controller output on a load's way that no row of the sheet drives ever turns on."""
    scene = ways.scene
    points = {scene.name_of(node) for end in (load.a, load.b) for node in ways.region(end).nodes}
    return next((point for point in silent if point in points), "")


def _silent(scene: Scene) -> tuple[str, ...]:
    """The wired outputs that no row of the sheet drives ever turns on, in the order of the pins."""
    found = []
    for pin in scene.job.controller_pins:
        point = f"{pin.part}.{pin.terminal}"
        if point not in scene.wires_at or f"{point}.drive" not in scene.compiled.elements_of:
            continue
        if pin_ability(pin, scene.job.needs) in ("main_relay", "power_earth"):
            continue
        needs = {need.id for need in scene.job.needs if need.pin and need.pin in (pin.id, pin.terminal, point)}
        if not any(drive.output in (pin.id, point) or drive.output in needs for drive in scene.job.drives):
            found.append(point)
    return tuple(found)


def turned_by_bridges(ways: Ways, load: LoadElement, bridged: frozenset[str]) -> bool:
    """A motor between two half bridges: which way it turns is the controller's business, no row says when."""
    scene = ways.scene
    return all(any(scene.name_of(n) in bridged for n in ways.region(end).nodes) for end in (load.a, load.b))


def half_bridges(scene: Scene) -> frozenset[str]:
    """The outputs that are half bridges."""
    pins, needs = scene.job.controller_pins, scene.job.needs
    return frozenset(f"{pin.part}.{pin.terminal}" for pin in pins if pin_ability(pin, needs) in _BRIDGED)


def _points(scene: Scene, load: LoadElement) -> tuple[str, str]:
    return scene.name_of(load.a), scene.name_of(load.b)


def way_names(ways: Ways, load: LoadElement) -> tuple[str, ...]:
    """The part, then the wires and parts from its terminals to supply and earth, as far as they lead."""
    scene = ways.scene
    names: dict[str, None] = {}
    for node in (load.a, load.b):
        region = ways.region(node)
        goals = [goal for goal in (region.plus, region.minus) if goal is not None]
        walked = [element for goal in goals for element in region.way_to(goal)] or list(region.elements())
        walked += ways.onward(region.plus)
        for name in names_of(scene, walked):
            names[name] = None
    names.pop(load.part, None)
    return tuple(names)[:_TOUCHES_MOST]


def lost_net_findings(scene: Scene, ways: Ways, known: frozenset[str]) -> Iterator[Told]:
    """Pieces of the loom with loads on them that lead neither to a supply nor to earth.

    Args:
        known: points that another finding tells of already.
    """
    told: set[int] = set()
    for load in load_elements(scene):
        for node in (load.a, load.b):
            region = ways.region(node)
            if not region.is_lost or told.intersection(region.nodes):
                continue
            told.update(region.nodes)
            points = [scene.name_of(inner) for inner in region.nodes]
            if not known.intersection(points) and not _is_between(ways, region):
                yield _lost(ways, region)


def with_the_lost(ways: Ways, open_ends: tuple[Told, ...], lost: tuple[Told, ...]) -> tuple[Told, ...]:
    """Open ends with the trial that joins the one live of them to the one piece that has lost its feed.

    One wire lost at a relay's output leaves both. Where there are more of either it cannot be told which belong
    together.
    """
    scene = ways.scene
    live = [
        k
        for k, told in enumerate(open_ends)
        if told.trial is None
        and (node := scene.compiled.node_of.get(scene.point(told.finding.at[0]))) is not None
        and ways.side(node) == "plus"
    ]
    if len(live) != 1 or len(lost) != 1 or not _wants_feed(ways, lost[0]):
        return open_ends
    near, far = (scene.point(told.finding.at[0]) for told in (open_ends[live[0]], lost[0]))
    joined = replace(open_ends[live[0]], trial=Changes(shorts=(Short(near, far),)))
    return (*open_ends[: live[0]], joined, *open_ends[live[0] + 1 :])


def _wants_feed(ways: Ways, lost: Told) -> bool:
    return meant_side(ways, ways.scene.node(lost.finding.at[0])) == "plus"


def lost_points(scene: Scene, ways: Ways) -> frozenset[str]:
    """Every point of a piece with loads on it that leads neither to a supply nor to earth."""
    ends = (ways.region(node) for load in load_elements(scene) for node in (load.a, load.b))
    return frozenset(scene.name_of(node) for region in ends if region.is_lost for node in region.nodes)


def _is_between(ways: Ways, region: Region) -> bool:
    """True where what hangs on a piece leads on to a supply at one end and to earth at another: loads in series."""
    scene = ways.scene
    inside = set(region.nodes)
    sides: set[str] = set()
    for index in range(len(scene.compiled.network.elements)):
        if is_pull_winding(scene, index):
            continue
        for near, far in (scene.ends(index), scene.ends(index)[::-1]):
            if near in inside and far not in inside:
                sides.add(ways.side(far))
    return "both" in sides or {"plus", "minus"} <= sides


def _lost(ways: Ways, region: Region) -> Told:
    scene = ways.scene
    loads = [load for load in load_elements(scene) if {load.a, load.b} & set(region.nodes)]
    parts = tuple(dict.fromkeys(load.part for load in loads))
    inner = _hub(scene, region, parts)
    point = plain_point(scene, inner)
    side = meant_side(ways, region.start)
    what = plain_side(side)
    name = point.split(".", 1)[0]
    title = scene.title(name) if name in scene.parts else "metal"
    finding = Finding(
        rule="NET-3",
        severity="fault",
        at=first_four((point, *parts)),
        touches=tuple(dict.fromkeys((*names_of(scene, region.elements()), *parts)))[:_TOUCHES_MOST],
        label=f"{point} ({title})",
        wrong=f"has no {what}: no wire or contact joins it to one, and {' '.join(parts[:4])} cannot work without",
        mend=f"Run a wire from {point} to its {what}",
    )
    works = partial(_works, tuple(loads), tuple(behind_ohm(ways, one) for one in loads))
    return asked_again(
        finding, works, None, quantifier="ever", looks_at=seen_of(scene, *loads), trial=bridge(scene, inner, side)
    )


def plain_point(scene: Scene, point: str) -> str:
    """What a person may put a hand on: for the star inside a controller its first earth pin, else the part."""
    part, inner, _ = point.partition("._")
    if not inner:
        return point
    pins = (row for row in scene.job.controller_pins if row.part == part and "power_earth" in row.abilities)
    return next((f"{part}.{row.terminal}" for row in pins), part)


def _hub(scene: Scene, region: Region, loads: tuple[str, ...]) -> str:
    """Where to put a hand: the joint, the metal or the stud with most copper, else the terminal of the first load.

    Where the inside of a controller has lost its earth that is the place: what its drivers earth hangs on it.
    """
    star = next((name for node in region.nodes if (name := scene.name_of(node)).endswith("._star")), "")
    if star:
        return star
    copper = {name: _copper(scene, name) for node in region.nodes if "._" not in (name := scene.name_of(node))}
    of_loads = {scene.name_of(node) for node in region.nodes if part_of(scene, node) in loads}
    # a load's own terminal is a joint where wires go on from it, as from a starter's stud
    usable = [name for name, (_, wires) in copper.items() if name not in of_loads or wires > 1]
    return max(usable, key=lambda name: copper[name], default=scene.name_of(region.start))


def _copper(scene: Scene, point: str) -> tuple[float, int]:
    """The size of the thickest wire at a point, how many there are. [mm2], [-]"""
    wires = scene.wires_at.get(point, ())
    return max((wire.size_mm2 or 0.0 for wire in wires), default=0.0), len(wires)
