"""Which ideas of the trade may cure which finding? A plain list, written by hand; an idea is one function.

The order is the order they are tried in: what cures the cause before what cures the sign.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import islice

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.trials.bench import Bench
from loomwright.trials.ideas.charging import charging_feeds
from loomwright.trials.ideas.diodes import blocking_diodes
from loomwright.trials.ideas.earths import given_earths, moved_earths
from loomwright.trials.ideas.ends import joined_ends, own_cavities
from loomwright.trials.ideas.feeds import moved_feeds
from loomwright.trials.ideas.gates import led_through
from loomwright.trials.ideas.own_feeds import fused_wires, split_fuses
from loomwright.trials.ideas.relays import relays_for_switches, turned_senses
from loomwright.trials.ideas.sizes import larger_parts, other_fuses, thicker_wires
from loomwright.trials.ideas.turning import exchanged_feeds, turned_parts
from loomwright.trials.mend import Idea

__all__ = ["BOOK", "ideas_for"]

Making = Callable[[Bench, Finding], Iterator[Idea]]

_SIGNS = ("REQ-1", "SUP-2", "DRP-1", "NET-3")
"""Findings that tell what comes of something; the cause has often a finding of its own."""
_OF_OTHERS = 2
_FEED = (moved_feeds, led_through)
BOOK: Mapping[str, tuple[Making, ...]] = {
    "NET-1": (own_cavities, joined_ends, given_earths),
    "NET-2": (own_cavities,),
    "NET-3": (joined_ends, given_earths, turned_parts),
    "NET-4": (turned_parts,),
    "LIV-1": (*_FEED, turned_senses, blocking_diodes),
    "REQ-1": (led_through, moved_feeds, thicker_wires, moved_earths, turned_senses),
    "KEY-1": (led_through, turned_senses),
    "KEY-2": (blocking_diodes, moved_feeds),
    "KEY-3": (moved_feeds, turned_senses, thicker_wires),
    "KEY-5": (moved_feeds,),
    "SUP-1": (thicker_wires, moved_feeds),
    "SUP-2": (moved_feeds,),
    "SUP-4": (charging_feeds,),
    "SNK-1": (given_earths, blocking_diodes, moved_feeds),
    "SNK-2": (given_earths, moved_earths, moved_feeds),
    "SNK-3": (blocking_diodes, moved_feeds),
    "PRO-1": (fused_wires,),
    "PRO-2": (other_fuses, thicker_wires),
    "PRO-3": (other_fuses, thicker_wires),
    "PRO-4": (other_fuses, thicker_wires),
    "RAT-1": (exchanged_feeds, larger_parts, relays_for_switches, other_fuses),
    "RAT-2": (thicker_wires,),
    "DRP-1": (thicker_wires, moved_earths),
    "DRP-2": (thicker_wires,),
    "SGN-1": (moved_earths,),
    "SGN-2": (moved_earths,),
    "LMP-1": (given_earths, moved_feeds, joined_ends),
    "LMP-2": (led_through, moved_feeds, given_earths, turned_senses, blocking_diodes),
    "LMP-3": (split_fuses,),
}


def ideas_for(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The ideas for a finding, none twice."""
    seen: list[Idea] = []
    for asked, making in (*_by_others(bench, finding), *((finding, one) for one in BOOK.get(finding.rule, ()))):
        for idea in islice(making(bench, asked), None if asked is finding else _OF_OTHERS):
            if all(idea.edits != other.edits for other in seen):
                seen.append(idea)
                yield idea


def _by_others(bench: Bench, finding: Finding) -> Iterator[tuple[Finding, Making]]:
    """For a sign that hangs together with a fault by another rule: that fault's first idea of each kind."""
    if finding.rule not in _SIGNS:
        return
    parts = _parts(finding)
    for other in bench.findings:
        if other.severity == "fault" and other.rule not in _SIGNS and parts & _parts(other):
            yield from ((other, making) for making in BOOK.get(other.rule, ())[:1])


def _parts(finding: Finding) -> set[str]:
    return {split_point(place)[0] for place in (*finding.at, *finding.touches)}
