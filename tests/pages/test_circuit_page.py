"""A circuit, lit: what its page shows in a state, and what is told of a thing that is touched."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import expect

from loomwright.examples.shelf import example_folder
from loomwright.job.reading import job_from_text
from loomwright.sheets.csv_folder import open_folder
from tests.pages.shelves import SMALL, Page, client_on, shelf_in

ON = "key=run,SW1=on"


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("circuit"), small=SMALL)
    shelf.add("van", open_folder(example_folder("van")), who="sam")
    browser = client_on(shelf)
    browser.headers["accept"] = "text/html"
    browser.app.state.desk.bench.stop(shelf.now("van"))
    yield browser
    browser.app.state.desk.bench.close()
    shelf.close()


def row(html: str, name: str) -> str:
    """The words of one thing's row in the tables."""
    found = re.search(rf'<tr id="row-{name}".*?</tr>', html, re.DOTALL)
    assert found is not None, name
    return Page(found.group()).words


def test_without_scripts_every_wire_and_part_is_there_with_volts_and_amps(client):
    html = client.get(f"/j/small/circuit/work?state={ON}").text
    for wire in ("W5", "W6", "W12"):
        assert re.search(r"[\d.]+ m?V", row(html, wire))
        assert re.search(r"1\.\d+ A", row(html, wire))
    assert "works" in row(html, "LA1")
    assert "BAT , F1 , KEY , SW1" in row(html, "W6").replace(",", " ,").replace("  ", " ")


def test_what_stops_without_a_thing_is_told(client):
    html = client.get(f"/j/small/circuit/work?state={ON}").text
    assert row(html, "W5").split(" its row")[0].endswith("LA1")
    off = client.get("/j/small/circuit/work?state=key=run").text
    assert "nothing that works now" in row(off, "W5")


def test_everything_drawn_can_be_touched_by_hand_or_keyboard(client):
    html = client.get(f"/j/small/circuit/work?state={ON}").text
    page = Page(html)
    things = [one for one in page.all("a") if "data-thing" in one]
    assert {"W5", "W6", "W12", "SW1", "LA1"} <= {one["data-thing"] for one in things}
    rows = {one["data-row"] for one in page.all("tr") if "data-row" in one}
    for one in things:
        assert one["data-thing"] in rows
        assert one["href"].startswith(("/j/small/wire/", "/j/small/part/"))
        assert f"state={ON}" in one["href"]
    titles = re.findall(r'<a class="thing"[^>]*><title>([^<]+)</title>', html)
    assert len(titles) == len(things)
    assert "wire W6, WH/BU" in " ".join(titles)
    assert page.unclosed == []


def test_copper_is_only_where_something_is_energised(client):
    dead = client.get("/j/small/circuit/work").text
    lit = client.get(f"/j/small/circuit/work?state={ON}").text
    board = re.compile(r'<section class="board".*?</section>', re.DOTALL)
    assert "var(--copper)" not in board.search(dead).group()
    assert board.search(lit).group().count("var(--copper)") > 3


def test_links_go_from_the_drawing_to_the_wire_to_its_row_and_back(client):
    wire = client.get(f"/j/small/wire/W6?state={ON}")
    assert wire.status_code == 200
    links = {one.get("href", "") for one in Page(wire.text).all("a")}
    assert f"/j/small/circuit/work?state={ON}#W6" in links
    assert any(link.startswith("/j/small/sheet/wires?row=") for link in links)
    assert client.get("/j/small/circuit/work").status_code == 200


def test_a_circuit_that_is_not_there_is_refused_with_those_there_are(client):
    answer = client.get("/j/small/circuit/wokr")
    assert answer.status_code == 404
    assert "work" in answer.text


def test_wires_of_no_circuit_have_a_page_of_their_own(client):
    assert "W3" in Page(client.get("/j/small/circuit/-").text).words


def test_the_data_of_a_circuit(client):
    plain = client.get(f"/api/j/small/circuit/work?state={ON}").json()
    assert [one["id"] for one in plain["wires"]] == ["W5", "W6", "W12"]
    assert plain["loads"] == [{"part": "LA1", "amps": pytest.approx(plain["drawn_a"]), "works": True}]
    assert plain["stops_without"]["W5"] == ["LA1"]


def test_every_circuit_of_a_van_is_drawn_quickly_and_small(client):
    state = "key=run,engine=idle,light=head,turn=left"
    names = [one.id for one in client.app.state.desk.shelf.now("van").job.circuits]
    times = []
    for name in names:
        address = f"/j/van/circuit/{name}?state={state}"
        client.get(address)
        begun = time.perf_counter()
        answer = client.get(address)
        times.append(time.perf_counter() - begun)
        assert answer.status_code == 200
        assert len(answer.content) < 300_000, name
        assert "<svg" in answer.text
    assert len(names) == 25
    # the middle of many: the machine that tests run on has other things to do
    assert sorted(times)[len(times) // 2] < 0.5


def test_a_touch_tells_in_the_margin_and_a_second_one_goes_there(desk, page):
    desk.shelf.add(f"{desk.job}-lit", job_from_text(SMALL), who="A")
    page.goto(f"{desk.url}/j/{desk.job}-lit/circuit/work?state={ON}")
    told = page.locator(".picked.beside-it")
    expect(told).to_contain_text("Touch a wire or a part")
    wire = page.locator('.thing[data-thing="W6"]')
    wire.dispatch_event("click")
    expect(told).to_contain_text("WH/BU")
    expect(told).to_contain_text("fed by")
    assert page.url.endswith("#W6")
    page.locator('.thing[data-thing="LA1"]').first.focus()
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    expect(told).to_contain_text("works")
    # what is told follows the state
    page.get_by_role("radio", name="off").first.focus()
    page.keyboard.press("ArrowRight")
    expect(told).to_contain_text("does not work")
    page.locator('.thing[data-thing="LA1"]').first.dispatch_event("click")
    page.wait_for_url("**/part/LA1?**")
