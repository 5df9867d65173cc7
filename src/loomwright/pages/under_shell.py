"""What does the page under the dash need before it knows of any job: its files, the shades of insulation?"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from loomwright.pages.rendering import environment
from loomwright.writers.paper_paint import PAINT

__all__ = ["UnderPage", "shell_files", "under_page"]

_STATIC = Path(str(resources.files("loomwright.pages").joinpath("static")))
_STYLES = ("css/tokens.css", "css/type.css", "css/under.css")
_FONTS = ("SourceSans3-Regular", "SourceSans3-SemiBold", "SourceCodePro-Regular", "SourceCodePro-SemiBold")
_OTHERS = ("js/grid/insulation.js", "js/touch.js", "js/taking.js", "under.svg")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderPage:
    """The page. paint: shades by code of insulation, as JSON.   styles: its style sheets, in order."""

    paint: str
    styles: tuple[str, ...]


def under_page() -> UnderPage:
    """The page without a job: it finds out by itself which one it is of."""
    return UnderPage(paint=json.dumps(dict(PAINT)), styles=_STYLES)


def shell_files() -> Iterator[tuple[str, str, bytes]]:
    """Every file of the page: address, name and bytes; the worker's own script and the template have no address."""
    static = environment().globals["static"]
    for name in _STYLES:
        yield str(static(name)), name, (_STATIC / name).read_bytes()  # type: ignore[operator]
    scripts = sorted((_STATIC / "js" / "under").glob("*.js"))
    for path in scripts:
        yield ("" if path.name == "worker.js" else f"/static/js/under/{path.name}"), path.name, path.read_bytes()
    for name in _OTHERS:
        yield f"/static/{name}", name, (_STATIC / name).read_bytes()
    for font in _FONTS:
        yield f"/fonts/{font}.ttf", font, b""
    template = _STATIC.parent / "templates" / "under.html"
    yield "", "under.html", template.read_bytes()
