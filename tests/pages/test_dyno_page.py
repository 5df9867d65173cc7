"""The days before the dyno in the browser: spoilt logs told, columns mapped, criteria met, the certificate."""

from __future__ import annotations

import re
import time
from pathlib import Path
from threading import Event

import polars as pl
import pypdfium2
import pytest

from loomwright import pages
from loomwright.logs.mapping import mapped_from
from loomwright.pages.log_work import judged_here
from loomwright.pages.routes import logs
from tests.logs.bad_logs import BAD
from tests.logs.drive import Plan, made
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

TABLE = "kPa\t800\t2500\t4500\n30\t40\t44\t46\n60\t50\t54\t56\n95\t60\t64\t66"
PATIENCE_S = 60.0
SPOILT = (
    "two logs glued",
    "a cold probe",
    *(pytest.param(name, marks=pytest.mark.long) for name in ("mixed units", "half a file")),
)
"""All of them are told by the command in the normal run; of the page two stand for the rest."""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made_shelf = shelf_in(tmp_path_factory.mktemp("dyno"), small=SMALL)
    yield made_shelf
    made_shelf.close()


@pytest.fixture(scope="module")
def client(shelf):
    patch = pytest.MonkeyPatch()  # in this process: that one of its own is used is shown in test_logs_pages
    patch.setattr(logs, "judged_apart", judged_here)
    yield quiet_client(shelf)
    patch.undo()


def sent(client, name: str, text: str) -> str:
    """The address of a log that was taken in and read."""
    answer = client.post("/j/small/logs", files={"file": (name, text.encode(), "text/csv")}, follow_redirects=False)
    assert answer.status_code == 303
    return settled(client, answer.headers["location"])


def settled(client, address: str) -> str:
    """The address once the drive is read."""
    until = time.monotonic() + PATIENCE_S
    while "Reading and judging" in client.get(address).text:
        assert time.monotonic() < until, "it is read still"
        time.sleep(0.05)
    return address


@pytest.fixture(scope="module")
def drive(client) -> str:
    """The page of a sound drive, judged by the job's own fuel table."""
    assert client.post("/j/small/logs/table", data={"table": TABLE}, follow_redirects=False).status_code == 303
    return sent(client, "hill road.csv", made(Plan(seed=6, minutes=10.0)).write_csv())


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_log_is_told_on_its_page(client, name):
    words = Page(client.get(sent(client, f"{name}.csv", BAD[name].text())).text).words
    for told in BAD[name].told:
        assert told in words
    assert set(re.findall(r"LOG-\d+", words)) == BAD[name].rules


def test_three_sentences_stand_at_the_top(client, drive):
    page = Page(client.get(drive).text)
    assert page.unclosed == []
    short = page.words.partition("All recorded drives")[2].partition("rows")[0]
    assert re.search(
        r"10 min 0 s were read, with 1 attempt to start \(1 took\) and \d+ s under load\. "
        r"Nothing wrong was found in what was recorded; the fuel is within 3 % in (\d+) of \1 cells .*\. Next: ",
        short,
    )


def test_a_mark_tells_what_was_recorded_there(client, drive):
    page = Page(client.get(f"{drive}?from=60&to=120&mark=90").text)
    assert page.unclosed == []
    assert re.search(r"At the mark, 90.00 s engine speed \d+", page.words)
    plot = next(one for one in page.all("figure") if one.get("data-from"))
    assert (plot.get("data-from"), plot.get("data-to")) == ("60.0", "120.0")
    assert "Take the mark out" in page.words


def test_columns_are_mapped_by_hand_and_remembered_for_the_next_log(client, shelf):
    odd = made(Plan(seed=3, minutes=2.0)).select(
        "Time (s)", "RPM", pl.col("MAP (kPa)").alias("P 7"), pl.col("CLT (°C)").alias("T 9"), "Gear"
    )
    page = sent(client, "odd.csv", odd.write_csv())
    numbers = {
        one.get("value"): (one.get("name") or "").removeprefix("column.")
        for one in Page(client.get(page).text).all("input")
        if (one.get("name") or "").startswith("column.")
    }
    assert {"P 7", "T 9", "Gear"} <= set(numbers)
    form = {f"column.{number}": name for name, number in numbers.items()}
    form |= {f"is.{numbers[name]}": what for name, what in (("P 7", "manifold_pressure"), ("T 9", "coolant"))}
    form |= {f"is.{numbers['RPM']}": "engine_speed", f"is.{numbers['Time (s)']}": "time"}
    twice = client.post(f"{page}/mapping", data=form | {f"is.{numbers['Gear']}": "coolant"}, follow_redirects=False)
    assert twice.status_code == 422
    assert "one column for each quantity" in twice.text
    assert client.post(f"{page}/mapping", data=form, follow_redirects=False).status_code == 303
    kept = mapped_from(next(shelf.folder.glob("logs/mappings/*.toml")).read_text())
    assert kept.columns["P 7"] == "manifold_pressure"
    assert kept.columns["Gear"] == ""
    again = sent(client, "odd two.csv", odd.head(1500).drop("T 9").write_csv())
    text = client.get(again).text
    assert "kept for this controller and not in this log: T 9" in Page(text).words
    assert re.search(r"P 7 is</label><select [^>]*>(?:(?!</select>).)*manifold_pressure\" selected", text)


def test_reading_shows_its_steps_and_is_stopped(client, monkeypatch):
    stopped = Event()

    def slow(job, path, drawn, mapped, tell):
        tell(1, 4)
        assert stopped.wait(PATIENCE_S)
        tell(2, 4)
        raise AssertionError("it went on")

    monkeypatch.setattr(logs, "judged_apart", slow)
    answer = client.post(
        "/j/small/logs", files={"file": ("slow.csv", b"Time,RPM\n0,1\n1,2\n", "text/csv")}, follow_redirects=False
    )
    here = answer.headers["location"]
    until = time.monotonic() + PATIENCE_S
    while "step 1 of 4" not in client.get(here).text:
        assert time.monotonic() < until
        time.sleep(0.02)
    assert client.post(f"{here}/stop", follow_redirects=False).status_code == 303
    words = Page(client.get(here).text).words
    stopped.set()
    assert "It was stopped" in words
    assert "Read it after all" in words
    client.post(f"{here}/drop", follow_redirects=False)


def test_each_criterion_is_met_by_a_record_and_then_there_is_a_certificate(client, shelf, drive):
    for path in shelf.folder.glob("logs/mappings/*.toml"):
        path.unlink()
    settled(client, drive)
    for other in {one.get("href") for one in Page(client.get("/j/small/logs").text).all("a")}:
        if other and re.fullmatch(r"/j/small/logs/[0-9a-f]{12}", other) and other != drive:
            client.post(f"{other}/drop", follow_redirects=False)
    assert client.get("/j/small/dyno/certificate").status_code == 409
    bare = client.post("/j/small/dyno", data={"criterion": "timing", "verdict": "passed"}, follow_redirects=False)
    assert bare.status_code == 422
    assert "what was read or seen" in Page(bare.text).words
    by_hand = {"criterion": "lean", "verdict": "passed", "value": "it felt all right"}
    assert client.post("/j/small/dyno", data=by_hand, follow_redirects=False).status_code == 422, "a drive meets it"
    words = Page(client.get("/j/small/dyno").text).words
    assert "criteria are met, by the drive hill road.csv" in words
    names = re.findall(r'name="criterion" value="(\w+)"', client.get("/j/small/dyno").text)
    for name in dict.fromkeys(names):
        said = {"criterion": name, "verdict": "passed", "value": "0,5 °" if name == "timing" else f"seen, {name}"}
        assert client.post("/j/small/dyno", data=said, follow_redirects=False).status_code == 303
    page = Page(client.get("/j/small/dyno").text)
    assert "Nothing is open." in page.words
    assert "gate base timing, passed: 0.5 °, " in page.words
    assert "gate tyres, passed: seen, tyres, " in page.words
    paper = client.get("/j/small/dyno/certificate").content
    with pypdfium2.PdfDocument(paper) as pdf:
        first = pdf[0].get_textpage().get_text_range()
    assert "All criteria for the dyno are met" in first
    against = {"criterion": "tyres", "verdict": "failed", "value": "left rear 2 mm"}
    assert client.post("/j/small/dyno", data=against, follow_redirects=False).status_code == 303
    assert client.get("/j/small/dyno/certificate").status_code == 409
    html = client.get("/j/small/dyno").text
    assert "Against the day speaks: tyres, wheel nuts" in Page(html).words
    assert html.count('class="dyno-against">against<') == 1


def test_limits_of_this_engine_are_agreed_on_the_page(client, shelf, drive):
    refused = client.post("/j/small/dyno/limits", data={"limit_rpm": "fast"}, follow_redirects=False)
    assert refused.status_code == 422
    assert client.post("/j/small/dyno/limits", data={"limit_rpm": "6200"}, follow_redirects=False).status_code == 303
    page = client.get("/j/small/dyno").text
    assert 'name="limit_rpm"' not in page
    assert 'name="coolant_most_c"' in page
    kept = next(shelf.folder.glob("logs/mappings/*.toml")).read_text()
    assert "limit_rpm = 6200" in kept


PLOT = (
    '<figure data-from="0" data-to="800" data-left="0.25" data-right="0.75">'
    '<img alt="" width="800" height="200"></figure>'
    '<script type="module" src="/log_hand.js"></script>'
)


def test_a_touch_sets_a_mark_and_a_drag_looks_closer(page):
    """The script alone, on a drawing of 800 dots whose time runs from 0 s at 200 dots to 800 s at 600."""
    script = (Path(pages.__file__).parent / "static" / "js" / "log_hand.js").read_text(encoding="utf-8")
    there = "http://drive.test/log"
    page.route(f"{there}*", lambda route: route.fulfill(content_type="text/html", body=PLOT))
    page.route("**/log_hand.js", lambda route: route.fulfill(content_type="text/javascript", body=script))
    page.goto(f"{there}?over=battery")
    page.locator(".log-span").wait_for(state="attached")
    box = page.locator("img").bounding_box()
    page.mouse.click(box["x"] + 400, box["y"] + 50)
    page.wait_for_url(f"{there}?over=battery&mark=400.00#drive")
    page.locator(".log-span").wait_for(state="attached")
    box = page.locator("img").bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 50)
    page.mouse.down()
    page.mouse.move(box["x"] + 500, box["y"] + 50, steps=3)
    page.mouse.up()
    page.wait_for_url(f"{there}?over=battery&mark=400.00&from=200.00&to=600.00#drive")
