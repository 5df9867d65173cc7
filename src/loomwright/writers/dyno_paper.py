"""How does what is left before the dyno become a paper: criteria, limits, drawings of the drive, the certificate?

In: the criteria, limits and drawings. Out: bytes of a PDF, A4, set by Typst with our own fonts, the same bytes for the
same paper; drawings stay vectors. The certificate is a page of its own and is there only when every criterion is met.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib import resources
from pathlib import Path
from typing import cast

import typst

from loomwright.logs.dyno import Readiness
from loomwright.logs.limits import Unproved

__all__ = ["Drawing", "dyno_pdf"]

_PACKAGE = "loomwright.writers"
_LAYOUT = "dyno_paper.typ"
_FONTS = "fonts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One drawing. title: over it.   svg: itself."""

    title: str
    svg: str


def dyno_pdf(
    title: str,
    ready: Readiness,
    limits: Sequence[Unproved],
    drawings: Sequence[Drawing] = (),
    *,
    date: str = "",
    short: Sequence[str] = (),
) -> bytes:
    """The paper as a PDF on A4. The same content gives the same bytes.

    Args:
        title: of the job.
        limits: those that nobody has given for this engine.
        date: printed as it stands; none where empty.
        short: what the newest drive says, in three sentences.
    """
    made = _typesetter(title, ready, limits, drawings, date, short).compile(format="pdf", timestamp=0)
    return cast(bytes, made)


def _typesetter(
    title: str,
    ready: Readiness,
    limits: Sequence[Unproved],
    drawings: Sequence[Drawing],
    date: str,
    short: Sequence[str] = (),
) -> typst.Compiler:
    folder = Path(str(resources.files(_PACKAGE)))
    data = {
        "title": title,
        "date": date,
        "criteria": [asdict(one) for one in ready.criteria],
        "left": len(ready.left),
        "short": list(short),
        "certificate": ready.certificate,
        "limits": [asdict(one) for one in limits],
        "drawings": [asdict(one) for one in drawings],
    }
    return typst.Compiler(
        str(folder / _LAYOUT),
        root=str(folder),
        font_paths=[str(folder / _FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"dyno": json.dumps(data, ensure_ascii=False, sort_keys=True)},
    )
