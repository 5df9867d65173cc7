"""A hand at the grid of a sheet, for tests: picks cells by the name of their row, types, and reads what is there."""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

ON_DISK = "All of it is on the disk."


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """A page with a grid on it."""

    page: Page

    def open(self, address: str) -> Hand:
        """Open a sheet and wait for its rows."""
        self.page.goto(address)
        self.page.wait_for_selector("[data-ready]")
        return self

    @property
    def grid(self) -> Locator:
        """The grid."""
        return self.page.get_by_role("grid")

    @property
    def field(self) -> Locator:
        """The field in which a cell is typed."""
        return self.page.locator("[data-grid=field]")

    @property
    def margin(self) -> Locator:
        """The margin with its notes."""
        return self.page.locator(".margin")

    def headings(self) -> list[str]:
        """The headings in order."""
        return self.page.locator(".grid-heading > span:first-child").all_text_contents()

    def names(self) -> list[str]:
        """What stands in the first column of the rows in sight, from top to bottom."""
        rows = self.page.locator(".grid-body .grid-row:visible")
        found = [
            (int(row.get_attribute("aria-rowindex") or 0), row.locator(".grid-cell").first.text_content() or "")
            for row in rows.all()
        ]
        return [name for _, name in sorted(found)]

    def cell(self, name: str, column: str) -> Locator:
        """A cell, by what stands in the first column of its row."""
        place = self.headings().index(column)
        row = self.page.locator(".grid-body .grid-row:visible").filter(
            has=self.page.locator(f".grid-cell:nth-child(2):text-is('{name}')")
        )
        return row.locator(".grid-cell").nth(place)

    def new(self, column: str) -> Locator:
        """A cell of the blank row at the end."""
        place = self.headings().index(column)
        row = self.page.locator(".grid-body .grid-row:visible").filter(
            has=self.page.locator(".grid-number:text-is('+')")
        )
        return row.locator(".grid-cell").nth(place)

    def pick(self, name: str, column: str, *, to: tuple[str, str] | None = None) -> Hand:
        """Pick a cell, or a block as far as another."""
        self.cell(name, column).click()
        if to is not None:
            self.cell(*to).click(modifiers=["Shift"])
        return self

    def keys(self, *keys: str) -> Hand:
        """Press keys one after another."""
        for key in keys:
            self.page.keyboard.press(key)
        return self

    def type(self, text: str) -> Hand:
        """Type letters."""
        self.page.keyboard.type(text)
        return self

    def copied(self) -> str:
        """What is on the clipboard after Ctrl+C."""
        self.keys("Control+c")
        return str(self.page.evaluate("navigator.clipboard.readText()"))

    def paste(self, text: str) -> Hand:
        """Put a text on the clipboard, as another program would, and press Ctrl+V."""
        self.page.evaluate("text => navigator.clipboard.writeText(text)", text)
        return self.keys("Control+v")

    def picked(self) -> tuple[str, str]:
        """The row, by its first column, and the heading of the picked cell, as it is told to who cannot see it."""
        cell = self.page.locator(f"#{self.grid.get_attribute('aria-activedescendant')}")
        heading = self.headings()[int(cell.get_attribute("aria-colindex") or 0) - 2]
        return cell.evaluate("cell => cell.parentElement.children[1].textContent"), heading

    def drawn(self) -> Hand:
        """Wait until the page has drawn what was just done."""
        self.page.evaluate("new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
        return self

    def settled(self) -> Hand:
        """Wait until all that was typed is on the disk, and first until the page has drawn what was just done."""
        self.drawn()
        expect(self.page.locator("[data-grid=status]")).to_have_text(ON_DISK)
        return self
