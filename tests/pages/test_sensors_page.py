"""Sensors in the browser: a table from its points, what does not agree told, nothing fitted through misread points."""

from __future__ import annotations

import csv

import pytest

from loomwright.job.edits import add_row
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

THREE = "thermistor=0:5975+50:806.9+100:175.7"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("sensors"), small=SMALL)
    yield shelf
    shelf.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


def test_three_points_give_the_table_and_its_file(client):
    page = Page(client.get(f"/j/small/sensors?{THREE}&pull_up=1000&breakpoints=10").text)
    assert page.unclosed == []
    assert "A 1.335761110e-03" in page.words
    assert "Pull-up for this span" in page.words
    href = next(one["href"] for one in page.all("a") if "table.csv" in one.get("href", ""))
    rows = list(csv.reader(client.get(href).text.splitlines()))
    assert rows[0] == ["sensor_v", "sensor_c", "sensor_ohm"]
    assert len(rows) == 11
    assert client.get(href.replace(".csv", ".svg")).text.count("<polyline") == 2


def test_misread_points_are_told_and_give_no_table(client):
    answer = client.get("/j/small/sensors?thermistor=0:5975+50:6000+100:175.7&breakpoints=many")
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "Nothing was worked out" in page.words
    assert page.all("table") == []
    assert client.get("/j/small/sensors/table.csv").status_code == 409


def test_sensors_that_do_not_agree_are_told_before_the_crank(client):
    asked = "hours=12&air_c=18&coolant_sensor_c=26&baro_kpa=100&manifold_kpa=100&earth=coolant=2.51/2.56;air=2.4/2.46"
    words = Page(client.get(f"/j/small/sensors?{asked}").text).words
    assert "The coolant sensor says 26 °C" in words
    assert "The manifold sensor" not in words
    assert "One earth that is up" in words
    assert "All of them agree" in Page(client.get("/j/small/sensors?hours=12&air_c=18&coolant_sensor_c=19").text).words


def test_points_are_kept_under_their_sensor_and_come_back_by_its_name(client, shelf):
    typed = {"sensor": "coolant", "thermistor": "0:5975 50:806.9 100:175.7", "pull_up": "1000"}
    sent = client.post("/j/small/sensors", data=typed, follow_redirects=False)
    assert (sent.status_code, sent.headers["location"]) == (303, "/j/small/sensors?of=coolant")
    assert [row.shown for row in shelf.now("small").job.sensor_points] == [5975.0, 806.9, 175.7]
    page = Page(client.get("/j/small/sensors?of=coolant").text)
    assert page.unclosed == []
    assert "A 1.335761110e-03" in page.words
    assert "5975 ohm at 0 °C" in page.words
    assert client.post("/j/small/sensors", data={"thermistor": "0:5975 50:806.9"}).status_code == 422
    assert client.post("/j/small/sensors", data={}).status_code == 422
    assert len(shelf.now("small").job.sensor_points) == 3


def test_the_job_s_sensors_fill_in_the_pull_up_of_their_pin(client, shelf):
    job = shelf.now("small").job
    job = add_row(job, "parts", {"id": "CTS", "kind": "sensor_ntc", "name": "coolant"})
    job = add_row(job, "parts", {"id": "ECX", "kind": "controller"})
    pin = {"id": "X1", "part": "ECX", "terminal": "A1", "abilities": "temperature_input", "pull_up_ohm": "1500"}
    job = add_row(add_row(job, "controller_pins", pin), "wires", {"id": "WX1", "from": "CTS.1", "to": "ECX.A1"})
    shelf.add("warm", job, who="Ines")
    page = Page(client.get("/j/warm/sensors").text)
    assert "CTS coolant, read by its ohms at ECX.A1, pull-up 1500 Ω" in page.words
    assert any(one.get("href", "").endswith("/j/warm/sensors?of=CTS") for one in page.all("a"))
    filled = Page(client.get("/j/warm/sensors?of=CTS").text)
    assert any(one.get("name") == "pull_up" and one.get("value") == "1500" for one in filled.all("input"))


def test_a_half_filled_form_is_told_by_the_words_of_its_fields(client):
    answer = client.get("/j/small/sensors?coolant_sensor_c=20&thermistor=0:5975+50")
    assert answer.status_code == 422
    words = Page(answer.text).words
    assert "Two or three of °C:Ω: found '50'" in words
    assert "It has stood [h]: nothing there" in words
    assert "Thermometer beside it [°C]: nothing there" in words
    assert "air_c" not in words
