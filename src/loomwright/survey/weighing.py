"""All old wires of a job, weighed: which there are, what was read, how likely each function is.

In: the job. Out: one `Weighed`, which the odds, the next reading and the doubts are all worked out from. The weight of
a function for a wire is its share of a car's wires x colour x place x how well it explains the readings; the joint odds
are those of `joint`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.job.job import Job
from loomwright.job.rows import OldWire
from loomwright.survey.evidence import stub_of, weighable
from loomwright.survey.joint import joint_odds
from loomwright.survey.likelihood import Shown, shown_by, weigh
from loomwright.survey.looks_of_wires import colour_weights, place_weights
from loomwright.survey.records import Evidence, Query
from loomwright.tables.old_wires import OWN_SHEET, WireFunction, functions_with

__all__ = ["Weighed", "functions_of", "joint_of_stubs", "old_wires_of", "weighed"]

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What is known of all old wires.

    variants: wires x functions x (sound, dead): how well each explains the readings. [-]
    before: wires x functions: what is held before any reading. [-]   odds: all wires together. [0..1]
    """

    wires: tuple[OldWire, ...]
    stubs: tuple[str, ...]
    functions: tuple[WireFunction, ...]
    shown: Shown
    evidence: tuple[tuple[Evidence, ...], ...]
    queries: tuple[Query, ...]
    variants: Numbers
    before: Numbers
    odds: Numbers
    is_exact: bool
    conventions: dict[str, float]

    @property
    def weights(self) -> Numbers:
        """Wires x functions: what is held before, times how well the readings are explained. [-]"""
        return np.asarray(self.before * self.variants.sum(axis=2))


def functions_of(job: Job) -> tuple[WireFunction, ...]:
    """The functions that count for a job: ours, and those of its own sheet."""
    return functions_with(job.extra_sheets.get(OWN_SHEET, ()))


def old_wires_of(job: Job) -> tuple[OldWire, ...]:
    """The old wires there are: the rows, and those that were read and have no row yet."""
    known = {wire.id for wire in job.old_wires}
    strange = dict.fromkeys(row.old_wire for row in job.readings if row.old_wire and row.old_wire not in known)
    return (*job.old_wires, *(OldWire(id=name) for name in strange))


def weighed(job: Job) -> Weighed:
    """Everything the readings, the colours and the places of a job say of its old wires."""
    functions = functions_of(job)
    shown = shown_by(functions)
    wires = old_wires_of(job)
    evidence, queries = weighable(job)
    by_wire: dict[str, list[Evidence]] = {wire.id: [] for wire in wires}
    for each in evidence:
        by_wire[each.wire].append(each)
    read = tuple(tuple(by_wire[wire.id]) for wire in wires)
    variants = weigh(shown, read)
    share = np.array([function.share for function in functions])
    alone = share * variants.sum(axis=2)
    alone = alone / alone.sum(axis=1, keepdims=True)
    colours, conventions = colour_weights(wires, functions, alone)
    before = share * colours * place_weights(wires, functions).reshape(len(wires), len(functions))
    before = before / before.sum(axis=1, keepdims=True)
    stubs = tuple(stub_of(wire.stub) for wire in wires)
    odds, is_exact = joint_of_stubs(before * variants.sum(axis=2), functions, stubs)
    return Weighed(
        wires=wires,
        stubs=stubs,
        functions=functions,
        shown=shown,
        evidence=read,
        queries=queries,
        variants=variants,
        before=before,
        odds=odds,
        is_exact=is_exact,
        conventions=conventions,
    )


def joint_of_stubs(
    weights: Numbers, functions: tuple[WireFunction, ...], stubs: tuple[str, ...]
) -> tuple[Numbers, bool]:
    """The joint odds, source stubs and load stubs each among themselves: a cut wire has one of each.

    Args:
        weights: wires x functions. [-]
        functions: in the order of the columns.
        stubs: source or load, wire by wire.
    """
    odds = np.zeros_like(weights)
    exact = True
    for stub in dict.fromkeys(stubs):
        rows = [row for row, each in enumerate(stubs) if each == stub]
        odds[rows], whole = joint_odds(weights[rows], functions)
        exact = exact and whole
    return odds, exact
