"""What stands beside the cells: findings, what does not fit, decisions and why, records, colours, addresses, sizes."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from loomwright.store.text_rows import AddRow, SetCell
from tests.pages.grid_hand import Hand

FINDING = {
    "rule": "SIZ-1",
    "severity": "fault",
    "at": ["W2"],
    "when": {"key": "run"},
    "touches": ["F1"],
    "says": "W2, key=run: too thin. Use 2.5.",
    "mend": "Use 2.5",
    "found": None,
    "allowed": None,
    "unit": "",
    "source": "",
    "path": [],
    "folded": [],
}
SIZES = {"desk": (1440, 900), "tablet across": (1024, 768), "tablet upright": (768, 1024)}


@pytest.fixture
def hand(page):
    return Hand(page=page)


def find(page, *findings):
    """Let the rules have found these, without working it out."""
    told = {
        "revision": 1,
        "known": True,
        "stopped": False,
        "done": 0,
        "of": 0,
        "problems": [],
        "findings": list(findings),
        "states_searched": 8,
    }
    page.route("**/findings", lambda route: route.fulfill(json=told))


def decide(desk):
    """Decisions for a blank size and a rating that is not typed, as sizing leaves them."""
    cells = [
        SetCell(sheet="wires", row_key=desk.key("wires", "W2"), column="size_mm2", old="1.5", new=""),
        SetCell(sheet="parts", row_key=desk.key("parts", "F1"), column="settings", old="rating_a=10", new=""),
    ]
    facts = {"sheet": "wires", "row": "W2", "column": "size_mm2"}
    rows = [
        AddRow(sheet="decisions", cells={**facts, "value": "0.75", "decided_by": "heat"}),
        AddRow(sheet="reasons", cells={**facts, "limit": "heat", "asks": "0.75", "says": "78 °C, allowed 105 °C"}),
        AddRow(sheet="decisions", cells={"sheet": "parts", "row": "F1", "column": "settings.rating_a", "value": "7.5"}),
    ]
    assert desk.shelf.edit(desk.job, [*cells, *rows], who="A").is_taken


def test_a_finding_marks_its_row_and_stands_in_the_margin(hand, page, desk):
    find(page, FINDING)
    hand.open(desk.sheet("wires"))
    note = hand.margin.locator(".margin-note")
    expect(note).to_contain_text("too thin")
    expect(note.locator(".mend")).to_have_text("Use 2.5.")
    mark = page.locator(".grid-row:has(.grid-cell:text-is('W2')) .grid-number .flag")
    expect(mark).to_have_text("fault 1")
    expect(note.locator(".flag")).to_have_text("1")


def test_a_finding_leads_to_its_row_and_its_row_to_it(hand, page, desk):
    find(page, FINDING)
    hand.open(desk.sheet("wires"))
    hand.margin.get_by_role("link", name="W2").click()
    assert hand.picked()[0] == "W2"
    expect(hand.margin).to_contain_text("In W2")
    hand.margin.get_by_role("link", name="among all findings").click()
    assert page.url.endswith(f"/j/{desk.job}/findings#finding-1")


def test_what_a_finding_touches_is_marked_too(hand, page, desk):
    find(page, FINDING)
    hand.open(desk.sheet("parts"))
    expect(page.locator(".grid-row:has(.grid-cell:text-is('F1')) .grid-number .flag")).to_have_text("fault 1")


def test_a_row_that_does_not_fit_is_marked_as_soon_as_it_is_typed(hand, page, desk):
    hand.open(desk.sheet("wires"))
    hand.pick("W2", "to").type("NOBODY.1").keys("Enter").settled()
    expect(hand.margin).to_contain_text("Does not fit")
    expect(hand.margin).to_contain_text("NOBODY")
    expect(page.locator(".grid-row:has(.grid-cell:text-is('W2')) .grid-number .flag")).to_have_text("fault 1")


def test_an_address_names_the_row_and_the_column(hand, desk):
    key = desk.key("wires", "W3")
    hand.open(desk.sheet("wires", f"?row={key}&column=length_mm"))
    assert hand.picked() == ("W3", "length_mm")


def test_the_same_after_the_hash(hand, page, desk):
    hand.open(desk.sheet("wires", f"#row={desk.key('wires', 'W2')}&column=to"))
    assert hand.picked() == ("W2", "to")


def test_the_picked_cell_the_sorting_and_the_words_are_in_the_address(hand, page, desk):
    hand.open(desk.sheet("wires"))
    hand.pick("W2", "to").keys("Control+f").type("F1").keys("Enter")
    page.wait_for_url("**only=F1*")
    assert f"row={desk.key('wires', 'W2')}&column=to" in page.url
    page.reload()
    page.wait_for_selector("[data-ready]")
    assert hand.names()[:2] == ["W1", "W2"]
    assert hand.picked() == ("W2", "to")


def test_a_decision_stands_in_soft_ink_and_says_why_when_it_is_picked(hand, page, desk):
    decide(desk)
    hand.open(desk.sheet("wires"))
    cell = hand.cell("W2", "size_mm2")
    expect(cell).to_have_text("0.75 decided")
    hand.pick("W2", "size_mm2")
    expect(hand.margin).to_contain_text("By heat")
    expect(hand.margin).to_contain_text("78 °C, allowed 105 °C")


def test_a_decision_is_adopted_by_a_key_and_its_rows_are_dropped(hand, desk):
    decide(desk)
    hand.open(desk.sheet("wires"))
    hand.pick("W2", "size_mm2").keys("Control+Enter").settled()
    assert desk.text("wires", "W2", "size_mm2") == "0.75"
    rows = desk.shelf.now(desk.job).rows
    assert [row.cells["sheet"] for row in rows["decisions"]] == ["parts"]
    assert rows["reasons"] == ()
    hand.keys("Control+z").settled()
    expect(hand.cell("W2", "size_mm2")).to_have_text("0.75 decided")


def test_a_decided_setting_is_adopted_by_a_touch(hand, desk):
    decide(desk)
    hand.open(desk.sheet("parts"))
    expect(hand.cell("F1", "settings")).to_have_text("rating_a=7.5 decided")
    hand.pick("F1", "settings")
    hand.margin.get_by_role("button", name="Adopt").click()
    hand.settled()
    assert desk.text("parts", "F1", "settings") == "rating_a=7.5"


def test_a_touch_counts_though_the_reasons_come_while_the_finger_is_down(hand, page, desk):
    decide(desk)
    waiting = []

    def hold(route):
        waiting.append(route)

    page.route("**/reasons?*", hold)
    hand.open(desk.sheet("wires"))
    with page.expect_request("**/reasons?*"):
        hand.pick("W2", "size_mm2")
    button = hand.margin.get_by_role("button", name="Adopt: write it into the cell", exact=True)
    button.hover()
    page.mouse.down()
    with page.expect_response("**/reasons?*"):
        waiting[0].continue_()
    hand.drawn()
    page.mouse.up()
    expect(hand.cell("W2", "size_mm2")).to_have_text("0.75")
    hand.settled()
    assert desk.text("wires", "W2", "size_mm2") == "0.75"


def test_what_is_copied_has_decisions_and_what_is_put_down_again_types_none(hand, page, desk):
    decide(desk)
    hand.open(desk.sheet("wires"))
    hand.pick("W1", "size_mm2", to=("W2", "size_mm2"))
    assert hand.copied() == "2.5\r\n0.75"
    hand.pick("W2", "insulation").keys("Control+v").settled()
    assert [desk.text("wires", name, "insulation") for name in ("W2", "W3")] == ["2.5", ""]


def test_a_colour_is_painted_with_its_tracer(hand, desk):
    hand.open(desk.sheet("wires"))
    hand.pick("W1", "colour").type("wh/bu").keys("Enter").settled()
    fills = hand.cell("W1", "colour").locator("rect").evaluate_all("all => all.map(one => one.getAttribute('fill'))")
    assert fills == ["#ffffff", "#2a5fae", "none"]


def test_rows_on_record_are_read_and_not_typed_over(hand, desk):
    desk.shelf.record(desk.job, "progress", {"wire": "W1", "step": "cut"}, who="A")
    hand.open(desk.sheet("progress"))
    hand.pick("W1", "step").type("x")
    expect(hand.margin).to_contain_text("stay as they were recorded")
    expect(hand.field).to_be_hidden()


def test_a_row_for_the_record_waits_until_it_is_recorded(hand, page, desk):
    hand.open(desk.sheet("progress"))
    hand.new("wire").click()
    hand.type("W1").keys("Tab", "Tab").type("cut").keys("Enter")
    expect(page.locator("[data-grid=status]")).to_have_text("1 row not recorded yet")
    assert desk.shelf.now(desk.job).rows.get("progress", ()) == ()
    hand.margin.get_by_role("button", name="Record").click()
    hand.settled()
    cells = [dict(row.cells) for row in desk.shelf.now(desk.job).rows["progress"]]
    assert cells == [{"wire": "W1", "step": "cut"}]


def test_what_is_worked_out_is_typed_by_nobody(hand, page, desk):
    decide(desk)
    hand.open(desk.sheet("decisions"))
    hand.type("x")
    expect(hand.margin).to_contain_text("nobody types them")
    assert page.locator(".grid-number:text-is('+')").count() == 0


def test_the_picked_cell_leads_to_the_page_of_its_thing_and_its_photos(hand, page, desk):
    hand.open(desk.sheet("wires")).pick("W2", "size_mm2")
    page.get_by_role("link", name="its photos").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("W2")
    hand.open(desk.sheet("wires")).pick("W3", "size_mm2")
    assert (page.get_by_role("link", name="its page").get_attribute("href") or "").endswith("/wire/W3")


def test_buttons_do_what_the_keys_do(hand, page, desk):
    hand.open(desk.sheet("wires"))
    hand.pick("W2", "id")
    page.get_by_role("button", name="Row before").click()
    hand.settled()
    assert desk.names("wires") == ["W1", "", "W2", "W3"]
    page.get_by_role("button", name="Undo").click()
    hand.settled()
    assert desk.names("wires") == ["W1", "W2", "W3"]
    hand.pick("W3", "id")
    page.get_by_role("button", name="Up", exact=True).click()
    hand.settled()
    assert desk.names("wires") == ["W1", "W3", "W2"]


def test_only_rows_like_the_picked_cell_are_shown_by_a_button(hand, page, desk):
    hand.open(desk.sheet("wires"))
    hand.pick("W2", "size_mm2")
    page.get_by_role("button", name="As here").click()
    expect(page.locator("[data-grid=count]")).to_have_text("2 of 3 rows")
    assert page.locator("[data-grid=only]").input_value() == "size_mm2=1.5"
    page.get_by_role("button", name="All rows").click()
    expect(page.locator("[data-grid=count]")).to_have_text("3 rows")


def test_how_the_grid_is_made_is_told_to_who_cannot_see(hand, page, desk):
    hand.open(desk.sheet("wires"))
    columns = len(hand.headings()) + 1
    assert (hand.grid.get_attribute("aria-rowcount"), hand.grid.get_attribute("aria-colcount")) == ("5", str(columns))
    cell = hand.cell("W2", "id")
    assert cell.evaluate("one => one.parentElement.getAttribute('aria-rowindex')") == "3"
    assert (cell.get_attribute("role"), cell.get_attribute("aria-colindex")) == ("gridcell", "2")


@pytest.mark.long
def test_five_thousand_rows_are_scrolled_with_few_of_them_in_the_page(hand, page, desk):
    rows = [
        AddRow(sheet="long list", cells={"id": f"N{n}", **{f"c{c}": f"{n} {c}" for c in range(20)}})
        for n in range(5000)
    ]
    assert desk.shelf.edit(desk.job, rows, who="A").is_taken
    hand.open(desk.sheet("long%20list"))
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def busy_s():
        told = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
        return sum(told[name] for name in ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration"))

    before_s, frames = busy_s(), 60
    page.evaluate(
        """frames => new Promise((done) => {
          const box = document.querySelector(".sheet-box");
          const step = (left) => { box.scrollTop += 120; left ? requestAnimationFrame(() => step(left - 1)) : done(); };
          step(frames);
        })""",
        frames,
    )
    # a picture every 16 ms: the page's own work, in time of the processor, leaves half of it on a busy machine
    assert (busy_s() - before_s) / frames < 0.012
    assert page.locator(".grid-body .grid-row").count() < 60
    hand.keys("Control+End")
    expect(page.locator(".grid-number:text-is('5001')")).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_the_page_fits_and_every_button_can_be_hit(hand, page, desk, size):
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    find(page, FINDING)
    hand.open(desk.sheet("wires"))
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    small = page.locator("main button:visible, main input:visible, main summary:visible").evaluate_all(
        "all => all.filter(one => one.getBoundingClientRect().height < 24).map(one => one.outerHTML)"
    )
    assert small == []
    box = page.locator(".sheet-box").bounding_box()
    assert box["height"] >= 300
    assert box["y"] + box["height"] <= height
