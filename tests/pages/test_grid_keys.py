"""The keys of the grid: what the fingers of somebody who works in spreadsheets expect, each on a running server."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.pages.grid_hand import Hand


@pytest.fixture
def wires(page, desk):
    return Hand(page=page).open(desk.sheet("wires"))


def test_the_first_cell_is_picked_and_told_to_who_cannot_see(wires):
    assert wires.picked() == ("W1", "id")


def test_arrows_walk_from_cell_to_cell(wires):
    wires.keys("ArrowDown", "ArrowRight", "ArrowRight", "ArrowUp", "ArrowLeft")
    assert wires.picked() == ("W1", "circuit")


def test_home_end_and_ctrl_go_to_the_edges(wires):
    wires.keys("End")
    assert wires.picked()[1] == wires.headings()[-1]
    wires.keys("Home", "Control+ArrowDown")
    assert wires.picked() == ("W3", "id")
    wires.keys("Control+Home")
    assert wires.picked() == ("W1", "id")


def test_typing_replaces_the_cell_and_enter_goes_to_the_next_row(wires, desk):
    wires.pick("W1", "size_mm2").type("4").keys("Enter").settled()
    assert desk.text("wires", "W1", "size_mm2") == "4"
    assert wires.picked() == ("W2", "size_mm2")


def test_f2_types_within_the_cell_and_arrows_stay_in_it(wires, desk):
    wires.pick("W1", "length_mm").keys("F2", "ArrowLeft", "ArrowLeft").type("9").keys("Enter").settled()
    assert desk.text("wires", "W1", "length_mm") == "3900"


def test_an_arrow_puts_down_what_replaces_a_cell(wires, desk):
    wires.pick("W1", "size_mm2").type("6").keys("ArrowRight").settled()
    assert desk.text("wires", "W1", "size_mm2") == "6"
    assert wires.picked() == ("W1", "colour")


def test_escape_puts_away_what_was_typed(wires, desk):
    wires.pick("W1", "size_mm2").type("99").keys("Escape")
    assert wires.cell("W1", "size_mm2").text_content() == "2.5"
    assert desk.shelf.now(desk.job).revision == 1


def test_tab_goes_on_and_enter_comes_back_to_where_it_began(wires, desk):
    wires.pick("W1", "size_mm2").type("4").keys("Tab").type("RD").keys("Enter").settled()
    assert (desk.text("wires", "W1", "size_mm2"), desk.text("wires", "W1", "colour")) == ("4", "RD")
    assert wires.picked() == ("W2", "size_mm2")


def test_escape_and_then_tab_leaves_the_grid(wires, page):
    wires.keys("Escape", "Tab")
    assert page.evaluate("document.activeElement.getAttribute('role')") != "grid"


def test_shift_and_arrows_pick_a_block_that_delete_clears_in_one_edit(wires, desk):
    wires.pick("W1", "size_mm2").keys("Shift+ArrowDown", "Shift+ArrowDown", "Delete").settled()
    assert [desk.text("wires", name, "size_mm2") for name in ("W1", "W2", "W3")] == ["", "", ""]
    assert desk.shelf.now(desk.job).revision == 2


def test_a_block_is_copied_as_tabbed_text(wires):
    wires.pick("W1", "from", to=("W2", "to"))
    assert wires.copied() == "BAT.+\tF1.1\r\nF1.2\tL1.1"


def test_a_block_from_a_spreadsheet_is_put_down_as_one_edit(wires, desk):
    wires.pick("W1", "size_mm2").paste('4\tRD\r\n6\t"BU/WH"\r\n').settled()
    found = [(desk.text("wires", name, "size_mm2"), desk.text("wires", name, "colour")) for name in ("W1", "W2")]
    assert found == [("4", "RD"), ("6", "BU/WH")]
    assert desk.shelf.now(desk.job).revision == 2


def test_after_a_long_block_the_last_cell_of_it_is_in_sight(wires):
    wires.pick("W3", "id").paste("\n".join(f"N{number}\t\tBAT.-" for number in range(60))).settled()
    expect(wires.cell("N59", "from")).to_be_in_viewport(ratio=1.0)


def test_rows_that_are_not_there_yet_come_with_what_is_put_down(wires, desk):
    wires.pick("W3", "id").paste("W3\t\tL1.2\nW4\t\tBAT.-\nW5\t\tBAT.-\n").settled()
    assert desk.names("wires") == ["W1", "W2", "W3", "W4", "W5"]
    assert desk.text("wires", "W5", "from") == "BAT.-"
    assert desk.shelf.now(desk.job).revision == 2


def test_one_cell_put_down_in_a_block_fills_it(wires, desk):
    wires.pick("W1", "size_mm2", to=("W3", "size_mm2")).paste("0.75").settled()
    assert [desk.text("wires", name, "size_mm2") for name in ("W1", "W2", "W3")] == ["0.75"] * 3


def test_cut_takes_a_block_along(wires, desk):
    wires.pick("W1", "size_mm2", to=("W2", "size_mm2")).keys("Control+x").pick("W2", "insulation").keys("Control+v")
    wires.settled()
    assert [desk.text("wires", name, "size_mm2") for name in ("W1", "W2")] == ["", ""]
    assert [desk.text("wires", name, "insulation") for name in ("W2", "W3")] == ["2.5", "1.5"]


def test_ctrl_d_fills_down(wires, desk):
    wires.pick("W1", "size_mm2", to=("W3", "size_mm2")).keys("Control+d").settled()
    assert [desk.text("wires", name, "size_mm2") for name in ("W1", "W2", "W3")] == ["2.5"] * 3


def test_ctrl_d_in_one_cell_takes_the_one_above(wires, desk):
    wires.pick("W2", "length_mm").keys("Control+d").settled()
    assert desk.text("wires", "W2", "length_mm") == "300"


def test_ctrl_enter_types_into_all_that_is_picked(wires, desk):
    wires.pick("W1", "colour", to=("W3", "colour")).type("BK").keys("Control+Enter").settled()
    assert [desk.text("wires", name, "colour") for name in ("W1", "W2", "W3")] == ["BK"] * 3


def test_ctrl_z_takes_back_and_ctrl_y_does_again(wires, desk):
    wires.pick("W1", "size_mm2").type("4").keys("Enter").settled()
    wires.keys("Control+z").settled()
    assert desk.text("wires", "W1", "size_mm2") == "2.5"
    wires.keys("Control+y").settled()
    assert desk.text("wires", "W1", "size_mm2") == "4"
    assert desk.shelf.now(desk.job).revision == 4


def test_typing_in_the_blank_row_at_the_end_adds_a_row(wires, desk):
    wires.new("id").click()
    wires.type("W9").keys("Tab", "Tab").type("BAT.-").keys("Enter").settled()
    assert desk.names("wires")[-1] == "W9"
    assert desk.text("wires", "W9", "from") == "BAT.-"


def test_insert_puts_a_row_before_and_ctrl_delete_takes_it_out(wires, desk):
    wires.pick("W2", "id").keys("Insert").settled()
    assert desk.names("wires") == ["W1", "", "W2", "W3"]
    wires.type("W1b").keys("Tab").settled()
    assert desk.names("wires") == ["W1", "W1b", "W2", "W3"]
    wires.pick("W1b", "id").keys("Control+Delete").settled()
    assert desk.names("wires") == ["W1", "W2", "W3"]


def test_rows_are_moved_in_the_order_of_the_job(wires, desk):
    wires.pick("W3", "id").keys("Alt+Shift+ArrowUp").settled()
    assert desk.names("wires") == ["W1", "W3", "W2"]
    wires.keys("Alt+Shift+ArrowDown").settled()
    assert desk.names("wires") == ["W1", "W2", "W3"]


def test_sorting_changes_the_view_and_not_the_job(wires, desk):
    wires.pick("W1", "length_mm").keys("ArrowUp", "Enter")
    assert wires.names()[:3] == ["W3", "W1", "W2"]
    wires.keys("Enter")
    assert wires.names()[:3] == ["W2", "W1", "W3"]
    assert desk.names("wires") == ["W1", "W2", "W3"]
    wires.keys("Enter")
    assert wires.names()[:3] == ["W1", "W2", "W3"]
    assert desk.shelf.now(desk.job).revision == 1


def test_rows_without_the_words_are_left_out_of_the_view_alone(wires, page, desk):
    wires.keys("Control+f").type("F1")
    expect(page.locator("[data-grid=count]")).to_have_text("2 of 3 rows")
    assert wires.names()[:2] == ["W1", "W2"]
    wires.keys("Escape")
    assert wires.names()[:3] == ["W1", "W2", "W3"]
    assert desk.names("wires") == ["W1", "W2", "W3"]


def test_words_that_may_stand_there_are_offered_while_typing(wires, page, desk):
    wires.pick("W3", "to").type("ba")
    options = page.get_by_role("option")
    options.first.wait_for()
    assert options.all_text_contents() == ["BAT.+", "BAT.-"]
    wires.keys("Alt+ArrowDown", "Alt+ArrowDown")
    assert wires.field.get_attribute("aria-activedescendant") == "choice-1"
    wires.keys("Enter").settled()
    assert desk.text("wires", "W3", "to") == "BAT.-"


def test_what_the_column_holds_is_said_in_the_line_above(wires, page):
    wires.pick("W1", "size_mm2")
    assert page.locator("[data-grid=place]").text_content() == "W1 · size_mm2"
    assert "mm²" in (page.locator("[data-grid=help]").text_content() or "")


def test_a_new_line_in_a_cell_is_kept(wires, desk):
    wires.pick("W1", "notes").type("one").keys("Alt+Enter").type("two").keys("Enter").settled()
    assert desk.text("wires", "W1", "notes") == "one\ntwo"
    wires.pick("W1", "notes")
    assert wires.copied() == '"one\ntwo"'


def test_drawing_with_the_pointer_picks_a_block(wires, page):
    wires.cell("W1", "from").hover()
    page.mouse.down()
    wires.cell("W2", "to").hover()
    page.mouse.up()
    assert wires.copied() == "BAT.+\tF1.1\r\nF1.2\tL1.1"


def test_a_second_click_types_within_the_cell(wires, desk):
    wires.cell("W1", "length_mm").dblclick()
    wires.type("0").keys("Enter").settled()
    assert desk.text("wires", "W1", "length_mm") == "3000"


def test_the_search_of_the_page_keeps_its_key(wires, page):
    wires.keys("/")
    assert page.evaluate("document.activeElement.id") == "find"
