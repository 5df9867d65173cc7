"""How does the test plan become a paper that is taken to the car?

In: a `ProofSheet`. Out: bytes of a PDF, A4 across, set by Typst with our own fonts, the same bytes for the same sheet.
Nothing is worked out here; words of the job go in as data and can never act as layout.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.handover.proof_sheet import ProofSheet
from loomwright.writers.kept_units import kept_together
from loomwright.writers.paper import PAGE_NAMES

__all__ = ["proof_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "proof_paper.typ"
_FONTS = "fonts"


def proof_pdf(sheet: ProofSheet, *, date: str = "", page_size: str = "a4") -> bytes:
    """The test plan as a PDF, its pages across. The same plan gives the same bytes.

    Args:
        date: printed as it stands; none where empty.
        page_size: a4, a3 or letter.
    """
    # tags for every cell would make the file nine times as large
    return cast(bytes, _typesetter(sheet, date, page_size).compile(format="pdf", timestamp=0, pdf_tags=False))


def _typesetter(sheet: ProofSheet, date: str, page_size: str = "a4") -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={
            "proof": kept_together(json.dumps(asdict(sheet) | {"date": date}, ensure_ascii=False, sort_keys=True)),
            "page": PAGE_NAMES[page_size],
        },
    )
