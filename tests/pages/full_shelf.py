"""A small job of which every page has something to show, and the server it lies on.

What a page would have worked out in a process of its own is worked out in the server's here: it has the rooms loaded.
"""

from __future__ import annotations

import io
import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import httpx
import pytest
from PIL import Image

from loomwright.car import Car
from loomwright.instruments.shop_meters import ShopMeter, keep_meter
from loomwright.job.reading import job_from_text
from loomwright.job.writing import text_from_job
from loomwright.pages.apart import worked_apart
from loomwright.pages.checking import CheckBench, Standing
from loomwright.pages.doors.doorway import Doorway, Lan
from loomwright.pages.doors.pairing import PairingDesk
from loomwright.store.devices import Devices
from loomwright.store.door_key import door_key
from loomwright.store.shelf import Shelf
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import SetCell
from tests.logs.drive import Plan, bilinear
from tests.logs.drive import made as drive_made
from tests.logs.test_mixture import LOAD, RPM, wants
from tests.pages.conftest import served
from tests.pages.whole_car import whole_car
from tests.store.conftest import clock

__all__ = ["FullShelf", "full_shelf"]

NAME = "full car"
MORE: Mapping[str, Sequence[Mapping[str, str]]] = {
    "old_wires": [
        {"id": "O1", "colour": "BN", "where": "battery tray", "plug": "P3.1", "notes": "thick"},
        {"id": "O2", "colour": "YE", "where": "box", "notes": "in a yellow sleeve at the airbag"},
    ],
    "readings": [
        {"old_wire": "O1", "when": "key=off", "measure": "volts", "value": "12.4", "unit": "V"},
        {"point": "PUMP.+", "when": "key=run, engine=running", "measure": "volts", "value": "0", "unit": "V",
         "visit": "pump"},
    ],
    "connectors": [
        {"id": "C1", "part": "ECU", "terminals": "A*", "ways": "40", "layout": "4x10", "side": "socket"},
        {"id": "C2", "part": "ECU", "terminals": "B*", "ways": "44", "layout": "4x11", "side": "socket"},
    ],
    "snags": [{"id": "S1", "stage": "loom", "text": "horn hums", "status": "open", "about": "W101"}],
    "questions": [{"id": "Q1", "stage": "plan", "text": "Keep the old horn?", "status": "with the owner"}],
    "hours": [{"stage": "loom", "minutes": "45", "who": "sam", "note": "cut", "time": "2026-01-02T10:00"}],
    "progress": [{"wire": "W101", "end": "both", "step": "cut", "length_mm": "300", "size_mm2": "25",
                  "time": "2026-01-02T09:00", "who": "sam"}],
    "proofs": [{"test": "lamp", "point": "PUMP.+", "low": "11", "high": "13", "unit": "V", "value": "9",
                "verdict": "failed"}],
    "gates": [{"gate": "oil", "stage": "first start", "verdict": "waived", "reason": "no switch fitted"}],
    "attempts": [{"soak_hours": "8", "coolant_c": "12", "crank_s": "1.2", "result": "ran at once"}],
    "vehicle": [
        {"name": "fuse_holes_box", "value": "12"},
        *({"name": name, "value": value} for name, value in {
            "displacement_cc": "1998", "injector_cc_per_min": "270", "injector_kpa": "300", "coil_mh": "3",
            "coil_ohm": "0.5", "coil_a": "7", "volts": "8 11 14",
        }.items()),
    ],
}  # fmt: skip
"""What a job has beside its plan."""

FREE = "PUMP.+"
"""The end of a wire that was pulled off: something is found, and mends are tried."""


class _Knows(CheckBench):
    """A bench that has the check of every revision at once."""

    def __init__(self) -> None:
        super().__init__()
        self._known: dict[int, Standing] = {}

    def look(self, snapshot: Snapshot) -> Standing:
        if snapshot.revision not in self._known:
            checked = Car(snapshot.as_written).check()
            self._known[snapshot.revision] = Standing(revision=snapshot.revision, checked=checked)
        return self._known[snapshot.revision]


@dataclass(frozen=True, slots=True, kw_only=True)
class FullShelf:
    """Where it is served, and the names that stand in its addresses."""

    url: str
    shelf: Shelf
    names: Mapping[str, str]

    def address(self, page: str) -> str:
        """The address of a page of the job."""
        return self.url + page.format(**self.names)


@contextmanager
def full_shelf() -> Iterator[FullShelf]:
    """The server, until it is left."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patched:
        patched.setattr(CheckBench, "warm", lambda _: None)
        for module in [one for name, one in sys.modules.items() if name.startswith("loomwright.pages.")]:
            if getattr(module, "worked_apart", None) is worked_apart:
                patched.setattr(module, "worked_apart", _worked_here)
        shelf = Shelf(Path(folder) / "shelf", clock())
        devices = Devices(shelf.folder, time.time)
        lan = Lan(
            devices=devices, pairing=PairingDesk(), key=door_key(shelf.folder), addresses=("https://192.168.1.20:8140/",),
            is_secure=True, fingerprint="AB:CD", authority=b"PEM",
        )  # fmt: skip
        keep_meter(shelf.folder, ShopMeter(name="bench meter", address="TCPIP::192.0.2.1::5025::SOCKET"))
        for name, role in (("tablet by the lift", "bench"), ("old telephone", "look")):
            devices.note("let in", name, "by its code")
            let_in = devices.add(name, role, digest=name.encode(), lasts_s=3600.0)  # type: ignore[arg-type]
        devices.let_go(let_in.id)
        with served(shelf, bench=_Knows(), doorway=Doorway(who="A", lan=lan)) as url:
            yield FullShelf(url=url, shelf=shelf, names=_filled(url, shelf, Path(folder)))
        devices.close()
        shelf.close()


def _worked_here(what: str, work: Callable[..., object], given: tuple[object, ...], tell: object) -> object:
    return work(*given, tell)


def _filled(url: str, shelf: Shelf, folder: Path) -> dict[str, str]:
    sheets = text_from_job(whole_car().job)
    whole = {sheet: [*rows, *MORE.get(sheet, ())] for sheet, rows in sheets.items()}
    for row in whole["wires"]:
        if row["to"] == FREE or row["from"] == FREE:
            row["to" if row["to"] == FREE else "from"] = ""
    job = job_from_text({**{sheet: rows for sheet, rows in MORE.items() if sheet not in whole}, **whole})
    shelf.add(NAME, job, who="A")
    key = next(row for row in shelf.now(NAME).rows["snags"] if row.cells["id"] == "S1")
    howls = SetCell(sheet="snags", row_key=key.key, column="text", old="horn hums", new="horn howls")
    shelf.edit(NAME, [howls], who="A", why="heard again")
    at = f"{url}/j/{quote(NAME)}"
    with httpx.Client(timeout=120.0) as client:
        table = "kPa\t" + "\t".join(f"{one:g}" for one in RPM)
        table += "".join("\n" + "\t".join([f"{load:g}", *["60"] * RPM.size]) for load in LOAD)
        client.post(f"{at}/logs/table", data={"table": table})
        drive = folder / "hill road.csv"
        drive_made(Plan(seed=1, minutes=3.0, rate_hz=10.0, want=bilinear(RPM, LOAD, wants(1)))).write_csv(drive)
        log = client.post(f"{at}/logs", files={"file": ("hill road.csv", drive.read_bytes(), "text/csv")})
        into = io.BytesIO()
        Image.new("RGB", (90, 60), "#806040").save(into, format="JPEG")
        wire = next(row for row in shelf.now(NAME).rows["wires"] if row.cells["id"] == "W101")
        sent = client.post(
            f"{url}/api/j/{quote(NAME)}/photos",
            data={"sheet": "wires", "row": "W101", "note": "the main lead"},
            files={"file": ("lead.jpg", into.getvalue(), "image/jpeg")},
        )
        sent.raise_for_status()
        client.post(f"{at}/handover/files", files={"file": ("engine.bin", b"\x00map", "application/octet-stream")})
        found = client.get(f"{at}/findings").text
    marks = {word: re.findall(rf"/{word}/([0-9a-f]+)", found)[0] for word in ("mends", "way")}
    return {
        **marks,
        "job": quote(NAME), "log": log.headers["location"].rpartition("/")[2], "key": str(wire.key),
        "need": job.needs[0].id, "circuit": next(part.circuit for part in job.parts if part.circuit),
        "connector": job.connectors[0].id, "run": job.runs[0].id,
    }  # fmt: skip
