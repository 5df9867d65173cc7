"""The papers of the first start: one page for the wall, the stop on every page, the numbers with their ways."""

from __future__ import annotations

import pypdfium2
import pytest

from loomwright.calibration.engine import engine_of
from loomwright.calibration.starting import starting_numbers
from loomwright.handover.start_sheet import start_sheet
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.startup.first_start import first_start
from loomwright.startup.steps import step_stages
from loomwright.writers.start_paper import start_pdf
from loomwright.writers.start_tables import table_chart

KNOWN = {"displacement_cc": 1998, "cylinders": 4, "injector_cc_per_min": 270, "injector_kpa": 300}


def job_with_everything():
    """A job that brings as many items into the list as kinds can."""
    kinds = sorted(
        {entry["kind"] for stage in step_stages() for step in stage.steps for entry in step.only if "kind" in entry}
    )
    job = Job()
    for number, kind in enumerate(kinds):
        job = add_row(job, "parts", {"id": f"P{number}", "kind": kind})
    return job


def letters(text):
    """Without what a line may end at."""
    return "".join(letter for letter in text if letter.isalnum())


def pages_of(pdf):
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pypdfium2.PdfDocument(pdf)]


@pytest.mark.parametrize("job", [Job(), job_with_everything()], ids=["nothing known", "everything fitted"])
def test_the_wall_is_one_page_whatever_the_job(job):
    made = first_start(job)
    pages = pages_of(start_pdf(start_sheet("A car", made, None, "No engine is known."), {}))
    wall = letters(pages[0])
    assert all(letters(stage.title) in wall for stage in made.stages)
    last = made.stages[-1].items[-1].does.split()[0]
    assert last in pages[0]
    assert "If not:" not in pages[0], "the list begins behind it"
    assert "If not:" in pages[1]
    assert all(page.count("STOP: key off") == 1 for page in pages)


def test_numbers_tables_and_their_drawings_come_behind_the_list():
    numbers = starting_numbers(engine_of(KNOWN))
    charts = {one.name: table_chart(one) for one in numbers.tables}
    sheet = start_sheet("A car", first_start(Job()), numbers)
    pdf = start_pdf(sheet, charts)
    words = " ".join(pages_of(pdf))
    assert "conservative starting point" in words
    assert "pulse rpm / 120000" in words
    assert all(one.says.split(";")[0].split(",")[0][:20] in words for one in numbers.tables)
    assert "1.552" in words, "the delay at 8 V"
    assert len(pdf) > len(start_pdf(sheet, {}))
    assert pdf == start_pdf(sheet, charts), "the same bytes for the same sheet"


def test_without_an_engine_it_says_what_is_missing():
    words = " ".join(
        pages_of(start_pdf(start_sheet("A car", first_start(Job()), None, "displacement_cc is missing"), {}))
    )
    assert "displacement_cc is missing" in words


def test_a_command_within_a_sentence_stands_without_its_ticks_and_a_source_is_named_once():
    made = first_start(job_with_everything())
    assert any("`" in item.does + item.fails for stage in made.stages for item in stage.items), "else nothing is tested"
    words = " ".join(pages_of(start_pdf(start_sheet("A car", made, None, "No engine is known."), {})))
    assert "loomwright timing" in words
    assert "`" not in words
    assert "8 to 12°" in words
    assert "(common-practice) [common-practice]" not in words
