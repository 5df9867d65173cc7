"""Is there a battery, does every feed lead back to a supply, does every reading say what was measured?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.job.checking.look import Look, told
from loomwright.job.checking.points import has_point
from loomwright.job.points import split_point
from loomwright.job.vocabulary import vocabulary
from loomwright.refusals import Problem

__all__ = ["check_battery", "check_feeds", "check_readings", "check_rings"]

_SOURCE = "battery"


def check_battery(look: Look) -> Iterator[Problem]:
    """A job with no battery: volts would have nothing to be measured against."""
    if look.unread & {"parts", "kinds"} or look.half_made or _is_misspelt(look):
        return
    kinds = [look.kinds.get(part.kind) for part in look.job.parts if part.fitted != "removed"]
    if any(kind is not None and any(element.type == _SOURCE for element in kind.elements) for kind in kinds):
        return
    yield Problem(
        sheet="parts",
        row=None,
        column="kind",
        found="no battery",
        allowed="one part at least of the kind battery, fitted",
        mend="Add a row of the kind battery, and wire its + and its -",
    )


def check_feeds(look: Look) -> Iterator[Problem]:
    """Feeds of circuits that are neither a contact of the trade nor a point of the car."""
    if "parts" in look.unread:
        return
    feeds = vocabulary()["feeds"]
    for index, circuit in enumerate(look.job.circuits):
        feed = circuit.feed
        if not feed or feed in feeds or has_point(look, feed):
            continue
        part, _ = split_point(feed)
        words = (*feeds, *look.ids["parts"])
        meant = look.nearest("feeds", feed, words) if part not in look.ids["parts"] else ""
        there = look.terminals.get(part, ())
        mend = f"Write {meant}" if meant else f"Write {part}.{there[0]}" if there else "Name the contact that feeds it"
        allowed = told("a contact or a part's terminal", feeds)
        yield look.problem("circuits", index, "feed", found=feed, allowed=allowed, mend=mend)


def check_rings(look: Look) -> Iterator[Problem]:
    """Circuits that are fed from each other in a ring, so that none of them leads back to a supply.

    A circuit that is fed from a part of its own (its relay, its fuse) is no ring.
    """
    circuit_of = {part.id: part.circuit for part in look.job.parts}
    above = {}
    for circuit in look.job.circuits:
        part, _ = split_point(circuit.feed)
        fed_from = circuit_of.get(part, "")
        if fed_from and fed_from != circuit.id and fed_from in look.ids["circuits"]:
            above[circuit.id] = fed_from
    done: set[str] = set()
    for start in above:
        way: dict[str, None] = {}
        at = start
        while at in above and at not in way and at not in done:
            way[at] = None
            at = above[at]
        if at in way:
            names = list(way)
            ring = names[names.index(at) :]
            yield _ring(look, ring)
        done.update(way)


def check_readings(look: Look) -> Iterator[Problem]:
    """Readings that name neither an old wire nor a point."""
    for index, reading in enumerate(look.job.readings):
        if not reading.old_wire and not reading.point:
            yield look.problem(
                "readings",
                index,
                "old_wire",
                found="",
                allowed="the old wire or the point that was measured",
                mend="Name the old wire, or the point",
            )


def _is_misspelt(look: Look) -> bool:
    """Whether a part of an unknown kind is most likely the battery, which has been told."""
    unknown = {part.kind for part in look.job.parts if part.kind and part.kind not in look.kinds}
    return any(look.nearest("kinds", kind, look.kinds) == _SOURCE for kind in unknown)


def _ring(look: Look, ring: list[str]) -> Problem:
    """The ring told once, at the circuit that comes first in the sheet."""
    ids = look.ids["circuits"]
    first = min(range(len(ring)), key=lambda place: ids[ring[place]])
    turned = ring[first:] + ring[:first]
    return look.problem(
        "circuits",
        ids[turned[0]],
        "feed",
        found=f"supplies in a ring: {' from '.join([*turned, turned[0]])}",
        allowed="feeds that lead back to a supply",
        mend="Name the contact that really feeds one of them",
    )
