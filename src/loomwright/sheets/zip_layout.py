"""Where do the members of a zip lie, going by its directory and by what stands in front of each of them?

A zip says everything twice: once in the directory at its end, once in front of each member. Programs differ in which
they believe, so the two must agree here; the directory must end where the end record begins, and every member must
lie by itself between the start of the file and the directory. Sizes are what is claimed, not what is there: who
unpacks has to count (`zip_guard`).

Source:
    The zip format as its maker publishes it and as ISO/IEC 21320-1 narrows it; from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from struct import Struct, unpack_from

__all__ = ["Broken", "Member", "members_of", "starts_like_zip"]

_END = Struct("<4s4H2LH")
_FAR_LOCATOR = Struct("<4sLQL")
_FAR_END = Struct("<4sQ2H2L4Q")
_ENTRY = Struct("<4s2B3H2H3L3H2H2L")
_FRONT = Struct("<4s5H3L2H")
_MOST_COMMENT = 0xFFFF
_FAR_SHORT, _FAR_LONG = 0xFFFF, 0xFFFFFFFF
"""What stands in a narrow field whose figure did not fit and stands in a wide one."""
_FAR_SIZES, _OTHER_NAME = 0x0001, 0x7075
_UNDER_PASSWORD, _SIZES_BEHIND, _NAME_IN_UTF_8 = 0x2041, 0x0008, 0x0800


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One member, as the directory tells it.

    name: as it stands there, `/` between folders.   is_folder: a folder and nothing in it.
    is_locked: it needs a password.   method: how it is packed, 0 not at all, 8 deflate. [-]
    checksum: CRC-32 of what it unpacks to. [-]   start, packed: where its packed bytes lie, and how many. [bytes]
    unpacked: how many bytes it claims to unpack to. [bytes]
    kind: the Unix kind of file that it claims to be, 0 where it says nothing. [-]
    """

    name: str
    is_folder: bool
    is_locked: bool
    method: int
    checksum: int
    start: int
    packed: int
    unpacked: int
    kind: int


class Broken(Exception):
    """The zip falls apart; `name` is the member where it does, empty where it is the zip as a whole.

    what: what is wrong, in words.
    """

    def __init__(self, what: str, name: str = "") -> None:
        super().__init__(what, name)
        self.what = what
        self.name = name


@dataclass(frozen=True, slots=True, kw_only=True)
class _Directory:
    """How many entries the directory has [-], and where it lies. [bytes]"""

    count: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    """One entry of the directory, its figures widened."""

    raw_name: bytes
    name: str
    flags: int
    method: int
    checksum: int
    packed: int
    unpacked: int
    front: int
    kind: int


def starts_like_zip(data: bytes) -> bool:
    """Whether the bytes begin as a zip does, an empty one too."""
    return data[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def members_of(data: bytes, *, most: int) -> tuple[Member, ...]:
    """The members of a zip in the order of its directory.

    Args:
        most: most members it may have. [-]
    Raises:
        Broken: it cannot be told where they lie, or two accounts of them differ.
    """
    if not starts_like_zip(data):
        raise Broken("no zip")
    directory = _directory(data)
    if directory.count > most:
        raise Broken(f"{directory.count} members")
    entries = _entries(data, directory)
    starts = {entry.front: _start(data, entry, directory) for entry in sorted(entries, key=lambda each: each.front)}
    _each_by_itself(entries, starts, directory)
    return tuple(_member(entry, starts[entry.front]) for entry in entries)


def _directory(data: bytes) -> _Directory:
    """Where the directory lies, as the end record says."""
    at = len(data)
    lowest = max(0, len(data) - _END.size - _MOST_COMMENT)
    while (at := data.rfind(b"PK\x05\x06", lowest, at)) >= 0:
        if at + _END.size <= len(data) and at + _END.size + _END.unpack_from(data, at)[-1] == len(data):
            break
    if at < 0:
        raise Broken("cut off: its end is missing, or something follows it")
    _, disk, first_disk, here, count, size, start, _ = _END.unpack_from(data, at)
    end = at
    far = at - _FAR_LOCATOR.size
    if far >= 0 and data[far : far + 4] == b"PK\x06\x07":
        end = _FAR_LOCATOR.unpack_from(data, far)[2]
        if end + _FAR_END.size > far or data[end : end + 4] != b"PK\x06\x06":
            raise Broken("its end record is damaged")
        _, length, _, _, far_disk, far_first, far_here, far_count, far_size, far_start = _FAR_END.unpack_from(data, end)
        narrow = (disk, first_disk, here, count, size, start)
        wide = (far_disk, far_first, far_here, far_count, far_size, far_start)
        limits = (*(_FAR_SHORT,) * 4, *(_FAR_LONG,) * 2)
        agree = all(one in (other, limit) for one, other, limit in zip(narrow, wide, limits, strict=True))
        if end + 12 + length != far or not agree:
            raise Broken("its two end records differ")
        disk, first_disk, here, count, size, start = wide
    if disk or first_disk or here != count:
        raise Broken("only one piece of several")
    if start + size != end:
        raise Broken("its directory is not where it should be: bytes are missing or were put in")
    return _Directory(count=count, start=start, end=end)


def _entries(data: bytes, directory: _Directory) -> list[_Entry]:
    entries = []
    at = directory.start
    for number in range(1, directory.count + 1):
        if at + _ENTRY.size > directory.end or data[at : at + 4] != b"PK\x01\x02":
            raise Broken(f"its directory breaks off at member {number} of {directory.count}")
        figures = _ENTRY.unpack_from(data, at)
        _, _, _, _, flags, method, _, _, checksum, packed, unpacked = figures[:11]
        name_length, extra_length, note_length, _, _, outside, front = figures[11:]
        names_end = at + _ENTRY.size + name_length
        extra_end = names_end + extra_length
        if extra_end + note_length > directory.end:
            raise Broken(f"its directory breaks off at member {number} of {directory.count}")
        raw = data[at + _ENTRY.size : names_end]
        name = _name(raw, flags)
        extra = _extra(data[names_end:extra_end], name)
        unpacked, packed, front = _widened((unpacked, packed, front), extra, name)
        _one_name(raw, extra, name)
        entries.append(
            _Entry(
                raw_name=raw,
                name=name,
                flags=flags,
                method=method,
                checksum=checksum,
                packed=packed,
                unpacked=unpacked,
                front=front,
                kind=outside >> 28,
            )
        )
        at = extra_end + note_length
    if at != directory.end:
        raise Broken("its directory holds more than its members")
    return entries


def _start(data: bytes, entry: _Entry, directory: _Directory) -> int:
    """Where the packed bytes of a member begin; what stands in front of them must agree with the directory."""
    name = entry.name
    at = entry.front
    if at + _FRONT.size > directory.start or data[at : at + 4] != b"PK\x03\x04":
        raise Broken("is not where the directory says", name)
    _, _, flags, method, _, _, checksum, packed, unpacked, name_length, extra_length = _FRONT.unpack_from(data, at)
    names_end = at + _FRONT.size + int(name_length)
    start = names_end + int(extra_length)
    if start + entry.packed > directory.start:
        raise Broken("is cut off, or its size is not true", name)
    if data[at + _FRONT.size : names_end] != entry.raw_name:
        raise Broken("has another name in the directory than where it lies", name)
    one_sort = _UNDER_PASSWORD | _SIZES_BEHIND | _NAME_IN_UTF_8
    if method != entry.method or (flags ^ entry.flags) & one_sort:
        raise Broken("is packed otherwise than the directory says", name)
    extra = _extra(data[names_end:start], name)
    _one_name(entry.raw_name, extra, name)
    unpacked, packed = _widened((unpacked, packed), extra, name)
    told = (checksum, packed, unpacked)
    if told != (entry.checksum, entry.packed, entry.unpacked) and (not flags & _SIZES_BEHIND or any(told)):
        raise Broken("has another size or checksum in the directory than where it lies", name)
    return start


def _each_by_itself(entries: Sequence[_Entry], starts: Mapping[int, int], directory: _Directory) -> None:
    """No two members share a byte."""
    before = 0
    for entry in sorted(entries, key=lambda each: (each.front, each.name)):
        if entry.front < before:
            raise Broken("lies over another member", entry.name)
        before = starts[entry.front] + entry.packed
    if before > directory.start:
        raise Broken("its last member lies over its directory")


def _member(entry: _Entry, start: int) -> Member:
    return Member(
        name=entry.name,
        is_folder=entry.name.endswith("/"),
        is_locked=bool(entry.flags & _UNDER_PASSWORD),
        method=entry.method,
        checksum=entry.checksum,
        start=start,
        packed=entry.packed,
        unpacked=entry.unpacked,
        kind=entry.kind,
    )


def _name(raw: bytes, flags: int) -> str:
    try:
        return raw.decode("utf-8" if flags & _NAME_IN_UTF_8 else "cp437")
    except UnicodeDecodeError:
        raise Broken("has a name that is no text", raw.decode("utf-8", "backslashreplace")) from None


def _extra(raw: bytes, name: str) -> dict[int, bytes]:
    """The further fields of a member, number -> bytes; a few bytes at the end that are none are let pass."""
    fields: dict[int, bytes] = {}
    at = 0
    while at + 4 <= len(raw):
        number, length = unpack_from("<2H", raw, at)
        if at + 4 + length > len(raw) or (number in fields and number in (_FAR_SIZES, _OTHER_NAME)):
            raise Broken("has damaged fields beside its name", name)
        fields[number] = raw[at + 4 : at + 4 + length]
        at += 4 + length
    return fields


def _widened(figures: tuple[int, ...], extra: Mapping[int, bytes], name: str) -> tuple[int, ...]:
    """Figures that did not fit into their narrow fields, from the wide ones."""
    wide = extra.get(_FAR_SIZES, b"")
    found = []
    for figure in figures:
        if figure == _FAR_LONG and _FAR_SIZES in extra:
            if len(wide) < 8:
                raise Broken("has damaged fields beside its name", name)
            figure, wide = unpack_from("<Q", wide)[0], wide[8:]
        found.append(figure)
    return tuple(found)


def _one_name(raw: bytes, extra: Mapping[int, bytes], name: str) -> None:
    """A second name beside the first, which some programs take instead, must be the same."""
    if _OTHER_NAME in extra and extra[_OTHER_NAME][5:] != raw:
        raise Broken("has two names", name)
