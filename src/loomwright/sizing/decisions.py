"""How is what was decided kept beside the job, each cell with all its reasons?

A decision a cell, a reason a limit: what it alone would ask for, its sentence, the worst state, the rows it rests on,
the function, the table, the source and the place there. Sizes that rest on a length nobody knows are not kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.findings import when_text
from loomwright.job.conditions import ALWAYS, Condition, parse_condition
from loomwright.job.decided import adopted, cut_wires, with_decisions, without_decisions
from loomwright.job.figures import text_of_figure
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import Decision, Reason
from loomwright.routes.decisions import with_lengths
from loomwright.routes.records import Routes
from loomwright.sizing.open_cells import RATING, SIZE
from loomwright.sizing.size_says import fuse_says, method_of, place_of, table_of, wire_says
from loomwright.sizing.sized import Ask, Sized, SizedFuse, SizedWire
from loomwright.sizing.stale import size_digest

__all__ = ["decisions_of", "kept", "written"]


def decisions_of(sized: Sized, job: Job) -> tuple[tuple[Decision, ...], tuple[Reason, ...]]:
    """The decisions and their reasons, with the digest of what they rest on.

    Args:
        job: that will keep them, its lengths decided.
    """
    decisions = tuple(_decisions(sized))
    reasons = tuple(reason for one in decisions for reason in _reasons(sized, one))
    digest = size_digest(with_decisions(job, decisions, ()))
    return tuple(replace(one, digest=digest) for one in decisions), reasons


def kept(job: Job, kinds: Kinds, routes: Routes, sized: Sized) -> Job:
    """The job keeping its lengths, sizes and ratings as they are worked out now; what is cut stays as it was."""
    cut = cut_wires(job)
    old = [
        (one.sheet, one.row, one.column)
        for one in job.decisions
        if (one.sheet == "wires" and one.column == SIZE and one.row not in cut) or one.column == RATING
    ]
    job = with_lengths(without_decisions(job, old), kinds, routes)
    return with_decisions(job, *decisions_of(sized, job))


def written(job: Job, kinds: Kinds, routes: Routes, sized: Sized) -> Job:
    """The job with lengths, sizes and ratings written into their cells as if typed; what is cut stays as it is."""
    cut = cut_wires(job)
    job = kept(job, kinds, routes, sized)
    columns = (SIZE, RATING, "length_mm")
    return adopted(job, [one for one in job.decisions if one.column in columns and one.row not in cut])


def _decisions(sized: Sized) -> Iterator[Decision]:
    for name, size_mm2 in sized.sizes_mm2().items():
        if sized.wires[name].length_by != "taken":
            yield Decision(
                sheet="wires",
                row=name,
                column=SIZE,
                value=text_of_figure(size_mm2),
                decided_by=sized.wires[name].decided_by,
            )
    for name, rating_a in sized.ratings_a().items():
        yield Decision(
            sheet="parts",
            row=name,
            column=RATING,
            value=text_of_figure(rating_a),
            decided_by=sized.fuses[name].decided_by,
        )


def _reasons(sized: Sized, decision: Decision) -> Iterator[Reason]:
    thing: SizedWire | SizedFuse = sized.wires[decision.row] if decision.sheet == "wires" else sized.fuses[decision.row]
    for ask in thing.asks:
        source, place = ask.source, place_of(thing, ask)
        yield Reason(
            sheet=decision.sheet,
            row=decision.row,
            column=decision.column,
            limit=ask.limit,
            asks="" if ask.asks is None else text_of_figure(ask.asks),
            says=wire_says(thing, ask) if isinstance(thing, SizedWire) else fuse_says(thing, ask),
            when=_when(sized, ask),
            rests_on=ask.rests_on,
            method=method_of(ask),
            table=table_of(thing, ask),
            source=f"{source}: {place}" if source and place else source,
        )


def _when(sized: Sized, ask: Ask) -> Condition:
    state = sized.state_of(ask.values)
    return parse_condition(when_text(tuple(state.items()))) if state else ALWAYS
