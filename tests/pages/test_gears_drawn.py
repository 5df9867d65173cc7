"""Gear-change lines on the chart: a handle moved with the keyboard moves its field, a field that is typed its line."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from loomwright.pages.gear_work import GearsFound
from loomwright.pages.routes import gears
from loomwright.store.text_rows import AddRow
from tests.pages.test_gears_page import GEARBOX


@pytest.mark.long
def test_a_line_is_drawn_with_the_keyboard_and_kept(desk, page, monkeypatch):
    monkeypatch.setattr(gears, "gears_apart", lambda job, tell: GearsFound(box=(), lines={}, drives=(), maps={}))
    edits = [AddRow(sheet="vehicle", cells=row) for row in GEARBOX]
    assert desk.shelf.edit(desk.job, edits, who="A", why="gearbox").is_taken
    page.goto(f"{desk.url}/j/{desk.job}/gears")
    field = page.get_by_label("up 2-3 at 40 % pedal, km/h", exact=True).and_(page.locator("input"))
    was = float(field.input_value())
    page.get_by_label("Handles on the chart for", exact=True).select_option("up 2-3")
    handle = page.get_by_role("slider", name="up 2-3 at 40 % pedal, km/h", exact=True)
    handle.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert float(field.input_value()) == round(was + 6.0, 1)
    field.fill(f"{was + 10.0:.1f}")
    expect(handle).to_have_attribute("aria-valuenow", f"{was + 10.0:g}")
    page.get_by_role("button", name="Keep as a revision", exact=True).click()
    expect(page.get_by_text("Drawn by hand and kept with the job.", exact=True)).to_be_visible()
    expect(field).to_have_value(f"{was + 10.0:.1f}")
