"""Figures that are a little off, on the page of worst cases: asked for, followed, stopped."""

from __future__ import annotations

import time

from tests.pages.test_states_pages import PATIENCE_S, _hrefs, _worst, client

__all__ = ["client"]


def _strays(client):  # type: ignore[no-untyped-def]
    until = time.monotonic() + PATIENCE_S
    while True:
        page = _worst(client, "/j/small/worst?off=yes")
        if "Everything that passes as solved" in page.words:
            return page
        assert time.monotonic() < until, "never worked out"
        time.sleep(0.1)


def test_nothing_is_drawn_before_somebody_asks(client):
    page = _worst(client, "/j/small/worst")
    assert "/j/small/worst?off=yes#strays" in _hrefs(page)
    assert "passes in" not in page.words


def test_the_lamp_strays_and_everything_still_passes(client):
    page = _strays(client)
    assert "Everything that passes as solved still passes in 300 of 300 (sure of 99.0 %)." in page.words
    assert "Volts at the loads" in page.words
    assert "never beyond" in page.words


def test_a_stopped_draw_is_begun_again(client):
    assert client.post("/j/small/worst/strays/stop").status_code == 200
    assert client.post("/j/small/worst/strays/again").status_code == 200
    assert "300 cars" in _strays(client).words
