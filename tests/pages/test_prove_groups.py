"""Dead tests of one sort at one place are answered in one press, each as its own row; figures are always typed."""

from __future__ import annotations

import time
from urllib.parse import parse_qs, urlsplit

import pytest

from loomwright.job.reading import job_from_text
from loomwright.pages.addresses import job_path
from loomwright.pages.grouped_tests import group_of
from loomwright.pages.routes import prove
from loomwright.proving.plan import PlannedTest, TestPlan, stood_of
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in
from tests.pages.tablet import planned

PATIENCE_S = 60.0


def by_hand(sort: str, part: str, place: str = "bay") -> PlannedTest:
    """A test that is tried by hand and answered yes."""
    told = {"measure": "hand", "unit": "", "low": None, "high": None, "word": "yes", "says": "yes"}
    return planned(f"dead/{sort}/{part}", "dead", does=f"{sort} tried", point=part, place=place, **told)


def to_body(point: str, *, is_open: bool = True) -> PlannedTest:
    """A test of ohms to the body: open, or a figure through the earth behind it."""
    told = {"measure": "ohms", "unit": "ohm", "to": "body", "place": "cabin", "does": "to the body"}
    told |= {"word": "open", "low": 1e6, "high": None} if is_open else {"low": 0.0, "high": 0.2}
    return planned(f"dead/body/{point}", "dead", point=point, says="open" if is_open else "under 0.2 ohm", **told)


TESTS = (
    *(by_hand("tug", part) for part in ("F1", "LA1", "K1")),
    by_hand("tug", "SW1", "cabin"),
    by_hand("cavity", "F1"),
    *(to_body(f"KEY.{name}") for name in ("30", "15", "50")),
    to_body("KEY.31", is_open=False),
    planned("live/LA1.1"),
)
PLAN = TestPlan(tests=TESTS, walk_mm=0.0, turns=0, before_walk_mm=0.0, before_turns=0)
JOB = job_from_text(SMALL)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    made = shelf_in(tmp_path_factory.mktemp("groups"), small=SMALL)
    yield made
    made.close()


@pytest.fixture
def client(shelf, monkeypatch):
    monkeypatch.setattr(prove, "plan_apart", lambda _job, _tell: PLAN)
    return quiet_client(shelf)


def sheet(client, test):
    until = time.monotonic() + PATIENCE_S
    while "test-card" not in (text := client.get("/j/small/prove", params={"test": test}).text):
        assert time.monotonic() < until
        time.sleep(0.02)
    return Page(text)


def ticked(page):
    """The tests that stand ticked in the group of a card, by the field's name."""
    boxes = [one for one in page.all("input") if one.get("type") == "checkbox" and one["name"].startswith("is.")]
    return {one["name"]: one["value"] for one in boxes if "checked" in one}


def together(test):
    found = group_of(JOB, next(one for one in TESTS if one.id == test), stood_of(TESTS, ()))
    return None if found is None else (found.answer, [one.point for one in found.tests])


def test_one_sort_at_one_place_goes_together_and_nothing_that_has_a_figure():
    assert together("dead/tug/LA1") == ("yes", ["F1", "LA1", "K1"])
    assert together("dead/tug/SW1") is None, "alone at its place"
    assert together("dead/cavity/F1") is None, "alone of its sort"
    assert together("dead/body/KEY.15") == ("open", ["KEY.30", "KEY.15", "KEY.50"])
    assert together("dead/body/KEY.31") is None, "a figure is read and typed"
    assert together("live/LA1.1") is None


def test_what_must_be_open_goes_together_by_the_connector_it_is_in():
    connectors = [
        {"id": "XA", "part": "KEY", "terminals": "30 15", "ways": "2"},
        {"id": "XB", "part": "KEY", "terminals": "50", "ways": "2"},
    ]
    job = job_from_text({**SMALL, "connectors": connectors})
    found = group_of(job, TESTS[5], stood_of(TESTS, ()))
    assert (found.at, [one.point for one in found.tests]) == ("XA", ["KEY.30", "KEY.15"])


def test_one_press_keeps_each_as_its_own_row_that_says_so(client, shelf):
    page = sheet(client, "dead/tug/F1")
    assert "Or together: 3 like it at engine bay" in page.words
    typed = ticked(page)
    assert sorted(typed.values()) == ["dead/tug/F1", "dead/tug/K1", "dead/tug/LA1"]
    dropped = next(name for name, test in typed.items() if test == "dead/tug/K1")
    sent = {name: test for name, test in typed.items() if name != dropped}
    sent |= {"test": "dead/tug/F1", "warmth": "cold", "instrument": "by hand", "is.99": "dead/tug/SW1"}
    before = shelf.now("small").revision
    answer = client.post("/j/small/prove/group", data=sent, follow_redirects=False)
    assert answer.status_code == 303
    kept = shelf.now("small")
    assert kept.revision == before + 1, "one press, one revision"
    assert [(one.test, one.verdict, one.warmth, one.instrument) for one in kept.job.proofs] == [
        ("dead/tug/F1", "passed", "cold", "by hand"),
        ("dead/tug/LA1", "passed", "cold", "by hand"),
    ]
    assert {one.notes for one in kept.job.proofs} == {"answered together with 1 other of its sort; answered yes"}
    assert "Or together" not in sheet(client, "dead/tug/K1").words, "the one that was unticked is answered by itself"


def test_open_is_kept_for_each_and_a_test_with_a_figure_is_never_taken_along(client, shelf):
    typed = ticked(sheet(client, "dead/body/KEY.15"))
    before = len(shelf.now("small").job.proofs)
    sent = {**typed, "test": "dead/body/KEY.15", "is.50": "dead/body/KEY.31", "is.51": "live/LA1.1"}
    assert client.post("/j/small/prove/group", data=sent, follow_redirects=False).status_code == 303
    found = shelf.now("small").job.proofs[before:]
    assert [(one.point, one.value, one.verdict) for one in found] == [
        (f"KEY.{name}", "open", "passed") for name in ("30", "15", "50")
    ]
    assert {one.notes for one in found} == {"answered together with 2 others of its sort"}
    alone = client.post("/j/small/prove/group", data={"test": "live/LA1.1", "is.1": "live/LA1.1"})
    assert alone.status_code == 200
    assert len(shelf.now("small").job.proofs) == before + 3


def test_volts_that_a_standing_engine_cannot_give_are_asked_about_and_kept_where_insisted_on(client, shelf):
    sheet(client, "live/LA1.1")
    before = len(shelf.now("small").job.proofs)
    told = client.post("/j/small/prove", data={"test": "live/LA1.1", "value": "15", "instrument": "pocket meter"})
    assert told.status_code == 422
    page = Page(told.text)
    assert "15 V with the engine stopped is more than 13.2 V. Was the engine running, or a charger on?" in page.words
    fields = {one.get("id"): one.get("value") for one in page.all("input")}
    assert (fields["t-value"], fields["t-with"]) == ("15", "pocket meter")
    assert len(shelf.now("small").job.proofs) == before
    client.post("/j/small/prove", data={"test": "live/LA1.1", "value": "15", "insist": "yes"})
    assert [(one.value, one.verdict) for one in shelf.now("small").job.proofs[before:]] == [(15.0, "failed")]
    page = sheet(client, "live/LA1.1")
    assert "Failed so far" in page.words
    assert "/j/small/fault?hunt=test%20live%2FLA1.1" in [one.get("href") for one in page.all("a")]


def test_a_test_of_a_terminal_named_plus_is_come_back_to():
    """In an address a bare plus sign is a blank."""
    address = job_path("small", "prove", query={"test": "live/BAT.+/key.run+light.head"})
    assert parse_qs(urlsplit(address).query) == {"test": ["live/BAT.+/key.run+light.head"]}
