"""How does the paper of a job become a PDF?

In: a `Paper`. Out: bytes. The layout is `paper.typ`, set by Typst with the fonts of the folder `fonts` and no other, so
that the same paper gives the same bytes on any machine. Nothing is worked out here; words of the job go in as data and
can never act as layout.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.handover.records import Paper
from loomwright.writers.paper_paint import PAINT

__all__ = ["paper_pages", "paper_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "paper.typ"
_FONTS = "fonts"


def paper_pdf(paper: Paper) -> bytes:
    """The paper as a PDF on A4. The same paper gives the same bytes."""
    # tags for every cell would make the file nine times as large
    made = _typesetter(paper).compile(format="pdf", timestamp=0, pdf_tags=False)
    return cast(bytes, made)


def paper_pages(paper: Paper, *, dots_per_inch: int = 100) -> tuple[bytes, ...]:
    """The pages of the paper as PNG pictures.

    Args:
        dots_per_inch: how fine they are. [-]
    """
    made = _typesetter(paper).compile(format="png", ppi=dots_per_inch, timestamp=0)
    return (made,) if isinstance(made, bytes) else tuple(made or ())


def _typesetter(paper: Paper) -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    said = json.dumps(asdict(paper), ensure_ascii=False, sort_keys=True)
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"paper": said, "paint": json.dumps(dict(PAINT))},
    )
