"""Take the feed from another contact.

The upper end of a wire on the way to what the finding names is put at a point that is live in the states in which it
should be and dead in those in which it should not, solved as the car is now. First where its sisters in the circuit get
theirs, then a bar or a fuse in the same place, then a contact of a switch.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.states.asking.answers import type_bool
from loomwright.tables.kinds import terminal_of
from loomwright.trials.bench import Bench
from loomwright.trials.mend import Idea

__all__ = ["moved_feeds"]

_WIRES_MOST = 4
_POINTS_MOST = 3
_MOVABLE = ("load", "protection", "switch", "controller", "gauge", "sensor", "passive")
_CONTACTS = ("87", "87a", "87b")
_DUTIES = {"join": 0, "protection": 1, "switch": 2}


def moved_feeds(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The feeds on the way to what is named, each at the points that are live when it should be."""
    for wire in _feeds(bench, finding):
        end, upper, lower = bench.upper_end(wire), bench.upper(wire), bench.lower(wire)
        wanted = _wanted(bench, finding, upper)
        if wanted is None:
            continue
        for point in _points(bench, finding, wire, upper, lower, wanted)[:_POINTS_MOST]:
            at = bench.next_terminal(split_point(point)[0]) if _is_numbered(bench, point) else point
            yield Idea(says=_says(bench, wire, lower, upper, at), edits=bench.moved(wire, end, at))


def _says(bench: Bench, wire: Wire, lower: str, upper: str, point: str) -> str:
    part = bench.part_of(point)
    what = f" ({part.name})" if part is not None and part.name else ""
    return f"Take {wire.id}, the feed of {split_point(lower)[0]}, from {point}{what} instead of {upper}"


def _feeds(bench: Bench, finding: Finding) -> list[Wire]:
    """Wires that may be moved, those nearest the named thing first."""
    wires = bench.scene.wires
    hand = [split_point(place)[0] for place in finding.at]
    own = [wires[name] for name in finding.at if name in wires]
    for part in hand:
        if part in bench.scene.parts:
            own += [wire for wire in bench.wires_of(part) if part == split_point(bench.lower(wire))[0]]
    way = [wires[name] for name in reversed(finding.path) if name in wires]
    touched = [wires[name] for name in finding.touches if name in wires]
    found: list[Wire] = []
    for wire in (*own, *way, *touched):
        upper = bench.upper(wire)
        if not wire.from_ or not wire.to or wire in found or bench.duty(upper) not in _DUTIES:
            continue
        if bench.duty(bench.lower(wire)) not in _MOVABLE:
            continue
        if bench.node(upper) in bench.conduction.earth:
            continue
        found.append(wire)
    return found[:_WIRES_MOST]


def _wanted(bench: Bench, finding: Finding, upper: str) -> tuple[type_bool, type_bool] | None:
    """(states in which the new point must be live, states in which it must be dead); None where that cannot be told."""
    now = bench.live(upper)
    states = bench.covers(finding)
    nowhere = np.zeros(len(states), bool)
    if now is None or not states.any():
        return None
    if not finding.when:
        # it never works though it should whatever the key does
        return states, nowhere
    return (nowhere, states) if (now & states).any() else (states, nowhere)


def _fits(live: type_bool, wanted: tuple[type_bool, type_bool]) -> bool:
    on, off = wanted
    return bool(live.any() and not (on & ~live).any() and not (off & live).any())


def _points(
    bench: Bench, finding: Finding, wire: Wire, upper: str, lower: str, wanted: tuple[type_bool, type_bool]
) -> list[str]:
    """Points where the upper end would be live as wanted, the likeliest first."""
    part, _ = split_point(lower)
    sisters = _sisters(bench, wire, part)
    others = [
        one
        for one in bench.every
        if one is not finding
        and one.severity != "note"
        and part in {split_point(place)[0] for place in (*one.at, *one.touches)}
    ]
    places = {bench.place_of(upper), bench.place_of(lower)} - {""}
    ranked: list[tuple[tuple[object, ...], str]] = []
    seen: set[str] = set()
    for point in bench.compiled.network.nodes:
        owner, terminal = split_point(point)
        duty = bench.duty(point)
        if not terminal or terminal.startswith("_") or duty not in _DUTIES or owner in (part, split_point(upper)[0]):
            continue
        if not _is_free(bench, point) or not _is_source(bench, point, lower):
            continue
        live = bench.live(point)
        if live is None or not _fits(live, wanted):
            continue
        if _is_numbered(bench, point):
            if owner in seen:
                continue
            seen.add(owner)
        cured = sum(1 for one in others if (kept := _wanted(bench, one, upper)) is not None and _fits(live, kept))
        ranked.append(
            (
                (
                    owner not in sisters,
                    -cured,
                    bench.scene.parts[owner].circuit != wire.circuit,
                    bench.place_of(point) not in places,
                    _DUTIES[duty],
                    int(np.count_nonzero(live)),
                ),
                point,
            )
        )
    return [point for _, point in sorted(ranked)]


def _sisters(bench: Bench, wire: Wire, part: str) -> set[str]:
    """Parts from which others of the same kind in the same circuit get their feed."""
    found: set[str] = set()
    row = bench.scene.parts.get(part)
    if row is None or not wire.circuit:
        return found
    for other in bench.scene.parts.values():
        if other.id == part or other.kind != row.kind or other.circuit != row.circuit or not row.circuit:
            continue
        for each in bench.wires_of(other.id):
            upper = bench.upper(each)
            if split_point(upper)[0] != other.id:
                found.add(split_point(upper)[0])
    return found


def _is_numbered(bench: Bench, point: str) -> bool:
    part = bench.part_of(point)
    return part is not None and bench.kinds[part.kind].numbered


def _is_source(bench: Bench, point: str, lower: str) -> bool:
    """Whether the trade takes a feed from there: what has no fuse yet not before one, what is a fuse not behind one."""
    part, name = split_point(point)
    kind = bench.kinds[bench.scene.parts[part].kind]
    if kind.group == "relays":
        return name in _CONTACTS and bool(bench.wires_at(point))
    if kind.duty != "protection":
        return True
    other = next((f"{part}.{each.name}" for each in kind.terminals if each.name != name), point)
    is_feed_side = bench.hops(point) < bench.hops(other)
    return is_feed_side == (bench.duty(lower) == "protection")


def _is_free(bench: Bench, point: str) -> bool:
    """Whether one more wire may end there; a fuse shares its feed's side only."""
    owner, name = split_point(point)
    terminal = terminal_of(bench.kinds[bench.scene.parts[owner].kind], name or "")
    if terminal is None:
        return False
    if terminal.max_wires is not None and len(bench.wires_at(point)) >= terminal.max_wires:
        return False
    return bench.kinds[bench.scene.parts[owner].kind].id not in ("inline_connector",)
