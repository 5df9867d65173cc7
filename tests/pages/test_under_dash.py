"""Under the dash: what the tablet takes along, what it brings back, each record once, and the page it keeps."""

from __future__ import annotations

import json
import re
from uuid import UUID, uuid5

import pytest

from loomwright.pages.routes import under_dash
from loomwright.pages.under_shell import shell_files
from loomwright.store.text_rows import SetCell
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in
from tests.worklist.small_day import SMALL_DAY

SPACE = UUID(int=7)
NOW = "2026-01-02T08:00:00Z"


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, car=SMALL_DAY)
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def ident(name):
    return str(uuid5(SPACE, str(name)))


def cut(name, wire="W2", **more):
    cells = {"wire": wire, "end": "both", "step": "cut", "length_mm": "340"}
    return {
        "id": ident(name),
        "made": NOW,
        "base": 1,
        "sheet": "progress",
        "cells": cells,
        "asks": {"unit": "mm"},
        **more,
    }


def read(name, value, **more):
    cells = {"test": "live/battery", "point": "BAT.+", "unit": "V"}
    asks = {"kind": "figure", "unit": "V", "low": 11.9, "high": 13.3, "measure": "volts"}
    return {
        "id": ident(name), "made": NOW, "base": 1, "sheet": "proofs", "cells": cells, "asks": asks,
        "said": {"value": value}, **more,
    }  # fmt: skip


def send(client, *acts, sent=NOW, device="tablet"):
    return client.post("/api/j/car/acts", json={"device": device, "sent": sent, "acts": list(acts)})


def outcomes(answer):
    return [one["outcome"] for one in answer.json()["acts"]]


def test_the_day_is_taken_along_whole_and_not_again_while_it_is_the_same(client):
    answer = client.get("/api/j/car/day")
    day = answer.json()
    assert [one["work"] for one in day["works"]] == ["survey", "build", "fit", "prove", "start"]
    assert day["works"][1]["things"][0]["does"] == "Cut W4"
    assert {one["id"] for one in day["cards"]} >= {"W2", "W3", "F1", "LA1"}
    tag = answer.headers["etag"]
    assert tag.startswith('"car-1-')
    if "whole" in tag:
        assert client.get("/api/j/car/day", headers={"If-None-Match": tag}).status_code == 304


def test_records_are_rows_judged_and_timed(client, shelf):
    answer = send(client, cut("a"), read("b", "12.4"), read("c", "2"))
    assert outcomes(answer) == ["taken", "taken", "taken"]
    job = shelf.now("car").job
    assert (job.progress[0].wire, job.progress[0].revision, job.progress[0].who) == ("W2", 1, "sam")
    assert [(one.value, one.verdict) for one in job.proofs] == [(12.4, "passed"), (2.0, "failed")]


def test_a_form_sent_twice_counts_once(client, shelf):
    send(client, cut("a"), cut("a"))
    assert outcomes(send(client, cut("a"))) == ["taken"]
    assert len(shelf.now("car").job.progress) == 1


def test_a_tablet_whose_clock_is_wrong_has_its_times_put_right(client, shelf):
    send(client, cut("a", made="2031-05-05T10:00:00Z"), sent="2031-05-05T12:00:00Z")
    kept = shelf.now("car").job.progress[0].time
    assert not kept.startswith("2031")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", kept)


def test_two_readings_that_differ_are_both_told_and_one_is_chosen(client, shelf):
    send(client, read("theirs", "11.0"), device="bench")
    waits = send(client, read("mine", "12.4")).json()["acts"][0]
    assert (waits["outcome"], waits["theirs"]["value"], waits["theirs"]["verdict"]) == ("waits", "11", "failed")
    assert outcomes(send(client, read("mine", "12.4", choose="mine"))) == ["taken"]
    assert [one.value for one in shelf.now("car").job.proofs] == [11.0, 12.4]


def test_an_end_that_is_to_have_another_terminal_stands_first_on_the_list_of_what_is_built(client, shelf):
    crimped = {"cells": {"wire": "W3", "end": "from", "step": "crimped"}, "asks": {}}
    send(client, cut("a", "W3", cells={**cut("a", "W3")["cells"], "length_mm": "1040"}), cut("b", **crimped))
    wire = next(row for row in shelf.now("car").rows["wires"] if row.cells["id"] == "W3")
    change = SetCell(sheet="wires", row_key=wire.key, column="terminal_from", old="T6", new="T8")
    shelf.edit("car", [change], who="sam")
    first = client.get("/api/j/car/day").json()["works"][1]["things"][0]
    assert first["does"] == "Crimp the start of W3 anew"
    again = {**cut("c", **crimped), "base": shelf.now("car").revision}
    assert outcomes(send(client, again)) == ["taken"]
    assert client.get("/api/j/car/day").json()["works"][1]["things"][0]["does"] == "Cut W4"


def test_undo_is_one_more_record(client, shelf):
    send(client, cut("a"), {"id": ident("b"), "made": NOW, "base": 1, "back": ident("a")})
    assert shelf.now("car").job.progress == ()


def test_what_is_no_answer_is_told_and_holds_up_no_other(client, shelf):
    answer = send(client, read("a", "many"), read("b", "12.4"))
    told = answer.json()["acts"]
    assert [one["outcome"] for one in told] == ["refused", "taken"]
    assert told[0]["refused"][0]["found"] == "many"
    assert len(shelf.now("car").job.proofs) == 1


@pytest.mark.parametrize(
    "act",
    [
        {"id": "1", "made": NOW, "base": 1},
        {"id": ident("a"), "made": "yesterday", "base": 1},
        {"id": ident("a"), "made": NOW, "base": -1},
        {"id": ident("a"), "made": NOW, "base": 1, "choose": "both"},
    ],
)
def test_a_record_of_another_shape_is_refused_as_a_whole(client, act):
    assert send(client, act).status_code == 422


def test_the_page_holds_nothing_of_a_job_and_the_same_is_kept_by_its_worker(client):
    page = client.get("/j/car/next")
    assert page.text == client.get("/next/shell").text
    read_page = Page(page.text)
    assert read_page.unclosed == []
    assert [one.get("type") for one in read_page.all("script")] == ["module"]
    assert "style=" not in page.text
    assert client.get("/j/none/next").status_code == 404


def test_the_worker_knows_every_file_that_the_page_loads(client):
    answer = client.get("/next/worker.js")
    assert answer.headers["service-worker-allowed"] == "/"
    told = json.loads(re.match(r"const SHELL = (.*);\n", answer.text).group(1))
    page = Page(client.get("/next/shell").text)
    loaded = {one["href"] for one in page.all("link")} | {one["src"] for one in page.all("script")}
    assert loaded <= set(told["files"])
    for address in told["files"]:
        assert client.get(address).status_code == 200, address
    own = {name for name in told["files"] if name.startswith("/static/js/under/")}
    imported = {
        f"/static/js/under/{name}" for file in own for name in re.findall(r'from "\./(\w+\.js)"', client.get(file).text)
    }
    assert imported <= own


def test_the_tablet_may_keep_it_as_a_page_of_its_own(client):
    answer = client.get("/j/car/next/tablet.webmanifest")
    assert answer.headers["content-type"].startswith("application/manifest+json")
    told = answer.json()
    assert (told["start_url"], told["display"]) == ("/j/car/next", "standalone")
    assert client.get(told["icons"][0]["src"]).status_code == 200


def test_every_wire_and_every_fuse_has_a_code_that_opens_it(client):
    page = Page(client.get("/j/car/codes").text)
    drawn = [one["aria-label"] for one in page.all("svg") if one.get("role") == "img"]
    assert drawn == [f"code that opens {name}" for name in ("W1", "W2", "W3", "W4", "F1")]
    assert {"/j/car/wire/W3", "/j/car/part/F1"} <= {one["href"] for one in page.all("a")}
    assert page.unclosed == []
    # 33 squares and a light edge of four round them: ISO/IEC 18004, version 4 holds 62 bytes at level M
    assert {one["viewbox"] for one in page.all("svg") if one.get("role") == "img"} <= {
        "0 0 37 37",
        "0 0 41 41",
        "0 0 33 33",
    }


def test_a_worker_is_another_one_as_soon_as_a_file_of_the_page_is(client):
    files = tuple(shell_files())
    changed = tuple(
        (address, name, data + b"/* */" if name == "css/under.css" else data) for address, name, data in files
    )
    versions = {re.search(r'"version": "(\w+)"', under_dash._worker(one).decode()).group(1) for one in (files, changed)}
    assert len(versions) == 2
