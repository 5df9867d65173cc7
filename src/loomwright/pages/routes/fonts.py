"""The fonts of the papers, given to the browser as well: one copy serves both."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter
from fastapi import Path as InPath
from fastapi.responses import FileResponse

from loomwright.refusals import OutOfReach

__all__ = ["router"]

router = APIRouter()

_FONTS = Path(str(resources.files("loomwright.writers").joinpath("fonts")))
_KEPT_S = 31_536_000
FontName = Annotated[str, InPath(max_length=60)]


@router.get("/fonts/{name}", include_in_schema=False)
def font(name: FontName) -> FileResponse:
    """One font, or its licence.

    Raises:
        OutOfReach: there is none of that name.
    """
    known = {file.name: file for file in _FONTS.iterdir() if file.suffix in (".ttf", ".txt")}
    if name not in known:
        raise OutOfReach("font", name, " ".join(sorted(known)))
    kind = "font/ttf" if name.endswith(".ttf") else "text/plain; charset=utf-8"
    return FileResponse(
        known[name], media_type=kind, headers={"Cache-Control": f"public, max-age={_KEPT_S}, immutable"}
    )
