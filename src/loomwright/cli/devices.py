"""`loomwright devices`: which devices are let in; let one go, let it in as something else, or see what it left."""

from __future__ import annotations

import time
from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime

from loomwright.cli.aside import show_aside
from loomwright.cli.printing import as_json, show, told
from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.pages.doors.visitor import ROLE_WORDS
from loomwright.store.devices import FILE_NAME, ROLES, Device, Devices

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the devices that are let in to a shelf; let one go, or change what it may do"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_shelf(parser)
    parser.add_argument("--let-go", default="", metavar="NAME", help="end the session of a device, at once")
    parser.add_argument(
        "--as", dest="given", nargs=2, default=None, metavar=("NAME", "ROLE"), help=f"let it in as {', '.join(ROLES)}"
    )
    parser.add_argument("--aside", action="store_true", help="what devices brought that were let go, record by record")
    parser.add_argument("--throw-away", default="", metavar="NAME", help="throw away what such a device brought")
    parser.add_argument("--json", action="store_true", help="as JSON")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    folder = folder_of(arguments)
    if not (folder / FILE_NAME).is_file():
        if arguments.let_go or arguments.given or arguments.throw_away:
            raise told(f"no device of {folder}", "one that is let in", "See loomwright serve --lan")
        as_json([]) if arguments.json else show("No device is let in.")
        return 0
    devices = Devices(folder, time.time)
    try:
        if arguments.let_go:
            one = _named(devices, arguments.let_go)
            devices.let_go(one.id)
            devices.note("let go", one.name)
        if arguments.given:
            name, role = arguments.given
            if role not in ROLES:
                raise told(f"the role {role}", ", ".join(ROLES), "Name one of these")
            one = _named(devices, name)
            devices.give_role(one.id, role)
            devices.note("role", one.name, ROLE_WORDS[role])
        if arguments.aside or arguments.throw_away:
            return show_aside(arguments, devices)
        found = [one for one in devices.all() if devices.is_in(one)]
    finally:
        devices.close()
    if arguments.json:
        as_json([_plain(one) for one in found])
    else:
        for one in found:
            show(f"{one.name}: {ROLE_WORDS[one.role]}, since {_time(one.since_s)}, last seen {_time(one.seen_s)}")
        if not found:
            show("No device is let in.")
    return 0


def _named(devices: Devices, name: str) -> Device:
    there = [one for one in devices.all() if devices.is_in(one)]
    for one in there:
        if one.name.casefold() == name.casefold():
            return one
    names = ", ".join(one.name for one in there)
    raise told(f"a device called {name}", names or "none is let in", "Name one of these")


def _plain(device: Device) -> dict[str, str]:
    told = {"name": device.name, "role": device.role, "since": _time(device.since_s)}
    return told | {"seen": _time(device.seen_s), "until": _time(device.until_s)}


def _time(at_s: float) -> str:
    return datetime.fromtimestamp(at_s, UTC).isoformat(timespec="seconds")
