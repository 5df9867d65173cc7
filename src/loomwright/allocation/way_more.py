"""One more way to build a need beside its own, for the puzzle in which ways out are sought."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.allocation.ground import Ground
from loomwright.allocation.pin_puzzle import fills_of
from loomwright.allocation.way_edits import Change, ChangeKind

__all__ = ["More", "Seats", "more_of", "seat_of"]

Seats = dict[str, dict[str, tuple[str, ...]]]
"""Item -> the slots it may go into, each with what that fills."""


@dataclass(frozen=True, slots=True, kw_only=True)
class More:
    """One more way to build a unit. like: what it is alike to, for ways that are the same in kind."""

    unit: str
    name: str
    items: tuple[str, ...]
    change: Change
    like: tuple[str, ...]


def more_of(
    unit: str,
    kind: ChangeKind,
    items: tuple[str, ...],
    needs: tuple[str, ...],
    said: tuple[str, str],
    *,
    like: tuple[str, ...],
) -> More:
    """One more way, its change said and what is lost."""
    change = Change(kind=kind, needs=needs, says=said[0], loses=said[1])
    return More(unit=unit, name=kind, items=items, change=change, like=like)


def seat_of(
    ground: Ground,
    item: str,
    need: str,
    fit: tuple[str, ...],
    seats: Seats,
    pins: dict[str, tuple[str, ...]],
    loads_a: dict[str, float | None],
    load_a: float | None,
) -> str:
    """An item that stands for a need, where it may go and what it then draws written down; gives it back."""
    seats[item] = {pin: fills_of(ground, need, pin) for pin in fit}
    pins[item], loads_a[item] = fit, load_a
    return item
