"""May this zip be opened, and what is in it?

A workbook and an archive are zips, and a zip may be made to harm: members that unpack to a thousand times their size,
that lie over one another, whose names lead out of the folder they are unpacked to, that are links. Nothing a zip says
of itself is believed. What it claims is looked at first (`zip_layout`); then each member is unpacked piece by piece,
counted, and stopped at the size it claimed; the sum of the claims is bounded. Size, checksum and end must come out.

A zip inside a zip is a member like any other and is never opened.
"""

from __future__ import annotations

import re
import unicodedata
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence

from loomwright.refusals import Problem
from loomwright.sheets.zip_layout import Broken, Member, members_of

__all__ = ["MOST_MEMBERS", "MOST_UNPACKED_BYTES", "names_faults", "zip_members", "zip_names"]

MOST_MEMBERS = 10_000
"""Most members a zip may have. [-]"""

MOST_UNPACKED_BYTES = 256 * 1024 * 1024
"""Most that all members together may unpack to. [bytes]"""

_BOMB_FROM_BYTES = 16 * 1024 * 1024
_MOST_RATIO = 200
"""A member larger than the first may unpack to so many times its packed size [-]; sheets reach a few dozen."""

_STORED, _DEFLATED = 0, 8
_PLAIN_FILE, _FOLDER, _LINK = 0o10, 0o4, 0o12
_PIECE_BYTES = 1024 * 1024
_LONGEST_NAME = 255
_LONGEST_TOLD = 120
_NOT_IN_A_NAME = re.compile(r'[\x00-\x1f\x7f:*?"<>|]')


def zip_members(
    data: bytes, *, what: str, most_bytes: int = MOST_UNPACKED_BYTES
) -> tuple[dict[str, bytes], list[Problem]]:
    """What a zip holds, name -> bytes, folders left out; and everything that keeps it from being opened.

    Args:
        data: the whole file.
        what: what the file is called, for the problems.
        most_bytes: most that all members together may unpack to. [bytes]
    Returns:
        The members that are whole, in the order of the directory, and the problems with the others; no member at all
        where the zip falls apart or one of them could do harm.
    """
    members, problems = _checked(data, what, most_bytes)
    found: dict[str, bytes] = {}
    for member in members:
        pieces = list(_unpacked(data, member))
        faults = [piece for piece in pieces if isinstance(piece, str)]
        if faults:
            problems.append(_of_member(what, member.name, faults[0]))
        elif not member.is_folder:
            found[member.name] = b"".join(piece for piece in pieces if not isinstance(piece, str))
    return found, problems


def zip_names(data: bytes) -> tuple[str, ...]:
    """The names of the members, whatever else may be wrong with them; none where it cannot be told."""
    try:
        return tuple(member.name for member in members_of(data, most=MOST_MEMBERS))
    except Broken:
        return ()


def names_faults(names: Sequence[str], *, what: str) -> list[Problem]:
    """What is wrong with the names of members; nothing where a zip may have them all.

    Args:
        names: as they stand in the zip, `/` between folders.
        what: what the file is called, for the problems.
    """
    problems = [_of_member(what, name, fault) for name in names if (fault := _name_fault(name))]
    return problems + [_of_member(what, name, fault) for name, fault in _about_names(names)]


def _checked(data: bytes, what: str, most_bytes: int) -> tuple[Sequence[Member], list[Problem]]:
    """The members, where every one may be unpacked; else none of them, and what is wrong."""
    try:
        members = members_of(data, most=MOST_MEMBERS)
    except Broken as broken:
        if broken.name:
            return (), [_of_member(what, broken.name, broken.what)]
        allowed = f"a whole zip of at most {MOST_MEMBERS} members"
        return (), [_fault(f"{what}: {broken.what}", allowed, "Save it or copy it anew")]
    problems = names_faults([member.name for member in members], what=what)
    problems += [_of_member(what, member.name, fault) for member in members for fault in _faults_of(member)]
    claimed = sum(member.unpacked for member in members)
    if claimed > most_bytes:
        found = f"{what}: unpacks to {_mb(claimed)}"
        problems.append(_fault(found, f"at most {_mb(most_bytes)} unpacked", "Keep what is not of this job outside"))
    return (() if problems else members), problems


def _faults_of(member: Member) -> Iterator[str]:
    """What keeps one member from being unpacked."""
    if member.is_locked:
        yield "is under a password"
    elif member.method not in (_STORED, _DEFLATED):
        yield f"is packed in a way (number {member.method}) that is not read here"
    if member.kind == _LINK:
        yield "is a link"
    elif member.kind not in (0, _FOLDER if member.is_folder else _PLAIN_FILE):
        yield "is no plain file"
    if member.is_folder and member.unpacked:
        yield "is a folder with bytes of its own"
    if member.unpacked > max(_BOMB_FROM_BYTES, _MOST_RATIO * member.packed):
        yield f"unpacks to {_mb(member.unpacked)}, more than {_MOST_RATIO} times what it is packed"


def _name_fault(name: str) -> str:
    """What is wrong with a member's name, in words; empty where nothing is."""
    pieces = name.removesuffix("/").split("/")
    if "\\" in name:
        return "has a name with \\ in it"
    if name.startswith("/") or re.match(r"[A-Za-z]:", name):
        return "has a name that begins at the root of a disk"
    if ".." in pieces:
        return "has a name that leads out of its folder"
    if "" in pieces or "." in pieces:
        return "has a name with an empty piece"
    if _NOT_IN_A_NAME.search(name):
        return "has a name with a sign that no file can have"
    if len(name) > _LONGEST_NAME:
        return f"has a name of {len(name)} letters"
    return ""


def _about_names(names: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Names that stand twice or differ in capitals only, and files that are folders of others: (name, fault)."""
    exact = Counter(names)
    alike = Counter(_plain(name) for name in exact)
    folders = {_plain(name[:at]) for name in exact for at, sign in enumerate(name) if sign == "/"}
    for name, count in exact.items():
        if count > 1:
            yield name, f"stands in it {count} times"
        elif alike[_plain(name)] > 1:
            yield name, "has a name that another has too, but for capitals"
        elif not name.endswith("/") and _plain(name) in folders:
            yield name, "is a file and a folder"


def _plain(name: str) -> str:
    """A name as a disk that does not tell capitals apart takes it."""
    return unicodedata.normalize("NFC", name.casefold())


def _unpacked(data: bytes, member: Member) -> Iterator[bytes | str]:
    """A member piece by piece, never more than it claimed; a text, at the end, says what is wrong with it."""
    view = memoryview(data)[member.start : member.start + member.packed]
    checksum = count = 0
    for piece in _inflated(view) if member.method == _DEFLATED else _cut(view):
        if isinstance(piece, str):
            yield piece
            return
        count += len(piece)
        if count > member.unpacked:
            yield "unpacks to more than it says"
            return
        checksum = zlib.crc32(piece, checksum)
        yield piece
    if count != member.unpacked:
        yield "unpacks to less than it says"
    elif checksum != member.checksum:
        yield "is damaged: its checksum does not come out"


def _cut(view: memoryview) -> Iterator[bytes]:
    return (bytes(view[start : start + _PIECE_BYTES]) for start in range(0, len(view), _PIECE_BYTES))


def _inflated(view: memoryview) -> Iterator[bytes | str]:
    """Deflated bytes unpacked piece by piece; a text says why it does not go on."""
    unpack = zlib.decompressobj(-zlib.MAX_WBITS)
    for packed in _cut(view):
        rest, is_full = packed, False
        while rest or is_full:
            if unpack.eof:
                if rest:
                    yield "has bytes behind its end"
                    return
                break
            try:
                piece = unpack.decompress(rest, _PIECE_BYTES)
            except zlib.error:
                yield "is damaged"
                return
            # a full piece may have more behind it, even where all that was packed has been taken in
            is_full = len(piece) == _PIECE_BYTES
            rest = unpack.unconsumed_tail or unpack.unused_data
            yield piece
    if not unpack.eof:
        yield "is cut off"


def _of_member(what: str, name: str, fault: str) -> Problem:
    told = name if len(name) <= _LONGEST_TOLD else name[:_LONGEST_TOLD] + "…"
    allowed = "a zip of plain files, each once, packed by deflate or not at all"
    return _fault(f"{told} in {what}: {fault}", allowed, "Make the file anew with the program it comes from")


def _mb(size_bytes: int) -> str:
    """A size for people, rounded up. [MB]"""
    return f"{-(-size_bytes // (1024 * 1024))} MB"


def _fault(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
