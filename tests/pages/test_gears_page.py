"""The page of gear changes: the job's own gearbox where its sheet names one, else the made-up one, and it says so."""

from __future__ import annotations

import pytest

from loomwright.store.text_rows import AddRow
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

ROWS = {
    "gear.title": "my three speeds",
    "gear.ratios": "[2.4, 1.47, 1.0]",
    "gear.final_drive": "3.9",
    "gear.tyre": "205/55R16",
    "gear.mass_kg": "1300",
    "gear.engine.limit_rpm": "6200",
    "gear.engine.litres": "2.0",
}


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL)
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def test_a_job_without_a_gearbox_shows_the_made_up_one_and_says_so(client):
    page = Page(client.get("/j/small/gears").text)
    assert "This is a made-up gearbox" in page.words
    assert "five seconds at most" in page.words.lower()
    assert page.unclosed == []
    other = Page(client.get("/j/small/gears?programme=towing").text)
    assert "Lines, towing" in other.words
    assert client.get("/j/small/gears?programme=racing").status_code >= 400


def test_charts_and_figures_are_had_as_files(client):
    for name in ("lines.svg", "hunting.svg"):
        drawn = client.get(f"/j/small/gears/{name}?programme=sport")
        assert drawn.headers["content-type"].startswith("image/svg")
        assert "programme sport" in drawn.text
    assert client.get("/j/small/gears/lines.csv").text.startswith("line,km/h,0,10")


def test_the_jobs_own_gearbox_is_read_from_its_sheet(client, shelf):
    edits = [AddRow(sheet="vehicle", cells={"name": name, "value": value}) for name, value in ROWS.items()]
    assert shelf.edit("small", edits, who="somebody", why="gearbox").is_taken
    page = Page(client.get("/j/small/gears").text)
    assert "my three speeds" in page.words
    assert "made-up" not in page.words
    assert "torque curve estimated" in page.words
