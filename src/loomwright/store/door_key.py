"""Which secret signs the sessions of a shelf? Made once, kept in its folder, read by its owner alone."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from loomwright.store.shelf_file import refused

__all__ = ["KEY_NAME", "door_key"]

KEY_NAME = "door.key"
_LENGTH = 32
_OWNER_ALONE = 0o600
_OTHERS = 0o077


def door_key(folder: Path) -> bytes:
    """The secret of the shelf in a folder; made where there is none yet.

    Raises:
        BadDocument: it cannot be kept there, or others of this machine can read it, or it is none.
    """
    path = folder / KEY_NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _made(path)
        if path.stat().st_mode & _OTHERS:
            path.chmod(_OWNER_ALONE)
        if path.stat().st_mode & _OTHERS:
            raise refused(
                f"{path} can be read by others", "a folder that knows rights", "Put the shelf on another disk"
            )
        key = path.read_bytes()
    except OSError as fault:
        raise refused(f"{path}: {fault.strerror}", "a folder that can be written to", "Name another") from fault
    if len(key) != _LENGTH:
        raise refused(f"{path} is no key", f"{_LENGTH} bytes", "Take it away: every device is let in anew")
    return key


def _made(path: Path) -> None:
    """Make it, whole or not at all, unless it is there."""
    if path.exists():
        return
    coming = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
    there = os.open(coming, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ALONE)
    try:
        os.write(there, secrets.token_bytes(_LENGTH))
        os.fsync(there)
    finally:
        os.close(there)
    try:
        os.link(coming, path)  # the first of two who begin at once has made it
    except FileExistsError:
        pass
    finally:
        coming.unlink()
