"""Which elements does one part of a workbook hold, read so that its XML can do no harm?

The parser takes UTF-8 only, follows nothing, and refuses a document type, so no entity of the document's own is ever
known. Elements are found by their name without its prefix, since programs differ in the prefixes they write.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from xml.parsers import expat

__all__ = ["Attributes", "DamagedPart", "walk"]

Attributes = Mapping[str, str]
Begins = Mapping[str, Callable[[Attributes], None]]
Ends = Mapping[str, Callable[[], None]]


class DamagedPart(Exception):
    """A part of a workbook that cannot be read; `what` says why, in words."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what


def walk(
    data: bytes,
    begins: Begins,
    *,
    ends: Ends | None = None,
    text: Callable[[str], None] | None = None,
    between: Callable[[], None] | None = None,
) -> None:
    """Goes through a part from front to back.

    Args:
        data: the whole part.
        begins: element -> what is called with its attributes as it begins.
        ends: element -> what is called as it ends.
        text: what is called with the text between elements, maybe in several pieces.
        between: what is called at a comment or a raw section, which some readers pass over.
    Raises:
        DamagedPart: it cannot be read; some of the calls may have been made by then.
    """
    parser = expat.ParserCreate("utf-8")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _no_doctype
    beginning = _ByName(begins)
    parser.StartElementHandler = lambda name, attributes: beginning[name](attributes)
    if ends is not None:
        ending = _ByName(ends)
        parser.EndElementHandler = lambda name: ending[name]()
    if text is not None:
        parser.CharacterDataHandler = text
    if between is not None:
        told = between
        parser.CommentHandler = lambda _: told()
        parser.StartCdataSectionHandler = told
    try:
        parser.Parse(data, True)
    except expat.ExpatError as fault:
        raise DamagedPart(f"is damaged in line {fault.lineno}, letter {fault.offset + 1}") from None


class _ByName(dict[str, Callable[..., None]]):
    """What is called for an element, by its name with whatever prefix it comes."""

    def __missing__(self, name: str) -> Callable[..., None]:
        self[name] = self.get(name.rpartition(":")[2], _nothing)
        return self[name]


def _nothing(*_: object) -> None:
    """An element nobody asks about."""


def _no_doctype(*_: object) -> None:
    raise DamagedPart("has a document type, which no workbook has")
