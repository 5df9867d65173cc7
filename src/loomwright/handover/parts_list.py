"""What has to be bought, what stays in the car, what comes from a donor, and what is still open?

In: the job with what was decided filled in. Out: the parts by where they come from, then by kind; what is new as a list
for the counter, alike things together (fuses by family and rating, connectors by family and ways, crimps, seals and
plugs for empty cavities counted); and what nobody has settled yet: figures taken provisionally, open snags, questions
for the owner.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from loomwright.findings import id_order
from loomwright.handover.connector_faces import ConnectorFace
from loomwright.handover.pack_records import BuyLine, OpenLine, PartLine, PartsList
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.loom.counter_words import counter_words, kind_words, settings_words
from loomwright.tables.kinds import Kind

__all__ = ["BuyLine", "OpenLine", "PartLine", "PartsList", "parts_list"]

_FITTED = ("new", "donor", "kept", "removed")
_DONE = "done"


def parts_list(
    job: Job, kinds: Mapping[str, Kind], connectors: Sequence[ConnectorFace], provisional: Sequence[str]
) -> PartsList:
    """The parts list of a job.

    Args:
        connectors: their faces, for the cavities that stay empty.
        provisional: what was taken because the sheets leave it open.
    """
    places = {place.id: place.name or place.id for place in job.places}
    order = {word: place for place, word in enumerate(_FITTED)}
    told = sorted(job.parts, key=lambda part: (order.get(part.fitted, 0), kind_words(part, kinds), id_order(part.id)))
    return PartsList(
        parts=tuple(
            PartLine(
                id=part.id,
                name=part.name,
                kind=kind_words(part, kinds),
                what=settings_words(part, kinds),
                place=places.get(part.place, part.place),
                fitted=part.fitted,
                notes=part.notes,
            )
            for part in told
        ),
        buy=tuple(_buy(job, kinds, told, connectors)),
        open=tuple(_open(job, provisional)),
        settled=tuple(one for one in _asked(job) if one.status == _DONE),
    )


def _buy(
    job: Job, kinds: Mapping[str, Kind], parts: Iterable[Part], connectors: Sequence[ConnectorFace]
) -> Iterable[BuyLine]:
    new = [part for part in parts if part.fitted == "new"]
    yield from _counted((counter_words(part, kinds), part.id) for part in new)
    fitted = {part.id for part in new}
    mine = [row for row in job.connectors if row.part in fitted]
    yield from _counted((_connector(row.family, row.ways, row.side), row.id) for row in mine)
    wires = [wire for wire in job.wires if wire.fitted == "new"]
    for word, pairs in (
        ("terminal", [(wire.id, name) for wire in wires for name in (wire.terminal_from, wire.terminal_to)]),
        ("seal", [(wire.id, name) for wire in wires for name in (wire.seal_from, wire.seal_to)]),
    ):
        yield from _counted((f"{word} {name}", wire) for wire, name in pairs if name)
    faces = {face.id: face for face in connectors}
    empty = [(row, sum(not cavity.wires for cavity in faces[row.id].cavities)) for row in mine if row.id in faces]
    families = dict.fromkeys(row.family for row, count in empty if count)
    for family in families:
        rows = [(row.id, count) for row, count in empty if row.family == family and count]
        yield BuyLine(
            item=f"cavity plug, {family or 'connector family not given'}",
            count=sum(count for _, count in rows),
            ids=tuple(name for name, _ in rows),
        )


def _connector(family: str, ways: int | None, side: str) -> str:
    pieces = ("connector", family or "family not given", f"{ways} ways" if ways else "ways not given", side)
    return ", ".join(piece for piece in pieces if piece)


def _counted(pairs: Iterable[tuple[str, str]]) -> Iterable[BuyLine]:
    found: dict[str, list[str]] = {}
    for item, name in pairs:
        found.setdefault(item, []).append(name)
    for item, names in found.items():
        yield BuyLine(item=item, count=len(names), ids=tuple(dict.fromkeys(names)))


def _open(job: Job, provisional: Sequence[str]) -> Iterable[OpenLine]:
    yield from (one for one in _asked(job) if one.status != _DONE)
    for says in provisional:
        yield OpenLine(what="figure", id="", says=says, stage="", status="taken provisionally")


def _asked(job: Job) -> Iterable[OpenLine]:
    """The snags and the questions for the owner, settled or not."""
    for snag in job.snags:
        about = " ".join(snag.about)
        status = snag.status or "open"
        yield OpenLine(what="snag", id=snag.id, says=snag.text, stage=snag.stage, status=status, about=about)
    for row in job.questions:
        yield OpenLine(
            what="question",
            id=row.id,
            says=row.text,
            stage=row.stage,
            status=row.status or "open",
            about=" ".join(row.about),
            answer=row.answer,
        )
