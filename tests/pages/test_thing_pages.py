"""The pages of a wire, a part and a connector, and why a cell is what it is."""

from __future__ import annotations

import time

import pytest

from loomwright.examples.shelf import example_folder
from loomwright.findings import Finding
from loomwright.pages.records.touching import findings_about
from loomwright.sheets.csv_folder import open_folder
from tests.pages.shelves import SMALL, Page, client_on, links_in, shelf_in, snapshot_of

ON = "key=run,SW1=on"
THINGS = {
    **SMALL,
    "connectors": [
        {"id": "X1", "part": "SW1", "terminals": "1 2", "ways": "4", "layout": "2x2", "side": "socket", "mates": "X2"},
        {"id": "X2", "part": "SW1", "terminals": "1 2", "ways": "4", "layout": "2x2", "side": "pin"},
    ],
    "progress": [
        {"wire": "W6", "end": "both", "step": "cut", "length_mm": "1010", "time": "2026-01-02T09:00", "who": "sam"}
    ],
    "decisions": [
        {"sheet": "wires", "row": "W6", "column": "size_mm2", "value": "0.75", "decided_by": "volts", "digest": "old"}
    ],
    "reasons": [
        {
            "sheet": "wires",
            "row": "W6",
            "column": "size_mm2",
            "limit": "volts",
            "asks": "0.75",
            "says": "0.4 V are lost on the way",
            "when": "key=run, SW1=on",
            "rests_on": "W5 W6",
            "method": "sizing.volt_choice.choose_volts",
            "source": "common-practice",
        }
    ],
}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("things"), small=THINGS)
    shelf.add("van", open_folder(example_folder("van")), who="sam")
    browser = client_on(shelf)
    browser.headers["accept"] = "text/html"
    browser.app.state.desk.bench.stop(shelf.now("van"))
    yield browser
    browser.app.state.desk.bench.close()
    shelf.close()


def test_a_wire_tells_how_warm_it_is_and_what_it_reaches_coming_and_going(client):
    page = Page(client.get(f"/j/small/wire/W6?state={ON}&on=5&off=20").text)
    for words in ("by itself in air of", "coming and going", "at most, by itself"):
        assert words in page.words, words
    assert {one.get("name"): one.get("value") for one in page.all("input")}.items() >= {"on": "5", "off": "20"}.items()
    steady = Page(client.get(f"/j/small/wire/W6?state={ON}").text)
    assert "by itself in air of" in steady.words
    assert "coming and going" not in steady.words
    assert "Both in seconds" in Page(client.get(f"/j/small/wire/W6?state={ON}&on=fast&off=").text).words
    assert "by itself in air of" not in Page(client.get("/j/small/wire/W6").text).words


def test_a_wire_tells_its_ends_its_state_its_cells_and_its_record(client):
    page = Page(client.get(f"/j/small/wire/W6?state={ON}").text)
    for words in ("WH/BU", "SW1.2", "LA1.1", "lamp over the bench", "1.78 A", "fed by BAT", "cut", "1010 mm", "sam"):
        assert words in page.words, words
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_what_was_decided_stands_apart_and_leads_to_why(client):
    html = client.get("/j/small/wire/W6").text
    assert "decided by volts" in Page(html).words
    assert "0.4 V are lost on the way" in html
    links = {one.get("href", "") for one in Page(html).all("a")}
    assert "/why/small/W6.size_mm2" in links


def test_a_part_tells_every_terminal_with_its_wires_and_cavities(client):
    page = Page(client.get(f"/j/small/part/SW1?state={ON}").text)
    for words in ("W5", "W6", "X1", "cavity 1", "fed by BAT , F1 , KEY"):
        assert words in page.words.replace(",", " ,").replace("  ", " "), words
    links = {one.get("href", "") for one in page.all("a")}
    assert f"/j/small/connector/X1?state={ON}" in links


def test_a_part_tells_what_the_numbers_of_its_terminals_mean(client):
    page = Page(client.get(f"/j/small/part/KEY?state={ON}").text)
    assert "battery plus, direct" in page.words
    assert "switched plus, ignition on" in page.words
    assert "what it does" not in Page(client.get(f"/j/small/part/SW1?state={ON}").text).words


def test_a_connector_shows_both_faces_and_the_mating_side_is_mirrored(client):
    html = client.get(f"/j/small/connector/X1?state={ON}").text
    page = Page(html)
    assert "wire side" in page.words
    assert "mating side" in page.words
    wire_side, mating_side = html.split("<figcaption>")[1:3]
    order = [
        [text.split("</text>")[0].split(">")[-1] for text in side.split("<text")[1:]]
        for side in (wire_side, mating_side)
    ]
    assert order[0] == ["1", "2", "3", "4"]
    xs = [
        [int(text.split('x="')[1].split(".")[0]) for text in side.split("<text")[1:]]
        for side in (wire_side, mating_side)
    ]
    assert xs[0][0] < xs[0][1]
    assert xs[1][0] > xs[1][1]
    assert {one.get("href", "") for one in page.all("a")} >= {
        f"/j/small/connector/X2?state={ON}",
        f"/j/small/connector/X1?state={ON}&unplug=X1",
    }


def test_a_connector_that_is_off_leaves_the_lamp_dark(client):
    page = Page(client.get(f"/j/small/part/LA1?state={ON}&unplug=X1").text)
    assert "does not work" in page.words


@pytest.mark.parametrize("path", ["wire/W99", "part/NIX", "connector/NIX"])
def test_a_thing_that_is_not_there_is_refused(client, path):
    assert client.get(f"/j/small/{path}").status_code == 404


def test_a_part_that_was_taken_out_still_has_its_page(client):
    page = Page(client.get("/j/small/part/K1").text)
    assert "removed" in page.words


def test_findings_about_a_thing_are_those_that_name_it_or_a_point_of_it(tmp_path):
    links = links_in(snapshot_of(tmp_path))
    findings = (
        Finding(rule="DRP-1", severity="warning", at=("W6",), when=(("key", "run"),), label="W6", wrong="loses volts"),
        Finding(rule="PIN-1", severity="note", at=("LA1.1",), label="LA1.1", wrong="is a lamp"),
        Finding(rule="NET-3", severity="fault", at=("SW1",), label="SW1", wrong="is off"),
    )
    assert [one.rule for one in findings_about(findings, {"W6", "LA1"}, (), links)] == ["DRP-1", "PIN-1"]
    assert findings_about(findings, {"F1"}, (), links) == ()


def test_why_of_a_length_and_of_a_kept_size_is_there_at_once(client):
    length = Page(client.get("/why/van/W284.length_mm").text)
    assert "route" in length.words
    kept = client.get("/why/van/W161.size_mm2")
    assert kept.status_code == 200
    assert "heat" in Page(kept.text).words or "Looking at every state" in Page(kept.text).words
    assert client.get("/why/van/W284.colour").status_code == 404


def test_why_of_a_typed_size_is_worked_out_meanwhile_and_can_be_stopped(client):
    address = "/why/small/W5.size_mm2"
    words = Page(client.get(address).text).words
    for _ in range(200):
        if "Typed in the sheet" in words:
            break
        assert "Looking at every state for it" in words
        time.sleep(0.1)
        words = Page(client.get(address).text).words
    assert "strength" in words
    assert "Looking at every state for it" in Page(client.get("/why/van/W282.size_mm2").text).words
    stopped = Page(client.post("/why/van/W282.size_mm2/stop").text).words
    assert "It was stopped" in stopped
    again = Page(client.post("/why/van/W282.size_mm2/again").text).words
    assert "Looking at every state for it" in again
    client.post("/why/van/W282.size_mm2/stop")


def test_pages_of_things_of_a_van_are_small_and_quick(client):
    state = "key=run,engine=idle,light=head"
    times = []
    for path in ("wire/W284", "wire/W161", "part/ECU", "part/FDL", "connector/XA"):
        address = f"/j/van/{path}?state={state}"
        client.get(address)
        begun = time.perf_counter()
        answer = client.get(address)
        times.append(time.perf_counter() - begun)
        assert answer.status_code == 200
        assert len(answer.content) < 300_000
    assert sorted(times)[2] < 0.5
