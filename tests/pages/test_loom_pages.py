"""The loom as a thing: the car plan, a run cut across, every rule of a size, every short, a part at other places."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient
from playwright.sync_api import Page as Sheet
from playwright.sync_api import expect

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.pages.records.plan_view import views_of
from loomwright.quantities.printing import for_print
from loomwright.store.shelf import Shelf
from tests.pages.conftest import RunningDesk
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in

PATIENCE_S = 120.0
RUN = "R_bulkhead_controller"


@pytest.fixture(scope="module")
def job() -> Job:
    """A small whole car, with its pins given; what is blank is sized by the page."""
    return Car(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand"}).job).worked_out().job


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory, job: Job) -> Iterator[Shelf]:
    made = shelf_in(tmp_path_factory.mktemp("loom"))
    made.add("small", job, who="A")
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(shelf: Shelf) -> TestClient:
    return quiet_client(shelf)


def worked_out(client: TestClient, path: str) -> Page:
    """A page once its answer is there."""
    until = time.monotonic() + PATIENCE_S
    while True:
        page = Page(client.get(path).text)
        if not page.all("progress"):
            return page
        assert time.monotonic() < until
        time.sleep(0.1)


def test_the_plan_draws_every_run_and_its_list_says_the_same(client: TestClient, job: Job) -> None:
    page = Page(client.get("/j/small/car-plan").text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    assert "key run, engine running" in page.words, "driving, where nothing else is asked"
    hrefs = [one.get("href", "") for one in page.all("a")]
    for run in job.runs:
        of_run = [href for href in hrefs if f"run={run.id}#section" in href]
        assert len(of_run) == 5, "its line and its name in both views, and the list"
    assert sum("hole" in one.get("class", "") for one in page.all("g")) == 2 * sum(
        run.hole_mm is not None for run in job.runs
    )


def test_the_plan_is_warmer_where_current_flows_and_rest_can_be_asked_for(client: TestClient) -> None:
    running = client.get("/j/small/car-plan").text
    there = client.get("/j/small/car-plan?set.key=off", follow_redirects=False).headers["location"]
    at_rest = client.get(there).text
    assert 'class="live"' in running
    assert 'class="live"' not in at_rest
    assert "everything at rest" in Page(at_rest).words


def test_a_run_cut_across_has_every_wire_to_scale_in_its_colours(client: TestClient, job: Job) -> None:
    page = Page(client.get(f"/j/small/car-plan?run={RUN}").text)
    sheet = Car(job).run_sheets(only=[RUN])[RUN]
    cores = [one for one in page.all("circle") if one.get("class") == "skin"]
    assert len(cores) == len(sheet.conductors)
    across = sum(float(one["r"]) ** 2 for one in cores)
    covering = next(float(one["r"]) for one in page.all("circle") if one.get("class") == "covering")
    assert 2.0 * covering == pytest.approx(sheet.covered_mm, rel=1e-3)
    assert across < covering**2, "they fit into what is round them"
    for one in cores:
        assert (float(one["cx"]) ** 2 + float(one["cy"]) ** 2) ** 0.5 + float(one["r"]) <= covering
    for wire in sheet.conductors:
        assert f"/j/small/sizes?wire={wire}" in [one.get("href", "") for one in page.all("a")]
    assert "no tighter than" in page.words


def test_a_run_that_is_not_there_is_refused_with_those_that_are(client: TestClient) -> None:
    answer = client.get("/j/small/car-plan?run=R99")
    assert answer.status_code == 404
    assert RUN in answer.text


def test_stretches_in_which_nothing_sits_are_left_out_and_marked(job: Job) -> None:
    above, side = views_of(job.places, job.runs, {}, {})
    at = {one.place: one.x for one in above.places}
    far = {place.id: place.x_mm for place in job.places}
    assert above.breaks == side.breaks
    assert above.breaks
    order = sorted(far, key=lambda name: far[name])
    assert [at[name] for name in order] == sorted(at.values()), "nobody changes places"
    assert all(0.0 <= one.label_x <= above.wide for one in above.runs)


def test_every_size_has_its_rule_and_one_wire_every_rule(client: TestClient, job: Job) -> None:
    page = worked_out(client, "/j/small/sizes")
    assert page.unclosed == []
    sized = client.app.state.desk.sizes.look(("small", 1, "sizes"), lambda _: pytest.fail("worked out already")).answer
    new = [wire.id for wire in job.wires if wire.fitted == "new"]
    assert {href.partition("wire=")[2].partition("#")[0] for href in hrefs_in(page) if "sizes?wire=" in href} == {*new}
    ruled = next(name for name in new if sized.wires[name].decided_by == "fuse")
    text = client.get(f"/j/small/sizes?wire={ruled}").text
    assert "fuse: it ruled" in text
    rules = re.search(r'<ul class="rules-beside">.*?</ul>', text, re.DOTALL)
    assert rules is not None
    assert rules.group().count("<li") == len(sized.wires[ruled].asks)
    assert f"/why/small/{ruled}.size_mm2" in text
    only = Page(client.get("/j/small/sizes?by=fuse").text)
    by_fuse = sum(sized.wires[name].decided_by == "fuse" for name in new)
    assert sum("sizes?wire=" in href for href in hrefs_in(only)) == by_fuse
    assert client.get("/j/small/sizes?wire=W999").status_code == 404


def hrefs_in(page: Page) -> list[str]:
    """Where its links lead."""
    return [one.get("href", "") for one in page.all("a")]


def test_every_short_has_its_verdict_and_may_be_picked_by_it(client: TestClient, job: Job) -> None:
    found = Car(job).faults()
    page = Page(client.get("/j/small/shorts").text)
    assert page.unclosed == []
    for word, count in found.counted().items():
        assert f"{word} {count}" in page.words
    unfused = client.get("/j/small/shorts?verdict=unfused")
    assert unfused.text.count('data-word="short at"') == 2 * found.counted()["unfused"]
    assert "Before any fuse" in Page(unfused.text).words
    assert 'data-word="copper">melts' in unfused.text
    assert "1083 °C" not in unfused.text + page.words
    assert "What no fuse ends" in page.words
    assert client.get("/j/small/shorts?verdict=melted").status_code == 404


@pytest.mark.long
def test_a_part_is_tried_at_another_place_and_stands_first_where_it_is(client: TestClient, job: Job) -> None:
    part = next(one for one in job.parts if one.kind == "relay" and one.place)
    other = next(place.id for place in job.places if place.id != part.place and place.zone == "cabin")
    page = worked_out(client, f"/j/small/placing?part={part.id}&at={other}")
    assert page.unclosed == []
    assert page.words.index("as it is") < page.words.index("What speaks against each")
    assert sum("placing-bar" in one.get("class", "") for one in page.all("svg")) >= 6
    picked = [one["value"] for one in page.all("input") if one.get("name") == "at" and "checked" in one]
    assert picked == [other]


def test_a_place_that_is_not_there_is_refused_and_a_form_half_filled_is_not(client: TestClient) -> None:
    assert client.get("/j/small/placing?part=K99&at=box").status_code == 404
    assert client.get("/j/small/placing?part=&at=box").status_code == 200
    assert client.get("/j/small/placing?at=moon").status_code == 404


def test_trying_is_stopped_and_taken_up_again(client: TestClient, job: Job) -> None:
    part = next(one for one in job.parts if one.kind == "relay" and one.place)
    path = f"?part={part.id}&at=dash"
    turn = client.app.state.desk.placings._turn
    with turn:
        assert f"/j/small/placing/stop{path}".replace("&", "&amp;") in client.get(f"/j/small/placing{path}").text
        client.post(f"/j/small/placing/stop{path}")
        assert "It was stopped" in client.get(f"/j/small/placing{path}").text
        client.post(f"/j/small/placing/again{path}")
        assert "It was stopped" not in client.get(f"/j/small/placing{path}").text
        client.post(f"/j/small/placing/stop{path}")


@pytest.mark.long
def test_from_the_plan_to_a_run_its_cut_a_wire_and_its_rules(desk: RunningDesk, page: Sheet, job: Job) -> None:
    name = f"{desk.job}-whole"
    desk.shelf.add(name, job, who="A")
    wire = Car(job).run_sheets(only=[RUN])[RUN].conductors[0]
    page.goto(f"{desk.url}/j/{name}/car-plan")
    page.locator(f"a.named[href*='run={RUN}#']").first.click()
    cut = page.get_by_role("region", name=f"{RUN} cut across")
    expect(cut).to_be_visible()
    cut.get_by_role("row").filter(has_text=wire).get_by_role("link", name=wire, exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(wire)
    page.go_back()
    cut.locator(f"a[href$='sizes?wire={wire}']").click()
    expect(page.get_by_role("region", name=re.compile(f"{wire} .*every rule"))).to_be_visible()


def test_a_run_tells_what_is_crimped_at_its_ends_and_a_hole_too_small(
    shelf: Shelf, client: TestClient, job: Job
) -> None:
    routes = Car(job).routes
    wire = next(one.wire for one in routes.wires.values() if one.runs and one.runs[-1] == RUN)
    named = tuple(
        replace(one, terminal_to="2.8 mm blade", fitted="new") if one.id == wire else one for one in job.wires
    )
    holed = tuple(replace(run, hole_mm=2.0) if run.id == RUN else run for run in job.runs)
    shelf.add("crimped", replace(job, wires=named, runs=holed), who="A")
    page = Page(client.get(f"/j/crimped/car-plan?run={RUN}").text)
    for words in ("Crimped at its ends", "2.8 mm blade", "open barrel", "does not hold"):
        assert words in page.words, words
    assert page.unclosed == []


def test_splices_stand_beside_the_parts_with_where_they_take_the_least_copper(client: TestClient, job: Job) -> None:
    page = Page(client.get("/j/small/placing").text)
    splices = [part.id for part in job.parts if part.kind == "splice"]
    assert splices
    assert "where they take the least copper" in page.words
    assert all(name in page.words for name in splices)


def test_a_wire_that_a_short_has_no_figure_for_says_why_instead_of_dashes(client: TestClient, job: Job) -> None:
    quiet = [one for one in Car(job).faults().wires.values() if all(each.amps is None for each in one.shorts)]
    text = client.get("/j/small/shorts").text
    page = Page(text)
    assert quiet
    assert "it is earthed already: nothing flows" in page.words
    rows = re.search(r"<tbody>.*?</tbody>", text, re.DOTALL)
    assert rows is not None
    assert "–" not in rows.group()
    for one in quiet:
        assert f">{one.wire}<" not in rows.group(), "listed below the table, with the reason once"
        assert one.wire in page.words
    only = Page(client.get("/j/small/shorts?verdict=earth").text)
    assert "Without a figure" in only.words
    assert only.unclosed == []


@pytest.mark.long
def test_a_job_is_held_beside_another_and_beside_what_it_was(shelf: Shelf, client: TestClient, job: Job) -> None:
    longer = tuple(replace(one, length_mm=(one.length_mm or 1000.0) * 2.0) for one in job.wires)
    shelf.add("longer", replace(job, wires=longer), who="A")
    page = worked_out(client, "/j/longer/beside?other=small")
    assert page.unclosed == []
    assert page.words.index("longer") < page.words.index("What speaks against each")
    rows = [one.get("href") for one in page.all("a")]
    assert "/j/small/car" in rows
    mine, other = Car(shelf.now("longer").job).weighed("longer"), Car(job).weighed("small")
    assert mine.copper_g > other.copper_g
    for one in (mine, other):
        assert f"{for_print(one.copper_g, side='up', digits=4)} g" in page.words
    assert client.get("/j/longer/beside?other=moon").status_code == 404
    assert client.get("/j/longer/beside?other=1").status_code == 404, "it is that revision"
    assert "Hold them side by side" in Page(client.get("/j/longer/beside").text).words
