"""Codes that let a device in: one use, a short life, and a door that shuts on who tries them.

A code has 8 signs of 32, 40 bits, and lives 5 minutes; only its digest is kept. Ten wrong ones from an address within a
quarter of an hour shut the door to it for a quarter of an hour, fifty from anywhere shut it to all. Nothing of it
outlives the server.

Source: limits are ours; more than the 20 bits and 10 minutes that OWASP ASVS 4.0.3 asks for in 2.7 and 2.8.
"""

from __future__ import annotations

import hashlib
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

from loomwright.refusals import BadDocument, Problem
from loomwright.store.devices import Role

__all__ = ["CODE_LIFE_S", "MISSES_EACH", "MISSES_IN_ALL", "SHUT_S", "Opened", "PairingDesk", "Shut", "plain_code"]

CODE_LIFE_S = 300.0
"""How long a code may be used. [s]"""
SHUT_S = 900.0
"""How long the door stays shut, and how far back wrong codes count. [s]"""
MISSES_EACH = 10
"""Wrong codes from one address that shut it. [-]"""
MISSES_IN_ALL = 50
"""Wrong codes from anywhere that shut it to all. [-]"""

_SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
_LENGTH = 8
_MOST_CODES = 8
_ALL = ""


class Shut(BadDocument):
    """Too many wrong codes came. for_s: how long it stays so. [s]"""

    def __init__(self, problems: tuple[Problem, ...], for_s: float) -> None:
        super().__init__(problems)
        self.for_s = for_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A code that was right and is used up. until_s: its end, as the desk counts. [s]"""

    role: Role
    digest: bytes
    until_s: float


@dataclass(slots=True, kw_only=True)
class _Tries:
    """Wrong codes of an address, and until when it is shut. [s]"""

    misses: deque[float] = field(default_factory=deque)
    shut_until_s: float = 0.0


class PairingDesk:
    """The codes that are open, and the wrong ones that came."""

    def __init__(
        self, count_s: Callable[[], float] = time.monotonic, told: Callable[[float], str] | None = None
    ) -> None:
        """
        Args:
            count_s: seconds that only go forward.
            told: the time of day so many seconds from now, in words.
        """
        self._count_s = count_s
        self._told = told or _time_of_day
        self._lock = Lock()
        self._salt = secrets.token_bytes(16)
        self._codes: dict[bytes, Opened] = {}
        self._tries: dict[str, _Tries] = {}

    def new_code(self, role: Role) -> str:
        """A code for one device, to be let in as that."""
        code = "".join(secrets.choice(_SIGNS) for _ in range(_LENGTH))
        with self._lock:
            self._drop_old()
            while len(self._codes) >= _MOST_CODES:
                del self._codes[next(iter(self._codes))]
            digest = self._digest(code)
            self._codes[digest] = Opened(role=role, digest=digest, until_s=self._count_s() + CODE_LIFE_S)
        return f"{code[: _LENGTH // 2]}-{code[_LENGTH // 2 :]}"

    def use(self, code: str, address: str) -> Opened:
        """Use a code up.

        Raises:
            Shut: too many wrong ones came; whether this one is right is not said.
            BadDocument: it is none, or its time is over, or it was used.
        """
        with self._lock:
            self._drop_old()
            self._mind(address)
            opened = self._codes.pop(self._digest(plain_code(code)), None)
            if opened is not None:
                self._tries.pop(address, None)
                return opened
            self._missed(address)
            self._mind(address)
        mend = "Type it as it is shown, or ask the owner of the shop for a new one"
        found = "a code that is none, or was used, or whose time is over"
        raise BadDocument((Problem(sheet="", row=None, column="code", found=found, allowed="a new one", mend=mend),))

    def put_back(self, opened: Opened) -> None:
        """Let a code that was used be used again: nothing came of it."""
        with self._lock:
            self._codes[opened.digest] = opened

    def _mind(self, address: str) -> None:
        """Raise Shut where the door is."""
        now_s = self._count_s()
        until_s = max((self._tries[each].shut_until_s for each in (address, _ALL) if each in self._tries), default=0.0)
        if until_s <= now_s:
            return
        problem = Problem(
            sheet="",
            row=None,
            column="code",
            found="one wrong code too many",
            allowed=f"no code until {self._told(until_s - now_s)}",
            mend=f"Wait until {self._told(until_s - now_s)}, then ask the owner of the shop for a new code",
        )
        raise Shut((problem,), until_s - now_s)

    def _missed(self, address: str) -> None:
        now_s = self._count_s()
        for each, most in ((address, MISSES_EACH), (_ALL, MISSES_IN_ALL)):
            tries = self._tries.setdefault(each, _Tries())
            tries.misses.append(now_s)
            if len(tries.misses) >= most:
                tries.misses.clear()
                tries.shut_until_s = now_s + SHUT_S
                if each == _ALL:
                    self._codes.clear()

    def _digest(self, code: str) -> bytes:
        return hashlib.sha256(self._salt + code.encode()).digest()

    def _drop_old(self) -> None:
        now_s = self._count_s()
        self._codes = {digest: one for digest, one in self._codes.items() if one.until_s > now_s}
        for tries in self._tries.values():
            while tries.misses and tries.misses[0] <= now_s - SHUT_S:
                tries.misses.popleft()
        self._tries = {each: one for each, one in self._tries.items() if one.misses or one.shut_until_s > now_s}


def plain_code(typed: str) -> str:
    """A code as it was meant: capitals, no blanks or strokes.

    Example:
        >>> plain_code(" k7qm-3xwp ")
        'K7QM3XWP'
    """
    return "".join(letter for letter in typed.upper() if letter in _SIGNS)[: _LENGTH + 1]


def _time_of_day(from_now_s: float) -> str:
    return time.strftime("%H:%M", time.localtime(time.time() + from_now_s + 59))
