"""How does a quote become a paper for the owner?

In: a `Quote` and which of its parts. Out: bytes of a PDF, A4, set by Typst with our own fonts, the same bytes for the
same quote. Nothing is worked out here.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.handover.quote_lines import quote_sheet
from loomwright.handover.quote_records import PartName, Quote

__all__ = ["quote_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "quote_paper.typ"
_FONTS = "fonts"
_BOTH: tuple[PartName, ...] = ("one", "two")


def quote_pdf(quote: Quote, parts: Sequence[PartName] = _BOTH, *, date: str = "") -> bytes:
    """The quote as a PDF on A4. The same quote gives the same bytes.

    Args:
        parts: one, two or both.
        date: printed as it stands; none where empty.
    """
    return cast(bytes, _typesetter(quote, parts, date).compile(format="pdf", timestamp=0))


def _typesetter(quote: Quote, parts: Sequence[PartName], date: str) -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    told = asdict(quote_sheet(quote)) | {"date": date}
    told["parts"] = [part for part in told["parts"] if part["part"] in parts]
    told["of_parts"] = len(quote.parts)
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"quote": json.dumps(told, ensure_ascii=False, sort_keys=True)},
    )
