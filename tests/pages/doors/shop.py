"""A shop for tests: a shelf with a small car, its owner at the machine, and devices that come to its door."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any, TypeVar

from fastapi import FastAPI
from fastapi.testclient import TestClient

from loomwright.pages.doors.doorway import SESSION_S, Doorway, Lan
from loomwright.pages.doors.origins import LOOPBACK
from loomwright.pages.doors.pairing import PairingDesk
from loomwright.store.devices import Devices, Role
from loomwright.store.door_key import door_key
from loomwright.store.shelf import Shelf
from tests.pages.quiet import Quiet
from tests.pages.shelves import SMALL, app_on, here, shelf_in

OWNER = "sam"
ADDRESS = "192.168.1.20"
URL = f"http://{ADDRESS}:8140"
JOB = "small"
_numbers = count(1)
T = TypeVar("T")


def awaited(work: Coroutine[Any, Any, T]) -> T:
    """What it gives, in a thread of its own: a browser of another test may leave its loop running in this one."""
    with ThreadPoolExecutor(1) as apart:
        return apart.submit(asyncio.run, work).result()


@dataclass(slots=True)
class Clock:
    """A clock that a test sets. now_s: [s]"""

    now_s: float = 1_000_000.0

    def __call__(self) -> float:
        return self.now_s


@dataclass(slots=True, kw_only=True)
class Shop:
    """The application with its door, and who comes to it."""

    app: FastAPI
    shelf: Shelf
    devices: Devices
    pairing: PairingDesk
    clock: Clock
    doorway: Doorway
    scheme: str = "http"

    def owner(self) -> TestClient:
        """Whoever sits at the machine."""
        return here(self.app)

    def stranger(self, address: str = "192.168.1.50") -> TestClient:
        """A device of the network that was never let in."""
        url = f"{self.scheme}://{ADDRESS}:8140"
        return TestClient(
            self.app, base_url=url, client=(address, 50000), headers={"origin": url}, follow_redirects=False
        )

    def let_in(self, role: Role, name: str = "", address: str = "192.168.1.50") -> TestClient:
        """A device that was let in by a code."""
        client = self.stranger(address)
        typed = {"code": self.pairing.new_code(role), "name": name or f"tablet {next(_numbers)}"}
        answer = client.post("/pair", data=typed)
        assert answer.status_code == 303, answer.text
        return client

    def device(self, name: str) -> str:
        """The id of a device by its name."""
        return next(one.id for one in self.devices.all() if one.name == name)


def shop_in(folder: Path, *, is_secure: bool = False, session_s: float = SESSION_S, **lan: object) -> Shop:
    """A shop that is open; see `closed`."""
    clock = Clock()
    shelf = shelf_in(folder, **{JOB: SMALL})
    devices = Devices(shelf.folder, clock)
    pairing = PairingDesk(clock, lambda from_now_s: f"{from_now_s:.0f} s from now")
    doorway = Doorway(
        who=OWNER,
        names=LOOPBACK | {ADDRESS},
        lan=Lan(
            devices=devices,
            pairing=pairing,
            key=door_key(shelf.folder),
            addresses=(f"{'https' if is_secure else 'http'}://{ADDRESS}:8140/",),
            is_secure=is_secure,
            session_s=session_s,
            **lan,
        ),
    )
    app = app_on(shelf, who=OWNER, doorway=doorway)
    app.state.desk = replace(app.state.desk, bench=Quiet())
    return Shop(
        app=app,
        shelf=shelf,
        devices=devices,
        pairing=pairing,
        clock=clock,
        doorway=doorway,
        scheme="https" if is_secure else "http",
    )


def closed(shop: Shop) -> None:
    """Put a shop away."""
    shop.app.state.desk.close()
    shop.devices.close()
    shop.shelf.close()
