"""What does a device see that wants to be let in?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.pages.doors.visitor import Visitor
from loomwright.refusals import Problem

__all__ = ["PairPage"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairPage:
    """What the page places. visitor: who the device is already; None where it is nobody.   to: where it leads then.

    hours: how long a session lasts. [-]   is_let_go: the device was let go, and closes what it holds.

    fingerprint, has_authority: of the certificate, where there is one.
    """

    visitor: Visitor | None
    name: str
    code: str
    to: str
    hours: int
    fingerprint: str
    has_authority: bool
    is_let_go: bool = False
    problems: tuple[Problem, ...] = ()
