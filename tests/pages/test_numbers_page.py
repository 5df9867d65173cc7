"""Starting numbers in the browser: asked for while too little is known, each with its way, tables as CSV and SVG."""

from __future__ import annotations

import csv

import pytest

from loomwright.calibration.start_records import HEADINGS
from loomwright.pages.records.numbers_page import FIELDS
from loomwright.startup.job_numbers import ENGINE_NAMES
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

KNOWN = {
    "displacement_cc": "1998",
    "cylinders": "4",
    "injector_cc_per_min": "270",
    "injector_kpa": "300",
    "coil_mh": "3",
    "coil_ohm": "0.5",
    "coil_a": "7",
    "volts": "8 11 14",
}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("numbers"), small=SMALL)
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


@pytest.fixture(scope="module")
def known(client):
    assert client.post("/j/small/numbers", data=KNOWN, follow_redirects=False).status_code == 303
    return client


def test_too_little_is_told_and_what_cannot_be_meant_is_not_kept(client, shelf):
    page = Page(client.get("/j/small/numbers").text)
    assert "What is missing" in page.words
    assert "Displacement, all cylinders [cc]: nothing there" in page.words
    before = shelf.now("small").revision
    answer = client.post("/j/small/numbers", data={"displacement_cc": "-4", "volts": "14 8"})
    assert answer.status_code == 422
    words = Page(answer.text).words
    assert "2 to 64 numbers that rise" in words
    assert "50 to 20000" in words
    assert shelf.now("small").revision == before


def test_every_number_has_its_way_and_its_mark(known, shelf):
    assert {row.name: row.value for row in shelf.now("small").job.vehicle}["volts"] == "8 11 14"
    page = Page(known.get("/j/small/numbers").text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    assert "conservative starting point" in page.words
    assert "pulse rpm / 120000" in page.words
    marks = sum("start-mark" in one.get("class", "") for one in page.all("span"))
    figures = sum(one.get("class") == "start-value" for one in page.all("p"))
    assert figures > 12
    assert marks == figures + len(page.all("table"))


def test_tables_come_at_the_breakpoints_of_the_controller_as_csv_and_as_lines(known):
    rows = list(csv.reader(known.get("/j/small/numbers/opening_delay.csv").text.splitlines()))
    # the coil of the worked example: 1.552 ms at 8 V, 1.048 at 11, 0.848 at 14
    assert rows == [["supply_v", "delay_ms"], ["8", "1.552"], ["11", "1.048"], ["14", "0.848"]]
    drawn = known.get("/j/small/numbers/spark.svg")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert drawn.text.count("<polyline") == 9, "a line a column"
    assert "<rect" not in drawn.text.split("<rect", 2)[-1], "one ground, no coloured cells"
    assert known.get("/j/small/numbers/moon.csv").status_code == 404


def test_it_stands_beside_the_first_start(known):
    page = Page(known.get("/j/small/start").text)
    assert any(one.get("href", "").endswith("/j/small/numbers") for one in page.all("a"))


def test_every_field_is_a_name_the_engine_knows_and_every_heading_has_words(known):
    assert set(FIELDS) <= ENGINE_NAMES
    page = known.get("/j/small/numbers").text
    assert "most_rpm" not in Page(page).words
    assert set(HEADINGS) >= {"rpm", "supply_v", "coolant_c"}


def test_what_cannot_be_meant_is_told_by_the_words_of_its_field(known):
    answer = known.post("/j/small/numbers", data={**KNOWN, "shots": "2.5", "most_kpa": "1000"})
    assert answer.status_code == 422
    words = Page(answer.text).words
    assert "Shots of each injector in two turns: found '2.5', allowed: 1 to 16, a whole number" in words
    assert "Most in the manifold, absolute [kPa]: found '1000', allowed: 80 to 400" in words


def test_a_table_of_many_columns_is_set_closer(known, shelf):
    assert "is-many" not in known.get("/j/small/numbers").text
    assert known.post("/j/small/numbers", data={**KNOWN, "most_kpa": "250"}, follow_redirects=False).status_code == 303
    page = known.get("/j/small/numbers").text
    assert page.count("is-many") == 3, "efficiency, mixture and spark"
    assert "above 100 kPa only once knock is listened for" in Page(page).words
    assert known.post("/j/small/numbers", data={**KNOWN, "most_kpa": ""}, follow_redirects=False).status_code == 303
