"""How does a job itself say the state that an old wire is looked at in?

A look names a control by the word it usually has: light=side. Where the job's own switch is called otherwise, `lights`,
the reading is written down with that name, so that the sheet stays one that can be read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from loomwright.job.conditions import parse_condition
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.variables import variables_of
from loomwright.survey.records import NextReading
from loomwright.tables.kinds import load_kinds
from loomwright.tables.old_wires import wire_looks

__all__ = ["said_by", "said_in"]


def said_in(job: Job) -> Mapping[str, str]:
    """Control as a look names it, such as light=side -> the same with the job's own word for it.

    Example:
        >>> said_in(Job())
        {}
    """
    own = {one.name: one.values for one in variables_of(job, kinds_of(job, load_kinds()))}
    found: dict[str, str] = {}
    for look in wire_looks():
        names = [name for name in own if name in look.control]
        for name in names[:1]:
            value = next((each for each in own[name] if each in look.at), "")
            if value:
                found |= {f"{other}={each}": f"{name}={value}" for other in look.control for each in look.at}
                found |= {f"{name}={each}": f"{name}={each}" for each in look.at if each in own[name]}
    return {usual: said for usual, said in found.items() if usual != said}


def said_by(reading: NextReading, said: Mapping[str, str]) -> NextReading:
    """A reading with its state as the job says it.

    Args:
        said: of `said_in`.
    """
    terms = [term for term in reading.when.split(", ") if term]
    when = ", ".join(said.get(term, term) for term in terms)
    return reading if when == reading.when else replace(reading, when=parse_condition(when).text)
