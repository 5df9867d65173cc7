"""Zips put together by hand, byte by byte, so that each thing they say can be made untrue on its own."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

LOCAL = struct.Struct("<4s5H3L2H")
ENTRY = struct.Struct("<4s6H3L5H2L")
END = struct.Struct("<4s4H2LH")


@dataclass
class Piece:
    """One member: what it holds, and whatever it shall say of itself that is not so (None: the truth)."""

    name: str | bytes
    raw: bytes = b""
    method: int = 8
    flags: int = 0
    mode: int = 0o100644
    packed: bytes | None = None
    says_unpacked: int | None = None
    says_packed: int | None = None
    says_checksum: int | None = None
    local_name: bytes | None = None
    local_unpacked: int | None = None
    local_method: int | None = None
    local_extra: bytes = b""
    extra: bytes = b""
    front: int | None = None
    behind: bytes = b""
    only_listed: bool = False

    @property
    def name_bytes(self) -> bytes:
        """The name as it stands in the zip."""
        return self.name if isinstance(self.name, bytes) else self.name.encode()

    @property
    def all_flags(self) -> int:
        """The flags, with the one for a name in UTF-8 where it needs it."""
        return self.flags | (0 if isinstance(self.name, bytes) or self.name.isascii() else 0x800)


def deflated(raw: bytes) -> bytes:
    """Bytes as a zip packs them."""
    pack = zlib.compressobj(9, zlib.DEFLATED, -15)
    return pack.compress(raw) + pack.flush()


def zip_of(pieces: Sequence[Piece], *, tail: bytes = b"", count: int | None = None, head: bytes = b"") -> bytes:
    """A zip of those members.

    Args:
        tail: what follows it.   count: how many members it says it has.   head: what stands before it.
    """
    body, entries = bytearray(head), bytearray()
    for piece in pieces:
        packed = piece.packed
        if packed is None:
            packed = deflated(piece.raw) if piece.method == 8 else piece.raw
        checksum = zlib.crc32(piece.raw) if piece.says_checksum is None else piece.says_checksum
        size = len(packed) if piece.says_packed is None else piece.says_packed
        unpacked = len(piece.raw) if piece.says_unpacked is None else piece.says_unpacked
        local = unpacked if piece.local_unpacked is None else piece.local_unpacked
        name = piece.name_bytes
        local_name = name if piece.local_name is None else piece.local_name
        at = len(body) if piece.front is None else piece.front
        if not piece.only_listed:
            method = piece.method if piece.local_method is None else piece.local_method
            told = (0, 0, 0) if piece.flags & 8 else (checksum, size, local)
            lengths = (len(local_name), len(piece.local_extra))
            body += LOCAL.pack(b"PK\3\4", 20, piece.all_flags, method, 0, 33, *told, *lengths)
            body += local_name + piece.local_extra + packed + piece.behind
        outside = piece.mode << 16
        lengths = (len(name), len(piece.extra))
        entries += ENTRY.pack(
            *(b"PK\1\2", 0x0314, 20, piece.all_flags, piece.method, 0, 33, checksum, size, unpacked),
            *(*lengths, 0, 0, 0, outside, at),
        )
        entries += name + piece.extra
    number = len(pieces) if count is None else count
    end = END.pack(b"PK\5\6", 0, 0, number, number, len(entries), len(body), 0)
    return bytes(body + entries) + end + tail
