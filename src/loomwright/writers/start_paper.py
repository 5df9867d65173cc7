"""How do the papers of the first start come to be: one page for the wall, then the list, the numbers, the tables?

In: a `StartSheet` and the drawings of its tables. Out: bytes of a PDF on A4, set by Typst with our own fonts, the same
bytes for the same sheet. Words of the job go in as data and can never act as layout.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.handover.start_sheet import StartSheet
from loomwright.writers.paper import PAGE_NAMES

__all__ = ["start_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "start_paper.typ"
_FONTS = "fonts"


def start_pdf(sheet: StartSheet, charts: Mapping[str, str], *, date: str = "", page_size: str = "a4") -> bytes:
    """The papers as a PDF.

    Args:
        charts: name of a table -> its drawing as SVG.
        date: printed as it stands; none where empty.
        page_size: a4, a3 or letter.
    """
    return cast(bytes, _typesetter(sheet, charts, date, page_size).compile(format="pdf", timestamp=0, pdf_tags=False))


def _typesetter(sheet: StartSheet, charts: Mapping[str, str], date: str, page_size: str = "a4") -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    told = asdict(sheet) | {"date": date, "charts": dict(charts)}
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={
            "start": json.dumps(told, ensure_ascii=False, sort_keys=True),
            "page": PAGE_NAMES[page_size],
        },
    )
