"""Into which pieces does a part fall on a drawing, and which of its terminals are on top?

In: a part, the terminals that the drawing's own wires touch, whether the part belongs to this drawing. Out: pieces
with their terminals towards the supply and towards earth. A part of another circuit shows no more than what is
needed; one of this circuit shows every terminal that any wire reaches. Which way round a piece stands is told by
`Wiring.depth`: the end nearer to the supply is on top.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.drawings.content.switches import Position, SwitchPiece, is_closed_at_rest, switch_pieces
from loomwright.drawings.content.symbol_table import DrawnPiece, Form, drawn_pieces
from loomwright.drawings.content.wiring import Wiring, case_metal

__all__ = ["CASE", "Piece", "is_contact", "pieces_of"]

CASE = "case"
"""The terminal that is a part's own metal."""

_TO_EARTH = ("power_earth", "high_side")
"""What a controller's pin may do to stand on its lower side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece of a part.

    upper, lower: its terminals.   common: of a comb, the terminal all elements share.
    closed: terminals of contacts that are closed at rest.   positions: of a switch with a table.
    at: of a switch with two terminals, the positions in which they are joined.   turned: it stands on its head.
    """

    part: str
    form: Form
    symbol: str
    upper: tuple[str, ...] = ()
    lower: tuple[str, ...] = ()
    common: str = ""
    closed: tuple[str, ...] = ()
    positions: tuple[Position, ...] = ()
    at: tuple[str, ...] = ()
    turned: bool = False
    name: str = ""
    shows: tuple[str, ...] = ()

    @property
    def terminals(self) -> tuple[str, ...]:
        """All its terminals, those on top first."""
        return (*self.upper, *self.lower)


def is_contact(piece: Piece) -> bool:
    """Whether a piece is a contact or a switch."""
    return piece.symbol.startswith("contact")


def pieces_of(wiring: Wiring, part: str, touched: Sequence[str], circuit: str) -> tuple[Piece, ...]:
    """The pieces of a part that a drawing shows.

    Args:
        part: its id.
        touched: its terminals that the drawing's own wires end at.
        circuit: the drawing's.
    """
    at_home = wiring.home.get(part, "") == circuit
    kind = wiring.kind(part)
    wired = [name for name in wiring.terminals.get(part, ()) if f"{part}.{name}" in wiring.at]
    shown = list(dict.fromkeys((*touched, *wired))) if at_home else list(touched)
    drawn = drawn_pieces(kind)
    form = drawn[0].form
    if form == "bar":
        return (Piece(part=part, form="bar", symbol=drawn[0].symbol, upper=tuple(touched)),)
    if form == "controller":
        return (_controller(wiring, part, touched),)
    if form == "ways":
        return tuple(_way(wiring, part, number) for number in dict.fromkeys(name[:-1] for name in touched))
    if form == "table" or part in wiring.contacts:
        return tuple(_tables(wiring, part, drawn[0], circuit, touched, shown, wired))
    return tuple(_fixed(wiring, part, drawn, touched, shown, wired))


def _controller(wiring: Wiring, part: str, touched: Iterable[str]) -> Piece:
    does = wiring.pins.get(part, {})
    low = tuple(name for name in touched if does.get(name) in _TO_EARTH)
    return Piece(
        part=part,
        form="controller",
        symbol="controller",
        upper=tuple(name for name in touched if name not in low),
        lower=low,
    )


def _way(wiring: Wiring, part: str, number: str) -> Piece:
    pin, socket = f"{number}p", f"{number}s"
    turned = not wiring.is_above(part, pin, socket)
    upper, lower = (socket, pin) if turned else (pin, socket)
    return Piece(part=part, form="inline", symbol="plug", upper=(upper,), lower=(lower,), name=number, turned=turned)


def _fixed(
    wiring: Wiring,
    part: str,
    drawn: Sequence[DrawnPiece],
    touched: Sequence[str],
    shown: Sequence[str],
    wired: list[str],
) -> Iterable[Piece]:
    """The pieces of a kind whose terminals are known beforehand."""
    known = {name for piece in drawn for name in (*piece.upper, *piece.lower)}
    strange = tuple(name for name in shown if name not in known)
    for piece in drawn:
        names = (*piece.upper, *piece.lower)
        if not any(name in touched for name in (*names, *(strange if len(drawn) == 1 else ()))):
            continue
        if strange and len(drawn) == 1 and piece.form != "box":
            piece = DrawnPiece(form="box", symbol="plain", upper=piece.upper, lower=piece.lower, shows=piece.shows)
        if piece.form == "comb":
            yield _comb(wiring, part, piece, shown, wired)
        elif piece.form in ("inline", "bridge"):
            yield _two(wiring, part, piece, wired)
        else:
            extra = strange if len(drawn) == 1 else ()
            lower = _with_case(wiring, part, piece.lower, wired)
            if piece.form == "battery":
                posts = (*piece.upper, *piece.lower)
                earthed = tuple(name for name in posts if name != wiring.live_post)
                yield Piece(
                    part=part,
                    form="battery",
                    symbol="battery",
                    upper=(wiring.live_post,),
                    lower=earthed,
                    turned=wiring.live_post != "+",
                    shows=piece.shows,
                )
                continue
            yield Piece(
                part=part,
                form=piece.form,
                symbol=piece.symbol,
                upper=tuple(name for name in piece.upper if name in shown),
                lower=tuple(name for name in (*lower, *extra) if name in shown or name == CASE),
                name=piece.name,
                shows=piece.shows,
            )
    if strange and len(drawn) > 1 and any(name in touched for name in strange):
        yield Piece(part=part, form="box", symbol="plain", lower=strange)


def _with_case(wiring: Wiring, part: str, lower: tuple[str, ...], wired: Sequence[str]) -> tuple[str, ...]:
    """The lower terminals: its own metal counts where the part is bolted to one, or a wire reaches its case."""
    if CASE not in lower:
        return lower
    kind = wiring.kind(part)
    own = CASE in (terminal.name for terminal in kind.terminals)
    if not own and any(name in wired for name in lower if name != CASE):
        return tuple(name for name in lower if name != CASE)
    if CASE in wired or case_metal(wiring.parts[part], kind):
        return lower
    return tuple(name for name in lower if name != CASE)


def _two(wiring: Wiring, part: str, piece: DrawnPiece, wired: Sequence[str]) -> Piece:
    """A piece with one way through; a bridge keeps its form where both legs lead on to a controller."""
    lower = _with_case(wiring, part, piece.lower, wired) or piece.lower
    if len(lower) > 1:
        lower = tuple(name for name in lower if name in wired or name == CASE)[:1]
    upper, below = piece.upper[0], lower[0]
    turned = piece.turns and not wiring.is_above(part, upper, below)
    if turned:
        upper, below = below, upper
    closed = piece.symbol.startswith("contact") and is_closed_at_rest(wiring, part, upper, below)
    return Piece(
        part=part,
        form=piece.form,
        symbol=piece.symbol,
        upper=(upper,),
        lower=(below,),
        closed=(upper, below) if closed else (),
        turned=turned,
        name=piece.name,
        shows=piece.shows,
    )


def _comb(wiring: Wiring, part: str, piece: DrawnPiece, shown: Sequence[str], wired: Sequence[str]) -> Piece:
    """One terminal that all share and an element to each other one that is used."""
    common, many = (piece.upper[0], piece.lower) if len(piece.upper) == 1 else (piece.lower[0], piece.upper)
    used = [name for name in many if name in shown] or [name for name in many if name in wired] or list(many[:1])
    votes = sum(1 if wiring.is_above(part, common, name) else -1 for name in used)
    on_top = (votes > 0 or (votes == 0 and common in piece.upper)) if piece.turns else common in piece.upper
    contact = piece.symbol.startswith("contact")
    closed = tuple(name for name in used if contact and is_closed_at_rest(wiring, part, common, name))
    single = len(used) == 1
    return Piece(
        part=part,
        form="inline" if single else "comb",
        symbol=piece.symbol,
        upper=(common,) if on_top else tuple(used),
        lower=tuple(used) if on_top else (common,),
        common="" if single else common,
        closed=closed,
        turned=on_top != (common in piece.upper),
        name=piece.name,
        shows=piece.shows,
    )


def _tables(
    wiring: Wiring,
    part: str,
    drawn: DrawnPiece,
    circuit: str,
    touched: Sequence[str],
    shown: Sequence[str],
    wired: Sequence[str],
) -> Iterable[Piece]:
    """The pieces of a switch: a plain contact where two terminals meet, a table of positions where more do."""
    names = dict.fromkeys(shown)
    feeding: dict[str, None] = {}
    for whole in switch_pieces(wiring, part, wired):
        here = [name for name in whole.terminals if name in names]
        upper = _upper(wiring, part, whole)
        if not here or len(whole.terminals) == 1 or (any(name in upper for name in here) and len(here) > 1):
            continue
        if not any(name in upper for name in here) and all(
            wiring.leads_away(f"{part}.{name}", circuit) for name in here
        ):
            feeding.update(dict.fromkeys(here))
            continue
        # what is shown says nothing alone: the terminals it meets are shown too
        meeting = [one for one in whole.terminals if any(_meets(whole, name, one) for name in here if name != one)]
        names.update(dict.fromkeys(one for one in meeting if (one in upper) != (here[0] in upper) or len(here) == 1))
    if feeding:
        yield Piece(part=part, form="table", symbol="contact_hand", lower=tuple(feeding), name="feeds")
    names = {name: None for name in names if name not in feeding}
    for found in switch_pieces(wiring, part, list(names)):
        if any(name in touched for name in found.terminals):
            yield _table(wiring, part, drawn, found)


def _upper(wiring: Wiring, part: str, found: SwitchPiece) -> tuple[str, ...]:
    """The terminals of a switch that current comes in at: not reached through the switch, not back from a load."""
    if len(found.terminals) == 1:
        return found.terminals if found.positions else ()
    depth = {name: wiring.depth(f"{part}.{name}") for name in found.terminals}
    through = {name: wiring.came.get(f"{part}.{name}", ("", ""))[0] == part for name in found.terminals}
    high = [name for name in found.terminals if depth[name] < 0] or list(found.terminals)
    upper = tuple(name for name in high if not through[name])
    if not upper or len(upper) == len(found.terminals):
        least = min(depth.values())
        upper = tuple(name for name in found.terminals if depth[name] == least)[:1]
    return upper


def _meets(piece: SwitchPiece, one: str, other: str) -> bool:
    return any(one in group and other in group for position in piece.positions for group in position.joins)


def _table(wiring: Wiring, part: str, drawn: DrawnPiece, found: SwitchPiece) -> Piece:
    upper = _upper(wiring, part, found)
    lower = tuple(name for name in found.terminals if name not in upper)
    plain = drawn.symbol if drawn.symbol.startswith("contact") else "contact_hand"
    if len(found.terminals) == 2 and len(upper) == 1:
        at = tuple(position.name for position in found.positions if position.joins)
        rest = any(position.rest and position.joins for position in found.positions)
        return Piece(
            part=part,
            form="inline",
            symbol=plain,
            upper=upper,
            lower=lower,
            closed=(*upper, *lower) if rest else (),
            positions=found.positions,
            at=at,
            name=found.terminals[0],
        )
    if not found.positions:
        return Piece(part=part, form="box", symbol="plain", upper=upper, lower=lower, name=found.terminals[0])
    return Piece(
        part=part,
        form="table",
        symbol=plain,
        upper=upper,
        lower=lower,
        positions=found.positions,
        name=found.terminals[0],
    )
