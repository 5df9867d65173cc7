"""Which meters does the shop have, and where is each reached?

One sheet beside the shelf, `meters.csv`, a row a meter: `meter` (its name in the shop), `address` (as VISA writes it),
`visa` (what reaches it; blank: the Python one). A person may write in it by hand. It is written whole and put in its
place at once, so that it is never half a file. A reading is taken from a meter by its name: whoever works at the bench
names no address, and so no other machine.
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from loomwright.instruments.meter import PYTHON_VISA
from loomwright.refusals import BadDocument, Problem

__all__ = ["FILE_NAME", "MAKERS_VISA", "MOST_METERS", "ShopMeter", "drop_meter", "keep_meter", "shop_meters"]

FILE_NAME = "meters.csv"
"""Where they stand in the folder of the shelf."""
MAKERS_VISA = "@ivi"
"""The VISA of a meter's maker, as it is installed on the machine."""
MOST_METERS = 20
"""More no shop has in use at once: our choice [-]."""
_COLUMNS = ("meter", "address", "visa")
_NAME = re.compile(r"\w[\w .,/()'-]{0,39}")
_ADDRESS = re.compile(r"(TCPIP|USB|GPIB|ASRL|VXI|PXI)[\w./-]*(::[\w./:%-]+)+", re.IGNORECASE)
_LONGEST_ADDRESS = 120
_LARGEST = 64 * 1024
_FIRST_ROW = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopMeter:
    """A meter of the shop. name: what it is called there.   address: as VISA writes it.   visa: what reaches it."""

    name: str
    address: str
    visa: str = PYTHON_VISA


def shop_meters(folder: Path) -> tuple[ShopMeter, ...]:
    """The meters of a shop, in the order of their sheet; none where it has named none.

    Raises:
        BadDocument: the sheet cannot be read, every place listed.
    """
    path = folder / FILE_NAME
    try:
        if not path.exists():
            return ()
        if path.stat().st_size > _LARGEST:
            raise BadDocument((_problem("a file that is too long", f"at most {_LARGEST // 1024} KB"),))
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise BadDocument((_problem(f"{path} cannot be read", "a sheet in UTF-8", "Mend it, or move it away"),)) from (
            fault
        )
    lines = list(csv.DictReader(io.StringIO(text)))
    if lines and not {"meter", "address"} <= set(lines[0]):
        raise BadDocument((_problem(", ".join(map(str, lines[0])), "the headings " + " ".join(_COLUMNS)),))
    found: list[ShopMeter] = []
    wrong: list[Problem] = []
    for row, line in enumerate(lines, start=_FIRST_ROW):
        meter = ShopMeter(
            name=(line.get("meter") or "").strip(),
            address=(line.get("address") or "").strip(),
            visa=(line.get("visa") or "").strip() or PYTHON_VISA,
        )
        wrong += _wrong_with(meter, found, row)
        found.append(meter)
    if wrong:
        raise BadDocument(tuple(wrong))
    return tuple(found)


def keep_meter(folder: Path, meter: ShopMeter) -> None:
    """Put a meter with the shop's; one of the same name is put in its place.

    Raises:
        BadDocument: a name or an address that is none, too many, or the disk does not take it; nothing is changed.
    """
    others = tuple(one for one in shop_meters(folder) if one.name.casefold() != meter.name.casefold())
    wrong = _wrong_with(meter, others, None)
    if len(others) >= MOST_METERS:
        wrong.append(_problem(f"{len(others)} meters", f"at most {MOST_METERS}", "Take one out that is no longer used"))
    if wrong:
        raise BadDocument(tuple(wrong))
    _write(folder, (*others, meter))


def drop_meter(folder: Path, name: str) -> None:
    """Take a meter out by its name; nothing where there is none of it.

    Raises:
        BadDocument: the sheet cannot be read, or the disk does not take it; nothing is changed.
    """
    there = shop_meters(folder)
    left = tuple(one for one in there if one.name != name)
    if left != there:
        _write(folder, left)


def _wrong_with(meter: ShopMeter, before: Sequence[ShopMeter], row: int | None) -> list[Problem]:
    wrong = []
    if not _NAME.fullmatch(meter.name):
        mend = "Call it what the shop calls it: bench meter"
        wrong.append(_problem(meter.name, "a name of 1 to 40 letters and figures", mend, row, "meter"))
    if len(meter.address) > _LONGEST_ADDRESS or not _ADDRESS.fullmatch(meter.address):
        allowed = "an address as VISA writes it: TCPIP::192.0.2.7::5025::SOCKET"
        wrong.append(_problem(meter.address, allowed, "The meter's own menu tells its address", row, "address"))
    if meter.name.casefold() in {one.name.casefold() for one in before}:
        wrong.append(_problem(meter.name, "each name once", "Give one of them another name", row, "meter"))
    return wrong


def _write(folder: Path, meters: Sequence[ShopMeter]) -> None:
    told = io.StringIO()
    writer = csv.writer(told, lineterminator="\n")
    writer.writerow(_COLUMNS)
    writer.writerows((one.name, one.address, one.visa) for one in meters)
    path, aside = folder / FILE_NAME, folder / f"{FILE_NAME}.being-made"
    try:
        with aside.open("w", encoding="utf-8", newline="") as file:
            file.write(told.getvalue())
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
    except OSError as fault:
        aside.unlink(missing_ok=True)
        mend = "Make room there, or mend its rights"
        raise BadDocument((_problem(f"{path}: {fault.strerror}", "a folder that can be written in", mend),)) from fault


def _problem(found: str, allowed: str, mend: str = "Mend it", row: int | None = None, column: str = "") -> Problem:
    return Problem(sheet=FILE_NAME, row=row, column=column, found=found, allowed=allowed, mend=mend)
