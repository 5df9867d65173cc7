"""How does the pack of a job become a PDF?

In: a `Pack` (or its `Paper` alone) and the circuit drawings as SVG. Out: bytes. The layout is `paper.typ` and the files
it brings in, set by Typst with the fonts of the folder `fonts` and no other, so that the same pack gives the same bytes
on any machine. Nothing is worked out here; words of the job go in as data and can never act as layout.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from importlib import resources
from pathlib import Path
from typing import Any, cast

import typst

from loomwright.drawings.board.board_sheets import PAPERS, BoardPrint
from loomwright.handover.cut_sheet import CutSheet
from loomwright.handover.pack_records import Earths, OutputTests, Pack, PartsList
from loomwright.handover.records import Paper
from loomwright.handover.sections import SECTIONS, sections_of
from loomwright.writers.board_paper import board_told
from loomwright.writers.kept_units import kept_together
from loomwright.writers.label_codes import label_codes
from loomwright.writers.paper_paint import BLADE_PAINT, PAINT

__all__ = ["PAGE_NAMES", "CircuitPage", "pack_pdf", "page_count", "paper_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "paper.typ"
_FONTS = "fonts"
PAGE_NAMES: Mapping[str, str] = {"a4": "a4", "a3": "a3", "letter": "us-letter"}
"""Page size as it is asked for -> as the typesetter calls it."""
_PAGE = re.compile(rb"/Type\s*/Page\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitPage:
    """One circuit drawing. circuit: its id. svg: the drawing. width_mm, height_mm: its own size. [mm]"""

    circuit: str
    title: str
    svg: str
    width_mm: float
    height_mm: float


def pack_pdf(
    pack: Pack,
    drawings: Sequence[CircuitPage] = (),
    *,
    board: BoardPrint | None = None,
    address: str = "",
    asked: Collection[str] = (),
    page_size: str = "a4",
) -> bytes:
    """The pack as a PDF with bookmarks. The same pack gives the same bytes.

    Args:
        board: the layout board, whose whole is shown on a page.
        address: what the codes on the labels begin with, such as `http://bench:8140/j/van/wire/`; empty: ids alone.
        asked: the sections that are printed; all that have something to say where empty.
        page_size: a4, a3 or letter.
    """
    # tags for every cell would make the file nine times as large
    made = _typesetter(pack, drawings, board, address, asked, page_size).compile(
        format="pdf", timestamp=0, pdf_tags=False
    )
    return cast(bytes, made)


def page_count(pdf: bytes) -> int:
    """How many pages a PDF of ours has. [-]"""
    return len(_PAGE.findall(pdf))


def paper_pdf(paper: Paper) -> bytes:
    """The paper alone as a PDF on A4: cover, cautions, findings, wires, readings."""
    return pack_pdf(_alone(paper))


def _alone(paper: Paper) -> Pack:
    """A pack with nothing in it but its paper."""
    return Pack(
        paper=paper,
        cuts=CutSheet(allowance="", total="", reels=(), cables=(), twists=(), unmeasured=(), left=""),
        relays=(),
        charts=(),
        connectors=(),
        dead=(),
        outputs=OutputTests(state="", tests=()),
        labels=(),
        earths=Earths(earths=(), splices=(), limit=""),
        parts=PartsList(parts=(), buy=(), open=()),
        notes=(),
    )


def _typesetter(
    pack: Pack,
    drawings: Sequence[CircuitPage],
    board: BoardPrint | None = None,
    address: str = "",
    asked: Collection[str] = (),
    page_size: str = "a4",
) -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    sections = sections_of(pack, drawings=len(drawings), has_board=board is not None, asked=asked)
    labelled = [label.wire for label in pack.labels] if "labels" in sections else []
    wide_mm, high_mm = PAPERS[page_size]
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={
            "pack": kept_together(_json(pack)),
            "drawings": _json(drawings),
            "sections": _json([(name, SECTIONS[name]) for name in sections]),
            "sheet": _json({"name": PAGE_NAMES[page_size], "wide_mm": wide_mm, "high_mm": high_mm}),
            "board": _json(None if board is None else board_told(board)),
            "codes": _json(label_codes(labelled, address)),
            "paint": _json(dict(PAINT)),
            "blades": _json(dict(BLADE_PAINT)),
        },
    )


def _json(told: object) -> str:
    return json.dumps(told, default=_fields, ensure_ascii=False, sort_keys=True)


def _fields(record: Any) -> dict[str, object]:
    """A record as plain data, one level deep: what lies in it is asked for in its turn."""
    return {one.name: getattr(record, one.name) for one in fields(record)}
