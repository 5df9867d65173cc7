"""Forms of the shop's pages as a browser without scripts would send them, for tests."""

from __future__ import annotations

from html.parser import HTMLParser

from fastapi.testclient import TestClient


class _Forms(HTMLParser):
    """Every form of a page: its address and what its fields hold."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.forms: list[tuple[str, dict[str, str]]] = []
        self._choice: str | None = None
        self._text: str | None = None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append((told.get("action", ""), {}))
        elif not self.forms:
            return
        elif tag == "input":
            self.forms[-1][1][told.get("name", "")] = told.get("value", "")
        elif tag == "select":
            self._choice = told["name"]
            self.forms[-1][1].setdefault(self._choice, "")
        elif tag == "option" and self._choice and "selected" in told:
            self.forms[-1][1][self._choice] = told["value"]
        elif tag == "textarea":
            self._text = told["name"]
            self.forms[-1][1][self._text] = ""

    def handle_endtag(self, tag):
        if tag == "select":
            self._choice = None
        elif tag == "textarea":
            self._text = None

    def handle_data(self, data):
        if self._text and self.forms:
            self.forms[-1][1][self._text] += data


def forms_in(html: str) -> list[tuple[str, dict[str, str]]]:
    """The forms of a page, each with its address and its fields as they stand."""
    return _Forms(html).forms


def fields(client: TestClient, address: str, action: str, row: str = "") -> dict[str, str]:
    """The fields of one form of a page: by where it is sent, and by its row."""
    html = client.get(address, headers={"accept": "text/html"}).text
    return next(cells for place, cells in forms_in(html) if place.endswith(action) and cells.get("row", "") == row)


def send(client: TestClient, address: str, cells: dict[str, str]):
    """Send a form; where it leads is not followed."""
    return client.post(address, data=cells, headers={"accept": "text/html"}, follow_redirects=False)
