"""The test plan as a PDF, read back: how the car stands is said on every page, and never alone at the foot of one."""

from __future__ import annotations

import pypdfium2
import pytest

from loomwright.handover.proof_sheet import ProofGroup, ProofRow, ProofSheet, ProofStage
from loomwright.writers.proof_paper import proof_pdf


def row(number: int, place: str) -> ProofRow:
    """One test that is still to be made."""
    return ProofRow(
        id=f"live/P{number}",
        point=f"P{number}.1",
        to="",
        does="live",
        measure="volts",
        expect="12.6 V",
        band="11.9 to 13.3 V",
        choices=(),
        read="",
        verdict="",
        earlier="",
        wires=(f"W{number}",),
        place=place,
    )


def pages(groups: tuple[ProofGroup, ...]) -> list[list[str]]:
    """The lines of each page, without its foot."""
    count = sum(len(group.rows) for group in groups)
    stage = ProofStage(title="Live tests", cautions=(), groups=groups, tests=count, taken=0, failed=0)
    sheet = ProofSheet(title="A car", stages=(stage,), tests=count, taken=0, failed=0)
    with pypdfium2.PdfDocument(proof_pdf(sheet)) as made:
        told = [page.get_textpage().get_text_bounded().splitlines() for page in made]
    return [[line.strip() for line in page if line.strip() and "page " not in line] for page in told]


@pytest.mark.parametrize("first", range(14, 40))
def test_the_state_stands_over_its_tests_on_each_page_and_not_at_the_foot(first):
    groups = (
        ProofGroup(when="key=run", put="", rows=tuple(row(k, "left wing") for k in range(first))),
        ProofGroup(when="key=start", put="", rows=tuple(row(100 + k, "dash") for k in range(30))),
    )
    told = pages(groups)
    assert len(told) > 1
    for page in told[1:]:
        states = [line for line in page if line.startswith(("key=run", "key=start"))]
        first_test = next(k for k, line in enumerate(page) if line.startswith("P"))
        assert states, "a page of tests without a word of how the car stands"
        assert page.index(states[0]) < first_test
    for page in told:
        assert not page[-1].startswith(("key=", "dash", "left wing"))
