"""Which tests may be answered together, in one press: of one sort, at one place, where nothing is measured?

Of the dead tests two sorts are so: what is tried by hand and answered yes (each wire in its cavity, tugged, a pin drawn
through), those of one sort at one place of the car; and what has to be open (to the body, to the supply, to the cavity
beside), those of one sort in one connector, swept along it with the probe while the meter shows open. A test with a
figure to read is never in a group, nor one that has been answered. Each is kept as its own row, which says that it was
answered together with others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.plugs import held_terminals
from loomwright.proving.plan import PlannedTest, Stood

__all__ = ["MOST_TOGETHER", "TestGroup", "group_of", "together_note"]

MOST_TOGETHER = 100
"""More are not answered in one press: our choice [-]."""
_STAGE = "dead"
_YES, _OPEN = "yes", "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class TestGroup:
    """Tests that may be answered together. does: what each shows.   at: the place or the connector.

    answer: of all of them, `yes` or `open`.
    """

    __test__ = False

    does: str
    at: str
    answer: str
    tests: tuple[PlannedTest, ...]


def group_of(job: Job, test: PlannedTest, stood: Sequence[Stood]) -> TestGroup | None:
    """The tests that may be answered with one, itself among them; None where it stands alone.

    Args:
        stood: every test of the plan with its records.
    """
    plugs = _plugs(job, [one.test for one in stood])
    key = _key(test, plugs)
    if key is None:
        return None
    alike = [one.test for one in stood if (one.test.id == test.id or not one.rows) and _key(one.test, plugs) == key]
    if len(alike) < 2:
        return None
    answer, _, at = key
    return TestGroup(does=test.does, at=at, answer=answer, tests=tuple(alike[:MOST_TOGETHER]))


def together_note(many: int) -> str:
    """What the row of a test says that was answered with others.

    Args:
        many: tests that were answered, itself among them. [-]
    Example:
        >>> together_note(2), together_note(9)
        ('answered together with 1 other of its sort', 'answered together with 8 others of its sort')
    """
    return f"answered together with {many - 1} other{'s' if many > 2 else ''} of its sort"


def _key(test: PlannedTest, plugs: Mapping[str, str]) -> tuple[str, str, str] | None:
    """Answer, sort and place of a test that may be answered with others; None where it may not."""
    if test.stage != _STAGE:
        return None
    sort = test.id.split("/")[1]
    if test.measure == "hand" and test.word == _YES and test.place:
        return _YES, sort, test.place
    if test.measure == "ohms" and test.word == _OPEN and test.high is None:
        return _OPEN, sort, plugs.get(test.point, test.point.split(".")[0])
    return None


def _plugs(job: Job, tests: Sequence[PlannedTest]) -> Mapping[str, str]:
    """Point -> the connector it is in, where its part has connectors."""
    there: dict[str, dict[str, None]] = {}
    for test in tests:
        part, _, terminal = test.point.partition(".")
        there.setdefault(part, {})[terminal] = None
    return {
        f"{row.part}.{terminal}": row.id
        for row in job.connectors
        for terminal in held_terminals(job, row, there.get(row.part, {}))
    }
