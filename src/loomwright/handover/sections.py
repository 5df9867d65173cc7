"""Which sections has the pack, in which order, and which of them are printed for this job and this reader?

In: the pack, how many drawings there are, whether there is a board, which sections were asked for. Out: the names of
the sections that have something to say, with their headings. A section with nothing in it is left out and never
announced.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from loomwright.handover.pack_records import Pack
from loomwright.job.fixed_map import FixedMap
from loomwright.refusals import OutOfReach

__all__ = ["SECTIONS", "sections_asked", "sections_of"]

SECTIONS: Mapping[str, str] = FixedMap(
    {
        "cautions": "Cautions",
        "findings": "Findings",
        "drawings": "Circuit drawings",
        "wires": "Wire list",
        "cuts": "Cut list",
        "crimps": "Crimps and order",
        "board": "Layout board",
        "built": "Built already",
        "boxes": "Fuses and relays",
        "connectors": "Connectors",
        "pins": "Controller pins",
        "tests": "Test sheet",
        "labels": "Labels",
        "earths": "Earths and splices",
        "parts": "Parts and what to buy",
        "decided": "What the tool decided",
        "numbers": "Numbers and gear changes",
        "open": "Snags and questions",
        "owner": "Owner's sheet",
        "revisions": "Revisions",
    }
)
"""Section, as it is asked for -> its heading."""


def sections_asked(words: Collection[str]) -> tuple[str, ...]:
    """The sections that were asked for, in the order of the pack; all of them where none was named.

    Raises:
        OutOfReach: one that there is not.
    Example:
        >>> sections_asked(["labels", "wires"])
        ('wires', 'labels')
    """
    for word in words:
        if word not in SECTIONS:
            raise OutOfReach("paper", word, " ".join(SECTIONS))
    return tuple(name for name in SECTIONS if not words or name in words)


def sections_of(pack: Pack, *, drawings: int, has_board: bool, asked: Collection[str] = ()) -> tuple[str, ...]:
    """The sections that have something to say.

    Args:
        drawings: how many there are. [-]
        has_board: the layout board is shown.
        asked: those that are wanted; all where empty.
    """
    paper, cuts, earths, numbers = pack.paper, pack.cuts, pack.earths, pack.numbers
    past, owner = pack.revisions, pack.owner
    has: Mapping[str, object] = {
        "cautions": True,
        "findings": True,
        "drawings": drawings,
        "wires": paper.wires,
        "cuts": cuts.reels or cuts.cables or cuts.unmeasured,
        "crimps": pack.crimps.crimps or pack.crimps.order,
        "board": has_board,
        "built": pack.redo.rows or pack.redo.proofs,
        "boxes": pack.charts or paper.fuses,
        "connectors": pack.connectors,
        "pins": pack.pins,
        "tests": pack.dead or paper.readings or pack.outputs.tests,
        "labels": pack.labels,
        "earths": earths.earths or earths.splices,
        "parts": pack.parts.parts,
        "decided": pack.notes,
        "numbers": numbers.numbers or numbers.gears,
        "open": pack.parts.open or pack.parts.settled,
        "owner": owner.done or owner.start or owner.watch,
        "revisions": past.agreed or past.history or past.since,
    }
    return tuple(name for name in sections_asked(asked) if has[name])
