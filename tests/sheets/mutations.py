"""Archives and JSON documents with one thing or several made wrong, drawn from a seed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from copy import deepcopy
from functools import cache
from random import Random
from typing import Any

from loomwright.sheets.archive import ABOUT
from tests.sheets.zips import Piece, deflated, zip_of

MB = 1024 * 1024
_NAMES = (
    *("../x", "sheets/../../x", "/x", "C:/x", "sheets\\x.csv", "sheets/x\0.csv", "", "x", "sheets/", "photos/x"),
    *(
        "sheets/deep/x.csv",
        "SHEETS/PARTS.CSV",
        "sheets/parts.csv",
        "sheets/Wires.csv",
        "sheets/größe.csv",
        "about.json",
    ),
)
_CSV = (
    *(b"", b"\0", b"\n" * 50_000, b'id,kind\nB1,"battery\n', b"id;kind,\n", b"\xff\xfei\0d\0", b"id,id\n1,2\n"),
    *(b"id,kind\nB1,battery,x\n", "id,name\nL1,größe\n".encode("latin-1"), b"," * 50_000, b"kind\nlamp\n"),
    *(b"id,kind\nB1,=cmd\n", b"id\n" + b"x" * 140_000, b"id,from,to\n" + b"W,B1.+,F1.1\n" * 3000),
)
_VALUES: tuple[Any, ...] = (
    *(None, True, False, [], {}, [[]], {"a": {"b": []}}, "", "x", "=1+1", "\0", 0, -1, 1.5, 10**400, 1e999),
    *(float("nan"), "x" * 200_000, "9" * 400, "\ud800", "B1.+", "../x"),
)


@cache
def _zeros() -> bytes:
    """What blows up to 300 MB; packed by whoever asks first, and not wherever this is read."""
    return deflated(b"\0" * 300 * MB)


def changed_archive(sound: dict[str, bytes], rng: Random) -> bytes:
    """An archive that was sound, with something wrong with it."""
    way = rng.choice((_bytes_of, _bytes_of, _pieces_of, _pieces_of, _pieces_of, _contents_of, _contents_of))
    return way(dict(sound), rng)


def changed_json(sound: bytes, rng: Random) -> bytes:
    """A JSON document that was sound, with something wrong with it."""
    if rng.random() < 0.4:
        return _changed_bytes(sound, rng)
    said = json.loads(sound)
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        _change_node(said, rng)
    raw = json.dumps(said).encode()
    if rng.random() < 0.1:
        place = rng.randrange(len(raw))
        raw = (
            raw[:place] + rng.choice((b"[", b'{"":', b"[" * 3000, b'"a":1,"a":1,')) * rng.choice((1, 500)) + raw[place:]
        )
    return rng.choice((b"", b"", b"", b"\xef\xbb\xbf", b"\xff\xfe")) + raw


def _bytes_of(found: dict[str, bytes], rng: Random) -> bytes:
    method = rng.choice((0, 8))
    return _changed_bytes(zip_of([Piece(name, raw, method=method) for name, raw in found.items()]), rng)


def _changed_bytes(raw: bytes, rng: Random) -> bytes:
    """Bits turned over, pieces cut out, put in, doubled or cut off."""
    data = bytearray(raw)
    for _ in range(rng.choice((1, 1, 2, 8, 40))):
        place = rng.randrange(len(data) or 1)
        length = rng.choice((1, 2, 7, 60, 1000))
        match rng.randrange(6):
            case 0:
                if data:
                    data[place] ^= 1 << rng.randrange(8)
            case 1:
                del data[place : place + length]
            case 2:
                data[place:place] = rng.randbytes(length)
            case 3:
                data[place:place] = data[place : place + length]
            case 4 if rng.random() < 0.3:
                del data[place:]
            case _:
                data[place : place + 4] = rng.choice((b"\0\0\0\0", b"\xff\xff\xff\xff", b"PK\5\6", b"PK\3\4"))
    return bytes(data)


def _pieces_of(found: dict[str, bytes], rng: Random) -> bytes:
    """Members that say of themselves what is not so, the digests being right."""
    pieces = [Piece(name, raw, method=rng.choice((0, 8))) for name, raw in found.items()]
    for _ in range(rng.choice((1, 1, 2, 4))):
        rng.choice(_PIECE_CHANGES)(pieces, rng)
    return zip_of(pieces)


def _renamed(pieces: list[Piece], rng: Random) -> None:
    rng.choice(pieces).name = rng.choice(_NAMES)


def _locked(pieces: list[Piece], rng: Random) -> None:
    rng.choice(pieces).flags |= rng.choice((1, 0x41, 0x2000))


def _packed_otherwise(pieces: list[Piece], rng: Random) -> None:
    rng.choice(pieces).method = rng.choice((0, 1, 8, 9, 12, 14, 93, 99))


def _linked(pieces: list[Piece], rng: Random) -> None:
    rng.choice(pieces).mode = rng.choice((0o120777, 0o040755, 0o010644, 0o060644))


def _lying(pieces: list[Piece], rng: Random) -> None:
    piece = rng.choice(pieces)
    said = rng.choice((0, 1, len(piece.raw) // 2, len(piece.raw) + 1, 2**31, 2**32 - 1))
    rng.choice(
        (
            lambda: setattr(piece, "says_unpacked", said),
            lambda: setattr(piece, "says_packed", said),
            lambda: setattr(piece, "says_checksum", said),
            lambda: setattr(piece, "local_unpacked", said),
            lambda: setattr(piece, "front", said),
            lambda: setattr(piece, "local_name", b"sheets/other.csv"),
        )
    )()


def _bomb(pieces: list[Piece], rng: Random) -> None:
    piece = rng.choice(pieces)
    piece.method, piece.packed = 8, _zeros()
    piece.says_unpacked = rng.choice((None, 1000, 15 * MB, 300 * MB, 2**32 - 1))


def _doubled(pieces: list[Piece], rng: Random) -> None:
    piece = rng.choice(pieces)
    copy = Piece(piece.name, piece.raw)
    if rng.random() < 0.5:
        copy.only_listed, copy.front = True, 0
    pieces.insert(rng.randrange(len(pieces) + 1), copy)


def _many(pieces: list[Piece], rng: Random) -> None:
    pieces.extend(Piece(f"photos/{count}.jpg") for count in range(rng.choice((50, 50, 50, 10_001))))


_PIECE_CHANGES: tuple[Callable[[list[Piece], Random], None], ...] = (
    *(_renamed, _renamed, _locked, _packed_otherwise, _linked, _lying, _lying, _bomb, _doubled, _many),
)


def _contents_of(found: dict[str, bytes], rng: Random) -> bytes:
    """A zip that is sound, with wrong things in its members; digests right or not, and about.json said otherwise."""
    names = [name for name in found if name.startswith("sheets/")]
    for _ in range(rng.choice((1, 1, 2, 5))):
        name = rng.choice(names)
        match rng.randrange(5):
            case 0:
                found[name] = rng.choice(_CSV)
            case 4:
                _retyped(found, name, rng)
            case 1:
                found.pop(name, None)
            case 2:
                found[rng.choice(_NAMES[9:15]) or "x"] = rng.choice(_CSV)
            case _:
                found[name] = _changed_bytes(found.get(name, b"id\n"), rng)
    about = json.loads(found[ABOUT])
    if rng.random() < 0.8:
        about["sha256"] = {name: hashlib.sha256(raw).hexdigest() for name, raw in found.items() if name != ABOUT}
    if rng.random() < 0.15:
        _change_node(about, rng)
    found[ABOUT] = json.dumps(about).encode()
    if rng.random() < 0.1:
        found[ABOUT] = _changed_bytes(found[ABOUT], rng)
    return zip_of([Piece(name, raw) for name, raw in found.items()])


def _retyped(found: dict[str, bytes], name: str, rng: Random) -> None:
    """A sheet as another program would have written it: the same job."""
    raw = found.pop(name, b"terminal\nring 6\n")
    heading, _, rest = raw.partition(b"\n")
    match rng.randrange(4):
        case 0:
            found[name] = b"\xef\xbb\xbf" + raw
        case 1:
            found[name] = heading.upper() + b"\n" + rest
        case 2:
            found[name] = raw + b"\n" + b"," * heading.count(b",") + b"\n"
        case _:
            found[f"sheets/{name.removeprefix('sheets/').title()}"] = raw


def _change_node(said: Any, rng: Random) -> None:
    """One value, somewhere in a document, replaced, dropped, renamed or put a level deeper."""
    node = said
    while isinstance(node, dict | list) and node:
        key = rng.choice(list(node)) if isinstance(node, dict) else rng.randrange(len(node))
        inner = node[key]
        if isinstance(inner, dict | list) and inner and rng.random() < 0.85:
            node = inner
            continue
        match rng.randrange(5):
            case 0:
                del node[key]
            case 1 if isinstance(node, dict):
                node[rng.choice(("", "id", "x", "\ufeff", "=1", " notes", "parts", "sheets", "../x"))] = node.pop(key)
            case 2:
                node[key] = {"deep": [inner]} if rng.random() < 0.5 else [inner]
            case _:
                node[key] = deepcopy(rng.choice(_VALUES))
        return
