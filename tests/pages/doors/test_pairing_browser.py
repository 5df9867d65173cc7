"""A tablet is let in as a person does it: the owner makes a code, the tablet follows its square, and is let go."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest
import uvicorn
from playwright.sync_api import Browser, expect

from loomwright.pages.doors.origins import LOOPBACK
from loomwright.pages.doors.patience import PatientProtocol
from loomwright.pages.routes import under_dash
from loomwright.store.set_aside import set_aside
from tests.pages.doors.shop import JOB, Shop
from tests.pages.tablet import PLAN, STILL_MS


def elsewhere(app, device: str):
    """The application with one host name asked from elsewhere: a machine of tests has no second address."""

    async def asked(scope, receive, send) -> None:
        if scope["type"] == "http" and dict(scope["headers"])[b"host"].startswith(device.encode()):
            scope = {**scope, "client": ("192.168.1.50", 1)}
        await app(scope, receive, send)

    return asked


@pytest.fixture
def open_shop(own_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Shop, int]]:
    """A shop that is served; under the name localhost it is asked from elsewhere. The port. [-]"""
    monkeypatch.setattr(under_dash, "plan_apart", lambda _job, _tell: PLAN)
    listening = socket.create_server(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    lan = own_shop.doorway.lan
    assert lan is not None
    object.__setattr__(own_shop.doorway, "lan", replace(lan, addresses=(f"http://localhost:{port}/",)))
    assert "localhost" in LOOPBACK
    app = elsewhere(own_shop.app, "localhost")
    server = uvicorn.Server(
        uvicorn.Config(app, http=PatientProtocol, log_level="warning", access_log=False, lifespan="off")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield own_shop, port
    server.should_exit = True
    server.force_exit = True
    thread.join(10)


def test_a_tablet_is_let_in_works_and_is_let_go(open_shop: tuple[Shop, int], browser: Browser) -> None:
    _, port = open_shop
    owner = browser.new_context().new_page()
    tablet = browser.new_context(viewport={"width": 768, "height": 1024}).new_page()
    owner.goto(f"http://127.0.0.1:{port}/devices")
    owner.get_by_role("button", name="Make a code").click()
    code = owner.locator(".code-letters").inner_text().replace("-", "")
    assert re.fullmatch(r"[2-9A-Z]{8}", code)

    tablet.goto(f"http://localhost:{port}/j/{JOB}/snags")
    expect(tablet).to_have_url(re.compile("/pair"))
    # where the square leads
    tablet.goto(f"http://localhost:{port}/pair?to=%2Fj%2F{JOB}%2Fsnags#{code}")
    expect(tablet.get_by_label("Code")).to_have_value(code)
    assert code not in tablet.url
    tablet.get_by_label("Name of this device").fill("tablet by the lift")
    tablet.get_by_role("button", name="Let it in").click()
    expect(tablet).to_have_url(re.compile(f"/j/{JOB}/snags$"))
    # a form of a page says where it comes from, or the door would refuse it
    tablet.goto(f"http://localhost:{port}/j/{JOB}/hours")
    tablet.get_by_role("button", name="dark").click()
    expect(tablet).to_have_url(re.compile(f"/j/{JOB}/hours$"))

    owner.goto(f"http://127.0.0.1:{port}/devices")
    owner.get_by_role("button", name="Let go tablet by the lift").click()
    expect(owner.get_by_text("No device is let in.")).to_be_visible()
    tablet.reload()
    expect(tablet).to_have_url(re.compile("/pair"))
    owner.context.close()
    tablet.context.close()


KEPT = """async () => ({
  caches: (await caches.keys()).length, bases: (await indexedDB.databases()).length,
  workers: (await navigator.serviceWorker.getRegistrations()).length,
})"""
"""What a browser keeps of us."""


def test_what_waits_on_a_tablet_goes_out_after_it_is_paired_again_and_aside_after_it_is_let_go(
    open_shop: tuple[Shop, int], browser: Browser
) -> None:
    shop, port = open_shop
    at = f"http://localhost:{port}"
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    context.set_default_timeout(60_000)
    tablet = context.new_page()

    def pair(name: str) -> None:
        tablet.goto(f"{at}/pair?to=%2Fj%2F{JOB}%2Fnext%3Fwork%3Dbuild#{shop.pairing.new_code('bench')}")
        tablet.get_by_label("Name of this device", exact=True).fill(name)
        tablet.get_by_role("button", name="Let it in", exact=True).click()
        tablet.wait_for_selector("body[data-ready] #thing")
        tablet.evaluate("() => navigator.serviceWorker.ready.then(() => null)")

    def do(times: int) -> None:
        for _ in range(times):
            tablet.wait_for_timeout(STILL_MS)
            tablet.locator(".u-large").first.click()

    def cuts() -> int:
        return len(shop.shelf.now(JOB).rows.get("progress", ()))

    # its session ends while two records wait: they wait on, and go out once it is paired again
    pair("tablet 1")
    shop.clock.now_s += 13 * 3600.0
    do(2)
    expect(tablet.locator(".u-waits")).to_contain_text("the desk does not let this tablet in: pair it again")
    expect(tablet.locator(".u-waits")).to_contain_text("2 wait to be sent")
    assert cuts() == 0
    pair("tablet 2")
    expect(tablet.locator(".u-waits")).to_contain_text("all is sent")
    assert cuts() == 2

    # it is let go while two more wait: they lie aside for the owner, and nothing of us is left on it
    context.set_offline(True)
    do(2)
    expect(tablet.locator(".u-waits")).to_contain_text("2 wait to be sent")
    shop.owner().post(f"/devices/{shop.device('tablet 2')}/revoke")
    context.set_offline(False)
    tablet.evaluate("() => dispatchEvent(new Event('online'))")
    expect(tablet.locator("#thing")).to_have_text("Let go")
    expect(tablet.locator("#work")).to_contain_text("put aside for the owner of the shop: 2.")
    assert tablet.evaluate(KEPT) == {"caches": 0, "bases": 0, "workers": 0}
    assert cuts() == 2
    assert sum(one.many for one in set_aside(shop.shelf.folder)) == 2
    tablet.reload()
    expect(tablet).to_have_url(re.compile("/pair"))
    context.close()


@pytest.mark.long
def test_a_tablet_that_was_let_go_is_cleared_at_whatever_page_it_asks(
    open_shop: tuple[Shop, int], browser: Browser
) -> None:
    shop, port = open_shop
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    context.set_default_timeout(60_000)
    tablet = context.new_page()
    tablet.goto(f"http://localhost:{port}/pair?to=%2Fj%2F{JOB}%2Fnext#{shop.pairing.new_code('bench')}")
    tablet.get_by_label("Name of this device", exact=True).fill("tablet 3")
    tablet.get_by_role("button", name="Let it in", exact=True).click()
    tablet.wait_for_selector("body[data-ready] #thing")
    tablet.evaluate("() => navigator.serviceWorker.ready.then(() => null)")
    tablet.goto(f"http://localhost:{port}/j/{JOB}/snags")
    shop.owner().post(f"/devices/{shop.device('tablet 3')}/revoke")
    tablet.reload()
    expect(tablet.locator("[data-part=closed]")).to_contain_text("Nothing of its jobs is shown on it any more.")
    assert tablet.evaluate(KEPT) == {"caches": 0, "bases": 0, "workers": 0}
    context.close()
