"""What `loomwright devices` tells of records that a device brought after it was let go, and what is done with them."""

from __future__ import annotations

from argparse import Namespace

from loomwright.cli.printing import as_json, show, told
from loomwright.cli.shelf_folder import folder_of
from loomwright.store.devices import Device, Devices
from loomwright.store.set_aside import drop_aside, set_aside

__all__ = ["show_aside"]


def show_aside(arguments: Namespace, devices: Devices) -> int:
    """Tell what lies aside, or throw it away; gives the exit code.

    Raises:
        BadDocument: no device of that name left anything.
    """
    from loomwright.pages.left_behind import told_of_aside

    folder = folder_of(arguments)
    names = {one.id: one.name for one in devices.all()}
    if arguments.throw_away:
        device = _named(devices, arguments.throw_away, {each.device for each in set_aside(folder)})
        many = sum(each.many for each in set_aside(folder) if each.device == device.id)
        drop_aside(folder, device.id)
        devices.note("thrown away", device.name, f"{many} {'record' if many == 1 else 'records'}")
    found = [(names.get(each.device, each.device), each) for each in set_aside(folder)]
    lines = [(name, line) for name, each in found for line in told_of_aside([each])]
    if arguments.json:
        as_json(
            [
                {"device": name, "job": one.job, "made": one.made, "sheet": one.sheet, "says": one.says}
                for name, one in lines
            ]
        )
        return 0
    for name, one in lines:
        show(f"{name}, {one.job}, {one.made}: {one.says}")
    if lines:
        show("They are taken in on the page of devices, or thrown away with --throw-away NAME.")
    else:
        show("Nothing lies aside.")
    return 0


def _named(devices: Devices, name: str, left: set[str]) -> Device:
    there = [one for one in devices.all() if one.id in left]
    for one in there:
        if one.name.casefold() == name.casefold():
            return one
    names = ", ".join(one.name for one in there) or "no device left anything behind"
    raise told(f"a device called {name}", names, "Name one of these")
