"""What is sent is bounded: in size, in sort, and in how slowly it comes."""

from __future__ import annotations

import asyncio
import socket
import threading
import time

import pytest
import uvicorn
from starlette.exceptions import HTTPException

from loomwright.pages.doors.bodies import bounded, is_known_sort, most_bytes
from loomwright.pages.doors.patience import PatientProtocol
from loomwright.pages.routes.shelf_pages import MOST_BYTES
from loomwright.store.photos import MOST_BYTES as MOST_OF_A_PHOTO
from tests.pages.doors.addresses import asked, changes
from tests.pages.doors.shop import JOB, Shop, awaited
from tests.pages.shelves import Page

FORM = "application/x-www-form-urlencoded"


def pieces(*sizes: int, wait_s: float = 0.0):
    """What comes of a request, in pieces."""
    left = [{"type": "http.request", "body": b"x" * size, "more_body": True} for size in sizes]
    left[-1]["more_body"] = False

    async def receive():
        await asyncio.sleep(wait_s)
        return left.pop(0) if left else {"type": "http.disconnect"}

    return receive


async def read_all(receive) -> int:
    size = 0
    while True:
        message = await receive()
        size += len(message["body"])
        if not message["more_body"]:
            return size


def test_what_comes_is_counted_though_it_does_not_say_how_long_it_is():
    assert awaited(read_all(bounded(pieces(40, 60), 100))) == 100
    with pytest.raises(HTTPException) as told:
        awaited(read_all(bounded(pieces(40, 61), 100)))
    assert told.value.status_code == 413


def test_what_comes_too_slowly_is_not_waited_for():
    with pytest.raises(HTTPException) as told:
        awaited(read_all(bounded(pieces(1, 1, wait_s=0.5), 100, wait_s=0.01)))
    assert told.value.status_code == 408


def test_after_the_end_somebody_may_wait_for_news_as_long_as_he_likes():
    async def ask() -> str:
        receive = bounded(pieces(1, wait_s=0.02), 100, wait_s=0.015)
        with pytest.raises(HTTPException):
            await receive()
        patient = bounded(pieces(1), 100, wait_s=0.001)
        await patient()
        return (await patient())["type"]

    assert awaited(ask()) == "http.disconnect"


def test_a_form_that_is_too_large_is_not_even_read(shop: Shop):
    client = shop.let_in("bench")
    answer = client.post(f"/j/{JOB}/snags", data={"text": "x" * 300_000}, headers={"accept": "text/html"})
    assert answer.status_code == 413
    assert "at most 256 KB" in Page(answer.text).words


def test_a_form_that_does_not_say_how_large_it_is_is_counted(shop: Shop):
    def endless():
        for _ in range(400):
            yield b"x" * 1024

    headers = {"content-type": FORM, "accept": "application/json"}
    for path in ("/jobs/empty", "/look", f"/j/{JOB}/decide/keep"):
        answer = shop.owner().post(path, content=endless(), headers=headers)
        assert answer.status_code == 413, path
        assert "256 KB" in answer.json()["refused"][0]["found"]


def test_files_are_bounded_above_what_a_job_and_a_photo_may_hold():
    assert MOST_OF_A_PHOTO < MOST_BYTES < most_bytes("multipart/form-data; boundary=x") <= 66 * 1024 * 1024
    assert most_bytes("application/json") <= 32 * 1024 * 1024
    assert most_bytes("text/plain") == most_bytes(FORM) == 256 * 1024


@pytest.mark.parametrize("sort", ["text/xml", "text/plain", "application/octet-stream", "", "application/json/x"])
def test_a_sort_that_is_not_taken_is_refused(shop: Shop, sort):
    for path in (f"/api/j/{JOB}/edits", f"/j/{JOB}/snags"):
        answer = shop.owner().post(path, content=b"<x/>", headers={"content-type": sort})
        assert answer.status_code == 415, path
    assert not is_known_sort(sort, "/")


def test_no_address_takes_a_sort_that_is_none(shop: Shop):
    owner = shop.owner()
    told = {
        path: answer.status_code
        for method, path in changes()
        if (answer := owner.request(method, asked(path), content=b"<x/>", headers={"content-type": "text/xml"}))
        and answer.status_code != 415
    }
    # what a device brings that was let go: nobody else may say anything there, whatever its sort
    assert told == {"/api/let-go/{job}": 403}


class Hasty(PatientProtocol):
    """One that waits a fifth of a second."""

    head_s = 0.2


def test_a_client_that_says_nothing_is_let_go_and_others_are_answered():
    async def app(scope, receive, send) -> None:
        await asyncio.sleep(0.4)  # an answer may take longer than a head
        await send({"type": "http.response.start", "status": 204, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    listening = socket.create_server(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(app, http=Hasty, lifespan="off", log_level="critical", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    with (
        socket.create_connection(("127.0.0.1", port), timeout=20) as silent,
        socket.create_connection(("127.0.0.1", port), timeout=20) as slow,
        socket.create_connection(("127.0.0.1", port), timeout=20) as quick,
    ):
        slow.sendall(b"GET / HTTP/1.1\r\nHo")
        quick.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        begun = time.monotonic()
        assert quick.recv(100).startswith(b"HTTP/1.1 204")
        assert silent.recv(100) == b""
        assert slow.recv(100) == b""
        assert time.monotonic() - begun < 15
    server.should_exit = True
    thread.join(10)
