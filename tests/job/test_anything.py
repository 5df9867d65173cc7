"""Whatever is typed, a sheet is read or refused with places; nothing else ever comes out."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, headings
from loomwright.job.variables import variables_of
from loomwright.refusals import BadDocument
from loomwright.tables.kinds import load_kinds
from tests.job.small import SOUND, sheets

WORDS = sorted({cell for rows in SOUND.values() for row in rows for cell in row.values()})
BITS = [
    "1,234",
    "-1",
    "key=run",
    "a|b",
    "X1.3p",
    "~ECU.A1",
    "body.",
    ".1",
    "always",
    "=",
    ";",
    "$ohm",
    "_case",
    "*",
    "__class__",
]
cells = st.one_of(st.sampled_from(WORDS), st.sampled_from(BITS), st.text(max_size=8))
columns_by_sheet = {sheet: [*headings(sheet), "own", "ID"] for sheet in SHEETS}


@st.composite
def junk(draw):
    """The small sound job with cells, rows and sheets typed over at random."""
    named = sheets() if draw(st.booleans()) else {}
    for sheet in draw(st.lists(st.sampled_from(sorted(SHEETS)), max_size=4, unique=True)):
        row = st.dictionaries(st.sampled_from(columns_by_sheet[sheet]), cells, max_size=8)
        named.setdefault(sheet, []).extend(draw(st.lists(row, max_size=4)))
    for _ in range(draw(st.integers(0, 3)) if named else 0):
        sheet = draw(st.sampled_from(sorted(named)))
        if named[sheet]:
            draw(st.sampled_from(named[sheet]))[draw(st.sampled_from(columns_by_sheet[sheet]))] = draw(cells)
    return named


@settings(max_examples=150)
@given(junk())
def test_a_job_or_a_refusal_with_places(named):
    try:
        job = job_from_text(named)
    except BadDocument as refusal:
        assert refusal.problems
        for problem in refusal.problems:
            assert problem.allowed
            assert problem.mend
            assert problem.sheet in SHEETS
            assert problem.row is None or 1 <= problem.row <= len(named[problem.sheet]) + 1
            assert problem.column in ("", "kind", *headings(problem.sheet))
        assert len(set(refusal.problems)) == len(refusal.problems)
        return
    assert isinstance(job, Job)
    for variable in variables_of(job, load_kinds()):
        assert variable.rest in variable.values
        assert len(set(variable.values)) == len(variable.values)
        assert set(variable.momentary) <= set(variable.values)
