"""Which one-row changes are made to a job? Drawn at random from a seed, none twice, as edits of the text of its sheets.

What is drawn how often (shares of all, typed here and nowhere else):

    drop      30 %  a row is left out: a wire (nine times of ten), a contact, a drive, a bond
    swap      25 %  the wires at two terminals of one part, or at two cavities of one plug, change places
    key       15 %  a wire's end goes from a point that one key contact feeds to a point that another feeds
    fuse      10 %  a fuse three times the size (there are fewer than thirty: what is over falls to `thinner`)
    thinner   20 %  a wire one or two stocked sizes thinner
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

__all__ = ["SHARES", "Change", "drawn"]

Row = Mapping[str, str]
Sheets = Mapping[str, Sequence[Row]]

SHARES = {"drop": 0.30, "swap": 0.25, "key": 0.15, "fuse": 0.10, "thinner": 0.20}
_DROPPED = ("wires",) * 18 + ("contacts", "drives")
_KEYS = {
    "30": ("KEY.30", "BUS2.2", "FKEY.2"),
    "15": ("KEY.15", "FTT.1", "FTT.2", "FSIG.1", "FSIG.2"),
    "75": ("KEY.75", "FWIP.1", "FWIP.2", "FHTR.1", "FHTR.2"),
    "50": ("KEY.50",),
}
"""Points of the demo by the key contact that feeds them."""
_TIMES = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change. rows: ids or points of the rows it changes. points: terminals whose wires it changes."""

    kind: str
    says: str
    rows: tuple[str, ...]
    points: tuple[str, ...]
    sheets: Sheets = field(repr=False, compare=False)


def drawn(sheets: Sheets, seed: int, count: int) -> tuple[Change, ...]:
    """So many changes, each another one.

    Args:
        sheets: the text of the sheets, sizes and ratings filled in.
        seed: of the generator.
        count: how many. [-]
    """
    dice = random.Random(seed)
    makers = {"drop": _drop, "swap": _swap, "key": _key, "fuse": _fuse, "thinner": _thinner}
    wanted = [kind for kind, share in SHARES.items() for _ in range(round(share * count))]
    wanted += ["drop"] * (count - len(wanted))
    dice.shuffle(wanted)
    found: dict[str, Change] = {}
    fuses = sum(row["kind"] == "fuse" for row in sheets["parts"])
    for kind in wanted:
        made = sum(change.kind == "fuse" for change in found.values())
        kind = "thinner" if kind == "fuse" and made == fuses else kind
        change = makers[kind](sheets, dice)
        while change is None or change.says in found:
            change = makers[kind](sheets, dice)
        found[change.says] = change
    return tuple(found.values())


def _drop(sheets: Sheets, dice: random.Random) -> Change | None:
    sheet = dice.choice((*_DROPPED, "bonds") if dice.random() < 0.1 else _DROPPED)
    rows = sheets[sheet]
    if not rows:
        return None
    index = dice.randrange(len(rows))
    row = rows[index]
    left = {**sheets, sheet: [*rows[:index], *rows[index + 1 :]]}
    if sheet == "wires":
        return Change(
            kind="drop",
            says=f"drop {row['id']} ({row['from']} to {row['to']})",
            rows=(row["id"],),
            points=(row["from"], row["to"]),
            sheets=left,
        )
    if sheet == "contacts":
        points = tuple(f"{row['part']}.{name}" for pair in row["joins"].split() for name in pair.split("+"))
        words = f"{row['part']} {row['gang']} {row['position']} {row['joins']}"
        return Change(kind="drop", says=f"drop contacts {words}", rows=(row["part"],), points=points, sheets=left)
    if sheet == "drives":
        words = f"{row['output']} when {row['when']}"
        return Change(kind="drop", says=f"drop drive {words}", rows=(row["output"],), points=(), sheets=left)
    points = (row["from"], row["to"])
    return Change(kind="drop", says=f"drop bond {points[0]} {points[1]}", rows=points, points=points, sheets=left)


def _ends(sheets: Sheets) -> dict[str, list[tuple[int, str]]]:
    """Wire ends by point: which row, which column."""
    found: dict[str, list[tuple[int, str]]] = {}
    for index, row in enumerate(sheets["wires"]):
        for column in ("from", "to"):
            found.setdefault(row[column], []).append((index, column))
    return found


def _swap(sheets: Sheets, dice: random.Random) -> Change | None:
    ends = _ends(sheets)
    by_plug: dict[str, list[str]] = {}
    for point in ends:
        part, _, terminal = point.partition(".")
        plug = f"{part}:{terminal[:1]}" if part == "ECU" else part
        by_plug.setdefault(plug, []).append(point)
    first = dice.choice([point for points in by_plug.values() if len(points) > 1 for point in points if "." in point])
    others = next(points for points in by_plug.values() if first in points)
    second = dice.choice([point for point in others if point != first])
    wires = [dict(row) for row in sheets["wires"]]
    for here, there in ((first, second), (second, first)):
        for index, column in ends[here]:
            wires[index][column] = there
    changed = tuple(dict.fromkeys(wires[index]["id"] for point in (first, second) for index, _ in ends[point]))
    one, other = sorted((first, second))
    return Change(
        kind="swap",
        says=f"swap the wires at {one} and {other}",
        rows=changed,
        points=(one, other),
        sheets={**sheets, "wires": wires},
    )


def _key(sheets: Sheets, dice: random.Random) -> Change | None:
    by_point = _ends(sheets)
    feed_of = {point: contact for contact, points in _KEYS.items() for point in points if point in by_point}
    ends = [place for point, places in by_point.items() if point in feed_of for place in places]
    index, column = dice.choice(ends)
    old = sheets["wires"][index][column]
    new = dice.choice([point for point, contact in feed_of.items() if contact != feed_of[old]])
    wires = [dict(row) for row in sheets["wires"]]
    wires[index][column] = new
    other = wires[index]["to" if column == "from" else "from"]
    if other == new:
        return None
    name = wires[index]["id"]
    return Change(
        kind="key",
        says=f"move {name} from {old} to {new}",
        rows=(name,),
        points=(old, new, other),
        sheets={**sheets, "wires": wires},
    )


def _fuse(sheets: Sheets, dice: random.Random) -> Change:
    fuses = [index for index, row in enumerate(sheets["parts"]) if row["kind"] == "fuse"]
    index = dice.choice(fuses)
    parts = [dict(row) for row in sheets["parts"]]
    row = parts[index]
    settings = dict(pair.split("=", 1) for pair in row["settings"].replace(" ", "").split(";"))
    rating = float(settings["rating_a"]) * _TIMES
    settings["rating_a"] = f"{rating:g}"
    row["settings"] = "; ".join(f"{name}={value}" for name, value in settings.items())
    return Change(
        kind="fuse",
        says=f"{row['id']} {rating:g} A instead of {rating / _TIMES:g}",
        rows=(row["id"],),
        points=(),
        sheets={**sheets, "parts": parts},
    )


def _thinner(sheets: Sheets, dice: random.Random) -> Change | None:
    stocked = sorted({float(row["size_mm2"]) for row in sheets["stock"] if row["item"] == "wire"})
    wires = [dict(row) for row in sheets["wires"]]
    row = wires[dice.randrange(len(wires))]
    steps = dice.choice((1, 2))
    below = [size for size in stocked if size < float(row["size_mm2"])]
    if len(below) < steps:
        return None
    old, row["size_mm2"] = float(row["size_mm2"]), f"{below[-steps]:g}"
    return Change(
        kind="thinner",
        says=f"{row['id']} {row['size_mm2']} mm2 instead of {old:g}",
        rows=(row["id"],),
        points=(row["from"], row["to"]),
        sheets={**sheets, "wires": wires},
    )
