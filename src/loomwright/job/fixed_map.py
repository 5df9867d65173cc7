"""A mapping that nobody can change: the settings, the unknown columns and the original texts of a row.

Rows are frozen and are compared, hashed (answers are kept by the rows they rest on) and sent to other processes. A
plain dict can be changed and not hashed, the standard read-only view can be neither hashed nor sent; this one can be
both. Order is kept for giving the text back, and does not count when two are compared.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Generic, TypeVar

__all__ = ["NOTHING", "FixedMap"]

Key = TypeVar("Key")
Value = TypeVar("Value")


class FixedMap(Mapping[Key, Value], Generic[Key, Value]):
    """A read-only mapping with a hash.

    Example:
        >>> FixedMap({"ohm": "85"}) == {"ohm": "85"}, FixedMap({"ohm": "85"})["ohm"]
        (True, '85')
    """

    __slots__ = ("_hash", "_items")

    _items: dict[Key, Value]
    _hash: int | None

    def __init__(self, items: Mapping[Key, Value] | Iterable[tuple[Key, Value]] = ()) -> None:
        object.__setattr__(self, "_items", dict(items))
        object.__setattr__(self, "_hash", None)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{name} cannot be set: the mapping is fixed")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{name} cannot be taken away: the mapping is fixed")

    def __getitem__(self, key: Key) -> Value:
        return self._items[key]

    def __iter__(self) -> Iterator[Key]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, FixedMap):
            return self._items == other._items
        return super().__eq__(other)

    def __hash__(self) -> int:
        if self._hash is None:
            object.__setattr__(self, "_hash", hash(frozenset(self._items.items())))
        return self._hash or 0

    def __repr__(self) -> str:
        return f"FixedMap({self._items!r})"

    def __reduce__(self) -> tuple[type[FixedMap[Key, Value]], tuple[dict[Key, Value]]]:
        return (type(self), (self._items,))


NOTHING: FixedMap[str, str] = FixedMap()
"""The empty mapping most rows share."""
