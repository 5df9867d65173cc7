"""What a device brought after it was let go: kept apart from the jobs until the owner of the shop has looked at it.

A file a device beside the shelf, read by its owner alone, bounded; a line is on the disk before it is answered.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from loomwright.store.shelf_file import refused

__all__ = ["FOLDER_NAME", "MOST_BYTES", "SetAside", "drop_aside", "put_aside", "set_aside"]

FOLDER_NAME = "aside"
MOST_BYTES = 1024 * 1024
"""Most that one device may leave behind: some two thousand records, our choice. [bytes]"""
_OWNER_ALONE, _FOLDER_OF_OWNER = 0o600, 0o700


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """Records of one job that came together. device: its id.   many: records. [-]   came_s: since 1970. [s]

    told: as the device told them, JSON.
    """

    device: str
    job: str
    many: int
    came_s: float
    told: str


def put_aside(folder: Path, one: SetAside) -> None:
    """Keep what a device brought; it is on the disk when this returns.

    Args:
        folder: of the shelf.
    Raises:
        BadDocument: the device left too much already, or the disk does not take it.
    """
    line = _line(one)
    path = folder / FOLDER_NAME / f"{one.device}.jsonl"
    try:
        path.parent.mkdir(mode=_FOLDER_OF_OWNER, exist_ok=True)
        path.touch(mode=_OWNER_ALONE)
        if path.stat().st_size + len(line) > MOST_BYTES:
            raise refused("more than a device may leave behind", f"{MOST_BYTES} bytes", "Take in what lies aside first")
        with path.open("ab") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise refused(f"{path}: {fault}", "a disk that takes it", "Make room on it") from fault


def set_aside(folder: Path) -> tuple[SetAside, ...]:
    """Everything that lies aside, device by device, in the order it came. A line that was cut short is passed over.

    Args:
        folder: of the shelf.
    """
    found = []
    for path in sorted((folder / FOLDER_NAME).glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            try:
                found.append(SetAside(**json.loads(line)))
            except (ValueError, TypeError):
                continue
    return tuple(found)


def drop_aside(folder: Path, device: str, left: Iterable[SetAside] = ()) -> None:
    """Have nothing of a device lie aside any more, but what is left.

    Args:
        folder: of the shelf.
        device: its id.
    """
    path = folder / FOLDER_NAME / f"{device}.jsonl"
    lines = b"".join(_line(one) for one in left)
    if not lines:
        path.unlink(missing_ok=True)
        return
    anew = path.with_suffix(".new")
    anew.touch(mode=_OWNER_ALONE)
    anew.write_bytes(lines)
    anew.replace(path)


def _line(one: SetAside) -> bytes:
    return json.dumps(asdict(one), ensure_ascii=False).encode() + b"\n"
