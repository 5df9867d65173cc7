"""Which known word did a person most likely mean?

Asked only when a word is refused, to make the mend of a problem. Similarity is that of the standard library's sequence
matcher; of long lists only words of nearly the same length and first letter are looked at, so that a bad sheet of
thousands of rows is still told about in a moment.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

__all__ = ["is_look_alike", "nearest"]

_LONG_LIST = 400
_LENGTHS_APART = 2
_LIKE = 0.6


def nearest(word: str, words: Iterable[str]) -> str:
    """The known word that is most like the one given; empty where none is.

    Example:
        >>> nearest("lamp_haed", ["lamp", "lamp_head", "fan"])
        'lamp_head'
    """
    known = list(dict.fromkeys(words))
    if len(known) > _LONG_LIST:
        start = word[:1].lower()
        known = [each for each in known if each[:1].lower() == start and abs(len(each) - len(word)) <= _LENGTHS_APART]
    by_small: dict[str, str] = {}
    for each in known:
        by_small.setdefault(each.lower(), each)
    found = get_close_matches(word.lower()[:80], by_small, n=1, cutoff=_LIKE)
    return by_small[found[0]] if found else ""


def is_look_alike(word: str, other: str) -> bool:
    """Whether two words differ by one letter put in, left out, changed or exchanged with its neighbour.

    Example:
        >>> is_look_alike("part", "parts"), is_look_alike("lenght_mm", "length_mm"), is_look_alike("fan", "pump")
        (True, True, False)
    """
    if word == other or abs(len(word) - len(other)) > 1:
        return False
    same = 0
    while same < min(len(word), len(other)) and word[same] == other[same]:
        same += 1
    rest, over = word[same:], other[same:]
    if len(rest) != len(over):
        return rest[1:] == over if len(rest) > len(over) else rest == over[1:]
    return rest[1:] == over[1:] or (rest[:2] == over[1::-1] and rest[2:] == over[2:])
