"""A device that was let go: what it had still to send lies aside until the owner has looked; nobody else hands in."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from uuid import UUID, uuid5

import pytest

from loomwright.cli.devices import add_arguments, run
from loomwright.refusals import BadDocument
from loomwright.store import set_aside as aside
from loomwright.store.set_aside import set_aside
from tests.pages.doors.shop import JOB, Shop
from tests.pages.shelves import Page

HTML = {"accept": "text/html"}
DAY_S = 24 * 3600.0


def cut(wire: str, length: str, base: int = 1) -> dict:
    cells = {"wire": wire, "end": "both", "step": "cut", "length_mm": length}
    return {
        "id": str(uuid5(UUID(int=8), f"{wire} {length}")), "made": "2026-01-02T08:00:00Z", "base": base,
        "sheet": "progress", "cells": cells, "asks": {"unit": "mm"},
    }  # fmt: skip


def hand_in(client, *acts: dict):
    told = {"device": "t1", "sent": "2026-01-02T08:01:00Z", "acts": list(acts)}
    return client.post(f"/api/let-go/{JOB}", json=told)


def gone(shop: Shop, name: str, role="bench"):
    client = shop.let_in(role, name)
    shop.owner().post(f"/devices/{shop.device(name)}/revoke")
    return client


def cuts(shop: Shop) -> list[tuple[str, str, str]]:
    rows = shop.shelf.now(JOB).rows.get("progress", ())
    return [tuple(row.cells.get(name, "") for name in ("wire", "length_mm", "who")) for row in rows]


def test_a_device_that_was_let_go_is_told_so_and_one_whose_session_lapsed_is_not(own_shop: Shop):
    let_go = gone(own_shop, "gone").get(f"/api/j/{JOB}/day")
    assert (let_go.status_code, let_go.headers["www-authenticate"]) == (401, 'Pairing standing="let go"')
    lapsed = own_shop.let_in("bench", "lapsed")
    own_shop.clock.now_s += DAY_S
    assert lapsed.get(f"/api/j/{JOB}/day").headers["www-authenticate"] == "Pairing"
    assert own_shop.stranger().get(f"/api/j/{JOB}/day").headers["www-authenticate"] == "Pairing"


def test_what_it_hands_in_lies_aside_and_the_owner_takes_it_in_under_its_name(own_shop: Shop):
    before = own_shop.shelf.now(JOB).revision
    assert hand_in(gone(own_shop, "tablet 9"), cut("W3", "310"), cut("W4", "1010")).json() == {"aside": 2}
    assert own_shop.shelf.now(JOB).revision == before
    page = Page(own_shop.owner().get("/devices", headers=HTML).text)
    assert "tablet 9 : 2 records" in page.words
    assert f"{JOB}: W3 both cut: 310" in page.words
    assert page.unclosed == []
    own_shop.owner().post(f"/devices/{own_shop.device('tablet 9')}/aside/take")
    assert cuts(own_shop) == [("W3", "310", "tablet 9"), ("W4", "1010", "tablet 9")]
    assert "Put aside" not in Page(own_shop.owner().get("/devices", headers=HTML).text).words
    assert set_aside(own_shop.shelf.folder) == ()
    told = [(line.what, line.who) for line in own_shop.devices.book()]
    assert {("put aside", "tablet 9"), ("taken in", "tablet 9")} <= set(told)


def told(shop: Shop, capsys, *words: str):
    parser = ArgumentParser()
    add_arguments(parser)
    assert run(parser.parse_args(["--shelf", str(shop.shelf.folder), *words])) == 0
    return capsys.readouterr().out


def test_a_command_tells_what_lies_aside_and_throws_it_away(own_shop: Shop, capsys):
    hand_in(gone(own_shop, "tablet 7"), cut("W3", "310"))
    hand_in(gone(own_shop, "tablet 8"), cut("W4", "1010"))
    lines = told(own_shop, capsys, "--aside").splitlines()
    assert f"tablet 7, {JOB}, 2026-01-02T08:00:00+00:00: W3 both cut: 310 mm" in lines
    left = json.loads(told(own_shop, capsys, "--throw-away", "Tablet 7", "--json"))
    assert [(one["device"], one["sheet"], one["says"]) for one in left] == [
        ("tablet 8", "progress", "W4 both cut: 1010 mm")
    ]
    assert told(own_shop, capsys, "--throw-away", "tablet 8") == "Nothing lies aside.\n"
    assert set_aside(own_shop.shelf.folder) == ()
    assert cuts(own_shop) == []
    with pytest.raises(BadDocument, match="no device left anything behind"):
        told(own_shop, capsys, "--throw-away", "tablet 8")


def test_what_somebody_has_written_otherwise_since_stays_aside(own_shop: Shop):
    own_shop.shelf.record(JOB, "progress", {"wire": "W3", "end": "both", "step": "cut", "length_mm": "320"}, who="sam")
    hand_in(gone(own_shop, "late"), cut("W3", "310"), cut("W4", "1010"))
    own_shop.owner().post(f"/devices/{own_shop.device('late')}/aside/take")
    assert [wire for wire, _, _ in cuts(own_shop)] == ["W3", "W4"]
    (left,) = set_aside(own_shop.shelf.folder)
    assert left.many == 1
    own_shop.owner().post(f"/devices/{left.device}/aside/drop")
    assert set_aside(own_shop.shelf.folder) == ()
    assert len(cuts(own_shop)) == 2


def test_nobody_else_hands_in_and_nobody_without_end(own_shop: Shop, monkeypatch: pytest.MonkeyPatch):
    assert hand_in(own_shop.stranger(), cut("W3", "310")).status_code == 401
    assert hand_in(gone(own_shop, "looked on", "look"), cut("W3", "310")).status_code == 401
    assert hand_in(own_shop.let_in("bench", "still in"), cut("W3", "310")).status_code == 403
    client = gone(own_shop, "chatty")
    assert client.post(f"/api/j/{JOB}/acts", json={}).status_code == 401
    assert (
        client.post("/api/let-go/none", json={"device": "t", "sent": "2026-01-02T08:01:00Z", "acts": []}).status_code
        == 404
    )
    elsewhere = client.post(f"/api/let-go/{JOB}", json={}, headers={"origin": "https://elsewhere.example"})
    assert elsewhere.status_code == 403
    monkeypatch.setattr(aside, "MOST_BYTES", 100)
    assert hand_in(client, cut("W3", "310")).status_code == 422
    assert set_aside(own_shop.shelf.folder) == ()


def test_what_lies_aside_is_read_by_its_owner_alone(own_shop: Shop):
    hand_in(gone(own_shop, "tablet 10"), cut("W3", "310"))
    (path,) = (own_shop.shelf.folder / aside.FOLDER_NAME).iterdir()
    assert path.stat().st_mode & 0o077 == 0
    assert path.parent.stat().st_mode & 0o077 == 0
