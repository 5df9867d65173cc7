"""A form that is sent twice counts once."""

from __future__ import annotations

import asyncio
import re

import pytest

from loomwright.pages.doors.once import Once, new_once
from tests.pages.doors.shop import JOB, Shop, awaited
from tests.pages.shop_forms import forms_in

JOBS = ("/", "/jobs/example")


def counted(shop: Shop) -> int:
    return shop.shelf.now(JOB).revision


def word_in(html: str) -> str:
    found = re.search(r'name="once" value="([\w-]+)"', html)
    assert found is not None
    return found[1]


def test_every_form_of_a_page_has_a_word_of_its_own(shop: Shop):
    html = shop.owner().get("/").text
    words = [cells["once"] for _, cells in forms_in(html) if "once" in cells]
    assert len(words) == html.count('method="post"') > 3
    assert len(set(words)) == len(words)


def test_a_form_sent_twice_counts_once_though_it_has_no_token_of_its_own(own_shop: Shop):
    owner = own_shop.owner()
    typed = {"example": "tourer", "once": word_in(owner.get("/").text)}
    first = owner.post("/jobs/example", data=typed, follow_redirects=False)
    again = owner.post("/jobs/example", data=typed, follow_redirects=False)
    assert (first.status_code, again.status_code) == (303, 303)
    assert first.headers["location"] == again.headers["location"]
    assert len(own_shop.shelf.jobs()) == 2
    owner.post("/jobs/example", data={"example": "tourer", "once": new_once()})
    assert len(own_shop.shelf.jobs()) == 3


def test_a_step_taken_back_twice_by_one_touch_is_taken_back_once(own_shop: Shop):
    owner = own_shop.owner()
    for number in (1, 2):
        cells = {"id": f"S{number}", "text": "loose"}
        owner.post(f"/api/j/{JOB}/edits", json={"edits": [{"do": "add", "sheet": "snags", "cells": cells}]})
    before = counted(own_shop)
    headers = {"idempotency-key": f'"{new_once()}"'}
    assert (
        owner.post(f"/api/j/{JOB}/undo", headers=headers).json()
        == owner.post(f"/api/j/{JOB}/undo", headers=headers).json()
    )
    assert counted(own_shop) == before + 1


def test_another_content_or_another_visitor_is_another_form(own_shop: Shop):
    word = new_once()
    owner, tablet = own_shop.owner(), own_shop.let_in("bench")
    before = len(own_shop.shelf.jobs())
    for client, name in ((owner, "a"), (owner, "b"), (tablet, "c")):
        client.post("/jobs/empty", data={"name": name, "once": word})
    assert len(own_shop.shelf.jobs()) == before + 3


def test_what_was_refused_may_be_sent_again(own_shop: Shop):
    word = new_once()
    owner = own_shop.owner()
    refused = owner.post("/jobs/empty", data={"name": JOB, "once": word})
    assert refused.status_code == 422
    assert owner.post("/jobs/empty", data={"name": JOB, "once": word}).status_code == 422


def test_a_file_sent_twice_is_taken_once(own_shop: Shop):
    owner = own_shop.owner()
    word = new_once()
    answers = [
        owner.post(
            "/jobs/file", data={"once": word}, files={"file": ("x.json", b"{")}, headers={"accept": "text/html"}
        ).status_code
        for _ in range(2)
    ]
    assert answers == [422, 422]


@pytest.mark.parametrize("status", [303, 422])
def test_one_that_comes_while_the_first_is_worked_on_waits_for_it(status):
    done = []

    async def slow(scope, receive, send) -> None:
        await receive()
        await asyncio.sleep(0.01)
        done.append(scope["path"])
        await send({"type": "http.response.start", "status": status, "headers": []})
        await send({"type": "http.response.body", "body": b"x"})

    async def ask(app: Once) -> list:
        told = []
        body = b"once=" + b"w" * 16
        scope = {
            "type": "http",
            "method": "POST",
            "path": "/a",
            "query_string": b"",
            "headers": [(b"content-type", b"application/x-www-form-urlencoded")],
        }

        async def receive():
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message) -> None:
            told.append(message)

        await app(scope, receive, send)
        return told

    async def both() -> list:
        app = Once(slow)
        return await asyncio.gather(ask(app), ask(app))

    first, second = awaited(both())
    assert [one["type"] for one in first] == [one["type"] for one in second]
    # what was refused was not taken, so the second is asked for itself
    assert len(done) == (1 if status == 303 else 2)
