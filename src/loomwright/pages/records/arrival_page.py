"""What does the page of arrival say: the vehicle, the owner's wishes with what each costs, and the quote?

In: a snapshot, and its quote where its rows make a job. Out: what the template places. The vehicle and the shop's terms
are rows of one sheet; each has a field, whether or not its row is there yet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.handover.cautions import cautions_on_arrival
from loomwright.handover.quote_lines import MaterialRow, PartSheet, QuoteSheet, StageRow, WishRow, quote_sheet
from loomwright.handover.quote_records import Quote
from loomwright.handover.records import Caution
from loomwright.job.vehicle import SYSTEM_VOLTAGES_V, allowed_as
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.entry_form import Ask, EntryField, EntryForm, Returned, entry_form, new_token
from loomwright.store.snapshot import Snapshot

__all__ = [
    "CHANGE_ASKS",
    "CHANGE_NAMES",
    "VEHICLE_FORM",
    "VEHICLE_NAMES",
    "WISH_ASKS",
    "WISH_NAMES",
    "ArrivalPage",
    "PartShown",
    "StageShown",
    "WishShown",
    "arrival_page",
]

VEHICLE_FORM = "vehicle-all"
"""What the form of the vehicle is called."""

_CAR = (
    ("title", "Title", "line"),
    ("owner", "Owner", "line"),
    ("plate", "Plate", "line"),
    ("odometer", "Odometer", "line"),
    ("arrived", "Came in", "line"),
    ("promised", "Promised for", "line"),
    ("system_voltage", "System", "choice"),
    ("earth", "Earth on the", "choice"),
    ("design_ambient_c", "Hottest day", "figure"),
    ("cranking_ambient_c", "Coldest start", "figure"),
    ("notes", "Notes", "lines"),
)
_TERMS = (
    ("currency", "Prices in", "line"),
    ("rate_per_hour", "An hour costs", "figure"),
    ("material_margin_percent", "Margin on materials", "figure"),
    ("tax_percent", "Tax", "figure"),
    ("materials_factor", "Materials come to so many times the stock's prices", "figure"),
)
VEHICLE_NAMES = tuple(name for name, _, _ in (*_CAR, *_TERMS))
"""The properties that have a field on the page."""

_CHOICES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "system_voltage": (("", "12 V, as usual"), *((f"{volts:g}", f"{volts:g} V") for volts in SYSTEM_VOLTAGES_V)),
    "earth": (("", "negative, as usual"), ("negative", "negative"), ("positive", "positive")),
}

WISH_NAMES = ("id", "text", "included", "circuits", "parts", "stage", "minutes", "price", "notes")
"""The columns that the form of a wish asks for."""

WISH_ASKS = (
    Ask(name="text", label="The wish", shape="lines", wide=True, help="-"),
    Ask(name="included", label="In the job", shape="choice", blank="asked", help="-"),
    Ask(name="circuits", label="Circuits it makes", help="ids, apart by spaces; their wires and parts are counted"),
    Ask(name="parts", label="Parts beside those", help="ids, apart by spaces; wires on them are counted"),
    Ask(name="minutes", label="Work beside the sheets", shape="figure", help="in minutes, or with its unit: 3 h"),
    Ask(name="stage", label="Its stage", shape="choice", blank="loom", help="-"),
    Ask(name="price", label="Price beside the sheets", shape="figure", help="of what no other sheet holds"),
    Ask(name="notes", label="Notes", wide=True, help="-"),
)

CHANGE_NAMES = ("revision", "who", "why", "price", "time")
"""The columns that the form of a change asks for."""

CHANGE_ASKS = (
    Ask(name="why", label="What changed, and why", shape="lines", wide=True, help="-"),
    Ask(name="price", label="Price", shape="figure", help="less where it saves: -85; blank where none is agreed yet"),
    Ask(name="who", label="Who asked for it", help="-"),
    Ask(name="time", label="When", help="-"),
)

_SCALE = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WishShown:
    """One wish. row: with its cost.   unknown: its cost is not known, since the sheets do not make a job yet.

    about: its circuits and parts.   was: what stands in the cell `included`.
    """

    key: int
    row: WishRow
    unknown: bool
    about: tuple[str, ...]
    was: str
    notes: str
    form: EntryForm


@dataclass(frozen=True, slots=True, kw_only=True)
class StageShown:
    """One stage with its bar.

    least, usual, most: of its hours, to the width of the drawing. [-]
    """

    row: StageRow
    least: float
    usual: float
    most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartShown:
    """One part of the quote. pdf: its paper."""

    sheet: PartSheet
    stages: tuple[StageShown, ...]
    materials: tuple[MaterialRow, ...]
    pdf: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ArrivalPage:
    """The page of arrival.

    facts: of the vehicle, name and value.   vehicle, terms: fields, one form.   is_new: nothing of it is written yet.
    quote: None where the sheets do not make a job yet.   problems: how many cells stand in the way then. [-]
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    vehicle: EntryForm
    terms: tuple[EntryField, ...]
    is_open: bool
    wishes: tuple[WishShown, ...]
    wish: EntryForm
    switch: str
    token: str
    quote: QuoteSheet | None
    parts: tuple[PartShown, ...]
    pdf: str
    change: EntryForm
    price_to: str
    price_back: Returned | None
    problems: int
    findings: str
    questions: str
    photos: str
    cautions: tuple[Caution, ...]
    minutes_sheet: str
    links: JobLinks


def arrival_page(
    snapshot: Snapshot,
    quote: Quote | None,
    links: JobLinks,
    *,
    today: str,
    back: Returned | None = None,
) -> ArrivalPage:
    """The page of arrival.

    Args:
        quote: None where the rows do not make a job yet.
        today: the day that is likely.
        back: a form that was not taken.
    """
    here = job_path(snapshot.name, "arrival")
    named = {row.cells.get("name", ""): row.cells.get("value", "") for row in snapshot.rows.get("vehicle", ())}
    sheet = None if quote is None else quote_sheet(quote)
    fields = tuple(_field(name, label, shape, named, back) for name, label, shape in (*_CAR, *_TERMS))
    is_back = back is not None and back.form == VEHICLE_FORM
    return ArrivalPage(
        title=named.get("title") or snapshot.name,
        facts=_facts(named),
        vehicle=EntryForm(
            id=VEHICLE_FORM,
            action=f"{here}/vehicle",
            row="",
            token=new_token(),
            back=here,
            fields=fields[: len(_CAR)],
            says=back.says if is_back and back is not None else "",
            is_back=is_back,
        ),
        terms=fields[len(_CAR) :],
        is_open=is_back or not (named.get("title") and named.get("owner")),
        wishes=_wishes(snapshot, sheet, here, back),
        wish=entry_form("wishes", WISH_ASKS[:4], action=f"{here}/wish", page=here, back=back),
        switch=f"{here}/included",
        token=new_token(),
        quote=sheet,
        parts=() if sheet is None else _parts(sheet, here),
        pdf=f"{here}/quote.pdf",
        change=entry_form("changes", CHANGE_ASKS, action=f"{here}/change", page=here, back=back, usual={"time": today}),
        price_to=f"{here}/price",
        price_back=back if back is not None and back.form == "price" else None,
        problems=len(snapshot.problems),
        findings=links.findings(),
        questions=links.page_named("questions"),
        photos=links.page_named("photos"),
        cautions=tuple(replace(one, says=one.says.replace("This paper", "This page")) for one in cautions_on_arrival()),
        minutes_sheet=links.sheet("vehicle"),
        links=links,
    )


def _facts(named: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    told = [
        (label, named.get(name, ""))
        for name, label, _ in _CAR
        if name in ("owner", "plate", "odometer", "arrived", "promised")
    ]
    volts, earth = named.get("system_voltage") or "12", named.get("earth") or "negative"
    told.append(("System", f"{volts.removesuffix('V').strip()} V, {earth} earth"))
    return tuple((label, value) for label, value in told if value)


def _field(name: str, label: str, shape: str, named: Mapping[str, str], back: Returned | None) -> EntryField:
    mine = back if back is not None and back.form == VEHICLE_FORM else None
    stands = named.get(name, "")
    value = stands if mine is None else mine.typed.get(name, stands)
    choices = _CHOICES.get(name, ())
    if choices and value not in {known for known, _ in choices}:
        choices = ((value, value), *choices)
    return EntryField(
        name=name,
        label=label,
        shape=shape,
        help=allowed_as(name),
        wide=name in ("title", "notes"),
        value=value,
        was=stands,
        choices=choices,
        told="" if mine is None else mine.told.get(name, ""),
        theirs=None if mine is None else mine.theirs.get(name),
    )


def _wishes(snapshot: Snapshot, sheet: QuoteSheet | None, here: str, back: Returned | None) -> tuple[WishShown, ...]:
    costs = {} if sheet is None else {wish.id: wish for wish in sheet.wishes}
    found = []
    for row in snapshot.rows.get("wishes", ()):
        cells = row.cells
        if not cells:
            continue
        included = cells.get("included", "") or "asked"
        unknown = cells.get("id", "") not in costs
        found.append(
            WishShown(
                key=row.key,
                row=costs.get(cells.get("id", "")) or _bare(cells, included),
                unknown=unknown,
                about=tuple(f"{cells.get('circuits', '')} {cells.get('parts', '')}".split()),
                was=cells.get("included", ""),
                notes=cells.get("notes", ""),
                form=entry_form(
                    "wishes", WISH_ASKS, action=f"{here}/wish", page=here, cells=cells, row=row.key, back=back
                ),
            )
        )
    return tuple(found)


def _bare(cells: Mapping[str, str], included: str) -> WishRow:
    """A wish whose cost is not known."""
    return WishRow(
        id=cells.get("id", ""),
        text=cells.get("text", ""),
        included=included,
        status="",
        made="",
        hours="",
        price="",
        missing="",
        says="",
        nothing=False,
    )


def _parts(sheet: QuoteSheet, here: str) -> tuple[PartShown, ...]:
    longest = max((stage.most_minutes for part in sheet.parts for stage in part.stages), default=1.0) or 1.0
    return tuple(
        PartShown(
            sheet=part,
            stages=tuple(
                StageShown(
                    row=stage,
                    least=round(stage.least_minutes / longest * _SCALE, 1),
                    usual=round(stage.usual_minutes / longest * _SCALE, 1),
                    most=round(stage.most_minutes / longest * _SCALE, 1),
                )
                for stage in part.stages
            ),
            materials=part.materials,
            pdf=f"{here}/quote.pdf?part={part.part}",
        )
        for part in sheet.parts
    )
