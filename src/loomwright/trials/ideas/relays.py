"""Let the switch work a relay: to take the load's current off its contact, or to turn its sense round."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import other_end
from loomwright.trials.bench import Bench
from loomwright.trials.edits import AddedRow, Edit
from loomwright.trials.ideas.own_feeds import rating_for
from loomwright.trials.mend import Idea

__all__ = ["relays_for_switches", "turned_senses"]

_COIL_MM2 = 1.0
_FEED_MM2 = 4.0
_NEAR_MM = 300.0
_MOST = 2


def relays_for_switches(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A relay and a fuse for the load behind a switch: the switch carries the coil only."""
    for name in finding.at:
        part = bench.scene.parts.get(name)
        if part is None or bench.kinds[part.kind].duty != "switch" or bench.kinds[part.kind].group == "relays":
            continue
        for wire in _leaving(bench, name)[:_MOST]:
            rating = rating_for(bench, wire)
            end, contact, load = bench.upper_end(wire), bench.upper(wire), bench.lower(wire)
            for bar in _bars(bench, load, contact)[:_MOST]:
                earth = _earth(bench, load, contact)
                if rating is not None and earth:
                    yield _relayed(bench, wire, end, contact, load, bar, earth, rating)


def turned_senses(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A relay whose break contact stands in the way where the switch made: it conducts while the switch does not."""
    names = [split_point(place)[0] for place in (*finding.at, *finding.path, *finding.touches)]
    wires = [bench.scene.wires[n] for n in (*finding.path, *finding.touches, *finding.at) if n in bench.scene.wires]
    for name in dict.fromkeys([*names, *(split_point(e)[0] for w in wires for e in (w.from_, w.to))]):
        part = bench.scene.parts.get(name)
        if part is None or bench.kinds[part.kind].duty != "switch" or bench.kinds[part.kind].group != "switches":
            continue
        ends = bench.wires_of(name)
        if len(ends) != 2 or part.kind == "key_switch":
            continue
        leaving = _leaving(bench, name)
        entering = [wire for wire in ends if wire not in leaving]
        if len(leaving) == 1 and len(entering) == 1:
            idea = _turned(bench, leaving[0], entering[0], name)
            if idea is not None:
                yield idea


def _leaving(bench: Bench, switch: str) -> list[Wire]:
    """The wires by which current goes on from a switch."""
    found = []
    for wire in bench.wires_of(switch):
        upper = bench.upper(wire)
        if split_point(upper)[0] == switch and wire.from_ and wire.to:
            found.append(wire)
    return found


def _bars(bench: Bench, load: str, contact: str) -> list[str]:
    """Bars that are live always, those nearest the load first."""
    places = [bench.place_of(load), bench.place_of(contact)]
    found = []
    for part in bench.scene.parts.values():
        at = [end for w in bench.wires_of(part.id) for end in (w.from_, w.to) if split_point(end)[0] == part.id]
        if part.kind == "busbar" and at and bench.node(at[0]) in bench.conduction.live:
            found.append((part.place not in places, part.id))
    return [name for _, name in sorted(found)]


def _earth(bench: Bench, load: str, contact: str) -> str:
    """An earth point in the place of the load or the contact, else the body."""
    places = (bench.place_of(load), bench.place_of(contact))
    for place in places:
        for part in bench.scene.parts.values():
            if part.kind == "earth_point" and part.place == place and place:
                return f"{part.id}.1"
    return "body"


def _relayed(bench: Bench, wire: Wire, end: str, contact: str, load: str, bar: str, earth: str, rating: float) -> Idea:
    relay = bench.new_part(f"K{split_point(load)[0]}")
    fuse = bench.new_part(f"F{split_point(load)[0]}")
    tap, feed, coil, back = bench.new_wires(4, wire.id)
    size = f"{wire.size_mm2 or _FEED_MM2:g}"
    lower = other_end(end)
    place = bench.place_of(load) or bench.place_of(contact)
    edits: tuple[Edit, ...] = (
        _part(
            fuse, "fuse", f"fuse of {relay}", bench.place_of(f"{bar}.1"), wire, f"rating_a={rating:g}; family=blade_c"
        ),
        _part(relay, "relay", f"relay of {split_point(load)[0]}", place, wire, "suppression=resistor"),
        _wire(tap, wire, bench.next_terminal(bar), f"{fuse}.1", f"{max(_FEED_MM2, wire.size_mm2 or 0.0):g}"),
        _wire(feed, wire, f"{fuse}.2", f"{relay}.30", size),
        _wire(coil, wire, f"{relay}.85", earth, f"{_COIL_MM2:g}"),
        _wire(back, wire, f"{relay}.87", load, size),
        bench.changed("wires", wire.id, lower, f"{relay}.86"),
    )
    says = (
        f"Let {contact} work a relay {relay}: {wire.id} goes to its coil, and {split_point(load)[0]} is fed from "
        f"{bar} through a {rating:g} A fuse {fuse} and its contact"
    )
    near = dict.fromkeys((tap, feed, coil, back), _NEAR_MM)
    return Idea(says=says, edits=bench.completed(edits, near))


def _turned(bench: Bench, leaving: Wire, entering: Wire, switch: str) -> Idea | None:
    """The load's wire goes to the relay's break contact, the switch works the coil, both fed from the same point."""
    end, contact, load = bench.upper_end(leaving), bench.upper(leaving), bench.lower(leaving)
    source, inlet = bench.upper(entering), bench.lower(entering)
    load_node = bench.node(load)
    is_low_side = load_node is not None and load_node in bench.conduction.earth
    relay = bench.new_part(f"K{switch}")
    feed, coil, back = bench.new_wires(3, leaving.id)
    size = f"{leaving.size_mm2 or _COIL_MM2:g}"
    earth = _earth(bench, load, contact)
    if is_low_side:
        # the switch earths what comes to it: the coil then needs a feed that nobody has named
        return None
    lower = other_end(end)
    edits: tuple[Edit, ...] = (
        _part(relay, "relay", f"turns {switch} round", bench.place_of(contact), leaving, "suppression=resistor"),
        _wire(feed, leaving, inlet, f"{relay}.30", size),
        _wire(back, leaving, f"{relay}.87a", load, size),
        _wire(coil, leaving, f"{relay}.85", earth, f"{_COIL_MM2:g}"),
        bench.changed("wires", leaving.id, lower, f"{relay}.86"),
    )
    says = (
        f"Turn the sense of {switch} round with a relay {relay}: {leaving.id} goes to its coil, and what comes from "
        f"{source} goes on over its break contact, closed while {switch} is open"
    )
    return Idea(says=says, edits=bench.completed(edits, dict.fromkeys((feed, coil, back), _NEAR_MM)))


def _part(name: str, kind: str, title: str, place: str, beside: Wire, settings: str) -> AddedRow:
    cells = {
        "id": name,
        "kind": kind,
        "name": title,
        "place": place,
        "circuit": beside.circuit,
        "settings": settings,
        "fitted": "new",
    }
    return AddedRow(sheet="parts", cells={column: text for column, text in cells.items() if text})


def _wire(name: str, beside: Wire, start: str, end: str, size_mm2: str) -> AddedRow:
    cells = {
        "id": name,
        "circuit": beside.circuit,
        "from": start,
        "to": end,
        "size_mm2": size_mm2,
        "fitted": "new",
    }
    return AddedRow(sheet="wires", cells={column: text for column, text in cells.items() if text})
