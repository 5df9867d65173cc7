"""The page of all jobs, and the ways in which a job gets there."""

from __future__ import annotations

import json

import pytest

from loomwright.examples.shelf import example_names
from loomwright.job.reading import job_from_text
from loomwright.pages.records.shelf_lines import EXAMPLE_WORDS, name_from
from loomwright.pages.routes import shelf_pages
from loomwright.sheets.opening import write_job
from tests.pages.shelves import SMALL, Page, client_on, shelf_in


@pytest.fixture
def shelf(tmp_path):
    shelf = shelf_in(tmp_path)
    yield shelf
    shelf.close()


@pytest.fixture
def client(shelf):
    browser = client_on(shelf)
    yield browser
    browser.app.state.desk.bench.close()


def sent(client, file: str, data: bytes, **fields: str):
    return client.post("/jobs/file", files={"file": (file, data)}, data=fields, follow_redirects=False)


def test_an_empty_shelf_says_how_the_first_job_gets_there(client):
    words = Page(client.get("/").text).words
    assert "No job is on the shelf yet" in words
    assert "Take a job in" in words
    assert "Begin an empty job" in words
    assert "Put an example on the shelf" in words


def test_jobs_are_listed_with_the_last_changed_first(tmp_path):
    shelf = shelf_in(tmp_path, older=SMALL, newer=SMALL)
    browser = client_on(shelf)
    html = browser.get("/").text
    shelf.close()
    browser.app.state.desk.bench.close()
    assert html.index('href="/j/newer"') < html.index('href="/j/older"')
    assert "2026-01-01 10:01" in html


@pytest.mark.parametrize("ending", [".xlsx", ".loomjob", ".json"])
def test_a_job_is_taken_in_from_every_container(client, shelf, tmp_path, ending):
    path = tmp_path / f"old van{ending}"
    write_job(job_from_text(SMALL), path)
    answer = sent(client, f"C:\\jobs\\old van{ending}", path.read_bytes())
    assert answer.status_code == 303
    assert answer.headers["location"] == "/j/old%20van"
    wires = shelf.now("old van").rows["wires"]
    assert [row.cells["id"] for row in wires] == ["W1", "W3", "W4", "W5", "W6", "W12"]


def test_the_name_that_was_typed_is_taken(client, shelf, tmp_path):
    path = tmp_path / "x.json"
    write_job(job_from_text(SMALL), path)
    sent(client, "x.json", path.read_bytes(), name="job 7")
    assert [one.name for one in shelf.jobs()] == ["job 7"]


def test_everything_that_stands_in_the_way_is_listed_and_nothing_kept(client, shelf, tmp_path):
    path = tmp_path / "x.json"
    write_job(job_from_text(SMALL), path)
    told = json.loads(path.read_text(encoding="utf-8"))
    told["sheets"]["wires"][0]["to"] = "nowhere.1"
    told["sheets"]["wires"][1]["size_mm2"] = "thick"
    answer = sent(client, "x.json", json.dumps(told).encode(), name="mine")
    page = Page(answer.text)
    assert answer.status_code == 422
    assert "Nothing was changed" in page.words
    assert "thick" in page.words
    assert any(one.get("value") == "mine" for one in page.all("input"))
    assert shelf.jobs() == ()


@pytest.mark.parametrize(
    ("name", "data"), [("x.xlsx", b"PK\x03\x04 no zip"), ("x.json", b"{"), ("x.doc", b"words"), ("x.json", b"")]
)
def test_a_file_that_is_no_job_is_told_in_words(client, shelf, name, data):
    answer = sent(client, name, data)
    assert answer.status_code == 422
    assert "It was not taken in" in Page(answer.text).words
    assert shelf.jobs() == ()


def test_a_form_without_a_file_is_told_in_words(client):
    answer = client.post("/jobs/file", data={"name": "x"}, files={})
    assert answer.status_code == 422
    assert "no file" in Page(answer.text).words


def test_a_file_that_is_too_large_is_not_even_read(client, shelf, monkeypatch):
    monkeypatch.setattr(shelf_pages, "MOST_BYTES", 1000)
    answer = sent(client, "x.json", b"x" * 40_000)
    assert answer.status_code == 413
    assert "at most" in Page(answer.text).words
    assert shelf.jobs() == ()


def test_a_file_that_does_not_say_how_large_it_is_is_not_read(client):
    def pieces():
        yield b"--x\r\n"

    answer = client.post("/jobs/file", content=pieces(), headers={"content-type": "multipart/form-data; boundary=x"})
    assert answer.status_code == 413
    assert "does not say how large it is" in Page(answer.text).words


def test_two_jobs_never_have_one_name(client, shelf):
    client.post("/jobs/empty", data={"name": "mine"})
    again = client.post("/jobs/empty", data={"name": "mine"}, follow_redirects=False)
    assert again.status_code == 422
    assert "a name no job has yet" in Page(again.text).words
    assert len(shelf.jobs()) == 1


@pytest.mark.parametrize("name", ["", "a/b", "../x", "x" * 81, "<b>"])
def test_a_name_that_is_none_is_told_in_words(client, shelf, name):
    answer = client.post("/jobs/empty", data={"name": name}, follow_redirects=False)
    assert answer.status_code == 422
    assert shelf.jobs() == ()


def test_an_empty_job_begins_with_its_first_stage(client):
    page = Page(client.post("/jobs/empty", data={"name": "mine"}).text)
    assert "Next, in Arrival" in page.words
    assert "1 title to give" in page.words


def test_an_example_is_put_on_the_shelf_as_often_as_one_likes(client, shelf):
    for _ in range(3):
        assert client.post("/jobs/example", data={"example": "tourer"}, follow_redirects=False).status_code == 303
    assert [one.name for one in shelf.jobs()] == ["tourer", "tourer-2", "tourer-3"]
    assert client.post("/jobs/example", data={"example": "other"}).status_code == 422


def test_every_example_has_its_words():
    assert set(EXAMPLE_WORDS) == set(example_names())


@pytest.mark.parametrize(
    ("file", "name"), [("a\\b\\c.xlsx", "c"), ("Müller, 3.json", "Müller 3"), (".json", "json"), ("a" * 200, "a" * 80)]
)
def test_a_file_gives_its_job_a_name(file, name):
    assert name_from(file) == name
