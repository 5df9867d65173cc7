"""What is built, revisions, photos, papers: each page whole, each field with words, nothing inline, each link alive."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in

ADDRESSES = (
    *(
        "built",
        "built?left=all&by=place",
        "revisions",
        "revisions?from=1&to=3",
        "revisions/1",
        "revisions/2?sheet=parts",
    ),
    *("photos", "photos?sheet=wires", "photos/parts/1", "pack"),
)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    steps = [
        {"wire": "W3", "end": "both", "step": "cut", "revision": "1", "length_mm": "200"},
        {"wire": "W3", "end": "from", "step": "crimped", "revision": "1"},
        {"wire": "W5", "end": "to", "step": "seated"},
    ]
    shelf = shelf_in(tmp_path_factory.mktemp("history"), small={**SMALL, "progress": steps})
    for cells in ({"wire": "W4", "end": "both", "step": "cut"}, {"wire": "W6", "end": "both", "step": "cut"}):
        shelf.record("small", "progress", cells, who="sam")
    yield quiet_client(shelf)
    shelf.close()


def address_of(client, path: str) -> str:
    if "photos/parts/1" in path:
        rows = client.get("/api/j/small/sheet/parts").json()["rows"]
        first = rows[0]
        key = first["row"] if isinstance(first, dict) and "row" in first else first["key"]
        return f"/j/small/photos/parts/{key}"
    return f"/j/small/{path}"


@pytest.mark.parametrize("path", ADDRESSES)
def test_each_page_is_whole_and_each_field_has_words(client, path):
    answer = client.get(address_of(client, path), headers={"accept": "text/html"})
    assert answer.status_code == 200
    page = Page(answer.text)
    assert page.unclosed == []
    assert len(page.all("h1")) == 1
    assert len(page.ids()) == len(set(page.ids()))
    labelled = {label["for"] for label in page.all("label")}
    fields = [one for tag in ("input", "select", "textarea") for one in page.all(tag) if one.get("type") != "hidden"]
    assert [one for one in fields if one.get("id") not in labelled and "aria-label" not in one] == []
    asked = {
        word
        for _, one in page.elements
        for name in ("aria-describedby", "aria-labelledby")
        for word in one.get(name, "").split()
    }
    assert asked <= set(page.ids())
    assert [one for _, one in page.elements if "style" in one or any(name.startswith("on") for name in one)] == []


@pytest.mark.parametrize("path", ADDRESSES)
def test_headings_come_in_order(client, path):
    levels = [int(found) for found in re.findall(r"<h([1-6])", client.get(address_of(client, path)).text)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("path", ADDRESSES)
def test_every_link_leads_somewhere(client, path):
    page = Page(client.get(address_of(client, path)).text)
    links = {one["href"].partition("#")[0] for one in page.all("a")} - {""}
    own = {link for link in links if re.match(r"/j/small/(built|revisions|photos?|pack)", link)}
    assert own
    gone = [link for link in sorted(own)[:40] if client.get(link).status_code != 200]
    assert gone == []
