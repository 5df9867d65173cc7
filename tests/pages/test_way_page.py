"""A finding's way on the drawing of a circuit and by itself, listed wire by wire; findings picked by what is folded."""

from __future__ import annotations

import re
import time

import pytest

from loomwright.findings import Finding
from loomwright.pages.records.finding_lines import Pick, findings_page
from loomwright.store.shelf import Shelf
from tests.pages.shelves import Page, app_on, here, known, links_in, snapshot_of
from tests.states.small_jobs import car
from tests.store.conftest import clock

PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """A lamp whose switch is bridged by a wire past it: it is on with the switch off, and lies in one circuit."""
    shelf = Shelf(tmp_path_factory.mktemp("way") / "shelf", clock())
    past = {"id": "W8", "from": "KEY.30", "to": "LA1.1", "size_mm2": "1.5", "length_mm": "900", "circuit": "work"}
    need = {"id": "Q1", "point": "LA1.1", "must": "dead", "when": "SW1=off"}
    shelf.add("car", car(wires=[past], requirements=[need]), who="A")
    with here(app_on(shelf, who="A")) as client:
        until = time.monotonic() + PATIENCE_S
        while not (told := client.get("/api/j/car/findings").json())["known"] and time.monotonic() < until:
            time.sleep(0.2)
        yield client, told["findings"]
    shelf.close()


def ways(client):
    """The addresses of ways that the findings offer."""
    html = client.get("/j/car/findings").text
    return list(dict.fromkeys(re.findall(r'href="(/j/car/way/[0-9a-f]+|/j/car/circuit/[^"?]+\?way=[0-9a-f]+)"', html)))


def test_every_finding_with_a_path_is_shown_on_a_drawing(desk):
    client, findings = desk

    def walk(found):
        return [one for each in found for one in (each, *walk(each["folded"]))]

    with_path = [one for one in walk(findings) if one["path"]]
    assert with_path
    assert len(ways(client)) == len(with_path)


def test_a_way_by_itself_lists_its_wires_in_order_with_where_each_goes(desk):
    client, _ = desk
    address = next(one for one in ways(client) if "/way/" in one)
    html = client.get(address).text
    page = Page(html)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    steps = client.get(f"/api{address}").json()["steps"]
    assert [one["number"] for one in steps] == list(range(1, len(steps) + 1))
    assert "W8" in [one["wire"] for one in steps]
    for one in steps:
        assert f"{one['leaves']} to {one['enters']}" in page.words
    drawn = set(re.findall(r'class="thing" data-thing="(W\d+)"', html))
    assert drawn == {one["wire"] for one in steps}


def test_on_a_circuit_the_wires_elsewhere_are_named_with_their_circuit(desk):
    client, _ = desk
    mark = next(one for one in ways(client) if "/way/" in one).rpartition("/")[2]
    page = Page(client.get(f"/j/car/circuit/work?way={mark}").text)
    assert "The way of its current" in page.words
    assert "in no circuit" in page.words
    assert "The circuit without it" in page.words
    gone = client.get("/j/car/circuit/work?way=0123456789ab", follow_redirects=False)
    assert (gone.status_code, gone.headers["location"]) == (303, "/j/car/circuit/work")
    none = client.get("/j/car/way/0123456789ab", follow_redirects=False)
    assert (none.status_code, none.headers["location"]) == (303, "/j/car/findings")


def test_a_pick_shows_the_root_of_what_is_folded_beneath_it(tmp_path):
    snapshot = snapshot_of(tmp_path)
    beneath = Finding(rule="LMP-1", severity="warning", at=("LA1",), wrong="it stays dark")
    root = Finding(rule="NET-1", severity="fault", at=("W3",), wrong="its end is free", folded=(beneath,))
    other = Finding(rule="PRO-1", severity="note", at=("W4",), wrong="nothing protects it")

    def shown(pick):
        return [one.rule for one in findings_page(snapshot, known(root, other), links_in(snapshot), pick).lines]

    assert shown(Pick(circuit="work")) == ["NET-1"]
    assert shown(Pick(severity="warning")) == ["NET-1"]
    assert shown(Pick(circuit="work", severity="fault")) == []
    assert shown(Pick(severity="note")) == ["PRO-1"]
