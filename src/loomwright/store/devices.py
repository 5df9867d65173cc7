"""Which devices are let in, under which name, and as what?

They lie in a file of their own beside the shelf, so that a shelf put back from a backup does not let a device in again
that was let go. Of a session only the digest of its word is kept: who reads the file cannot be anybody.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Literal, cast, get_args

from loomwright.refusals import OutOfReach
from loomwright.store.shelf_file import refused

__all__ = ["FILE_NAME", "ROLES", "BookLine", "Device", "Devices", "Role", "is_device_name"]

Role = Literal["owner", "bench", "look"]
"""owner: of the shop, lets devices in and go.   bench: works on jobs.   look: looks, changes nothing."""
ROLES: tuple[Role, ...] = get_args(Role)

FILE_NAME = "doors.db"
_SHAPE = 1
_OWNER_ALONE = 0o600
_BUSY_MS = 10_000
_LONGEST_NAME = 40
_SEEN_EVERY_S = 60.0
_MADE = """
    CREATE TABLE IF NOT EXISTS devices(
        id TEXT PRIMARY KEY, name TEXT NOT NULL, role TEXT NOT NULL, digest BLOB NOT NULL,
        since REAL NOT NULL, until REAL NOT NULL, seen REAL NOT NULL, ended REAL)
"""
_BOOK = """
    CREATE TABLE IF NOT EXISTS book(
        id INTEGER PRIMARY KEY, at REAL NOT NULL, what TEXT NOT NULL, who TEXT NOT NULL, about TEXT NOT NULL)
"""
_COLUMNS = "id, name, role, digest, since, until, seen, ended"
_MOST_LINES = 2000
_LONGEST_LINE = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A device that is, or was, let in. digest: of the word of its session.   since_s, until_s, seen_s, ended_s: when
    it was let in, when its session lapses, when it asked last, when it was let go; seconds since 1970. [s]
    """

    id: str
    name: str
    role: Role
    digest: bytes
    since_s: float
    until_s: float
    seen_s: float
    ended_s: float | None

    def is_in(self, now_s: float) -> bool:
        """Whether it may come in still. now_s: seconds since 1970. [s]"""
        return self.ended_s is None and now_s < self.until_s


@dataclass(frozen=True, slots=True, kw_only=True)
class BookLine:
    """One thing that happened at the door. at_s: seconds since 1970. [s]   who: a device, or an address.

    what: let in, wrong code, shut, role, let go, left, refused.   about: more of it.
    """

    at_s: float
    what: str
    who: str
    about: str


class Devices:
    """The devices of one shelf; safe to use from several threads, and beside a command that lets one go."""

    def __init__(self, folder: Path, clock_s: Callable[[], float]) -> None:
        self._clock_s = clock_s
        self._lock = Lock()
        path = folder / FILE_NAME
        try:
            folder.mkdir(parents=True, exist_ok=True)
            path.touch(mode=_OWNER_ALONE)
            path.chmod(_OWNER_ALONE)
            self._file = sqlite3.connect(
                path, timeout=_BUSY_MS / 1000, isolation_level=None, check_same_thread=False, cached_statements=16
            )
            self._file.execute("PRAGMA synchronous=FULL")
            shape = int(self._file.execute("PRAGMA user_version").fetchone()[0])
            if shape > _SHAPE:
                raise refused(f"{path} has the shape {shape}", f"{_SHAPE} or older", "Bring loomwright up to date")
            self._file.execute(_MADE)
            self._file.execute(_BOOK)
            self._file.execute(f"PRAGMA user_version={_SHAPE}")
        except (OSError, sqlite3.Error) as fault:
            raise refused(
                f"{path}: {fault}", "the devices of a shelf", "Take it away: every device is let in anew"
            ) from fault

    def close(self) -> None:
        """Let the file go."""
        with self._lock:
            self._file.close()

    def add(self, name: str, role: Role, *, digest: bytes, lasts_s: float) -> Device:
        """Let a device in.

        Args:
            digest: of the word of its session.
            lasts_s: how long its session lasts. [s]
        Raises:
            BadDocument: the name is none, or a device that is in has it.
        """
        if not is_device_name(name):
            allowed = f"a name of 1 to {_LONGEST_NAME} letters, figures, blanks, - . and '"
            raise refused(f"a device called {name[:_LONGEST_NAME]!r}", allowed, "Give it another name")
        now_s = self._clock_s()
        made = Device(
            id=secrets.token_hex(6),
            name=name,
            role=role,
            digest=digest,
            since_s=now_s,
            until_s=now_s + lasts_s,
            seen_s=now_s,
            ended_s=None,
        )
        with self._lock:
            self._file.execute("BEGIN IMMEDIATE")
            try:
                if any(one.name.casefold() == name.casefold() and one.is_in(now_s) for one in self._all()):
                    mend = "Give it another name, or let the other go first"
                    raise refused(f"a device called {name}", "a name no device has", mend)
                values = (made.id, name, role, digest, now_s, made.until_s, now_s, None)
                self._file.execute(f"INSERT INTO devices({_COLUMNS}) VALUES(?, ?, ?, ?, ?, ?, ?, ?)", values)
            except BaseException:
                self._file.execute("ROLLBACK")
                raise
            self._file.execute("COMMIT")
        return made

    def of(self, number: str) -> Device | None:
        """A device by its id, in or not; None where there never was one."""
        with self._lock:
            line = self._file.execute(f"SELECT {_COLUMNS} FROM devices WHERE id = ?", (number,)).fetchone()
        return None if line is None else _device(line)

    def all(self) -> tuple[Device, ...]:
        """Every device that is or was let in, the newest first."""
        with self._lock:
            return self._all()

    def give_role(self, number: str, role: Role) -> None:
        """Let a device in as something else, from now on.

        Raises:
            OutOfReach: no such device is in.
        """
        self._change("UPDATE devices SET role = ? WHERE id = ? AND ended IS NULL", (role, number))

    def let_go(self, number: str) -> None:
        """End what a device may do, at once.

        Raises:
            OutOfReach: no such device is in.
        """
        self._change("UPDATE devices SET ended = ? WHERE id = ? AND ended IS NULL", (self._clock_s(), number))

    def seen(self, device: Device) -> None:
        """Note that a device asked something; once a minute is enough."""
        now_s = self._clock_s()
        if abs(now_s - device.seen_s) < _SEEN_EVERY_S:
            return
        with self._lock:
            self._file.execute("UPDATE devices SET seen = ? WHERE id = ?", (now_s, device.id))

    def now_s(self) -> float:
        """What time it is to the door, seconds since 1970. [s]"""
        return self._clock_s()

    def is_in(self, device: Device) -> bool:
        """Whether a device may come in now."""
        return device.is_in(self._clock_s())

    def note(self, what: str, who: str, about: str = "") -> None:
        """Write in the book of the door what happened; never a code or a session. The newest 2000 lines are kept."""
        line = (self._clock_s(), what, who[:_LONGEST_LINE], about[:_LONGEST_LINE])
        with self._lock:
            self._file.execute("BEGIN IMMEDIATE")
            made = self._file.execute("INSERT INTO book(at, what, who, about) VALUES(?, ?, ?, ?)", line)
            self._file.execute("DELETE FROM book WHERE id <= ?", ((made.lastrowid or 0) - _MOST_LINES,))
            self._file.execute("COMMIT")

    def book(self, newest: int = 50) -> tuple[BookLine, ...]:
        """What happened at the door, the newest first. newest: most lines. [-]"""
        with self._lock:
            lines = self._file.execute(
                "SELECT at, what, who, about FROM book ORDER BY id DESC LIMIT ?", (newest,)
            ).fetchall()
        return tuple(BookLine(at_s=at_s, what=what, who=who, about=about) for at_s, what, who, about in lines)

    def _change(self, statement: str, values: tuple[object, str]) -> None:
        with self._lock:
            if self._file.execute(statement, values).rowcount == 0:
                names = " ".join(one.name for one in self._all() if one.ended_s is None)
                raise OutOfReach("device", values[1], names or "no device is let in")

    def _all(self) -> tuple[Device, ...]:
        lines = self._file.execute(f"SELECT {_COLUMNS} FROM devices ORDER BY since DESC, id").fetchall()
        return tuple(_device(line) for line in lines)


def is_device_name(name: str) -> bool:
    """Whether a device may be called so.

    Example:
        >>> is_device_name("tablet by the lift"), is_device_name("<b>"), is_device_name(" ")
        (True, False, False)
    """
    letters = all(letter.isalnum() or letter in " -.'" for letter in name)
    return 1 <= len(name) <= _LONGEST_NAME and letters and name.strip() == name and name.strip() != ""


def _device(line: tuple[str, str, str, bytes, float, float, float, float | None]) -> Device:
    number, name, role, digest, since_s, until_s, seen_s, ended_s = line
    return Device(
        id=number,
        name=name,
        role=cast(Role, role),
        digest=digest,
        since_s=since_s,
        until_s=until_s,
        seen_s=seen_s,
        ended_s=ended_s,
    )
