"""Which findings touch some rows of the job, and where does the car show each?"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from loomwright.findings import Finding
from loomwright.job.variables import Variable
from loomwright.pages.addresses import JobLinks
from loomwright.pages.records.finding_lines import FindingLine, line_of, state_in

__all__ = ["findings_about"]


def findings_about(
    findings: Iterable[Finding], names: Collection[str], variables: Sequence[Variable], links: JobLinks
) -> tuple[FindingLine, ...]:
    """The findings that name any of some ids, or a point of them, in their order; roots only.

    Args:
        names: ids of rows.
        variables: those of the car, for the state in which each was found.
    """
    found: list[FindingLine] = []
    for finding in findings:
        places = (*finding.at, *finding.touches, *finding.path)
        if any(place in names or place.partition(".")[0] in names for place in places):
            line = line_of(finding, len(found) + 1, links)
            if finding.when:
                line = replace(line, car=links.car(*state_in(finding.when, variables)))
            found.append(line)
    return tuple(found)
