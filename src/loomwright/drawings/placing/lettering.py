"""How are the words of a drawing printed, and in what lines do they stand beside a unit?

One size and font for each sort of words. Ids, terminal numbers and figures are in the font whose letters are all of a
width, names in the other. A place on another drawing is measured as if its track had two figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from loomwright.drawings.content.sketch import Ref, Words
from loomwright.drawings.symbols.items import Anchor, Font, Ink, Text
from loomwright.drawings.symbols.letters import text_mm, wrapped
from loomwright.job.rows import Wire

__all__ = [
    "DOES",
    "LABEL",
    "LABEL_GAP_MM",
    "LABEL_ID",
    "NO_CIRCUIT",
    "PLUG",
    "STYLES",
    "TERMINAL",
    "Lettering",
    "WordLine",
    "block_mm",
    "circuit_word",
    "label_box_mm",
    "label_lines",
    "printed",
    "word_lines",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """How one sort of words is printed. size_mm: how large. [mm]   line_mm: from line to line. [mm]"""

    size_mm: float
    line_mm: float
    font: Font = "words"
    strong: bool = False
    ink: Ink = "ink"

    def long_mm(self, text: str) -> float:
        """How long a text is. [mm]"""
        return text_mm(text, size_mm=self.size_mm, font=self.font, strong=self.strong)

    def text(self, text: str, x_mm: float, y_mm: float, *, anchor: Anchor = "start", about: str = "") -> Text:
        """The words at a place.

        Args:
            x_mm: where, at the anchor. [mm]
            y_mm: the line of writing. [mm]
        """
        return Text(
            x_mm=x_mm,
            y_mm=y_mm,
            text=text,
            size_mm=self.size_mm,
            anchor=anchor,
            font=self.font,
            strong=self.strong,
            ink=self.ink,
            about=about,
        )


STYLES = MappingProxyType(
    {
        "number": Lettering(size_mm=3.6, line_mm=4.0, font="figures", strong=True),
        "id": Lettering(size_mm=2.7, line_mm=3.1, font="figures", strong=True),
        "name": Lettering(size_mm=2.4, line_mm=2.8),
        "figure": Lettering(size_mm=2.1, line_mm=2.7, font="figures"),
        "note": Lettering(size_mm=2.1, line_mm=2.6, ink="soft"),
    }
)
"""Style of words beside a unit -> how they are printed."""

TERMINAL = Lettering(size_mm=1.9, line_mm=2.3, font="figures")
DOES = Lettering(size_mm=1.9, line_mm=2.1, ink="soft")
PLUG = Lettering(size_mm=1.9, line_mm=2.3, font="figures", ink="soft")
LABEL_ID = Lettering(size_mm=2.2, line_mm=2.6, font="figures", strong=True)
LABEL = Lettering(size_mm=2.1, line_mm=2.5, font="figures")

LABEL_GAP_MM = 1.1
"""Between a wire and its label. [mm]"""

NO_CIRCUIT = "no circuit"
"""The name of the drawing of wires that belong to no circuit, as references have it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WordLine:
    """One printed line beside a unit."""

    style: str
    pieces: tuple[str | Ref, ...]


def circuit_word(circuit: str) -> str:
    """A circuit as references name it."""
    return circuit or NO_CIRCUIT


def word_lines(words: Sequence[Words], *, most_mm: float) -> tuple[WordLine, ...]:
    """Words beside a unit, in lines. What names a place stays on one line.

    Args:
        most_mm: how long a line may be. [mm]
    """
    lines: list[WordLine] = []
    for one in words:
        if any(isinstance(piece, Ref) for piece in one.pieces):
            lines.append(WordLine(style=one.style, pieces=one.pieces))
            continue
        how = STYLES[one.style]
        text = "".join(str(piece) for piece in one.pieces)
        for line in wrapped(text, most_mm=most_mm, size_mm=how.size_mm, font=how.font, strong=how.strong):
            lines.append(WordLine(style=one.style, pieces=(line,)))
    return tuple(lines)


def printed(line: WordLine, circuit: str, place: Callable[[Ref], str] | None = None) -> str:
    """A line as it is printed.

    Args:
        circuit: of the drawing: its own places need no circuit.
        place: the track of a reference; left out, as long as it can become.
    """
    found = []
    for piece in line.pieces:
        if isinstance(piece, Ref):
            track = place(piece) if place else "00"
            found.append(track if piece.circuit == circuit else f"{circuit_word(piece.circuit)} {track}")
        else:
            found.append(piece)
    return "".join(found)


def block_mm(lines: Sequence[WordLine], circuit: str) -> tuple[float, float]:
    """How wide and how high lines are together. [mm]"""
    wide = max((STYLES[line.style].long_mm(printed(line, circuit)) for line in lines), default=0.0)
    return wide, sum(STYLES[line.style].line_mm for line in lines)


def label_lines(wire: Wire) -> tuple[str, ...]:
    """What stands beside a wire: its id, then size and colour, and what it lies in; what nobody has decided is open.

    Example:
        >>> label_lines(Wire(id="W104", size_mm2=1.5, colour="BK/WH"))
        ('W104', '1.5 BK/WH')
        >>> label_lines(Wire(id="W1", size_mm2=None, colour="RD"))
        ('W1', 'size open', 'RD')
    """
    held = [f"{word} {name}" for word, name in (("cable", wire.cable or wire.screen), ("twist", wire.twist)) if name]
    if wire.size_mm2 is not None and wire.colour:
        return wire.id, f"{wire.size_mm2:g} {wire.colour}", *held
    size = "size open" if wire.size_mm2 is None else f"{wire.size_mm2:g}"
    return wire.id, size, wire.colour or "colour open", *held


def label_box_mm(wire: Wire) -> tuple[float, float]:
    """How wide and how high a wire's label is. [mm]"""
    first, *rest = label_lines(wire)
    wide = max(LABEL_ID.long_mm(first), *(LABEL.long_mm(line) for line in rest))
    return wide, LABEL_ID.line_mm + len(rest) * LABEL.line_mm
