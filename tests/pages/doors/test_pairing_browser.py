"""A tablet is let in as a person does it: the owner makes a code, the tablet follows its square, and is let go."""

from __future__ import annotations

import re
import socket
import threading
import time
from dataclasses import replace

import uvicorn
from playwright.sync_api import Browser, expect

from loomwright.pages.doors.origins import LOOPBACK
from loomwright.pages.doors.patience import PatientProtocol
from tests.pages.doors.shop import JOB, Shop


def elsewhere(app, device: str):
    """The application with one host name asked from elsewhere: a machine of tests has no second address."""

    async def asked(scope, receive, send) -> None:
        if scope["type"] == "http" and dict(scope["headers"])[b"host"].startswith(device.encode()):
            scope = {**scope, "client": ("192.168.1.50", 1)}
        await app(scope, receive, send)

    return asked


def test_a_tablet_is_let_in_works_and_is_let_go(own_shop: Shop, browser: Browser) -> None:
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
    server.should_exit = True
    server.force_exit = True
    thread.join(10)
