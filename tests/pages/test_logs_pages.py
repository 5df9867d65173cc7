"""Recorded drives in the browser: taken in, judged, drawn, adopted; and what is left before the dyno."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import polars as pl
import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.logs.beside import Beside
from loomwright.logs.dyno import readiness
from loomwright.logs.judged import judged
from loomwright.logs.mapping import Mapped
from loomwright.pages.drive_papers import drive_papers
from loomwright.pages.paper_bench import PaperBench
from loomwright.pages.paper_files import asked_words
from loomwright.pages.records.logs_page import View, log_page
from loomwright.pages.routes import gears, logs
from loomwright.store.log_files import KeptLog
from tests.logs.drive import Plan, bilinear, made
from tests.logs.reading import recorded
from tests.logs.test_mixture import LOAD, RPM, wants
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

TABLE = (
    "kPa\t"
    + "\t".join(f"{one:g}" for one in RPM)
    + "".join("\n" + "\t".join([f"{load:g}", *["60"] * RPM.size]) for load in LOAD)
)

PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made_shelf = shelf_in(tmp_path_factory.mktemp("logs"), small=SMALL)
    yield made_shelf
    made_shelf.close()


@pytest.fixture(scope="module")
def client(shelf):
    return quiet_client(shelf)


@pytest.fixture(scope="module")
def here(client, tmp_path_factory) -> str:
    """The page of a drive that was taken in and read, for a job with its fuel table."""
    path = tmp_path_factory.mktemp("drive") / "hill road.csv"
    drive = made(Plan(seed=1, minutes=7.0, want=bilinear(RPM, LOAD, wants(1))))
    gear = 1 + sum((pl.col("Road Speed (km/h)") > kmh).cast(pl.Int64) for kmh in (30.0, 55.0))
    drive.with_columns(gear.alias("Gear")).write_csv(path)
    assert client.post("/j/small/logs/table", data={"table": TABLE}, follow_redirects=False).status_code == 303
    with path.open("rb") as file:
        sent = client.post(
            "/j/small/logs", files={"file": ("C:\\logs\\hill road.csv", file, "text/csv")}, follow_redirects=False
        )
    assert sent.status_code == 303
    address = sent.headers["location"]
    for _ in range(300):
        text = client.get(address).text
        if "Reading and judging" not in text:
            return address
        time.sleep(0.2)
    raise AssertionError("it is read still")


def test_a_drive_is_told_and_drawn(client, here):
    page = Page(client.get(here).text)
    assert page.unclosed == []
    for word in ("hill road.csv", "Attempts to start", "cold, 22 °C", "8 400", "Adopt the proposal", "steady visits"):
        assert word in page.words.replace("\u202f", " ")
    drawn = client.get(f"{here}/drive.svg?from=60&to=120&over=battery&over=engine_speed&mark=90").text
    assert drawn.startswith("<svg")
    assert "mark" in drawn
    assert "stroke-dasharray" in drawn
    for name in ("starts.svg", "cells.svg", "contours.svg"):
        assert client.get(f"{here}/{name}").headers["content-type"].startswith("image/svg")


def test_ways_to_look_closer_stay_within_the_drive(tmp_path):
    kept = KeptLog(key="0" * 12, name="a.csv", size=1, time="", path=tmp_path / "a", drawn=tmp_path / "b")
    drive = judged(recorded(made(Plan(minutes=1.0))), Mapped())
    view = View(from_s=400.0, to_s=500.0, over=("battery",))
    record = log_page(
        "small", kept, drive, view, whole_s=(0.0, 419.95), mapped=Mapped(), ready=readiness(drive, (), ())
    )
    ways = {one.key: one.href.removesuffix("#drive") for one in record.zooms}
    windows = {key: [float(one) for one in re.findall(r"(?:from|to)=([\d.]+)", href)] for key, href in ways.items()}
    assert windows["+"] == pytest.approx([405.0, 415.0], abs=0.1)
    assert windows["-"] == pytest.approx([390.0, 419.95], abs=0.1)
    assert windows["ArrowLeft"] == pytest.approx([390.0, 410.0], abs=0.1)
    assert all(href.endswith("over=battery") for href in ways.values())
    assert record.window == "6:40.0 to 6:59.9"


def test_a_proposal_is_adopted_as_one_revision_and_leaves_alone_what_was_not_driven(client, shelf, here):
    before = shelf.now("small")
    answer = client.post(f"{here}/adopt", follow_redirects=False)
    assert answer.status_code == 303
    after = shelf.now("small")
    assert after.revision == before.revision + 1
    figures = [
        float(one)
        for row in after.job.vehicle
        if row.name.startswith("fuel.") and row.name != "fuel.rpm"
        for one in row.value.split()
    ]
    assert sum(one == 60.0 for one in figures) > 5
    assert sum(one != 60.0 for one in figures) > 5
    assert all(60.0 * 0.919 < one < 60.0 * 1.081 for one in figures)


def test_where_a_drive_disagrees_the_fault_finder_is_asked_with_its_readings(client, shelf, here, monkeypatch):
    off = Beside(
        what="fan", rule="LOG-39", log=5.0, network=11.0, allowed=2.8, unit="A", is_off=True,
        state="key=run", wire=shelf.now("small").job.wires[0].id, clamp_a=5.0,
    )  # fmt: skip
    whole = logs.judged_log

    def with_fan(desk, snapshot, kept):
        # an earlier test made a revision, which is judged anew
        until = time.monotonic() + PATIENCE_S
        while (standing := whole(desk, snapshot, kept)).answer is None:
            assert time.monotonic() < until, "the drive was not judged anew"
            time.sleep(0.05)
        return replace(standing, answer=replace(standing.answer, beside=(off,)))

    assert client.post(f"{here}/why").status_code == 409, "all agrees"
    monkeypatch.setattr(logs, "judged_log", with_fan)
    page = Page(client.get(here).text)
    assert page.unclosed == []
    assert "Beside the solved car" in page.words
    assert "disagrees" in page.words
    sent = client.post(f"{here}/why", follow_redirects=False)
    assert sent.status_code == 303
    assert sent.headers["location"].startswith("/j/small/fault?hunt=drive")
    client.post(f"{here}/why", follow_redirects=False)
    [reading] = [row for row in shelf.now("small").job.readings if row.note == "LOG-39"]
    assert (reading.measure, reading.value, reading.when.text) == ("clamp", 5.0, "key=run")


def test_what_is_no_log_is_refused_and_nothing_of_it_stays(client, shelf):
    for name, data in (("photo.png", b"\x89PNG"), ("empty.csv", b"")):
        answer = client.post("/j/small/logs", files={"file": (name, data, "text/csv")}, follow_redirects=False)
        assert answer.status_code == 422
    assert not list(shelf.folder.glob("logs/*/*.part"))


def test_columns_are_kept_for_the_controller_and_wrong_ones_refused(client, shelf, here):
    text = '[columns]\n"RPM" = "engine_speed"\n[limits]\nlimit_rpm = 6200\n'
    assert client.post(f"{here}/mapping", data={"mapping": "x = ["}, follow_redirects=False).status_code == 422
    assert client.post(f"{here}/mapping", data={"mapping": text}, follow_redirects=False).status_code == 303
    kept = list(shelf.folder.glob("logs/mappings/*.toml"))
    assert len(kept) == 1
    assert "limit_rpm" in kept[0].read_text()


def test_the_dyno_page_says_what_is_open_and_gives_no_certificate(client, here):
    assert "/j/small/dyno/paper" in {one.get("href") for one in Page(client.get("/j/small/pack").text).all("a")}
    page = Page(client.get("/j/small/dyno").text)
    assert re.search(r"\d+ of 17 criteria are met", page.words)
    assert "Limits that are typical still" in page.words
    assert "The certificate" not in page.words
    assert client.get("/j/small/dyno/certificate").status_code == 409
    assert client.get("/j/small/dyno/paper").content.startswith(b"%PDF")


def test_a_recorded_drive_is_laid_over_the_gear_lines_and_can_be_taken_off(client, here, monkeypatch):
    monkeypatch.setattr(gears, "gears_apart", lambda job, tell: time.sleep(PATIENCE_S))
    key = here.rpartition("/")[2]
    bare = client.get("/j/small/gears?programme=normal").text
    until = time.monotonic() + PATIENCE_S
    while "being read" in (over := client.get(f"/j/small/gears?programme=normal&log={key}").text):
        assert time.monotonic() < until
        time.sleep(0.2)
    client.post("/j/small/gears/stop?programme=normal")
    assert "on the road:" in over
    assert "on the road:" not in bare
    assert re.search(r"up 1-2: \d+ changes?, the middle one", Page(over).words)
    assert f'href="/j/small/gears?programme=normal&amp;log={key}"' in bare
    assert "hill road.csv" in Page(bare).words


def test_papers_of_the_browser_hold_the_newest_drive(client, shelf, here, monkeypatch):
    begun = []
    monkeypatch.setattr(PaperBench, "begin", lambda *_, **how: begun.append(how["asked"]))
    assert "The newest recorded drive goes with them" in Page(client.get("/j/small/pack").text).words
    assert client.post("/j/small/pack/make", follow_redirects=False).status_code == 303
    (asked,) = begun
    assert asked_words(asked) == "with the drive hill road.csv"
    car = Car(shelf.now("small").job)
    files = drive_papers(car, asked.drive)
    assert {"dyno.pdf", "drawings/drive.svg", "drawings/starts.svg", "drawings/cells.svg"} <= set(files)
    with pypdfium2.PdfDocument(files["dyno.pdf"]) as paper:
        words = "".join(page.get_textpage().get_text_range() for page in paper)
    assert "hill road.csv" in words
    assert drive_papers(car, replace(asked.drive, judged=None)) == files
