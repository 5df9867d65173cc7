"""Papers: made beside everything else, of one revision, stale when a sheet changes, and had as files."""

from __future__ import annotations

import io
import json
import time
import zipfile

import openpyxl
import pypdfium2
import pytest

from loomwright.pages.paper_bench import MADE_OF, PaperBench, paper_digest
from loomwright.pages.paper_files import PAPER_FILES, asked_words
from loomwright.sheets.opening import open_job
from loomwright.store.text_rows import SetCell
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

PATIENCE_S = 120.0
"""How long papers are waited for: the machine may be busy. [s]"""


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL)
    yield made
    made.close()


def put_papers(shelf, revision=1, digest=""):
    """Papers as the bench would have left them."""
    snapshot = shelf.now("small", revision)
    digest = digest or paper_digest(snapshot)
    folder = shelf.folder / "papers" / str(shelf.id_of("small")) / digest
    folder.mkdir(parents=True)
    for name in PAPER_FILES:
        (folder / name).write_bytes(b"%PDF " + name.encode())
    about = {"digest": digest, "revision": revision, "made": f"2026-01-0{revision}T10:00:00"}
    (folder / "about.json").write_text(json.dumps(about))


def change(shelf, column="length_mm", new="1100"):
    row = next(row for row in shelf.now("small").rows["wires"] if row.cells["id"] == "W6")
    edit = SetCell(sheet="wires", row_key=row.key, column=column, old=row.cells.get(column, ""), new=new)
    shelf.edit("small", [edit], who="sam")


def test_without_papers_the_page_says_which_there_could_be_and_offers_to_make_them(shelf):
    page = Page(quiet_client(shelf).get("/j/small/pack").text)
    assert page.unclosed == []
    assert "They are not made yet" in page.words
    assert all(name in page.words for name in PAPER_FILES)
    assert "/j/small/pack/make" in [form.get("action") for form in page.all("form")]
    assert quiet_client(shelf).get("/j/small/pack/file/pack.pdf").status_code == 404


def test_papers_say_their_revision_and_are_had_under_it(shelf):
    put_papers(shelf)
    client = quiet_client(shelf)
    page = Page(client.get("/j/small/pack").text)
    assert "Of revision 1" in page.words
    assert "Stale" not in page.words
    # others may be asked for, but nothing says that these ought to be made anew
    assert "Make those of revision" not in page.words
    assert "Make them" not in page.words
    answer = client.get("/j/small/pack/file/pack.pdf")
    assert (answer.content, answer.headers["content-type"]) == (b"%PDF pack.pdf", "application/pdf")
    assert 'filename="small pack revision 1.pdf"' in answer.headers["content-disposition"]


def test_a_changed_sheet_makes_them_stale_and_says_what_changed(shelf):
    put_papers(shelf)
    change(shelf)
    page = Page(quiet_client(shelf).get("/j/small/pack").text)
    assert "Stale: of revision 1" in page.words
    assert "Make those of revision 2" in page.words
    assert "/j/small/revisions?from=1&to=2" in [one.get("href") for one in page.all("a")]


def test_a_note_makes_them_stale_and_a_step_does_not(shelf):
    put_papers(shelf)
    client = quiet_client(shelf)
    shelf.record("small", "progress", {"wire": "W3", "end": "both", "step": "cut"}, who="sam")
    assert client.get("/api/j/small/pack").json()["stale"] is False
    change(shelf, "notes", "mind the exhaust")
    assert client.get("/api/j/small/pack").json()["stale"] is True


def test_a_start_that_was_tried_makes_the_sheet_of_the_first_start_stale(shelf):
    put_papers(shelf)
    shelf.record("small", "attempts", {"result": "ran", "crank_s": "2"}, who="sam")
    assert quiet_client(shelf).get("/api/j/small/pack").json()["stale"] is True


def test_the_newest_papers_are_the_ones_that_are_shown(shelf):
    put_papers(shelf)
    change(shelf)
    put_papers(shelf, revision=2)
    told = quiet_client(shelf).get("/api/j/small/pack").json()
    assert (told["revision"], told["stale"]) == (2, False)


def test_papers_that_were_half_thrown_away_are_none(shelf):
    put_papers(shelf)
    next((shelf.folder / "papers").glob("*/*/labels.csv")).unlink()
    assert quiet_client(shelf).get("/api/j/small/pack").json()["revision"] is None


def test_rows_that_do_not_fit_make_no_papers(shelf):
    change(shelf, "to", "NOWHERE.1")
    client = quiet_client(shelf)
    assert "no car to make papers of" in Page(client.get("/j/small/pack").text).words
    assert client.post("/j/small/pack/make").status_code == 409
    assert client.get("/j/small/pack/job/xlsx").status_code == 409


def test_the_job_is_had_in_each_of_its_containers(shelf, tmp_path):
    client = quiet_client(shelf)
    for ending in ("xlsx", "loomjob", "json"):
        answer = client.get(f"/j/small/pack/job/{ending}")
        file = tmp_path / f"there.{ending}"
        file.write_bytes(answer.content)
        assert [wire.id for wire in open_job(file).wires] == ["W1", "W3", "W4", "W5", "W6", "W12"]
        assert f"small revision 1.{ending}" in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(client.get("/j/small/pack/job/zip").content)) as sheets:
        assert "wires.csv" in sheets.namelist()
    assert client.get("/j/small/pack/job/exe").status_code == 404


@pytest.mark.parametrize("name", ["about.json", "..%2Fabout.json", "pack.docx"])
def test_only_the_papers_are_had(shelf, name):
    put_papers(shelf)
    assert quiet_client(shelf).get(f"/j/small/pack/file/{name}").status_code == 404


def test_papers_are_made_in_a_process_of_their_own_with_a_count(shelf):
    client = quiet_client(shelf)
    assert client.post("/j/small/pack/make").status_code == 200
    seen, until = set(), time.monotonic() + PATIENCE_S
    while (told := client.get("/api/j/small/pack").json())["making_revision"] is not None:
        seen.add(told["making"])
        assert time.monotonic() < until, told
        time.sleep(0.02)
    assert told["refused"] == ""
    assert (told["revision"], told["stale"]) == (1, False)
    assert seen & {*MADE_OF, "checking"}
    with pypdfium2.PdfDocument(client.get("/j/small/pack/file/pack.pdf").content) as document:
        assert len(document) > 3
    book = openpyxl.load_workbook(io.BytesIO(client.get("/j/small/pack/file/pack.xlsx").content))
    assert "wires" in book.sheetnames
    with zipfile.ZipFile(io.BytesIO(client.get("/j/small/pack/file/drawings.zip").content)) as drawings:
        assert drawings.namelist()


def test_stopping_leaves_nothing_and_says_nothing_was_refused(shelf):
    snapshot, job = shelf.now("small"), shelf.id_of("small")
    bench = PaperBench(shelf.folder)
    bench.begin(job, snapshot, checked=None, built=None, date="", made="2026-01-01T10:00:00")
    assert bench.look(job, snapshot).revision == 1
    bench.stop(job)
    until = time.monotonic() + PATIENCE_S
    while list((shelf.folder / "papers").glob("*/*.making")):
        assert time.monotonic() < until
        time.sleep(0.02)
    told = bench.look(job, snapshot)
    assert (told.revision, told.kept, told.refused) == (None, None, "")
    bench.close()


def test_a_second_job_waits_for_the_first_and_says_so(tmp_path):
    shelf = shelf_in(tmp_path, one=SMALL, two=SMALL)
    bench = PaperBench(shelf.folder)
    for name in ("one", "two"):
        bench.begin(shelf.id_of(name), shelf.now(name), checked=None, built=None, date="", made="x")
    assert bench.look(shelf.id_of("two"), shelf.now("two")).ahead == 1
    bench.close()
    shelf.close()


def test_papers_are_asked_for_by_section_size_and_revision(shelf, monkeypatch):
    asked = []
    monkeypatch.setattr(PaperBench, "begin", lambda *_, **how: asked.append(how["asked"]))
    change(shelf)
    client = quiet_client(shelf)
    typed = {"page_size": "a3", "since": "1", "paper/wires": "1", "paper/owner": "1"}
    assert client.post("/j/small/pack/make", data=typed, follow_redirects=False).status_code == 303
    (one,) = asked
    assert (one.sections, one.page_size, one.history.since) == (("wires", "owner"), "a3", 1)
    assert [(cell.row, cell.newer) for cell in one.history.cells] == [("W6", "1100")]
    assert asked_words(one) == "on A3, changes since revision 1: Wire list, Owner's sheet"


@pytest.mark.parametrize("typed", [{"page_size": "a9"}, {"since": "soon"}, {"since": "99"}])
def test_what_there_is_not_is_refused_before_anything_is_made(shelf, typed):
    assert quiet_client(shelf).post("/j/small/pack/make", data=typed).status_code == 404
