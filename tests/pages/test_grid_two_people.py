"""Two pages on one sheet, and a desk that is away: nothing that was typed is lost, and nobody is written over."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from loomwright.store.text_rows import AddRow, DropRow, SetCell
from tests.pages.grid_hand import Hand


@pytest.fixture
def wires(page, desk):
    return Hand(page=page).open(desk.sheet("wires"))


def somebody_types(desk, name, column, text, sheet="wires"):
    old = desk.text(sheet, name, column)
    edit = SetCell(sheet=sheet, row_key=desk.key(sheet, name), column=column, old=old, new=text)
    assert desk.shelf.edit(desk.job, [edit], who="B").is_taken


def without_the_desk(page):
    page.route("**/api/**", lambda route: route.abort())


def with_the_desk(page):
    page.unroute("**/api/**")


def test_what_others_type_appears(wires, desk):
    somebody_types(desk, "W2", "size_mm2", "6")
    expect(wires.cell("W2", "size_mm2")).to_have_text("6")


def test_what_others_type_leaves_what_is_being_typed_alone(wires, desk):
    wires.pick("W1", "notes").type("half a wo")
    rows = [AddRow(sheet="wires", cells={"id": "W0"}, before=desk.key("wires", "W1"))]
    assert desk.shelf.edit(desk.job, rows, who="B").is_taken
    expect(wires.cell("W0", "id")).to_be_visible()
    assert wires.field.input_value() == "half a wo"
    wires.type("rd").keys("Enter").settled()
    assert desk.text("wires", "W1", "notes") == "half a word"


def test_different_cells_of_two_people_are_both_kept(context, desk, wires):
    other = Hand(page=context.new_page()).open(desk.sheet("wires"))
    wires.pick("W1", "size_mm2").type("4").keys("Enter")
    other.pick("W1", "length_mm").type("500").keys("Enter").settled()
    wires.settled()
    assert (desk.text("wires", "W1", "size_mm2"), desk.text("wires", "W1", "length_mm")) == ("4", "500")


def cross(wires, desk):
    """Somebody types 6 while this page, which has not heard of it, types 4."""
    held = []

    def hold(route):
        if route.request.method == "GET":
            held.append(route)
        else:
            route.continue_()

    wires.pick("W1", "size_mm2").type("4")
    wires.page.route("**/api/j/**", hold)  # what the page hears of it waits until it has sent its own
    somebody_types(desk, "W1", "size_mm2", "6")
    wires.keys("Enter")
    wires.drawn()
    for route in held:
        route.continue_()
    wires.page.unroute("**/api/j/**", hold)
    expect(wires.margin).to_contain_text("Somebody else was quicker")


def test_a_conflict_shows_both_values_and_takes_neither_by_itself(wires, desk):
    cross(wires, desk)
    both = wires.margin.locator(".both")
    expect(both).to_contain_text("6")
    expect(both).to_contain_text("4")
    assert desk.text("wires", "W1", "size_mm2") == "6"
    assert wires.cell("W1", "size_mm2").text_content() == "4"


def test_a_conflict_is_settled_by_keeping_theirs(wires, desk):
    cross(wires, desk)
    wires.margin.get_by_role("button", name="Keep theirs").click()
    wires.settled()
    expect(wires.cell("W1", "size_mm2")).to_have_text("6")
    assert desk.text("wires", "W1", "size_mm2") == "6"


def test_a_conflict_is_settled_by_putting_mine(wires, desk):
    cross(wires, desk)
    wires.margin.get_by_role("button", name="Put mine").click()
    wires.settled()
    assert desk.text("wires", "W1", "size_mm2") == "4"


def test_a_refused_cell_keeps_what_was_typed_and_says_why(wires, desk):
    wires.pick("W1", "size_mm2").type("thick").keys("Enter")
    expect(wires.margin).to_contain_text("One cell cannot stand so")
    expect(wires.margin).to_contain_text("thick")
    cell = wires.cell("W1", "size_mm2")
    assert (cell.text_content(), cell.get_attribute("aria-invalid")) == ("thick", "true")
    assert desk.text("wires", "W1", "size_mm2") == "2.5"


def test_a_refused_cell_typed_anew_goes_out(wires, desk):
    wires.pick("W1", "size_mm2").type("thick").keys("Enter")
    expect(wires.margin).to_contain_text("One cell cannot stand so")
    wires.pick("W1", "size_mm2").type("4").keys("Enter").settled()
    assert desk.text("wires", "W1", "size_mm2") == "4"
    expect(wires.margin).not_to_contain_text("cannot stand so")


def test_of_a_refused_block_nothing_is_taken_until_all_of_it_can_be(wires, desk):
    wires.pick("W1", "size_mm2").paste("4\tRD\nthick\tBU\n6\tpinkish")
    expect(wires.margin).to_contain_text("2 cells cannot stand so")
    assert desk.shelf.now(desk.job).revision == 1
    assert wires.cell("W1", "size_mm2").text_content() == "4"
    wires.pick("W2", "size_mm2").type("2.5").keys("Enter")
    expect(wires.margin).to_contain_text("One cell cannot stand so")
    assert desk.shelf.now(desk.job).revision == 1
    wires.pick("W3", "colour").type("PK").keys("Enter").settled()
    found = [(desk.text("wires", name, "size_mm2"), desk.text("wires", name, "colour")) for name in ("W1", "W2", "W3")]
    assert found == [("4", "RD"), ("2.5", "BU"), ("6", "PK")]
    assert desk.shelf.now(desk.job).revision == 2


def test_what_was_refused_is_put_back_by_a_button(wires, desk):
    wires.pick("W1", "size_mm2").type("thick").keys("Enter")
    wires.margin.get_by_role("button", name="Put back what stood there").click()
    expect(wires.cell("W1", "size_mm2")).to_have_text("2.5")
    wires.settled()
    assert desk.shelf.now(desk.job).revision == 1


def test_of_a_thousand_wrong_cells_all_are_told_and_none_is_taken(wires, desk):
    wires.pick("W1", "id").paste("\n".join(f"N{number}\t\tBAT.-\t\tthick" for number in range(1000)))
    expect(wires.margin).to_contain_text("1000 cells cannot stand so")
    expect(wires.margin).to_contain_text("and 994 more")
    assert desk.names("wires") == ["W1", "W2", "W3"]
    assert desk.shelf.now(desk.job).revision == 1


def test_a_block_with_no_room_to_the_right_is_told_and_not_taken(wires, desk):
    last = wires.headings()[-1]
    wires.pick("W1", last).paste("a\tb")
    expect(wires.margin).to_contain_text("2 columns wide")
    assert desk.shelf.now(desk.job).revision == 1


def test_without_a_connection_what_is_typed_waits_and_goes_out_when_it_is_back(wires, page, desk):
    without_the_desk(page)
    wires.pick("W1", "size_mm2").type("4").keys("Enter").type("6").keys("Enter")
    expect(page.locator("[data-grid=status]")).to_contain_text("2 edits wait here")
    assert wires.cell("W2", "size_mm2").text_content() == "6"
    assert desk.text("wires", "W1", "size_mm2") == "2.5"
    with_the_desk(page)
    expect(page.locator("[data-grid=status]")).to_have_text("All of it is on the disk.", timeout=15000)
    assert [desk.text("wires", name, "size_mm2") for name in ("W1", "W2")] == ["4", "6"]


def test_rows_typed_without_a_connection_come_in_whole(wires, page, desk):
    without_the_desk(page)
    wires.new("id").click()
    wires.type("W8").keys("Tab", "Tab").type("BAT.-").keys("Enter")
    expect(page.locator("[data-grid=status]")).to_contain_text("2 edits wait here")
    with_the_desk(page)
    expect(page.locator("[data-grid=status]")).to_have_text("All of it is on the disk.", timeout=15000)
    assert desk.text("wires", "W8", "from") == "BAT.-"


def test_an_answer_that_is_lost_does_not_do_the_edit_twice(wires, page, desk):
    lost = []

    def lose_the_answer(route):
        route.fetch()
        lost.append(1)
        route.abort()

    page.route("**/edits", lose_the_answer, times=1)
    wires.pick("W3", "id").keys("Insert")
    expect(page.locator("[data-grid=status]")).to_have_text("All of it is on the disk.", timeout=15000)
    assert lost == [1]
    assert desk.names("wires") == ["W1", "W2", "", "W3"]


def test_what_waits_warns_before_the_page_is_left_and_is_there_again_after(wires, page, desk):
    without_the_desk(page)
    wires.pick("W1", "size_mm2").type("4").keys("Enter")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto(f"{desk.url}/j/{desk.job}")
    assert asked == ["beforeunload"]
    with_the_desk(page)
    page.go_back()
    page.wait_for_selector("[data-ready]")
    wires.settled()
    assert desk.text("wires", "W1", "size_mm2") == "4"


def test_what_is_half_typed_is_not_lost_when_the_page_is_left(wires, page, desk):
    without_the_desk(page)
    page.on("dialog", lambda dialog: dialog.accept())
    wires.pick("W1", "notes").type("half")
    page.goto(f"{desk.url}/j/{desk.job}")
    with_the_desk(page)
    page.goto(desk.sheet("wires"))
    page.wait_for_selector("[data-ready]")
    wires.settled()
    assert desk.text("wires", "W1", "notes") == "half"


def test_a_refused_cell_is_still_there_after_the_page_was_left(wires, page, desk):
    wires.pick("W1", "size_mm2").type("thick").keys("Enter")
    expect(wires.margin).to_contain_text("One cell cannot stand so")
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    page.wait_for_selector("[data-ready]")
    expect(wires.margin).to_contain_text("One cell cannot stand so")
    assert wires.cell("W1", "size_mm2").text_content() == "thick"


def test_a_row_that_somebody_took_out_can_be_put_back_with_what_was_typed(wires, page, desk):
    page.route("**/news?**", lambda route: route.abort())
    wires.pick("W2", "size_mm2").type("4")
    row = desk.key("wires", "W2")
    assert desk.shelf.edit(desk.job, [DropRow(sheet="wires", row_key=row)], who="B").is_taken
    wires.keys("Enter")
    expect(wires.margin).to_contain_text("the row was taken out")
    wires.margin.get_by_role("button", name="Put mine").click()
    expect(wires.margin).not_to_contain_text("the row was taken out")
    expect(page.locator("[data-grid=status]")).not_to_contain_text("not taken")
    page.wait_for_timeout(300)
    assert (desk.text("wires", "W2", "size_mm2"), desk.text("wires", "W2", "to")) == ("4", "L1.1")


def test_taking_back_what_is_in_another_sheet_says_which(wires, page, desk):
    parts = Hand(page=page).open(desk.sheet("parts"))
    parts.pick("L1", "name").type("lamp").keys("Enter").settled()
    wires.open(desk.sheet("wires"))
    wires.keys("Control+z").settled()
    expect(wires.margin).to_contain_text("Taken back in the sheet parts")
    assert desk.text("parts", "L1", "name") == ""


def test_after_going_back_the_sheet_shows_what_is_on_the_disk_now(wires, page, desk):
    wires.pick("W1", "size_mm2").type("4").keys("Enter").settled()
    page.goto(f"{desk.url}/j/{desk.job}/findings")
    somebody_types(desk, "W2", "size_mm2", "6")
    page.go_back()
    page.wait_for_selector("[data-ready]")
    expect(wires.cell("W1", "size_mm2")).to_have_text("4")
    expect(wires.cell("W2", "size_mm2")).to_have_text("6")
    wires.pick("W2", "length_mm").type("950").keys("Enter").settled()
    assert (desk.text("wires", "W2", "size_mm2"), desk.text("wires", "W2", "length_mm")) == ("6", "950")
