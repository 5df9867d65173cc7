"""What does the owner need to know on one sheet: what was done, how to start it, how to stop it, what to watch?

In: the job with what was decided filled in, the states of the paper solved, what is known and was left. Out: words, in
the order in which somebody reads them who gets the keys. Nothing is taken from a name: which selector positions let
the starter in, which other switch it takes, which lamps light with the key and go out with the engine running, and the
charging volts are those of the solved network. What the sheets do not say is said to be unknown.

Source: how long to crank, and what to look at after the first drives: common practice, no source. The makers' data and
the local law come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from loomwright.handover.asking import Asked, Walk
from loomwright.handover.known_limits import Limit
from loomwright.handover.outage import loads_of, working
from loomwright.handover.pack_records import NO_OWNER, OwnerSheet
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.loom.counter_words import kind_words
from loomwright.network.compiled import Compiled
from loomwright.network.solve import solve_many, solved_from, values_of
from loomwright.quantities import for_print
from loomwright.startup.first_start import EMERGENCY
from loomwright.tables.kinds import Kind

__all__ = ["NO_OWNER", "OwnerSheet", "owner_sheet"]

_LEFT_OUT = ("joining", "protection", "boundary")
_COUNTED = ("relays",)
_LIGHTS = "lighting"
_MOST_NAMES = 3
_CUTS_OFF = ("isolator", "crash_switch")
_MAIN = ("strip_sf30", "strip_sf51")
_TURNING = ("idle", "cranking", "running")
_CRANK = "At most ten seconds at a time, then half a minute of rest: the starter and the battery get hot."
_LOOKED_AT = (
    "After the first 200 km or so: earth bolts and battery clamps tight, no wire rubbed, no plug loose, no smell of "
    "fuel, no warm fuse. Again after 2000."
)


def owner_sheet(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, walk: Walk, limits: Sequence[Limit]
) -> OwnerSheet:
    """The owner's sheet.

    Args:
        walk: the states of the paper, solved.
        limits: what is known and was left.
    """
    parts = [part for part in job.parts if part.fitted != "removed"]
    lamps = _tell_tales(job, kinds, compiled, walk)
    return OwnerSheet(
        done=tuple(_done(job, kinds)),
        start=tuple(_start(compiled, walk, lamps)),
        stop=EMERGENCY,
        stops=tuple(_stops(job, parts)),
        watch=tuple(_watch(compiled, walk, lamps, parts)),
        limits=tuple(limits),
    )


# ------------------------------------------------------------- what was done


def _done(job: Job, kinds: Mapping[str, Kind]) -> Iterable[tuple[str, str]]:
    for word, heading in (("new", "Fitted new"), ("donor", "From a donor"), ("removed", "Taken out")):
        told = _names([part for part in job.parts if part.fitted == word], kinds)
        if told:
            yield heading, told
    counts = {word: sum(wire.fitted == word for wire in job.wires) for word in ("new", "donor", "kept", "removed")}
    said = ", ".join(f"{count} {_WIRES[word]}" for word, count in counts.items() if count)
    if said:
        yield "Wires", said
    rewired = {wire.circuit for wire in job.wires if wire.fitted in ("new", "donor") and wire.circuit}
    names = [row.name or row.id for row in job.circuits if row.id in rewired]
    if names:
        yield "Circuits with new wires", ", ".join(names)


_WIRES: Mapping[str, str] = {
    "new": "new",
    "donor": "from a donor",
    "kept": "kept as they were",
    "removed": "taken out",
}


def _names(parts: Sequence[Part], kinds: Mapping[str, Kind]) -> str:
    """What they are in words, alike things counted, small stuff left out."""
    named: dict[str, list[str]] = {}
    counted: dict[str, int] = {}
    for part in parts:
        kind = kinds.get(part.kind)
        if kind is None or kind.group in _LEFT_OUT or kind.id == "earth_point":
            if kind is not None and kind.duty == "protection":
                counted["fuse"] = counted.get("fuse", 0) + 1
            continue
        if kind.group in _COUNTED:
            counted["relay"] = counted.get("relay", 0) + 1
            continue
        named.setdefault(kind_words(part, kinds), []).append(part.name or kind_words(part, kinds))
    told = [
        f"{what} ({len(names)})" if len(names) > _MOST_NAMES else ", ".join(dict.fromkeys(names))
        for what, names in named.items()
    ]
    told += [f"{count} {what}{'s' if count > 1 else ''}" for what, count in counted.items()]
    return ", ".join(told)


# ------------------------------------------------------------- how to start, how to stop


def _start(compiled: Compiled, walk: Walk, lamps: Sequence[str]) -> Iterable[str]:
    starters = {element.part for element in compiled.network.elements if element.type == "starter_motor"}
    cranking = next((one for one in walk.columns if one.state.get("engine") == "cranking"), None)
    if not starters or cranking is None:
        yield "The sheets have no starter, or no key that works it: how this car is started does not stand in them."
        return
    if not any(cranking.solved.relays.get(part) == "pulled" for part in starters):
        yield "As the sheets stand the starter does not come in: see the findings before anybody tries."
        return
    yield from _selector(compiled, cranking, starters)
    for name, value in cranking.state.items():
        if name not in ("key", "engine", "selector"):
            yield f"{name.replace('_', ' ')}: {value}. The starter does not come in without."
    if "key" in cranking.state:
        lit = f" These light: {', '.join(lamps)}." if lamps else ""
        yield f"Key to run, and look.{lit}"
        yield f"Key to {cranking.state['key']}, and let go as soon as it runs. {_CRANK}"
        if lamps:
            yield "Once it runs they go out. One that stays lit: key off, find out why."


def _selector(compiled: Compiled, cranking: Asked, starters: Iterable[str]) -> Iterable[str]:
    selector = next((one for one in compiled.network.variables if one.name == "selector"), None)
    if selector is None:
        return
    asked = [{**cranking.state, "selector": value} for value in selector.values]
    batch = solve_many(compiled, np.array([values_of(compiled, state) for state in asked], np.int64))
    turns = [
        any(solved_from(compiled, batch, row).relays.get(part) == "pulled" for part in starters)
        for row in range(len(asked))
    ]
    lets = [value for value, does in zip(selector.values, turns, strict=True) if does]
    others = [value for value, does in zip(selector.values, turns, strict=True) if not does]
    if lets and others:
        yield f"Selector to {' or '.join(lets)}, foot on the brake. In {', '.join(others)} the starter stays out."
    elif lets:
        yield "Foot on the brake: the starter comes in with the selector in any position. Put it in P or N first."


def _stops(job: Job, parts: Sequence[Part]) -> Iterable[tuple[str, str]]:
    places = {place.id: place.name or place.id for place in job.places}
    for part in parts:
        where = places.get(part.place, part.place) or "place not written down"
        if part.kind in _CUTS_OFF:
            yield part.name or part.kind.replace("_", " "), f"{where}{'; ' + part.notes if part.notes else ''}"
        elif part.kind == "battery":
            yield part.name or "battery", f"{where}: its earth lead comes off first and goes on last"
        elif part.kind == "fusible_link" or part.settings.get("family") in _MAIN:
            yield part.name or part.id, f"{where}; {part.id}"


# ------------------------------------------------------------- what to watch


def _tell_tales(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, walk: Walk) -> tuple[str, ...]:
    """Lamps that light with the key in run and go out with the engine turning by itself."""
    loads = loads_of(compiled)
    on = working(loads, walk.answers.amps)
    states = [one.state for one in walk.columns]
    idling = next((k for k, state in enumerate(states) if state.get("engine") == "idle"), None)
    stopped = next(
        (k for k, state in enumerate(states) if state.get("key") == "run" and state.get("engine") not in _TURNING), None
    )
    if stopped is None or idling is None or not loads.names:
        return ()
    lit = {
        part for part, before, after in zip(loads.parts, on[stopped], on[idling], strict=True) if before and not after
    }
    names = {part.id: part.name or part.id for part in job.parts if part.kind in kinds}
    return tuple(names[part.id] for part in job.parts if part.id in lit and kinds[part.kind].group == _LIGHTS)


def _watch(compiled: Compiled, walk: Walk, lamps: Sequence[str], parts: Sequence[Part]) -> Iterable[tuple[str, str]]:
    for lamp in lamps:
        yield lamp, "lights with the key in run, goes out once the engine runs; dark with the key on: the lamp is gone"
    battery = next((part.id for part in parts if part.kind == "battery"), None)
    idling = next((one for one in walk.columns if one.state.get("engine") == "idle"), None)
    if battery is not None and idling is not None and any(part.kind in ("alternator", "dynamo") for part in parts):
        volts = idling.solved.volts
        found = abs((volts.get(f"{battery}.+") or 0.0) - (volts.get(f"{battery}.-") or 0.0))
        yield (
            "Volts at the battery",
            f"about {for_print(found)} V idling, battery full, as solved; far less: it is not charged",
        )
    if any(part.kind == "fuse" for part in parts):
        yield (
            "A fuse that blows",
            "same rating again, never a larger one; one that blows twice has a cause: have it found",
        )
    yield "The work itself", _LOOKED_AT
