"""What becomes of the records that a device brought after it was let go? They are told, taken in, or thrown away.

They lie aside (`store.set_aside`) until the owner of the shop has looked at them, on the page of devices or with a
command.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from loomwright.pages.acts_told import ActsTold, ActTold, taken
from loomwright.refusals import OutOfReach
from loomwright.store.set_aside import SetAside, drop_aside, set_aside
from loomwright.store.shelf import Shelf

__all__ = ["LeftBehind", "left_by", "take_in", "told_of_aside"]

_SETTLED = ("taken", "same", "back")


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftBehind:
    """One record that lies aside. made: when, by the device's clock.   says: what it is of, and what was said."""

    job: str
    made: str
    sheet: str
    says: str


def left_by(shelf: Shelf, device: str) -> Sequence[SetAside]:
    """What a device left behind.

    Args:
        device: its id.
    Raises:
        OutOfReach: it left nothing.
    """
    found = [one for one in set_aside(shelf.folder) if one.device == device]
    if not found:
        raise OutOfReach("what lies aside", device, "a device that left something behind")
    return found


def told_of_aside(found: Sequence[SetAside]) -> Iterator[LeftBehind]:
    """Record by record, in the order in which they were made."""
    for one in found:
        for act in ActsTold.model_validate_json(one.told).acts:
            yield LeftBehind(job=one.job, made=act.made.isoformat(timespec="seconds"), sheet=act.sheet, says=_says(act))


def take_in(shelf: Shelf, device: str, *, who: str) -> int:
    """Take in what a device left behind; gives how many stay aside: what somebody has written otherwise since, or
    what cannot stand. [-]

    Args:
        device: its id.
        who: its name, in which they are written down.
    Raises:
        OutOfReach: it left nothing.
        BadDocument: the disk does not take it.
    """
    left = []
    for one in left_by(shelf, device):
        told = ActsTold.model_validate_json(one.told)
        done = taken(shelf, one.job, told, who=who, came=datetime.fromtimestamp(one.came_s, UTC))
        stays = {each.id for each in done if each.outcome not in _SETTLED}
        acts = [act for act in told.acts if act.id in stays]
        if acts:
            rest = told.model_copy(update={"acts": acts})
            left.append(replace(one, many=len(acts), told=rest.model_dump_json()))
    drop_aside(shelf.folder, device, left)
    return sum(one.many for one in left)


def _says(act: ActTold) -> str:
    if act.back:
        return "takes an earlier one back"
    about = (act.cells.get(name, "") for name in ("test", "wire", "end", "step", "gate", "old_wire", "point"))
    what = act.said.value or act.cells.get("length_mm", "") or act.said.note or "done"
    unit = act.asks.unit if what != "done" and what != act.said.note else ""
    return f"{' '.join(text for text in about if text)}: {what} {unit}".strip()
