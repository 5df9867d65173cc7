"""What does a page say of the change that was made just now?"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LastChange"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LastChange:
    """The newest revision, where it says why it was made and whoever looks may take it back.

    number: its own. [-]   take_back: the address that takes it back.
    """

    number: int
    why: str
    take_back: str
