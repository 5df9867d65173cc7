"""Do the rows of a job fit each other? Every question that one cell alone cannot answer.

Ids that stand twice or that nobody has, points that are not there, kinds and their settings, state variables and
their values, supplies and outputs. Each page asks its own questions and gives `Problem`s; none of them stops the
others. What a person may leave open (a terminal without a wire, a wire without a size) is no problem of reading;
rules look at it later.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.checking.conditions import check_conditions, check_variables
from loomwright.job.checking.connectors import check_connectors
from loomwright.job.checking.decisions import check_decisions
from loomwright.job.checking.kinds import check_contacts, check_kinds, check_own_kinds
from loomwright.job.checking.look import look_at
from loomwright.job.checking.names import check_keys, check_metals, check_references, check_vehicle
from loomwright.job.checking.outputs import check_drives, check_needs, check_pins
from loomwright.job.checking.points import check_point_columns, check_requirements, check_wires
from loomwright.job.checking.supplies import check_battery, check_feeds, check_readings, check_rings
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.refusals import Problem

__all__ = ["problems_in"]

_QUESTIONS = (
    check_vehicle,
    check_keys,
    check_references,
    check_metals,
    check_kinds,
    check_contacts,
    check_wires,
    check_point_columns,
    check_requirements,
    check_connectors,
    check_pins,
    check_needs,
    check_drives,
    check_variables,
    check_conditions,
    check_battery,
    check_feeds,
    check_rings,
    check_readings,
    check_decisions,
)


def problems_in(
    job: Job,
    kinds: Kinds,
    *,
    numbers: Mapping[str, Sequence[int]] | None = None,
    unread: frozenset[str] = frozenset(),
) -> list[Problem]:
    """Everything in which the rows of a job do not fit each other.

    Args:
        kinds: the library of part kinds.
        numbers: sheet -> number of each row in the spreadsheet; as if written anew where left out. [-]
        unread: sheets whose ids are not all known, so that nothing is said about what names them.
    """
    own_kinds, problems = check_own_kinds(job, kinds, numbers or {})
    look = look_at(job, {**kinds, **own_kinds}, numbers=numbers or {}, unread=unread, half_made=bool(problems))
    for ask in _QUESTIONS:
        problems.extend(ask(look))
    return problems
