"""The nine stages: honest counts of what is done and left; and the search through the things of a job."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.pages.checking import Standing
from loomwright.pages.records.found_things import found_in
from loomwright.pages.records.page_words import PAGE_WORDS, STAGE_PAGES
from loomwright.pages.records.stage_counts import STAGE_WORDS, StageCount, stages_of
from loomwright.pages.records.stages_page import stages_page
from loomwright.refusals import Problem
from tests.pages.shelves import SMALL, Page, client_on, known, links_in, shelf_in, snapshot_of

WAITING = Standing(revision=1, done=3, of=9)


def stage(tmp_path, key: str, more=None, standing: Standing = WAITING) -> StageCount:
    snapshot = snapshot_of(tmp_path, more)
    return next(one for one in stages_of(snapshot, standing, links_in(snapshot)) if one.key == key)


def counted(one: StageCount) -> dict[str, tuple[int, int | None]]:
    return {line.what: (line.number, line.of) for line in one.lines}


def test_the_stages_are_nine_and_in_the_jobs_own_order(tmp_path):
    snapshot = snapshot_of(tmp_path)
    found = stages_of(snapshot, WAITING, links_in(snapshot))
    assert [one.word for one in found] == [
        *("Arrival", "Survey", "Plan", "Loom", "Prove", "First start", "Calibrate", "Gearbox", "Handover")
    ]
    assert [one.number for one in found] == [1, 2, 3, 4, 5, 6, 7, 8, 9]


def test_a_stage_of_which_no_row_speaks_is_not_begun_and_teaches(tmp_path):
    for key in ("survey", "first start", "calibrate", "gearbox", "handover"):
        one = stage(tmp_path / key.replace(" ", ""), key)
        assert (one.standing, one.left, one.lines) == ("empty", "not begun", ())
        assert len(one.teaches) > 40
    assert all(len(word) > 3 for word in STAGE_WORDS.values())


def test_the_loom_counts_new_wires_and_both_their_ends(tmp_path):
    steps = [
        {"wire": "W3", "end": "both", "step": "cut"},
        {"wire": "W3", "end": "from", "step": "crimped"},
        {"wire": "W3", "end": "from", "step": "crimped"},
        {"wire": "W4", "end": "both", "step": "crimped"},
        {"wire": "W4", "end": "to", "step": "seated"},
        {"wire": "W1", "end": "both", "step": "cut"},
    ]
    one = stage(tmp_path, "loom", {"progress": steps})
    # five wires are new: W1 is kept and not cut again
    assert counted(one) == {
        "new wires cut": (1, 5),
        "ends crimped": (3, 10),
        "ends seated": (1, 10),
        "new wires with a length": (5, 5),
    }
    assert one.left == "4 wires to cut"
    assert one.standing == "open"


def test_a_stage_with_nothing_left_is_done(tmp_path):
    fated = {"old_wires": [{"id": "O1", "fate": "keep"}, {"id": "O2", "fate": "leave"}]}
    one = stage(tmp_path, "survey", fated)
    assert (one.standing, one.left, one.next) == ("done", "nothing left", None)


def test_a_wish_that_is_asked_is_left_to_the_owner(tmp_path):
    wishes = [{"id": "a", "included": "yes"}, {"id": "b", "included": "no"}, {"id": "c"}, {"id": "d"}]
    one = stage(tmp_path, "arrival", {"wishes": wishes})
    assert counted(one)["wishes decided"] == (2, 4)
    assert one.left == "2 choices of the owner"


def test_the_survey_counts_fates_readings_and_tested_positions(tmp_path):
    more = {
        "old_wires": [{"id": "O1", "fate": "keep"}, {"id": "O2"}, {"id": "O3"}],
        "readings": [
            {"old_wire": "O1", "measure": "volts", "value": "12.1", "unit": "V"},
            {"old_wire": "O1", "measure": "volts", "value": "12.0", "unit": "V"},
        ],
    }
    one = stage(tmp_path, "survey", more)
    assert counted(one)["old wires with a fate"] == (1, 3)
    assert counted(one)["old wires read at least once"] == (1, 3)
    assert counted(one)["readings taken"] == (2, None)
    assert one.left == "2 wires without a fate"


def test_the_plan_counts_blank_sizes_until_they_are_decided(tmp_path):
    assert counted(stage(tmp_path / "a", "plan"))["wires with a size"] == (5, 6)
    decided = {"decisions": [{"sheet": "wires", "row": "W6", "column": "size_mm2", "value": "1.5"}]}
    assert counted(stage(tmp_path / "b", "plan", decided))["wires with a size"] == (6, 6)


CONTROLLED = {
    "parts": [*SMALL["parts"], {"id": "ECU", "kind": "controller"}, {"id": "INJ", "kind": "injector"}],
    "wires": [*SMALL["wires"], {"id": "W20", "from": "INJ.2"}, {"id": "W21", "from": "INJ.1"}],
    "controller_pins": [{"id": "A1", "part": "ECU", "terminal": "A1", "abilities": "injector"}],
    "needs": [{"id": "inj", "part": "INJ", "terminal": "2", "ability": "injector"}],
}
"""The small car with an injector that waits for its pin, and a wire of it whose end nobody wrote."""


def test_pins_that_are_missing_come_before_the_faults_that_follow_from_them(tmp_path):
    fault = known(Finding(rule="NET-3", severity="fault", at=("INJ",), wrong="x"))
    one = stage(tmp_path / "a", "plan", CONTROLLED, fault)
    assert one.left == "1 pin to decide"
    assert counted(one)["what the controller does, with a pin"] == (0, 1)
    # W20 waits for its pin and is nobody's to end; W21 is
    assert counted(one)["wires with both ends"] == (6, 7)
    given = {**CONTROLLED, "decisions": [{"sheet": "needs", "row": "inj", "column": "pin", "value": "A1"}]}
    one = stage(tmp_path / "b", "plan", given, fault)
    assert one.left == "1 fault to mend"
    assert counted(one)["what the controller does, with a pin"] == (1, 1)
    assert counted(one)["wires with both ends"] == (7, 8)


def test_every_page_of_a_stage_is_there_and_each_stage_leads_to_its_own(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    page = Page(client_on(shelf).get("/j/small").text)
    shelf.close()
    links = [one["href"] for one in page.all("a") if one.get("href", "").startswith("/j/small/")]
    for pieces in STAGE_PAGES.values():
        assert pieces
        for piece in pieces:
            assert f"/j/small/{piece}" in links, piece
            assert PAGE_WORDS[piece] in page.words
    assert page.words.count("Begin there") == 5
    assert {f"/j/small/{piece}" for piece in ("survey", "start", "numbers", "gears", "snags")} <= set(links)


def test_the_plan_counts_what_is_removed_no_more(tmp_path):
    assert counted(stage(tmp_path, "plan"))["parts"] == (5, None)


def test_faults_come_first_and_notes_are_never_left(tmp_path):
    fault = Finding(rule="NET-1", severity="fault", at=("W6",), wrong="x")
    note = Finding(rule="PRO-1", severity="note", at=("W3",), wrong="y")
    one = stage(tmp_path, "plan", standing=known(fault, note, note))
    assert one.left == "1 fault to mend"
    assert one.lines[0].what == "faults found"
    assert counted(one)["notes found"] == (2, None)
    assert one.lines[0].href == "/j/small/findings?stage=plan&severity=fault"


def test_findings_of_routes_are_of_the_loom(tmp_path):
    one = stage(tmp_path, "loom", standing=known(Finding(rule="RTE-1", severity="warning", at=("W6",), wrong="x")))
    assert counted(one)["warnings found"] == (1, None)


def test_while_it_is_checked_the_plan_is_never_done(tmp_path):
    sized = {"wires": [{**row, "size_mm2": row.get("size_mm2", "1.5")} for row in SMALL["wires"]]}
    assert stage(tmp_path / "a", "plan", sized).left == "checking"
    assert stage(tmp_path / "b", "plan", sized, Standing(revision=1, stopped=True)).left == "not checked"
    done = stage(tmp_path / "c", "plan", sized, known())
    assert (done.standing, done.left) == ("done", "nothing left")


def test_cells_that_do_not_fit_are_what_the_plan_has_left(tmp_path):
    problem = Problem(sheet="wires", row=2, column="to", found="X", allowed="a point", mend="Type it")
    one = stage(tmp_path, "plan", standing=Standing(revision=1, problems=(problem, problem)))
    assert one.left == "2 cells to mend"


def test_questions_snags_gates_and_hours_count_in_their_own_stage(tmp_path):
    more = {
        "questions": [
            {"id": "Q1", "stage": "arrival", "text": "which radio", "status": "open"},
            {"id": "Q2", "stage": "arrival", "text": "tow bar", "status": "done"},
        ],
        "snags": [{"id": "S1", "stage": "first start", "text": "leak", "status": "open"}],
        "gates": [
            {"gate": "oil", "stage": "first start", "verdict": "failed"},
            {"gate": "oil", "stage": "first start", "verdict": "passed"},
            {"gate": "fuel", "stage": "first start", "verdict": "failed"},
        ],
        "hours": [{"stage": "arrival", "minutes": "90"}, {"stage": "arrival", "minutes": "30"}],
    }
    arrival = stage(tmp_path / "a", "arrival", more)
    assert arrival.left == "1 question to answer"
    assert arrival.minutes == 120.0
    first = counted(stage(tmp_path / "b", "first start", more))
    assert first["gates passed or waived"] == (1, 2)
    assert first["snags done"] == (0, 1)
    handover = counted(stage(tmp_path / "c", "handover", more))
    assert handover == {"snags of all stages done": (0, 1), "questions of all stages answered": (1, 2)}


def test_the_last_word_on_a_test_counts(tmp_path):
    tests = [
        {"test": "continuity", "point": "LA1.1", "verdict": "failed"},
        {"test": "continuity", "point": "LA1.1", "verdict": "passed"},
        {"test": "continuity", "point": "LA1.2", "verdict": "failed"},
    ]
    one = stage(tmp_path, "prove", {"proofs": tests, "progress": [{"wire": "W3", "end": "both", "step": "proved"}]})
    assert counted(one) == {"wires proved": (1, 6), "tests passed": (1, 2)}


def test_counts_are_there_even_where_rows_do_not_fit_each_other(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    row = shelf.now("small").rows["wires"][5]
    from loomwright.store.text_rows import SetCell

    shelf.edit("small", [SetCell(sheet="wires", row_key=row.key, column="to", old="body", new="GONE.1")], who="sam")
    snapshot = shelf.now("small")
    shelf.close()
    assert snapshot.job is None
    found = stages_of(snapshot, Standing(revision=2, problems=snapshot.problems), links_in(snapshot))
    assert counted(found[3])["new wires cut"] == (0, 5)
    assert found[2].left == "1 cell to mend"


def test_the_next_thing_is_the_first_that_is_left(tmp_path):
    snapshot = snapshot_of(tmp_path)
    record = stages_page(snapshot, known(), links_in(snapshot))
    assert record.next is not None
    assert (record.next.stage, record.next.says, record.next.href) == (
        "Plan",
        "1 size to decide",
        "/j/small/sheet/wires",
    )
    fault = Finding(rule="NET-1", severity="fault", at=("W6",), wrong="x")
    record = stages_page(snapshot, known(fault), links_in(snapshot))
    assert record.tied == {"plan": (1,)}
    assert record.next is not None
    assert record.next.says == "1 fault to mend"


def test_what_can_kill_stands_in_the_margin_of_the_stages(tmp_path):
    snapshot = snapshot_of(tmp_path)
    steps = {one.step for one in stages_page(snapshot, known(), links_in(snapshot)).cautions}
    assert "At the battery" in steps
    assert all(one.kills for one in stages_page(snapshot, known(), links_in(snapshot)).cautions)


def names(groups) -> dict[str, list[str]]:
    return {group.sheet: [row.name for row in group.rows] for group in groups}


@pytest.mark.parametrize(
    ("sought", "sheet", "found"),
    [
        ("w6", "wires", ["W6"]),
        ("wh/bu", "wires", ["W6"]),
        ("WH/BU lamp", "wires", []),
        ("work 1.5", "wires", []),
        ("LA1", "wires", ["W6", "W12"]),
        ("LA1.2", "wires", ["W12"]),
        ("15", "wires", ["W5"]),
        ("bench", "parts", ["LA1"]),
        ("lamp", "circuits", ["work"]),
        ("engine bay", "places", ["bay"]),
        ("cabin", "parts", ["KEY", "SW1"]),
        ("zzz", "wires", []),
    ],
)
def test_a_search_finds_by_id_colour_terminal_name_and_place(tmp_path, sought, sheet, found):
    snapshot = snapshot_of(tmp_path)
    assert names(found_in(snapshot, sought, links_in(snapshot))).get(sheet, []) == found


def test_the_thing_itself_comes_before_those_that_name_it(tmp_path):
    snapshot = snapshot_of(tmp_path)
    groups = found_in(snapshot, "w1", links_in(snapshot))
    assert names(groups)["wires"] == ["W1", "W12", "W5", "W6"]
    assert found_in(snapshot, "key", links_in(snapshot))[0].sheet == "parts"


def test_a_search_leads_to_the_page_of_a_thing_or_else_to_its_row(tmp_path):
    snapshot = snapshot_of(tmp_path)
    wire = found_in(snapshot, "W12", links_in(snapshot))[0].rows[0]
    assert wire.href == "/j/small/wire/W12"
    assert wire.says == "LA1.2 – body, work" or wire.says == "LA1.2 – body"
    place = found_in(snapshot, "engine", links_in(snapshot))[0].rows[0]
    key = snapshot.rows["places"][0].key
    assert place.href == f"/j/small/sheet/places?row={key}"


def test_more_than_is_shown_is_counted(tmp_path):
    snapshot = snapshot_of(tmp_path)
    group = found_in(snapshot, "w", links_in(snapshot), most=2)[0]
    assert (len(group.rows), group.more) == (2, 4)


def test_a_search_works_as_a_page_and_as_data(tmp_path):
    shelf = shelf_in(tmp_path, small=SMALL)
    browser = client_on(shelf)
    page = Page(browser.get("/j/small/search", params={"q": "WH/BU"}).text)
    told = browser.get("/api/j/small/search", params={"q": "WH/BU"}).json()
    nothing = Page(browser.get("/j/small/search", params={"q": "zzz"}).text)
    browser.app.state.desk.bench.close()
    shelf.close()
    assert "1 found for “WH/BU”" in page.words
    assert "W6" in page.words
    assert told[0]["sheet"] == "wires"
    assert told[0]["rows"][0]["name"] == "W6"
    assert told[0]["rows"][0]["paint"] == ["#ffffff", "#2a5fae"]
    assert "Nothing answers to it" in nothing.words
