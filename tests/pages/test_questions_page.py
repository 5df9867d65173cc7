"""Questions: asked, handed over, answered; what each holds up; the owner's page without the shop's words."""

from __future__ import annotations

import pytest

from tests.handover.small_quote import SHEETS
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in
from tests.pages.shop_forms import fields, send

HERE = "/j/car/questions"
ASKED = [
    {"id": "Q1", "stage": "loom", "text": "Where may the lamp sit?", "about": "L2 work"},
    {"id": "Q2", "stage": "survey", "text": "May the old loom be cut?", "status": "done", "answer": "Cut it."},
    {"id": "Q3", "stage": "plan", "text": "Which lamp?", "status": "with the owner"},
]


@pytest.fixture
def shelf(tmp_path):
    wishes = [{**SHEETS["wishes"][0], "included": "asked"}]
    made = shelf_in(tmp_path, car={**SHEETS, "questions": ASKED, "wishes": wishes}, new=SHEETS)
    yield made
    made.close()


@pytest.fixture
def client(shelf):
    return quiet_client(shelf)


def words(client, address=HERE) -> str:
    return Page(client.get(address, headers={"accept": "text/html"}).text).words


def told(shelf, name: str) -> dict[str, str]:
    return next(dict(row.cells) for row in shelf.now("car").rows["questions"] if row.cells.get("id") == name)


def key(shelf, name: str) -> str:
    return str(next(row.key for row in shelf.now("car").rows["questions"] if row.cells.get("id") == name))


def test_the_page_is_whole_and_its_ids_stand_once(client):
    page = Page(client.get(HERE, headers={"accept": "text/html"}).text)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))


def test_open_questions_come_first_in_the_order_of_the_stages(client):
    said = words(client)
    assert "2 open, 1 of them with the owner, 1 answered" in said
    places = [said.index(text) for text in ("Which lamp?", "Where may the lamp sit?", "May the old loom be cut?")]
    assert places == sorted(places)


def test_a_question_says_what_waits_for_it(client):
    # the circuit work has W1, W2, W3; L2 has W5, W6; with them the parts F1 and L1 of the circuit
    assert "Holds up Loom: L2 , work , with 5 wires and 2 parts" in words(client)


def test_a_question_is_asked_with_the_next_free_name(client, shelf):
    cells = {**fields(client, HERE, "/questions"), "text": "Who fetches it?", "stage": "handover"}
    answer = send(client, HERE, cells)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}#Q4")
    assert told(shelf, "Q4") == {"id": "Q4", "text": "Who fetches it?", "stage": "handover"}


def test_a_question_without_words_comes_back(client, shelf):
    cells = {**fields(client, HERE, "/questions"), "stage": "plan"}
    answer = send(client, HERE, cells)
    assert answer.status_code == 422
    assert "Write what the owner is asked." in Page(answer.text).words
    assert len(shelf.now("car").rows["questions"]) == 3


def test_an_answer_closes_its_question_in_one_revision(client, shelf):
    before = shelf.now("car").revision
    cells = {**fields(client, HERE, "/answer", key(shelf, "Q3")), "answer": "The round one."}
    assert send(client, f"{HERE}/answer", cells).status_code == 303
    assert (told(shelf, "Q3")["answer"], told(shelf, "Q3")["status"]) == ("The round one.", "done")
    assert shelf.now("car").revision == before + 1


def test_a_question_can_be_handed_to_the_owner(client, shelf):
    cells = {"row": key(shelf, "Q1"), "do": "given", "token": "g"}
    assert send(client, f"{HERE}/answer", cells).status_code == 303
    assert told(shelf, "Q1")["status"] == "with the owner"


def test_two_answers_to_one_question_are_both_told(client, shelf):
    row = key(shelf, "Q1")
    mine = {**fields(client, HERE, "/answer", row), "answer": "On the left."}
    theirs = {**fields(client, HERE, "/answer", row), "answer": "On the right."}
    assert send(client, f"{HERE}/answer", theirs).status_code == 303
    answer = send(client, f"{HERE}/answer", mine)
    assert answer.status_code == 409
    assert told(shelf, "Q1")["answer"] == "On the right."
    said = Page(answer.text).words
    assert "Theirs, meanwhile: On the right." in said
    assert "On the left.</textarea>" in answer.text


def test_the_owners_page_has_none_of_the_shops_words(client):
    page = Page(client.get(f"{HERE}/owner", headers={"accept": "text/html"}).text)
    assert page.unclosed == []
    said = page.words
    assert "Questions for you" in said
    # usual less least: 10 3 6 2.19 15 2 1.5 1; most less usual: 25 3 15 4.38 35 4 4.5 3; each squared, summed, its root
    assert "Where may the lamp sit? We need to know before we make the new wiring." in said
    assert "A second lamp It would add about 94 EUR (74 to 141)." in said
    assert "May the old loom be cut? Cut it." in said
    for word in ("revision", "findings", "sheets", "Q1", "L2", "loom:", "snag"):
        assert word not in said


def test_a_job_without_questions_teaches_and_offers_the_form(client):
    said = words(client, "/j/new/questions")
    assert "None is written down yet." in said
    assert "Nothing to decide just now" in words(client, "/j/new/questions/owner")
