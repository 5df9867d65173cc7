"""What is printed beside a symbol, a supply line, an earth, an arrow?

A part: its id, its name, the settings that somebody gave (a fuse's rating; a blank one is *open*), when a contact is
joined, where its other pieces are. A supply line: the terminal number of what feeds it, the thing itself, the fuses
on the way from there. Nothing typical is printed: only what stands in the sheets or was decided.
"""

from __future__ import annotations

from loomwright.drawings.content.pieces import Piece
from loomwright.drawings.content.sketch import Ref, Words
from loomwright.drawings.content.wiring import Wiring
from loomwright.job.points import split_point
from loomwright.job.rows import Part
from loomwright.quantities import for_print, parse_quantity, unit_word
from loomwright.refusals import OutOfReach
from loomwright.tables.kinds import Kind

__all__ = ["OPEN", "arrow_words", "earth_words", "feed_number", "line_words", "part_name", "part_words"]

OPEN = "open"
"""Printed where nobody has decided yet."""

_MOST_STEPS = 200
_DECIDED = ("rating_a",)


def part_name(wiring: Wiring, part: str) -> str:
    """A part in words: its name, else its kind's."""
    return wiring.parts[part].name or wiring.kind(part).title


def part_words(wiring: Wiring, piece: Piece, circuit: str) -> tuple[Words, ...]:
    """The words beside one piece of a part.

    Args:
        circuit: of the drawing, so that a reference to it needs no name.
    """
    row, kind = wiring.parts[piece.part], wiring.kind(piece.part)
    said = [Words(style="id", pieces=(piece.part,)), Words(style="name", pieces=(part_name(wiring, piece.part),))]
    if piece.form == "battery":
        said.insert(0, Words(style="number", pieces=("30",)))
    figures = [text for name in piece.shows if (text := _setting(row, kind, name))]
    if figures:
        said.append(Words(style="figure", pieces=(", ".join(figures),)))
    if piece.at:
        joined = ", ".join(piece.at)
        said.append(Words(style="note", pieces=(f"joined in {joined}",)))
    closes = row.settings.get("closes_when", "")
    if closes and piece.form == "inline":
        said.append(Words(style="note", pieces=(f"closed at {closes}",)))
    live = row.settings.get("live_when", "")
    if live:
        said.append(Words(style="note", pieces=(f"live at {live}",)))
    said.extend(_other_pieces(wiring, piece, circuit))
    return tuple(said)


def earth_words(wiring: Wiring, part: str, metal: str) -> tuple[Words, ...]:
    """The words under an earth: its terminal number, the point and the metal it is bolted to, or the metal alone."""
    number = ("31 ",) if wiring.live_post == "+" else ()
    if not part:
        name = next((row.name for row in wiring.job.metals if row.id == metal and row.name), "")
        return (Words(style="id", pieces=(*number, metal)), *((Words(style="name", pieces=(name,)),) if name else ()))
    row = wiring.parts[part]
    on = row.settings.get("on", "") or "body"
    return (
        Words(style="id", pieces=(*number, part)),
        Words(style="name", pieces=(part_name(wiring, part),)),
        Words(style="figure", pieces=(on,)),
    )


def line_words(wiring: Wiring, point: str, ref: Ref | None, circuit: str) -> tuple[Words, ...]:
    """The words over a supply line: what feeds it, and where that is drawn."""
    part, terminal = split_point(point)
    number, who, fuses = feed_number(wiring, point)
    said = [Words(style="number", pieces=(number,))] if number else []
    if part in wiring.parts:
        single = wiring.kind(part).numbered or len(wiring.terminals[part]) == 1
        said.append(Words(style="id", pieces=(part if single or not terminal else f"{part}.{terminal}",)))
        said.append(Words(style="name", pieces=(part_name(wiring, part),)))
    else:
        said.append(Words(style="id", pieces=(point,)))
    way = [one for one in (who, *reversed(fuses)) if one and one != part]
    if way:
        said.append(Words(style="note", pieces=(f"from {', '.join(_with_rating(wiring, one) for one in way)}",)))
    if ref is not None:
        said.append(Words(style="figure", pieces=("← ", ref)))
    return tuple(said)


def arrow_words(wiring: Wiring, wire: str, point: str) -> tuple[Words, ...]:
    """The words at an arrow: circuit and track of the wire, and the point it goes to."""
    far = wiring.other_end(wire, point) or "open end"
    said = [Words(style="figure", pieces=(Ref(target=wire, circuit=wiring.wires[wire].circuit),))]
    return (*said, Words(style="note", pieces=(far,)))


def feed_number(wiring: Wiring, point: str) -> tuple[str, str, tuple[str, ...]]:
    """What feeds a point: its terminal number where it has one, the part, and the fuses on the way, nearest first.

    Back along the way from the supply, through wires, joints and fuses, to the first contact or to the battery.
    """
    fuses: list[str] = []
    for _ in range(_MOST_STEPS):
        part, terminal = split_point(point)
        if point not in wiring.came:
            kind = wiring.kind(part) if part in wiring.parts else None
            return ("30" if kind is not None and kind.id == "battery" else "", part, tuple(fuses))
        via, before = wiring.came[point]
        if via in wiring.parts:
            duty = wiring.kind(via).duty
            if duty == "protection" or wiring.kind(via).id == "isolator":
                fuses.append(via)
            elif duty != "join":
                return (terminal if terminal[:1].isdigit() and len(terminal) > 1 else "", via, tuple(fuses))
        point = before
    return ("", "", tuple(fuses))


def _with_rating(wiring: Wiring, part: str) -> str:
    rating = _setting(wiring.parts[part], wiring.kind(part), "rating_a") if part in wiring.parts else ""
    return f"{part} {rating}" if rating and wiring.kind(part).duty == "protection" else part


def _other_pieces(wiring: Wiring, piece: Piece, circuit: str) -> list[Words]:
    """Of a relay's coil, where its contact is; of its contact, where its coil is."""
    if piece.name not in ("coil", "contact"):
        return []
    wanted = "contact" if piece.name == "coil" else "coil"
    wired = [name for name in wiring.terminals.get(piece.part, ()) if f"{piece.part}.{name}" in wiring.at]
    of_coil = ("85", "86", "S", "31")
    names = [name for name in wired if (name in of_coil) == (wanted == "coil") and name not in piece.terminals]
    if not names:
        return []
    point = f"{piece.part}.{names[0]}"
    home = wiring.wires[wiring.at[point][0]].circuit
    return [Words(style="figure", pieces=(f"{wanted} ", Ref(target=point, circuit=home)))]


def _setting(row: Part, kind: Kind, name: str) -> str:
    """A setting with its unit where it was given; what is decided and still blank is open."""
    known = {setting.name: setting for setting in kind.settings}
    if name not in known:
        return ""
    text = row.settings.get(name, "").strip()
    if not text:
        return f"rating {OPEN}" if name in _DECIDED and kind.duty == "protection" else ""
    setting = known[name]
    if not setting.number:
        if name == "suppression":
            return "" if text == "none" else f"with {text}"
        return text
    try:
        value = parse_quantity(text, setting.unit, name=name)
    except OutOfReach:
        return text
    return f"{for_print(value)} {unit_word(setting.unit)}".strip()
