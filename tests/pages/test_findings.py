"""The page of findings: roots first, picked by address, each with its state, its places, its figures and its mend."""

from __future__ import annotations

import time

import pytest

from loomwright.findings import Finding
from loomwright.job.variables import Variable
from loomwright.pages.checking import Standing
from loomwright.pages.records.finding_lines import Pick, findings_page, state_in
from loomwright.pages.rendering import environment
from loomwright.store.text_rows import SetCell
from tests.pages.shelves import SMALL, Page, client_on, known, links_in, shelf_in, snapshot_of

FOLDED = Finding(rule="NET-3", severity="fault", at=("LA1",), label="LA1 (lamp)", wrong="never works")
FAULT = Finding(
    rule="DRP-1",
    severity="fault",
    at=("W6",),
    when=(("key", "run|start"), ("SW1", "on")),
    touches=("LA1.1",),
    label="W6 (lamp feed)",
    wrong="loses too much",
    found=1.2345,
    allowed=0.9,
    unit="V",
    source="common-practice",
    mend="Use 2.5 mm²",
    path=("W3", "W4"),
    folded=(FOLDED,),
)
WARNING = Finding(rule="RTE-1", severity="warning", at=("W4",), wrong="is longer than its run")
NOTE = Finding(rule="PRO-1", severity="note", at=("W3",), label="W3 (feed)", wrong="has no fuse")
ALL = (FAULT, WARNING, NOTE)


def record(tmp_path, pick: Pick | None = None, standing: Standing | None = None):
    snapshot = snapshot_of(tmp_path)
    return findings_page(snapshot, standing or known(*ALL), links_in(snapshot), pick or Pick())


@pytest.mark.parametrize(("pin", "told"), [("", True), ("A1", False)])
def test_pins_that_are_missing_are_told_before_what_follows_from_them(tmp_path, pin, told):
    needs = [{"id": "lamp", "part": "LA1", "terminal": "1", "ability": "high_side", "pin": pin}]
    pins = [{"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "high_side"}]
    more = {
        "parts": [*SMALL["parts"], {"id": "ECU", "kind": "controller"}],
        "needs": [{name: text for name, text in row.items() if text} for row in needs],
        "controller_pins": pins,
    }
    snapshot = snapshot_of(tmp_path, more)
    found = findings_page(snapshot, known(*ALL), links_in(snapshot), Pick())
    assert found.pins_missing == (1 if told else 0)


def test_each_finding_is_told_with_state_places_figures_and_mend(tmp_path):
    line = record(tmp_path).lines[0]
    assert (line.number, line.rule, line.label, line.says) == (1, "DRP-1", "W6 (lamp feed)", "loses too much")
    # rounded away from each other, so that a broken limit never looks kept
    assert (line.found, line.allowed, line.unit) == ("1.24", "0.9", "V")
    assert line.when == "key=run|start, SW1=on"
    assert line.car == "/j/small/car?state=key=run,SW1=on"
    assert line.at == ("W6",)
    assert line.circuits == ("work",)
    assert line.mend == "Use 2.5 mm²"
    assert [one.rule for one in line.folded] == ["NET-3"]


@pytest.mark.parametrize(
    ("pick", "rules"),
    [
        (Pick(), ["DRP-1", "RTE-1", "PRO-1"]),
        (Pick(severity="note"), ["PRO-1"]),
        (Pick(stage="loom"), ["RTE-1"]),
        (Pick(stage="plan"), ["DRP-1", "PRO-1"]),
        (Pick(circuit="work"), ["DRP-1"]),
        (Pick(place="bay"), ["RTE-1", "PRO-1"]),
        (Pick(place="cabin", severity="fault"), ["DRP-1"]),
        (Pick(place="cabin", severity="note"), []),
        (Pick(circuit="no such"), []),
    ],
)
def test_the_address_picks_findings(tmp_path, pick, rules):
    assert [line.rule for line in record(tmp_path, pick).lines] == rules


def test_what_can_be_picked_says_how_many_it_leaves(tmp_path):
    filters = record(tmp_path, Pick(severity="fault")).filters
    assert {one.value: one.number for one in filters["severity"]} == {"fault": 1, "warning": 1, "note": 1}
    assert {one.value: one.number for one in filters["circuit"]} == {"work": 1}
    picked = next(one for one in filters["severity"] if one.is_picked)
    assert picked.href == "/j/small/findings"


def test_limits_name_their_source_once(tmp_path):
    sources = record(tmp_path, standing=known(FAULT, FAULT, NOTE)).sources
    assert [(one.key, one.numbers) for one in sources] == [("common-practice", (1, 2))]
    assert "common practice" in sources[0].title


COOLANT = Variable(name="coolant_c", values=("40", "90", "96", "110"), rest="40", numeric=True)
KEY = Variable(name="key", values=("off", "run", "start"), rest="off")


@pytest.mark.parametrize(
    ("when", "state", "before", "unplugged"),
    [
        ([("key", "start|run")], {"key": "start"}, {}, ()),
        ([("key", "!=off")], {"key": "run"}, {}, ()),
        ([("coolant_c", ">=95")], {"coolant_c": "96"}, {}, ()),
        ([("coolant_c", ">96")], {"coolant_c": "110"}, {}, ()),
        ([("coolant_c", "<95")], {"coolant_c": "90"}, {}, ()),
        ([("coolant_c", "<=40")], {"coolant_c": "40"}, {}, ()),
        ([("before.key", "run"), ("key", "off")], {"key": "off"}, {"key": "run"}, ()),
        ([("unplugged", "X1")], {}, {}, ("X1",)),
        ([("unplugged", "none")], {}, {}, ()),
        ([("others", "loaded"), ("key", "run")], {"key": "run"}, {}, ()),
    ],
)
def test_a_state_is_found_in_which_the_conditions_hold(when, state, before, unplugged):
    assert state_in(when, [KEY, COOLANT]) == (state, before, unplugged)


def test_what_has_to_fit_first_leads_to_its_cell(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    row = shelf.now("small").rows["wires"][5]
    shelf.edit("small", [SetCell(sheet="wires", row_key=row.key, column="to", old="body", new="GONE.1")], who="sam")
    snapshot = shelf.now("small")
    shelf.close()
    found = findings_page(snapshot, Standing(revision=2, problems=snapshot.problems), links_in(snapshot), Pick())
    assert len(found.problems) == 1
    assert found.problems[0].where == "wires, row 7, to"
    assert found.problems[0].href == f"/j/small/sheet/wires?row={row.key}&column=to"
    assert found.lines == ()


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("findings"), small=SMALL)
    browser = client_on(shelf)
    yield browser
    browser.app.state.desk.bench.close()
    shelf.close()


def wait_until_known(client) -> dict:
    for _ in range(240):
        told = client.get("/api/j/small/findings").json()
        if told["known"] or told["problems"]:
            return told
        time.sleep(0.25)
    raise AssertionError("the check did not end within a minute")


def test_a_check_can_be_stopped_and_begun_again_without_scripts(client):
    first = Page(client.get("/j/small/findings").text)
    assert "Checking" in first.words
    assert "Stop" in first.words
    stopped = Page(client.post("/j/small/findings/stop").text)
    assert "The check was stopped" in stopped.words
    again = Page(client.post("/j/small/findings/again").text)
    assert "Checking" in again.words


def test_the_page_tells_what_the_rules_found(client):
    told = wait_until_known(client)
    page = Page(client.get("/j/small/findings").text)
    assert told["findings"]
    read = page.words.replace(" ", "")
    for finding in told["findings"]:
        assert finding["rule"] in page.words
        assert finding["mend"].rstrip(".").replace("`", "").replace(" ", "") in read
    assert f"{told['states_searched']:,}".replace(",", "\u202f") in page.words.replace(" ", "\u202f")


def test_words_of_the_sheets_are_set_as_such_and_escaped():
    template = environment().from_string("{{ text | ticked }}")
    assert template.render(text="its end `to` is <free>") == "its end <code>to</code> is &lt;free&gt;"
    assert template.render(text="a `<b>`") == "a <code>&lt;b&gt;</code>"
    assert template.render(text="one ` alone") == "one ` alone"


def test_every_finding_is_tied_to_its_number(client):
    wait_until_known(client)
    page = Page(client.get("/j/small/findings").text)
    numbers = [name for name in page.ids() if name.startswith("finding-")]
    assert numbers == [f"finding-{number}" for number in range(1, len(numbers) + 1)]
    assert numbers


def test_a_pick_that_leaves_nothing_says_so_and_offers_all(client):
    wait_until_known(client)
    page = Page(client.get("/j/small/findings?circuit=nowhere").text)
    assert "No finding is of all of these" in page.words
