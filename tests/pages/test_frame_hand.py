"""The frame under a hand: keys, the search, the line from a note to its place, news, and room on every screen."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from loomwright.store.text_rows import SetCell

SIZES = {"desk": (1440, 900), "tablet across": (1024, 768), "tablet upright": (768, 1024), "narrow": (320, 800)}
OWN = ("/", "/patterns", "/j/{job}", "/j/{job}/findings", "/j/{job}/search?q=W")
SMALL_TARGETS = """() => [...document.querySelectorAll('button, select, input, summary, nav a, .flag[href]')]
  .filter((one) => one.offsetParent && one.type !== 'hidden')
  .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.width < 24 || box.height < 24)
  .map(([html, box]) => `${html} ${box.width.toFixed(1)} x ${box.height.toFixed(1)}`)"""
TOO_WIDE = """() => document.documentElement.scrollWidth - document.documentElement.clientWidth"""


def test_the_stroke_goes_to_the_search_and_escape_back(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    first = page.locator(".stages a").first
    first.focus()
    page.keyboard.press("/")
    expect(page.locator("#find")).to_be_focused()
    page.keyboard.press("Escape")
    expect(first).to_be_focused()


def test_what_answers_is_shown_while_typing_and_walked_with_arrows(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    page.keyboard.press("/")
    page.keyboard.type("W2")
    found = page.locator("#found .found-list a")
    expect(found.first).to_contain_text("W2")
    page.keyboard.press("ArrowDown")
    expect(found.first).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(page.locator("#find")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("#found")).to_be_hidden()


def test_what_was_found_pushes_the_work_down_and_lies_over_nothing(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    before = page.locator("main h1").bounding_box()["y"]
    page.locator("#find").fill("W")
    expect(page.locator("#found .found-list").first).to_be_visible()
    box = page.locator("#found").bounding_box()
    assert page.locator("main h1").bounding_box()["y"] >= before + box["height"] - 1


def test_enter_in_the_search_opens_the_page_of_all_that_answers(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    page.locator("#find").fill("L1")
    page.keyboard.press("Enter")
    page.wait_for_url("**/search?q=L1")
    expect(page.locator("h1")).to_contain_text("found for “L1”")


def test_the_question_mark_shows_the_keys_and_puts_them_away(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    page.keyboard.press("?")
    expect(page.locator("#keys dl")).to_be_visible()
    page.keyboard.press("?")
    expect(page.locator("#keys dl")).to_be_hidden()


def test_a_key_typed_into_a_field_is_a_letter_and_nothing_else(desk, page):
    page.goto(f"{desk.url}/")
    page.locator("#empty-name").fill("")
    page.locator("#empty-name").press("?")
    page.locator("#empty-name").press("/")
    expect(page.locator("#empty-name")).to_have_value("?/")
    expect(page.locator("#keys dl")).to_be_hidden()


def test_arrows_walk_along_the_stages(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    stages = page.locator(".stages a")
    stages.first.focus()
    page.keyboard.press("ArrowRight")
    expect(stages.nth(1)).to_be_focused()
    page.keyboard.press("End")
    expect(stages.nth(8)).to_be_focused()
    page.keyboard.press("ArrowRight")
    expect(stages.nth(8)).to_be_focused()
    page.keyboard.press("Home")
    expect(stages.first).to_be_focused()


def test_the_first_stop_of_the_tab_key_leads_to_the_work(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}")
    page.keyboard.press("Tab")
    expect(page.locator(".to-work")).to_be_focused()
    expect(page.locator(".to-work")).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_a_line_ties_a_note_to_its_place_while_either_is_touched(desk, page):
    page.goto(f"{desk.url}/patterns")
    page.locator(".margin [data-tie='2']").hover()
    expect(page.locator("svg.tie path")).to_have_count(1)
    page.locator("h1").hover()
    expect(page.locator("svg.tie")).to_have_count(0)
    page.locator(".work a.flag, .work .flag").nth(1).hover()
    expect(page.locator("svg.tie")).to_have_count(1)


def test_an_open_page_of_findings_follows_what_is_typed_elsewhere(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}/findings")
    row = next(row for row in desk.shelf.now(desk.job).rows["wires"] if row.cells["id"] == "W3")
    page.wait_for_timeout(300)
    edit = SetCell(sheet="wires", row_key=row.key, column="to", old="body", new="GONE.1")
    desk.shelf.edit(desk.job, [edit], who="B")
    expect(page.locator("h2#fit")).to_be_visible(timeout=60_000)
    expect(page.locator("[data-live=findings]")).to_contain_text("GONE.1")
    expect(page.locator("[data-live=revision]")).to_contain_text("2")


def test_findings_come_by_themselves_once_they_are_known(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}/findings")
    expect(page.locator(".summary")).to_be_visible(timeout=90_000)
    expect(page.locator(".finding").first).to_be_visible()


def test_picking_needs_no_second_press(desk, page):
    page.goto(f"{desk.url}/j/{desk.job}/findings")
    expect(page.locator(".summary")).to_be_visible(timeout=90_000)
    expect(page.locator(".picks button")).to_be_hidden()
    page.locator("#pick-severity").select_option(index=1)
    page.wait_for_url("**severity=*")
    kinds = set(page.locator(".finding .finding-head .weight").all_inner_texts())
    assert len(kinds) == 1


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("size", SIZES)
def test_no_page_is_wider_than_its_screen(desk, page, context, size, large):
    if large:
        context.add_cookies([{"name": "size", "value": "large", "url": desk.url}])
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    wide = {}
    for address in OWN:
        page.goto(desk.url + address.format(job=desk.job))
        if over := page.evaluate(TOO_WIDE):
            wide[address] = over
    assert wide == {}


def test_what_a_hand_aims_at_is_24_dots_or_more(desk, page):
    small = {}
    for address in OWN:
        page.goto(desk.url + address.format(job=desk.job))
        if found := page.evaluate(SMALL_TARGETS):
            small[address] = found
    assert small == {}


def test_without_scripts_the_page_is_the_same_to_read(desk, browser):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{desk.url}/j/{desk.job}")
    expect(page.locator(".stages li")).to_have_count(9)
    page.locator("#find").fill("W2")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("found for “W2”")
    page.goto(f"{desk.url}/j/{desk.job}/findings")
    expect(page.locator("h1")).to_have_text("Findings")
    context.close()
