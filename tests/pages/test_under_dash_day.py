"""A day's work with the server gone, a browser that was ended, a clock that is wrong: every act is a row, once."""

from __future__ import annotations

import io
import random
import re

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import expect

from loomwright.pages.checking import CheckBench
from loomwright.pages.routes import under_dash
from loomwright.store.photos import photos_of
from loomwright.store.text_rows import SetCell
from loomwright.worklist.thing import Thing, next_of, thing_plain
from tests.pages.shelves import shelf_in
from tests.pages.tablet import PLAN, Bench, opened, press, tablet_in, type_figure, waiting
from tests.worklist.small_day import SMALL_DAY


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.setattr(under_dash, "plan_apart", lambda _job, _tell: PLAN)
    monkeypatch.setattr(CheckBench, "warm", lambda _: None)
    shelf = shelf_in(tmp_path, car=SMALL_DAY)
    made = Bench(shelf)
    made.start()
    yield made
    made.stop()
    shelf.close()


def rows(shelf, sheet, *names):
    return [tuple(row.cells.get(name, "") for name in names) for row in shelf.now("car").rows.get(sheet, ())]


def picture():
    into = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(into, "PNG")
    return {"name": "earth.png", "mimeType": "image/png", "buffer": into.getvalue()}


def test_a_days_work_without_signal_is_there_row_by_row_when_it_comes_back(bench, browser):
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        expect(page.locator(".u-works")).to_contain_text("prove4")
        bench.stop()
        page.close()

        page = opened(tablet, bench.url, "car", "?work=build")
        expect(page.locator("#thing")).to_have_text("Cut W4")
        press(page, "Done")
        press(page, "Another length")
        type_figure(page, "1100")
        press(page, "Done")
        press(page, "Undo")
        waiting(page, "4 wait to be sent · no signal")
        page.goto(f"{bench.url}/j/car/wire/W3")
        expect(page.locator("#thing")).to_have_text("Wire W3")
        waiting(page, "4 wait to be sent · no signal")
        page.close()

        page = opened(tablet, bench.url, "car", "?work=prove")
        type_figure(page, "12.4")
        page.locator(".u-sign:text-is('Ω')").click()
        type_figure(page, "12")
        expect(page.get_by_role("alert")).to_contain_text("Set the meter to volts")
        press(page, "Type it again")
        page.locator(".u-sign:text-is('V')").click()
        press(page, "Keep it")
        type_figure(page, "99")
        press(page, "It really shows that")
        press(page, "Not possible")
        press(page, "cannot be reached")
        page.get_by_role("button", name=re.compile(r"^fit\b")).click()
        page.locator("#picture").set_input_files(picture())
        expect(page.get_by_role("button", name="Picture ✓ 1", exact=True)).to_be_visible()
        press(page, "Undo")
        expect(page.get_by_role("button", name="Picture", exact=True)).to_be_visible()
        page.locator("#picture").set_input_files(picture())
        press(page, "Done")
        waiting(page, "10 wait to be sent")

        bench.start()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        waiting(page, "all is sent")
    shelf = bench.shelf
    assert rows(shelf, "progress", "wire", "end", "step", "length_mm", "revision") == [
        ("W4", "both", "cut", "1240", "1"),
        ("W3", "both", "cut", "1100", "1"),
    ]
    assert rows(shelf, "proofs", "test", "value", "verdict", "notes") == [
        ("live/battery", "12.4", "passed", ""),
        ("live/LA1.1", "12", "passed", ""),
        ("live/LA1.2", "99", "failed", ""),
        ("live/F1.2", "", "not done", "cannot be reached"),
    ]
    assert len(rows(shelf, "gates", "gate")) == 1
    assert len(photos_of(shelf, "car")) == 1
    assert not any(time.startswith("2031") for (time,) in rows(shelf, "proofs", "time"))


W3 = [
    "Cut W3",
    "Crimp the start of W3",
    "Crimp the end of W3",
    "Seat the start of W3",
    "Sleeve over the start: W3",
    "See that the label of the start is on: W3",
    "Seat the end of W3",
    "Sleeve over the end: W3",
    "See that the label of the end is on: W3",
]
"""Every step of a wire."""


def test_a_wire_begun_from_its_label_is_built_to_its_end_and_then_the_list_goes_on(bench, browser):
    done = []
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=build")
        expect(page.locator("#thing")).to_have_text("Cut W4")
        page.goto(f"{bench.url}/j/car/codes")
        label = page.get_by_role("img", name="code that opens W3", exact=True).screenshot()
        (scanned,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(label)))
        bench.stop()
        page.goto(scanned.text)
        page.locator(".u-list").get_by_role("button", name="Cut W3", exact=True).click()
        for _ in W3:
            done.append(page.locator("#thing").inner_text())
            press(page, "Done")
            expect(page.locator("#thing")).not_to_have_text(done[-1])
        expect(page.locator("#thing")).to_have_text("Cut W4")
        expect(page.locator(".u-note")).to_have_text("W3: nothing is left to do with it now")
        bench.start()
    assert done == W3


def test_the_page_chooses_the_next_thing_as_the_core_does(bench, browser):
    dice = random.Random(7)
    cases = [dealt(dice) for _ in range(300)]
    here = [next_of(things, done, later) for things, done, later in cases]
    told = [
        {"things": [thing_plain(thing) for thing in things], "done": sorted(done), "later": sorted(later)}
        for things, done, later in cases
    ]
    with tablet_in(browser) as tablet:
        page = tablet.new_page()
        page.goto(f"{bench.url}/next/shell")
        there = page.evaluate(
            """async (cases) => {
              const { next } = await import("/static/js/under/choosing.js");
              return cases.map(({ things, done, later }) =>
                next(things, new Map(done.map((id) => [id, true])), new Set(later))?.id ?? null);
            }""",
            told,
        )
    assert there == [None if one is None else one.id for one in here]
    assert len({*there}) > 5


def dealt(dice):
    many = dice.randint(1, 9)
    things = [
        Thing(
            id=f"t{nth}",
            work="build",
            group="",
            does="",
            sheet="progress",
            cells={},
            stage=dice.choice((0, 0, 1, 2)),
            after=tuple(f"t{one}" for one in range(nth) if dice.random() < 0.2),
            offered=dice.random() < 0.2,
            is_done=dice.random() < 0.3,
        )
        for nth in range(many)
    ]
    names = [thing.id for thing in things]
    return things, {one for one in names if dice.random() < 0.3}, {one for one in names if dice.random() < 0.3}


def test_a_day_that_comes_while_the_thumb_is_down_takes_no_touch_away(bench, browser):
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=build")
        expect(page.locator("#thing")).to_have_text("Cut W4")
        (first, *_) = bench.shelf.now("car").rows["wires"]
        changed = SetCell(sheet="wires", row_key=first.key, column="note", old=first.cells.get("note", ""), new="taped")
        bench.shelf.edit("car", [changed], who="sam")
        held = []

        def hold(route):
            held.append(route)

        page.route("**/api/j/car/day", hold)
        with page.expect_request("**/api/j/car/day"):
            page.evaluate("dispatchEvent(new Event('online'))")
        page.get_by_role("button", name="Done", exact=True).hover()
        page.mouse.down()
        with page.expect_response("**/api/j/car/day") as came:
            held[0].continue_()
        assert came.value.status == 200
        page.evaluate("new Promise(drawn => requestAnimationFrame(() => setTimeout(drawn, 50)))")
        page.mouse.up()
        expect(page.locator("#thing")).not_to_have_text("Cut W4")
        waiting(page, "all is sent")
    assert rows(bench.shelf, "progress", "wire", "step")[0][0] == "W4"


def test_a_piece_cut_too_short_is_asked_about_and_stays_in_hand_until_one_reaches(bench, browser):
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=build")
        bench.stop()
        expect(page.locator("#thing")).to_have_text("Cut W4")
        press(page, "Another length")
        type_figure(page, "120")
        expect(page.get_by_role("alert")).to_have_text(
            "W4 needs 1200 mm: 120 mm are 1080 mm too short. Cut another piece, and type its length."
        )
        press(page, "It is that short")
        expect(page.locator(".u-note")).to_have_text("W4 120 mm: not as expected: 1200 mm or more")
        expect(page.locator("#thing")).to_have_text("Cut W4")
        expect(page.locator("main")).to_contain_text("Cut another piece: the short one does for a shorter wire.")
        bench.start()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        waiting(page, "all is sent")
        expect(page.locator("#thing")).to_have_text("Cut W4")
        press(page, "Another length")
        type_figure(page, "1200")
        expect(page.locator("#thing")).not_to_have_text("Cut W4")
        waiting(page, "all is sent")
    assert rows(bench.shelf, "progress", "wire", "step", "length_mm") == [("W4", "cut", "120"), ("W4", "cut", "1200")]
