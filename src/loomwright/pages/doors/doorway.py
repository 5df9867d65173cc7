"""What a door goes by: whose machine it is, under which names it is asked, and how devices of the shop come in."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request

from loomwright.pages.doors.origins import LOOPBACK
from loomwright.pages.doors.pairing import PairingDesk
from loomwright.pages.doors.visitor import Visitor
from loomwright.store.devices import Device, Devices

__all__ = ["SESSION_S", "Doorway", "Lan", "doorway_of", "here_alone", "let_go_of", "visitor_of"]

SESSION_S = 12 * 3600.0
"""How long a session lasts: a working day. [s]

Source: OWASP ASVS 4.0.3, 3.3.2, level 2.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lan:
    """How devices of the shop come in. addresses: where they ask, the first is the usual one.

    is_secure: over TLS.   has_own_name: with a certificate of the shop's own, which browsers know.
    fingerprint: of the certificate, SHA-256; empty without TLS.   authority: what a device is given to trust a
    certificate that was made here, PEM; empty where none was.   session_s: how long a session lasts. [s]
    """

    devices: Devices
    pairing: PairingDesk
    key: bytes
    addresses: tuple[str, ...]
    is_secure: bool = False
    has_own_name: bool = False
    fingerprint: str = ""
    authority: bytes = b""
    session_s: float = SESSION_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Doorway:
    """What a door goes by. who: at the machine itself.   names: under which it is asked.   lan: None where only the
    machine itself is answered.
    """

    who: str
    names: frozenset[str] = LOOPBACK
    lan: Lan | None = None


def here_alone(who: str) -> Doorway:
    """The door of a shelf that answers its own machine alone."""
    return Doorway(who=who)


def doorway_of(request: Request) -> Doorway:
    """What the door of an application goes by."""
    doorway: Doorway = request.app.state.doorway
    return doorway


def let_go_of(request: Request) -> Device | None:
    """The device that asks though it was let go, known by its session; None for anybody else."""
    return getattr(request.state, "let_go", None)


def visitor_of(request: Request) -> Visitor | None:
    """Who is asking; None for a device that is not let in yet."""
    return getattr(request.state, "visitor", None)
