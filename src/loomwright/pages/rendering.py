"""How does a page record become a page?

One Jinja environment: everything is escaped, a name that is not there is a mistake and not a blank, templates place and
do not compute. `page` adds the frame: the job's name, its revision, its nine stages with what is left in each.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources
from pathlib import Path

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from loomwright.findings import Finding, says
from loomwright.instruments.meter import CAUTIONS
from loomwright.pages.addresses import JobLinks, things_of
from loomwright.pages.desk import desk_of
from loomwright.pages.doors.doorway import visitor_of
from loomwright.pages.doors.once import FIELD, new_once
from loomwright.pages.records.frame import Frame, frame_of
from loomwright.quantities import unit_word
from loomwright.quantities.printing import Side, for_print
from loomwright.refusals import OutOfReach
from loomwright.startup.first_start import EMERGENCY
from loomwright.store.snapshot import Snapshot
from loomwright.writers.paper_paint import PAINT

__all__ = ["Paint", "environment", "links_of", "page", "paint_of"]

_ROOM = Path(str(resources.files("loomwright.pages")))
_FORM = re.compile(r'<form\b[^>]*\bmethod="post"[^>]*>')
_LOOKS = {"look": ("light", "dark"), "size": ("large",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """How insulation looks. base, tracer: shades; the tracer empty where there is none."""

    base: str
    tracer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What the reader chose. look: light, dark, or empty for what the machine says. size: large or empty.

    here: the address that a choice comes back to.
    """

    look: str
    size: str
    here: str


def page(
    request: Request, template: str, record: object, *, snapshot: Snapshot | None = None, status: int = 200
) -> HTMLResponse:
    """A page of a record.

    Args:
        template: its file under `templates`.
        record: what the template places, there under the name `record`.
        snapshot: of the job the page belongs to; the heading strip and links need it.
        status: of the answer. [-]
    """
    text = (
        environment()
        .get_template(template)
        .render(
            record=record,
            frame=_frame(request, snapshot) if snapshot is not None else None,
            look=_look(request),
            visitor=visitor_of(request),
        )
    )
    return HTMLResponse(_FORM.sub(_with_once, text), status_code=status)


def links_of(request: Request, snapshot: Snapshot) -> JobLinks:
    """The addresses of a job's things, as far as there are pages for them."""
    return JobLinks(job=snapshot.name, offered=request.app.state.offered, things=things_of(snapshot))


def paint_of(colour: str) -> Paint | None:
    """The shades of a colour of insulation; None where it is none that is known.

    Example:
        >>> paint_of("WH/BU"), paint_of("")
        (Paint(base='#ffffff', tracer='#2a5fae'), None)
    """
    base, _, tracer = colour.partition("/")
    shades = (*PAINT.get(base, ()), *PAINT.get(tracer, ()))
    return Paint(base=shades[0], tracer=shades[1] if len(shades) > 1 else "") if base in PAINT else None


def _with_once(form: re.Match[str]) -> str:
    """A form with a word of its own, by which it counts once."""
    return f'{form[0]}<input type="hidden" name="{FIELD}" value="{new_once()}">'


def _frame(request: Request, snapshot: Snapshot) -> Frame:
    desk = desk_of(request)
    newest = desk.shelf.now(snapshot.name)
    # an older revision is not checked for its own sake: that would stop the check of the newest
    standing = desk.bench.look(newest)
    return frame_of(
        snapshot,
        standing=standing,
        links=links_of(request, snapshot),
        path=request.url.path,
        sought=request.query_params.get("q", ""),
        is_newest=newest.revision == snapshot.revision,
    )


def _look(request: Request) -> Look:
    chosen = {name: request.cookies.get(name, "") for name in _LOOKS}
    known = {name: text if text in _LOOKS[name] else "" for name, text in chosen.items()}
    query = request.url.query
    here = request.url.path + (f"?{query}" if query else "") if request.method == "GET" else "/"
    return Look(look=known["look"], size=known["size"], here=here)


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, and what they may ask for."""
    made = Environment(
        loader=FileSystemLoader(_ROOM / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "printed": _printed,
        "unit_sign": _unit_sign,
        "grouped": _grouped,
        "clock": _clock,
        "paint": paint_of,
        "told": _told,
        "ticked": _ticked,
    }
    made.globals["static"] = _static
    made.globals["emergency"] = EMERGENCY
    made.globals["meter_cautions"] = CAUTIONS
    return made


def _static(path: str) -> str:
    """The address of a file that ships along; it changes when the file does, so a browser may keep it."""
    file = _ROOM / "static" / path
    return f"/static/{path}?v={_digest(path, file.stat().st_mtime_ns)}"


@lru_cache(maxsize=256)
def _digest(path: str, _changed_ns: int) -> str:
    return hashlib.sha256((_ROOM / "static" / path).read_bytes()).hexdigest()[:10]


def _printed(value: object, side: Side = "near") -> str:
    return for_print(float(value), side=side) if isinstance(value, int | float) else str(value)


def _unit_sign(unit: str) -> str:
    try:
        return unit_word(unit)
    except OutOfReach:
        return unit


def _grouped(number: int) -> str:
    """A large count with its thousands apart."""
    return f"{number:,}".replace(",", "\u202f")


def _clock(time: str) -> str:
    """A time of the shelf as people read it: day and minute."""
    return time.replace("T", " ")[:16]


def _told(finding: Finding) -> Markup:
    """The finding as a sentence; its mend stands on a line of its own."""
    return _ticked(says(replace(finding, mend="")))


def _ticked(text: str) -> Markup:
    """Words that the core sets in back-ticks are words of the sheets: set in the face of ids."""
    pieces = [escape(piece) for piece in text.split("`")]
    if len(pieces) % 2 == 0:
        return escape(text)
    return Markup("").join(
        Markup("<code>{}</code>").format(piece) if place % 2 else piece for place, piece in enumerate(pieces)
    )
