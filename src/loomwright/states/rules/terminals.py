"""Is every terminal wired that must be, no wire end free, no terminal doubled, every metal strapped? NET-1 and NET-2.

Read off the sheets. NET-1: a terminal that its kind marks `required`, one of each group of which one is needed, the
filament a lamp's role names, a need whose pin is decided; a wire with a blank end (unless a need waits for its pin
there) or one to a part that is removed; a metal without a strap (`straps`). NET-2: more wires than the terminal takes;
controller pins and connector cavities take one. Each open end brings the bridge that would cure it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fnmatch import fnmatchcase
from functools import cached_property

import numpy as np

from loomwright.findings import Finding
from loomwright.job.choices import choice_groups, group_of
from loomwright.job.rows import Part, Wire
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import bridge, first_four, meant_side, plain_side
from loomwright.states.rules.half_contacts import half_contacts
from loomwright.states.rules.straps import lost_metals
from loomwright.states.rules.told_but_open import told_but_open
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind, terminal_of

__all__ = ["terminal_findings"]

_EARTHS = ("E", "31", "earth")
"""Terminals that are marked as earth, whatever else could reach them."""
_FROM_SHEET = {"switch": "contacts", "controller": "controller_pins"}
"""Duty of a kind without terminals of its own -> the sheet of the job that gives each part its terminals."""
_FILAMENTS = {"tail": "58", "position": "58", "brake_lamp": "54", "main": "56a", "dipped": "56b"}


def terminal_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """What is open, doubled or not strapped."""
    removed = {part.id for part in scene.job.parts if part.fitted == "removed"}
    sides = _Sides(ways)
    yield from lost_metals(scene, ways)
    for part in scene.parts.values():
        yield from _open_terminals(scene, sides, part)
    for wire in scene.wires.values():
        if not wire.from_ or not wire.to:
            yield from _free_end(scene, ways, wire)
        for end in (wire.from_, wire.to):
            if end.split(".", 1)[0] in removed:
                yield _end_on_removed(wire, end)
    yield from _open_needs(scene, sides)
    yield from _half_ways(scene)
    yield from half_contacts(scene)
    yield from told_but_open(scene)
    yield from _doubled(scene)


def _open_terminals(scene: Scene, sides: _Sides, part: Part) -> Iterator[Told]:
    kind = scene.kinds[part.kind]
    required = [
        f"{part.id}.{terminal.name}" for terminal in kind.terminals if terminal.required and "*" not in terminal.name
    ]
    if len(required) > 1 and not any("." in point for point in scene.points_of.get(part.id, ())):
        yield _unwired(scene, part, required)
        return
    sheet = "" if kind.terminals else _FROM_SHEET.get(kind.duty, "")
    if sheet and not any(row.part == part.id for row in getattr(scene.job, sheet)):
        yield _without_terminals(scene, part, sheet)
        return
    for point in required:
        if point not in scene.wires_at:
            side = sides.of(point)
            mend = f"Wire {point} to {'its ' + plain_side(side) if side else 'what it works with'}"
            yield _open(scene, point, "no wire ends here, and it cannot work without one", mend, side)
    for point in _by_role(scene, kind, part):
        if point not in scene.wires_at:
            words = f"no wire ends here, and the role {part.role} is this terminal's"
            yield _open(scene, point, words, f"Wire {point}, or give the lamp the role it has", "")
    yield from _open_groups(scene, kind, part)
    if kind.case and part.settings.get("bolted_to") == "none" and f"{part.id}.case" not in scene.wires_at:
        words = "its case is bolted to nothing and no wire ends at it, and it cannot work without one"
        mend = f"Wire {part.id}.case to its earth" if terminal_of(kind, "case") else "Bolt it to the metal it is for"
        yield _open(scene, f"{part.id}.case", words, mend, "")


def _open(scene: Scene, point: str, wrong: str, mend: str, side: str) -> Told:
    part = point.split(".", 1)[0]
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=(point,),
        touches=(part,),
        label=f"{point} ({scene.title(part)})",
        wrong=wrong,
        mend=mend,
    )
    return Told(finding, None, bridge(scene, point, side))


class _Sides:
    """Which side was an open terminal meant for?"""

    def __init__(self, ways: Ways) -> None:
        self._ways = ways

    def of(self, point: str) -> str:
        """The side an open terminal was meant for; nothing where it cannot be told."""
        ways, scene = self._ways, self._ways.scene
        node = scene.compiled.node_of.get(scene.point(point))
        if node is None:  # a way of a joint that is there only while something is wired to it
            return ""
        if point.partition(".")[2] in _EARTHS:
            return "minus"
        region = ways.region(node)
        if region.is_lost or _is_alternator_alone(scene, region.nodes):
            return meant_side(ways, node)
        # a switch to its own metal is open to neither side; a fuse that only a back door can feed wants its feed
        return "plus" if region.reaches_plus and not region.reaches_minus and self._is_dead(node) else ""

    def _is_dead(self, node: int) -> bool:
        volts = np.nan_to_num(self._near_loaded.volts(node))
        return not bool((np.abs(volts) > constant("dead_v")).any())

    @cached_property
    def _near_loaded(self) -> Answers:
        """The engine running and everything on that can be; then every variable thrown by itself."""
        space = self._ways.scene.space
        moves = [(k, value) for k, own in enumerate(space.values) for value in own if value != space.loaded[k]]
        rows = np.repeat(space.loaded[None, :], len(moves) + 1, axis=0)
        for row, (k, value) in enumerate(moves, start=1):
            rows[row, k] = value
        return self._ways.scene.answers(rows)


def _is_alternator_alone(scene: Scene, nodes: Iterable[int]) -> bool:
    """True where a piece has the alternator's live end on it, and no way leads on to a battery."""
    inside = set(nodes)
    fed = {
        element.type
        for index, element in enumerate(scene.compiled.network.elements)
        if element.type in ("alternator", "battery") and scene.ends(index)[0] in inside
    }
    return fed == {"alternator"}


def _by_role(scene: Scene, kind: Kind, part: Part) -> Iterator[str]:
    """The terminals of the filaments that a lamp's role names."""
    names = {terminal.name for terminal in kind.terminals}
    for role in (part.role or "").split():
        terminal = _FILAMENTS.get(role.removesuffix("_left").removesuffix("_right"), "")
        if terminal in names:
            yield f"{part.id}.{terminal}"


def _open_needs(scene: Scene, sides: _Sides) -> Iterator[Told]:
    """Needs whose pin is decided, and which no wire joins to it."""
    pins = {
        name: f"{pin.part}.{pin.terminal}"
        for pin in scene.job.controller_pins
        for name in (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")
        if pin.part in scene.parts
    }
    chosen = choice_groups(scene.job.needs)
    for need in scene.job.needs:
        if not need.pin or group_of(need) in chosen or need.pin not in pins:
            continue
        own = f"{need.part}.{need.terminal}" if need.part in scene.parts and need.terminal else ""
        open_ends = [point for point in (own, pins[need.pin]) if point and scene.point(point) not in scene.wires_at]
        if open_ends and not _is_required(scene, open_ends[0]):
            words = f"no wire ends here, and the need {need.id} is given this pin"
            mend = f"Run the wire of {need.id} from {own or 'its part'} to {pins[need.pin]}"
            told = _open(scene, open_ends[0], words, mend, sides.of(open_ends[0]))
            yield replace(told, finding=replace(told.finding, touches=(*open_ends, need.id)))


def _is_required(scene: Scene, point: str) -> bool:
    """True where the kind itself asks for a wire there, so that it is told already."""
    part, _, name = point.partition(".")
    terminal = terminal_of(scene.kind(part), name)
    return terminal is not None and terminal.required


def _unwired(scene: Scene, part: Part, required: list[str]) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=first_four((part.id, *required)),
        touches=tuple(required[3:]),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong="not one wire ends at it",
        mend=f"Wire {' '.join(required[:4])}, or mark the part as removed",
    )
    return Told(finding, None, None)


def _without_terminals(scene: Scene, part: Part, sheet: str) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=(part.id,),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=f"has no terminals yet: no row of the sheet {sheet} is about it",
        mend=f"Give it its rows in the sheet {sheet}, or mark the part as removed",
    )
    return Told(finding, None, None)


def _open_groups(scene: Scene, kind: Kind, part: Part) -> Iterator[Told]:
    for group in kind.needs_one_of:
        points = tuple(f"{part.id}.{name}" for name in group)
        if not any(point in scene.wires_at for point in points):
            finding = Finding(
                rule="NET-1",
                severity="fault",
                at=points[:4],
                touches=(part.id,),
                label=f"{part.id} ({scene.title(part.id)})",
                wrong=f"none of its terminals {' '.join(group)} has a wire, and it needs one of them",
                mend=f"Wire {' or '.join(points)}",
            )
            yield Told(finding, None, None)


def _free_end(scene: Scene, ways: Ways, wire: Wire) -> Iterator[Told]:
    other = wire.from_ or wire.to
    if other and any(f"{need.part}.{need.terminal}" == scene.point(other) for need in scene.job.needs):
        return  # it goes to the pin of that need, which allocation gives it
    end = "to" if wire.from_ else "from"
    trial = None
    mend = f"Fill in both ends of {wire.id}, or take the wire out"
    node = scene.compiled.node_of.get(scene.point(other))
    if node is not None:
        side = meant_side(ways, node)
        trial = bridge(scene, scene.point(other), side)
        mend = f"Join the free end of {wire.id} to its {plain_side(side)}, or cut the wire back and take its row out"
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=first_four((wire.id, other) if other else (wire.id,)),
        label=f"{wire.id} (wire{', from ' + other if other else ''})",
        wrong=f"its end `{end}` is free" if other else "both its ends are free",
        mend=mend,
    )
    yield Told(finding, None, trial)


def _end_on_removed(wire: Wire, end: str) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="fault",
        at=(wire.id, end),
        label=f"{wire.id} (wire)",
        wrong=f"ends at {end}, and that part is marked as removed",
        mend=f"Take {wire.id} out, or bring it to the part that is there now",
    )
    return Told(finding, None, None)


def _half_ways(scene: Scene) -> Iterator[Told]:
    """Ways of a connector wired on one side only, and splices with one wire: ends that lead nowhere."""
    for part in scene.parts.values():
        kind = scene.kinds[part.kind]
        if not kind.numbered or kind.duty != "join":
            continue
        start = f"{part.id}."
        points = (point for point in scene.points_of.get(part.id, ()) if "." in point)
        wired = {point.removeprefix(start): scene.wires_at[point] for point in points}
        if any(terminal.name == "*p" for terminal in kind.terminals):
            for terminal, wires in wired.items():
                far = terminal[:-1] + ("s" if terminal.endswith("p") else "p")
                if far not in wired:
                    yield _dead_end(scene, part, f"{part.id}.{terminal}", wires, f"{part.id}.{far}")
        elif part.kind == "splice" and sum(len(wires) for wires in wired.values()) == 1:
            terminal, wires = next(iter(wired.items()))
            yield _dead_end(scene, part, f"{part.id}.{terminal}", wires, part.id)


def _dead_end(scene: Scene, part: Part, point: str, wires: tuple[Wire, ...], missing: str) -> Told:
    finding = Finding(
        rule="NET-1",
        severity="warning",
        at=(point,),
        touches=(part.id, *(wire.id for wire in wires)),
        label=f"{point} ({scene.title(part.id)})",
        wrong=f"a wire ends here and nothing goes on from {missing}",
        mend=f"Wire {missing}, or take {' '.join(wire.id for wire in wires)} out",
    )
    return Told(finding, None, None)


def _doubled(scene: Scene) -> Iterator[Told]:
    cavities = [f"{row.part}.{pattern}" for row in scene.job.connectors for pattern in row.terminals]
    for point, wires in scene.wires_at.items():
        part = scene.parts.get(point.split(".", 1)[0])
        most = None if part is None else _most_wires(scene, part, point, cavities)
        if most is None or len(wires) <= most:
            continue
        ids = tuple(wire.id for wire in wires)
        finding = Finding(
            rule="NET-2",
            severity="fault",
            at=(point,),
            touches=(*ids, part.id if part else ""),
            label=f"{point} ({scene.title(point.split('.', 1)[0])})",
            wrong=f"more wires than the terminal takes: {' '.join(ids)}",
            found=float(len(ids)),
            allowed=float(most),
            unit="wires",
            mend=f"Splice them outside and bring one wire to {point}, or give one of them its own cavity",
        )
        yield Told(finding, None, None)


def _most_wires(scene: Scene, part: Part, point: str, cavities: list[str]) -> int | None:
    kind = scene.kinds[part.kind]
    terminal = terminal_of(kind, point.split(".", 1)[1])
    if terminal is not None and terminal.max_wires is not None:
        return terminal.max_wires
    is_pin = kind.duty == "controller" or any(fnmatchcase(point, cavity) for cavity in cavities)
    return 1 if is_pin else None
