"""What will the job cost its owner: strip and survey first, the rest after it, and each wish by itself?

In: the job with what was decided filled in, its kinds and routes. Out: a `Quote`. Hours are what there is to do times
the minutes each takes (typical, until the shop sets its own); materials are what is to be bought at the prices of the
stock sheet. Every figure is a range, each operation going well or badly for itself (`quote_records.together`).

    work = hours * rate      sum = (work + materials + margin on materials + what wishes name) * (1 + tax)

No rate, no sum; no margin or tax unless the shop sets one; what has no price is listed and the sum says so. Only wishes
that are in the job count; one that is asked for shows what it would add.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, cast

from loomwright.handover.quote_materials import materials_of
from loomwright.handover.quote_records import (
    AgreedChange,
    MaterialLine,
    PartName,
    Priced,
    Quote,
    QuotePart,
    StageWork,
    WishCost,
    together,
)
from loomwright.handover.quote_says import left_out_of, sure_of
from loomwright.handover.quote_wishes import only_wished
from loomwright.handover.quote_work import pins_of, with_routed_lengths, work_of
from loomwright.job.job import Job
from loomwright.job.rows import Wish
from loomwright.job.shop_terms import ShopTerms, shop_terms_of
from loomwright.job.vehicle import vehicle_of
from loomwright.routes.records import Routes
from loomwright.tables.kinds import Kind
from loomwright.tables.work_minutes import Minutes

__all__ = ["PART_STAGES", "PART_TITLES", "quote_of"]

PART_STAGES: Mapping[PartName, tuple[str, ...]] = {
    "one": ("arrival", "survey"),
    "two": ("plan", "loom", "prove", "first start", "calibrate", "gearbox", "handover"),
}
"""Part -> the stages whose hours it holds."""

PART_TITLES: Mapping[PartName, str] = {"one": "Strip and survey", "two": "The rest"}
"""Part -> what it is called."""

_HOUR_MINUTES = 60.0
_MILLI = 1000.0


def quote_of(job: Job, kinds: Mapping[str, Kind], routes: Routes) -> Quote:
    """The quote of a job.

    Args:
        job: with what was decided filled in.
        routes: which runs its wires follow; they give the lengths nobody typed.
    """
    job = with_routed_lengths(job, routes)
    terms = shop_terms_of(job)
    wanted = frozenset(wish.id for wish in job.wishes if wish.included == "yes")
    told = _Told(job, kinds, routes, terms)
    base = told.with_wishes(wanted)
    named = {row.name: row.value for row in job.vehicle}
    parts = tuple(_part(name, base, terms, wanted) for name in PART_STAGES)
    wishes = tuple(_wish_cost(wish, told, wanted) for wish in job.wishes)
    changes = tuple(
        AgreedChange(revision=row.revision, time=row.time, who=row.who, why=row.why, price=row.price)
        for row in job.changes
    )
    return Quote(
        title=vehicle_of(job).title or "job without a title",
        owner=named.get("owner", ""),
        plate=named.get("plate", ""),
        currency=terms.currency,
        rate_price=terms.rate_price,
        margin_frac=terms.margin_frac,
        tax_frac=terms.tax_frac,
        parts=parts,
        wishes=wishes,
        changes=changes,
        agreed_price=sum(row.price for row in changes if row.price is not None),
        sure=sure_of(base.job, parts, terms),
        left_out=left_out_of(wishes, parts),
    )


class _Counted:
    """A job with some wishes, counted: its work and its materials."""

    def __init__(self, told: _Told, wanted: frozenset[str]) -> None:
        self.job = only_wished(told.job, wanted)
        self.wished = tuple(wish for wish in told.job.wishes if wish.id in wanted)
        own = tuple((wish.stage, _exactly(wish.minutes)) for wish in self.wished if wish.minutes)
        self.work: tuple[StageWork, ...] = work_of(self.job, told.kinds, told.routes, told.terms, own)
        self.materials: tuple[MaterialLine, ...] = materials_of(self.job, told.kinds)
        self.material_price = _known_price(self.materials, told.terms)
        self.pins = pins_of(self.job, told.kinds)


class _Told:
    """A job, counted with one set of wishes after another; each set once."""

    def __init__(self, job: Job, kinds: Mapping[str, Kind], routes: Routes, terms: ShopTerms) -> None:
        self.job, self.kinds, self.routes, self.terms = job, kinds, routes, terms
        self._known: dict[frozenset[str], _Counted] = {}

    def with_wishes(self, wanted: frozenset[str]) -> _Counted:
        if wanted not in self._known:
            self._known[wanted] = _Counted(self, wanted)
        return self._known[wanted]


def _part(name: PartName, counted: _Counted, terms: ShopTerms, wanted: frozenset[str]) -> QuotePart:
    stages = tuple(stage for stage in counted.work if stage.stage in PART_STAGES[name])
    materials = counted.materials if name == "two" else ()
    own = [wish for wish in counted.wished if wish.id in wanted and wish.price is not None]
    own_price = sum(wish.price or 0.0 for wish in own if _part_of(wish) == name)
    material_price = _known_price(materials, terms)
    margin_price = None if terms.margin_frac is None else material_price * terms.margin_frac
    work = _work_price(together(stage.all for stage in stages), terms)
    bare = None if work is None else work.plus(material_price + (margin_price or 0.0) + own_price)
    tax = None if bare is None or terms.tax_frac is None else bare.times(terms.tax_frac)
    return QuotePart(
        part=name,
        title=PART_TITLES[name],
        stages=stages,
        materials=materials,
        work=work,
        material_price=material_price,
        material_factor=terms.materials_factor,
        margin_price=margin_price,
        own_price=own_price,
        tax=tax,
        sum=bare if bare is None or terms.tax_frac is None else bare.times(1.0 + terms.tax_frac),
    )


def _wish_cost(wish: Wish, told: _Told, wanted: frozenset[str]) -> WishCost:
    """The job with the wish less the job without it, all others as they are."""
    more, less = told.with_wishes(wanted | {wish.id}), told.with_wishes(wanted - {wish.id})
    minutes = _more_work(more.work, less.work)
    material_price = more.material_price - less.material_price
    own_price = wish.price or 0.0
    margin = told.terms.margin_frac or 0.0
    work = _work_price(minutes, told.terms)
    bare = None if work is None else work.plus(material_price * (1.0 + margin) + own_price)
    there, gone = ({wire.id: wire for wire in one.job.wires} for one in (more, less))
    wires = [wire for name, wire in there.items() if name not in gone and wire.fitted == "new"]
    return WishCost(
        id=wish.id,
        text=wish.text,
        included=cast(Literal["yes", "no", "asked"], wish.included),
        circuits=wish.circuits,
        pins=len(more.pins) - len(less.pins),
        wires=len(wires),
        parts=_fitted(more.job) - _fitted(less.job),
        wire_m=sum(wire.length_mm or 0.0 for wire in wires) / _MILLI,
        minutes=minutes,
        material_price=material_price + own_price,
        price=None if bare is None else bare.times(1.0 + (told.terms.tax_frac or 0.0)),
        no_price=len(_no_price(more.materials)) - len(_no_price(less.materials)),
        notes=wish.notes,
    )


def _more_work(more: tuple[StageWork, ...], less: tuple[StageWork, ...]) -> Minutes:
    """The work that comes on top, operation by operation."""
    lines = {line.operation: line for stage in more for line in stage.lines if line.set_by != "wish"}
    there = {line.operation: line.count for stage in less for line in stage.lines}
    counted = [line.each.times(line.count - there.get(name, 0.0)) for name, line in lines.items()]
    own = [
        sum(line.all.usual_minutes for stage in one for line in stage.lines if line.set_by == "wish")
        for one in (more, less)
    ]
    return together([*counted, _exactly(own[0] - own[1])])


def _part_of(wish: Wish) -> PartName:
    return "one" if wish.stage in PART_STAGES["one"] else "two"


def _exactly(minutes: float | None) -> Minutes:
    """What a person wrote as one figure: its least and its most are the same."""
    told = minutes or 0.0
    return Minutes(least_minutes=told, usual_minutes=told, most_minutes=told)


def _fitted(job: Job) -> int:
    return sum(part.fitted in ("new", "donor") for part in job.parts)


def _known_price(materials: tuple[MaterialLine, ...], terms: ShopTerms) -> float:
    return terms.materials_factor * sum(line.price for line in materials if line.price is not None)


def _no_price(materials: tuple[MaterialLine, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((line.item, name) for line in materials if line.price is None for name in line.ids)


def _work_price(minutes: Minutes, terms: ShopTerms) -> Priced | None:
    if terms.rate_price is None:
        return None
    hour = terms.rate_price / _HOUR_MINUTES
    return Priced(
        least_price=minutes.least_minutes * hour,
        usual_price=minutes.usual_minutes * hour,
        most_price=minutes.most_minutes * hour,
    )
