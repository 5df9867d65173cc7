"""On paper every look is ink on white: whoever works in the dark look prints what can be read."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.pages.conftest import RunningDesk


@pytest.mark.parametrize("chosen", ["", "dark"])
def test_a_dark_look_is_printed_as_ink_on_white(browser: Browser, desk: RunningDesk, chosen: str) -> None:
    context = browser.new_context(color_scheme="dark")
    if chosen:
        context.add_cookies([{"name": "look", "value": chosen, "url": desk.url}])
    page = context.new_page()
    try:
        page.goto(f"{desk.url}/patterns")
        ink = "() => getComputedStyle(document.querySelector('h1')).color"
        assert page.evaluate(ink) == "rgb(239, 233, 219)"
        page.emulate_media(media="print")
        assert page.evaluate(ink) == "rgb(0, 0, 0)"
    finally:
        context.close()
