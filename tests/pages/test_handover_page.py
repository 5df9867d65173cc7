"""The handover: one archive that is the same every time, its offline copy, the controller's files, a later visit."""

from __future__ import annotations

import hashlib
import io
import json
import re
import time
import zipfile
from dataclasses import replace

import numpy as np
import pytest
import zxingcpp
from pypdfium2 import PdfDocument

from loomwright.handover.handed_over import Changed, HandedOver
from loomwright.handover.lists import PackList
from loomwright.handover.records import TitleBlock
from loomwright.job.edits import add_row
from loomwright.job.reading import job_from_text
from loomwright.pages.handover_files import HandoverAsked, handover_archive, handover_files
from loomwright.pages.routes import handover
from loomwright.store.text_rows import AddRow
from loomwright.writers.offline_copy import COPY_CSS, copy_html
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in
from tests.pages.test_gears_page import ROWS

PATIENCE_S = 60.0
PROOF = {
    "test": "lamp <1>",
    "point": "LA1.1",
    "low": "11",
    "high": "13",
    "unit": "V",
    "value": "12",
    "verdict": "passed",
}
CONTROLLER = {"engine.bin": b"\x00\x01map"}


def asked() -> HandoverAsked:
    job = job_from_text(SMALL)
    for name, value in ROWS.items():
        job = add_row(job, "vehicle", {"name": name, "value": value})
    job = add_row(job, "proofs", PROOF)
    job = add_row(job, "gates", {"gate": "oil", "verdict": "waived", "reason": "no switch fitted"})
    job = add_row(job, "snags", {"id": "S1", "text": "horn hums", "status": "open"})
    changes = (Changed(number=2, time="2026-01-01", who="sam", why="second thoughts"),)
    return HandoverAsked(job=job, kept={}, changes=changes, files=CONTROLLER)


@pytest.fixture(scope="module")
def files():
    return handover_files(asked())


def test_the_same_job_gives_the_same_bytes_and_every_file_has_its_digest(files):
    assert handover_archive(handover_files(asked())) == handover_archive(files)
    sums = dict(reversed(line.split("  ", 1)) for line in files["SHA256SUMS"].decode().splitlines())
    assert set(sums) == set(files) - {"SHA256SUMS"}
    assert all(hashlib.sha256(files[name]).hexdigest() == digest for name, digest in sums.items())
    with zipfile.ZipFile(io.BytesIO(handover_archive(files))) as made:
        assert made.testzip() is None
        assert made.read("controller/engine.bin") == CONTROLLER["engine.bin"]


def test_line_pressure_goes_along_with_the_lines(files):
    lines = [name for name in files if name.startswith("gears/lines_") and name.endswith(".csv")]
    assert lines
    for name in lines:
        table = files[name.replace("lines_", "pressure_")].decode().splitlines()
        assert table[0].startswith("gear,")
        assert [row.partition(",")[0] for row in table[1:]] == ["1", "2", "3"], "no reverse is known"


def test_the_lists_hold_what_is_known_and_nothing_is_left_as_markup(files):
    lists = json.loads(files["handover.json"])["lists"]
    assert lists["baseline"][0]["read"] == "12"
    left = {(one["what"], one["of"]): one["says"] for one in lists["known limits"]}
    assert left["gate waived", "oil"] == "no switch fitted"
    assert left["snag", "S1"] == "horn hums"
    assert lists["changes"] == [{"revision": "2", "time": "2026-01-01", "who": "sam", "why": "second thoughts"}]
    assert lists["controller files"][0]["SHA-256"] == hashlib.sha256(CONTROLLER["engine.bin"]).hexdigest()
    assert lists["fuses"][0]["fuse"] == "F1"
    assert "LA1" in lists["fuses"][0]["without it these are dead"]
    assert any(name.startswith("gear lines, ") and rows for name, rows in lists.items())
    page = Page(files["index.html"].decode())
    assert page.unclosed == []
    assert "lamp <1>" in page.words
    assert "STOP: key off" in page.words
    linked = [one["href"] for one in page.all("a") if not one["href"].startswith("#")]
    assert set(linked) <= set(files)
    assert "papers/pack.pdf" in linked


def test_the_archive_opens_off_a_stick_without_a_server_on_a_tablet(files, browser, tmp_path):
    with zipfile.ZipFile(io.BytesIO(handover_archive(files))) as made:
        made.extractall(tmp_path)
    context = browser.new_context(viewport={"width": 768, "height": 1024}, offline=True, java_script_enabled=False)
    page = context.new_page()
    page.goto((tmp_path / "index.html").as_uri())
    assert "STOP: key off" in page.inner_text("#emergency + div")
    assert page.evaluate("document.documentElement.scrollWidth") <= 768
    page.get_by_role("link", name="drawings/work.svg", exact=True).click()
    page.wait_for_url("file://**/drawings/work.svg")
    assert page.locator("svg").count() >= 1
    context.close()


def test_the_code_in_the_lid_opens_the_copy_or_holds_what_to_do(files):
    assert "STOP: key off" in _read(files["lid.svg"])
    address = "http://192.168.1.20:8140/j/small/handover/copy/index.html"
    assert _read(handover_files(replace(asked(), address=address))["lid.svg"]) == address


def test_a_part_that_does_nothing_goes_to_the_fault_finder_as_a_reading(tmp_path, monkeypatch):
    monkeypatch.setattr(handover, "handover_apart", lambda *_: {})
    shelf = shelf_in(tmp_path, small=SMALL)
    client = quiet_client(shelf)
    client.follow_redirects = False
    sent = client.post("/j/small/handover/causes", data={"dead": "LA1", "when": "key=run"})
    assert sent.status_code == 303
    assert sent.headers["location"].startswith("/j/small/fault?hunt=later%20visit")
    row = shelf.now("small").job.readings[-1]
    assert (row.point, row.measure, row.value, row.when.text) == ("W6", "clamp", 0.0, "key=run")
    assert client.post("/j/small/handover/causes", data={"dead": "LA9"}).status_code >= 400
    assert client.post("/j/small/handover/causes", data={"dead": ""}).status_code >= 400
    page = Page(client.get("/j/small/handover").text)
    assert "Something does nothing" in page.words
    assert page.unclosed == []
    client.app.state.desk.close()
    shelf.close()


@pytest.mark.long
def test_the_page_makes_the_archive_and_serves_the_copy(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    client = quiet_client(shelf)
    shelf.edit("small", [AddRow(sheet="proofs", cells=PROOF)], who="sam", why="tested")
    sent = client.post("/j/small/handover/files", files={"file": ("a/../map 1.bin", b"bytes")})
    assert hashlib.sha256(b"bytes").hexdigest() in Page(sent.text).words
    assert client.post("/j/small/handover/files", files={"file": ("empty.bin", b"")}).status_code >= 400
    _wait(client)
    page = Page(client.get("/j/small/handover").text)
    assert page.unclosed == []
    assert "The offline copy" in page.words
    copy = client.get("/j/small/handover/copy/index.html")
    assert "map 1.bin" in copy.text
    assert PdfDocument(client.get("/j/small/handover/copy/papers/pack.pdf").content)
    assert client.get("/j/small/handover/copy/../../secret").status_code >= 400
    with zipfile.ZipFile(io.BytesIO(client.get("/j/small/handover/archive.zip").content)) as made:
        assert b"tested" in made.read("handover.json")
    visited = Page(client.post("/j/small/handover/visit", data={"now/lamp <1>": "9"}).text).words
    assert "1 read again, 1 not as then." in visited
    assert "outside" in visited
    dropped = client.post("/j/small/handover/files/drop", data={"name": "map 1.bin"})
    assert "None yet." in Page(dropped.text).words
    client.post("/j/small/handover/stop")
    assert "It was stopped" in client.get("/j/small/handover").text
    client.app.state.desk.close()
    shelf.close()


def _wait(client) -> None:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if "Making it" not in client.get("/j/small/handover").text:
            return
        time.sleep(1.0)
    raise TimeoutError


def _read(svg: bytes) -> str:
    """What a camera reads off the drawing of the code."""
    return zxingcpp.read_barcodes(_pixels(svg.decode()))[0].text


def _pixels(svg: str):
    side = int(re.search(r'viewBox="0 0 (\d+)', svg).group(1))
    image = np.full((side, side), 255, np.uint8)
    for x, y, long in re.findall(r"M(\d+) (\d+)h(\d+)v1", svg):
        image[int(y), int(x) : int(x) + int(long)] = 0
    return np.kron(image, np.ones((4, 4), np.uint8))


def test_no_word_of_the_copy_is_broken_but_a_digest(browser, tmp_path):
    """A fuse, its rating and its colour stand on one line, however much hangs on it; the page is no wider for it."""
    dead = " ".join(f"PART{k}" for k in range(60))
    lists = (
        PackList(name="fuses", headings=("fuse", "rating", "dead"), rows=(("FECU", "7.5 A", dead),)),
        PackList(name="files", headings=("file", "SHA-256"), rows=(("engine.bin", "a1" * 32),)),
    )
    made = HandedOver(title=TitleBlock(title="A car", revision="1", date="", facts=()), code="", lists=lists)
    (tmp_path / "copy.css").write_text(COPY_CSS, encoding="utf-8")
    (tmp_path / "index.html").write_text(copy_html(made, {}), encoding="utf-8")
    context = browser.new_context(viewport={"width": 500, "height": 900})
    page = context.new_page()
    page.goto((tmp_path / "index.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 500
    lines = page.locator("td").evaluate_all(
        "(cells) => cells.map((cell) => { const all = document.createRange(); all.selectNodeContents(cell);"
        " return new Set([...all.getClientRects()].map((one) => Math.round(one.top))).size; })"
    )
    context.close()
    assert lines[:2] == [1, 1]
    assert lines[2] > 1
    assert lines[3] == 1
    assert lines[4] > 1
