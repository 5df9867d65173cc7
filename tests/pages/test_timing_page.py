"""The base timing in the browser: readings typed, what to correct told, what is no reading set apart beside its row."""

from __future__ import annotations

import pytest

from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("timing"), small=SMALL)
    yield shelf
    shelf.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


def asked(offset=0.0, delay_us=0.0, gain=1.0, commanded=(10, 10, 10, 16, 20), more=""):
    rows = zip((1000, 2000, 3000, 4000, 5000), commanded, strict=True)
    cells = [
        f"rpm{n}={rpm}&commanded{n}={deg}&seen{n}={gain * deg + offset - 6e-6 * rpm * delay_us:.3f}"
        for n, (rpm, deg) in enumerate(rows, start=1)
    ]
    return "/j/small/timing?" + "&".join(cells) + more


def test_offset_and_delay_are_told_with_how_sure_and_which_way(client):
    page = Page(client.get(asked(offset=3.0, delay_us=50.0)).text)
    assert page.unclosed == []
    assert "Fan and belt look still" in page.words
    assert "must come 3.0° later" in page.words
    assert "50 µs late" in page.words
    assert "95 % confidence" in page.words
    chart = next(one["src"] for one in page.all("img") if "readings.svg" in one.get("src", ""))
    drawn = client.get(chart).text
    assert drawn.count("<circle") == 5
    assert drawn.count("<polyline") == 3, "the line and both sides of its band"


@pytest.mark.parametrize(
    ("query", "mistake"),
    [
        (asked(offset=12.0, more="&teeth=60-2"), "2 teeth off"),
        (asked(more="&rpm7=900&commanded7=10&seen7=370"), "a turn off"),
        (asked(gain=2.0, more="&wasted=yes"), "a light that reads twice"),
        (asked(more="&rpm7=2200&commanded7=10&seen7=191"), "a light on another cylinder"),
        (asked(more="&rpm7=250&commanded7=10&seen7=10&stroke7=exhaust"), "a turn off"),
        (asked(delay_us=-60.0), "earlier with speed"),
    ],
)
def test_each_mistake_is_recognised(client, query, mistake):
    assert f"Recognised {mistake}" in Page(client.get(query).text).words


def test_a_reading_set_apart_is_told_at_its_own_row(client):
    text = client.get(asked(offset=1.0, more="&rpm7=2200&commanded7=10&seen7=192&cylinder7=3")).text
    row = text.split('name="rpm7"')[1].split('name="rpm8"')[0]
    assert "the light was on cylinder 3" in row
    drawn = client.get(next(one["src"] for one in Page(text).all("img") if "readings" in one.get("src", ""))).text
    assert "7: +182°" in drawn, "by the number of its row"


def test_half_a_reading_and_no_wheel_are_told(client):
    answer = client.get("/j/small/timing?rpm1=1000&seen1=10&teeth=round")
    assert answer.status_code == 422
    assert "reading 1, Commanded" in Page(answer.text).words
    assert client.get(asked(more="&teeth=round")).status_code == 422
    assert client.get("/j/small/timing/readings.svg").status_code == 409
    assert client.get("/j/small/timing/readings.svg?rpm1=1000").status_code == 422


def test_readings_are_kept_with_the_job_once_and_stand_there_without_an_address(client, shelf):
    cells = {
        f"{name}{n}": str(value)
        for n in (1, 2, 3)
        for name, value in (("rpm", 1000 * n), ("commanded", 10), ("seen", 12))
    }
    sent = client.post("/j/small/timing", data={**cells, "teeth": "60-2"}, follow_redirects=False)
    assert (sent.status_code, sent.headers["location"]) == (303, "/j/small/timing")
    client.post("/j/small/timing", data=cells)
    kept = shelf.now("small").job.light_readings
    assert [(row.rpm, row.seen_deg, row.wheel) for row in kept] == [(1000.0 * n, 12.0, "60-2") for n in (1, 2, 3)]
    page = Page(client.get("/j/small/timing").text)
    assert page.unclosed == []
    assert "On record: 3 readings" in page.words
    assert "must come 2.0° later" in page.words
    assert "At 200/min: 200 Hz" in page.words
    assert client.post("/j/small/timing", data={"rpm1": "1000"}).status_code == 422
    assert len(shelf.now("small").job.light_readings) == 3
