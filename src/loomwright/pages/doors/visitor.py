"""Who is asking, and may they?

Reading is free to whoever is in; everything else needs the bench; letting devices in and go needs the owner of the
shop. What is not named here is a change: a new address is shut to those who may only look until it is said otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.store.devices import Role

__all__ = ["ROLE_WORDS", "Need", "Visitor", "may", "need_of"]

Need = Literal["nothing", "look", "bench", "owner", "let go"]
"""What an address asks of who comes: nothing, to be let in, to be at the bench, to own the shop, or to have
been let go.
"""

ROLE_WORDS: Mapping[Role, str] = {"owner": "owner of the shop", "bench": "bench", "look": "look only"}

_READS = frozenset({"GET", "HEAD", "OPTIONS"})
_OPEN = ("/static/", "/fonts/")
_TO_COME_IN = frozenset({"/pair", "/pair/certificate"})
_OF_THE_GONE = "/api/let-go/"
"""Where a device that was let go hands in what it had still to send."""
_OF_THE_OWNER = ("/devices", "/api/devices")
_OF_ONESELF = frozenset({"/look", "/leave"})
"""Changes of what only the asking device sees: light or dark, and its own session."""

_RANK: Mapping[Role, int] = {"look": 1, "bench": 2, "owner": 3}
_NEEDED: Mapping[Need, int] = {"nothing": 0, "look": 1, "bench": 2, "owner": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Visitor:
    """Who is asking. device: its id; empty for whoever sits at the machine itself."""

    name: str
    role: Role
    device: str = ""

    @property
    def may_change(self) -> bool:
        """Whether they may change jobs."""
        return _RANK[self.role] >= _NEEDED["bench"]

    @property
    def may_let_in(self) -> bool:
        """Whether they may let devices in and go."""
        return self.role == "owner"

    @property
    def role_word(self) -> str:
        """What they are, in words."""
        return ROLE_WORDS[self.role]


def need_of(method: str, path: str) -> Need:
    """What an address asks of who comes.

    Example:
        >>> need_of("GET", "/j/van"), need_of("POST", "/j/van/snags"), need_of("GET", "/devices")
        ('look', 'bench', 'owner')
    """
    if path in _TO_COME_IN or (method in _READS and path.startswith(_OPEN)):
        return "nothing"
    if any(path == one or path.startswith(f"{one}/") for one in _OF_THE_OWNER):
        return "owner"
    if path.startswith(_OF_THE_GONE):
        return "let go"
    return "look" if method in _READS or path in _OF_ONESELF else "bench"


def may(visitor: Visitor | None, need: Need) -> bool:
    """Whether somebody, or nobody, has what an address needs; who is let in was not let go.

    Example:
        >>> may(None, "nothing"), may(None, "look"), may(Visitor(name="A", role="look"), "bench")
        (True, False, False)
    """
    return need != "let go" and (0 if visitor is None else _RANK[visitor.role]) >= _NEEDED[need]
