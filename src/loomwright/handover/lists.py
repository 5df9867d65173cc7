"""Which lists does the pack hold, as plain rows of text?

In: a `Pack`. Out: one list for each that is printed, with the same figures in the same order: what a workbook, or
anything else that keeps rows, is filled from. Columns of figures are named, so that they may be kept as numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.handover.pack import Pack
from loomwright.handover.records import FindingEntry, WireMark
from loomwright.handover.wire_ends import WireEnd

__all__ = ["PackList", "label_rows", "lists_of"]

Cells = tuple[str, ...]
_YES = "yes"
_OPS = {"set": "cell", "add": "row added", "drop": "row taken out"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PackList:
    """One list. name: short, for a tab. headings: of its columns. figures: headings whose cells are figures."""

    name: str
    headings: Cells
    rows: tuple[Cells, ...]
    figures: Cells = ()


def lists_of(pack: Pack) -> tuple[PackList, ...]:
    """The lists of a pack in the order in which they are printed; one with no rows is left out, the cover never."""
    paper = pack.paper
    told = (
        _list("cover", "what|is", _cover(pack)),
        _list("cautions", "step|what to do|can kill", ((c.step, c.says, _yes(c.kills)) for c in paper.cautions)),
        _list("findings", "severity|rule|at|when|what|mend|way of the current|goes with", _findings(paper.findings)),
        _wires(pack),
        *_cuts(pack),
        *_crimps(pack),
        *_redo(pack),
        *_boxes(pack),
        _connectors(pack),
        _pins(pack),
        *_tests(pack),
        _list("labels", "wire|end|here|there|colour|size|circuit", label_rows(pack)),
        *_earths(pack),
        *_parts(pack),
        _list(
            "decided",
            "note|cell|decided|limit that ruled|why|how to ask",
            (
                (str(note.number), one.cell, one.value, note.limit, one.says, f"loomwright why JOB {one.cell}")
                for note in pack.notes
                for one in note.cells
            ),
        ),
        *_numbers(pack),
        *_open(pack),
        _owner(pack),
        *_revisions(pack),
    )
    return tuple(one for one in told if one.rows)


def label_rows(pack: Pack) -> Iterable[Cells]:
    """The labels, one row an end."""
    return ((one.wire, one.end, one.here, one.there, one.colour, one.size, one.circuit) for one in pack.labels)


def _list(name: str, headings: str, rows: Iterable[Cells], figures: str = "") -> PackList:
    return PackList(
        name=name,
        headings=tuple(headings.split("|")),
        rows=tuple(rows),
        figures=tuple(figures.split("|")) if figures else (),
    )


def _cover(pack: Pack) -> Iterable[Cells]:
    title = pack.paper.title
    yield "job", title.title
    yield "revision", title.revision
    yield "date", title.date or "not given"
    yield from title.facts
    yield "the check", pack.paper.verdict
    yield from (("can kill", f"{one.step}: {one.says}") for one in pack.paper.cautions if one.kills)


def _findings(entries: Sequence[FindingEntry], above: str = "") -> Iterable[Cells]:
    for one in entries:
        yield one.severity, one.rule, one.label, one.when, one.says, one.mend, " – ".join(one.path), above
        yield from _findings(one.folded, f"{one.rule} {one.label}")


def _wires(pack: Pack) -> PackList:
    limits = {note.number: note.limit for note in pack.notes}
    rows = (
        (
            one.mark.id,
            one.circuit,
            one.mark.colour,
            one.size or "open",
            one.start,
            one.end,
            one.length or "open",
            one.insulation,
            one.group,
            one.crimps,
            one.notes,
            limits.get(one.size_note, ""),
            limits.get(one.length_note, ""),
        )
        for one in pack.paper.wires
    )
    headings = "wire|circuit|colour|size mm²|from|to|length mm|insulation|cable, twist|terminal + seal, from / to|notes"
    return _list("wires", f"{headings}|size decided by|length decided by", rows, "size mm²|length mm")


def _cuts(pack: Pack) -> Iterable[PackList]:
    cuts = pack.cuts
    yield _list(
        "reels",
        "colour|size mm²|insulation|pieces|needed|on the shelf|so",
        ((r.colour, r.size, r.insulation, str(r.pieces), r.needed, r.held, r.verdict) for r in cuts.reels),
        "size mm²|pieces",
    )
    yield _list(
        "cuts",
        "colour|mm²|wire|cut mm|from|to|length mm|twist|insulation|cut already",
        (
            (r.colour, r.size, c.wire, c.cut, c.start, c.end, c.length, c.twist, r.insulation, _yes(c.done))
            for r in cuts.reels
            for c in r.cuts
        ),
        "mm²|cut mm|length mm",
    )
    yield _list(
        "cables and twists",
        "name|what|cut mm|wires",
        ((one.id, one.what, one.cut, " ".join(one.wires)) for one in (*cuts.cables, *cuts.twists)),
        "cut mm",
    )
    yield _list(
        "length not known",
        "wire|colour|size mm²|from|to",
        ((one.wire, one.colour, one.size, one.start, one.end) for one in cuts.unmeasured),
        "size mm²",
    )


def _redo(pack: Pack) -> Iterable[PackList]:
    rows = ((one.wire, one.does, one.says, one.since, one.minutes) for one in pack.redo.rows)
    yield _list("built already", "wire|do|why|built from|min", rows, "min")
    yield _list("proofs again", "proof", ((one,) for one in pack.redo.proofs))


def _boxes(pack: Pack) -> Iterable[PackList]:
    yield _list(
        "fuses",
        "fuse|rating|colour|family|for|where|box|way|feeds|most|warms like|goes dead",
        (
            (
                *(one.id, one.rating, one.colour, one.family, one.name, one.at, one.box, one.way),
                *(" ".join(one.feeds), one.most, one.warms, " ".join(one.dies)),
            )
            for one in pack.paper.fuses
        ),
    )
    yield _list(
        "relays",
        "relay|for|kind|where|coil from|coil to|contact|feeds|most|rating|stops|remark",
        (
            (
                *(one.id, one.name, one.kind, one.place, one.coil_from, one.coil_to, contact.terminals),
                *(" ".join(contact.feeds), contact.most, contact.rating, " ".join(one.stops), one.remark),
            )
            for one in pack.relays
            for contact in one.contacts
        ),
    )


def _connectors(pack: Pack) -> PackList:
    rows = []
    for face in pack.connectors:
        for one in face.cavities:
            place = (str(one.row), str(one.column)) if face.known else ("", "")
            about = (face.part, face.family, face.mates, " ".join(face.dies))
            ends: tuple[WireEnd | None, ...] = one.wires or (None,)
            for end in ends:
                wire = (end.wire, end.colour, end.size, end.there) if end else ("empty, plug", "", "", "")
                crimp = end.crimp if end else ""
                rows.append((face.id, str(one.number), one.terminal, *wire, one.signal, crimp, *place, *about))
    headings = (
        "connector|cavity|terminal|wire|colour|mm²|goes to|signal|terminal + seal|row, wire side|column, wire side"
    )
    figures = "cavity|mm²|row, wire side|column, wire side"
    return _list("connectors", f"{headings}|part|family|mates|goes dead unplugged", rows, figures)


def _tests(pack: Pack) -> Iterable[PackList]:
    yield _list(
        "dead tests",
        "at|wire|colour|mm²|probe at|other end|end to end|read, whole|to the body|through|read, to the body|passed",
        (
            (
                *(here.title, one.mark.id, one.mark.colour, one.size, one.near, one.far, one.whole, ""),
                *(one.to_body, one.through, "", ""),
            )
            for here in pack.dead
            for one in here.tests
        ),
        "mm²",
    )
    states = [f"{column.title}, V" for column in pack.paper.states]
    yield _list(
        "live tests",
        "|".join(("part", "name", "where", "terminal", "wires", *states, "remarks", "read", "passed")),
        _live(pack),
        "|".join(states),
    )
    yield _list(
        "outputs",
        "pin|for|wire|volts off|volts on|amps|pulls in, starts|caution|read V|read A|passed",
        (
            (
                *(one.pin, one.does, _marks(one.wires), one.off, one.on, one.amps, " ".join(one.starts)),
                *(", ".join(one.caution), "", "", ""),
            )
            for one in pack.outputs.tests
        ),
        "volts off|volts on",
    )


def _live(pack: Pack) -> Iterable[Cells]:
    for part in pack.paper.readings:
        about = (part.id, part.name, part.place)
        if part.lies:
            yield *about, part.thing, "", *part.lies, "", "", ""
        for line in part.lines:
            yield *about, line.terminal, _marks(line.wires), *line.volts, line.remark, "", ""


def _earths(pack: Pack) -> Iterable[PackList]:
    yield _list(
        "earths",
        "point|for|where|on|wires, and where from|to the post|most|goes dead with it off|read",
        (
            (one.id, one.name, one.place, one.metal, _ends(one.wires), one.ohms, one.most, " ".join(one.dies), "")
            for one in pack.earths.earths
        ),
    )
    yield _list(
        "splices",
        "name|for|what|where|wires, and where to|together mm²",
        ((one.id, one.name, one.kind, one.place, _ends(one.wires), one.size or "open") for one in pack.earths.splices),
        "together mm²",
    )


def _parts(pack: Pack) -> Iterable[PackList]:
    parts = pack.parts
    yield _list("to buy", "count|what|for", ((str(b.count), b.item, " ".join(b.ids)) for b in parts.buy), "count")
    yield _list(
        "parts",
        "part|name|what it is|settings|where|fitted|notes",
        ((one.id, one.name, one.kind, one.what, one.place, one.fitted, one.notes) for one in parts.parts),
    )


def _crimps(pack: Pack) -> Iterable[PackList]:
    yield _list(
        "crimps",
        "die|terminal|mm²|strip|seal|pull|count|wire ends|told",
        (
            (
                c.die,
                c.terminal,
                c.size or "open",
                c.strip,
                c.seal,
                c.pull,
                str(c.count),
                " ".join(c.ends),
                "; ".join(c.told),
            )
            for c in pack.crimps.crimps
        ),
        "mm²|count",
    )
    yield _list("to order", "what|how much|mind", pack.crimps.order)


def _pins(pack: Pack) -> PackList:
    rows = (
        (one.controller, one.terminal, one.cavity, one.can, _ends(one.wires), one.does, one.most, one.notes)
        for one in pack.pins
    )
    return _list("controller pins", "controller|pin|cavity|can|wire, and where to|does|most|notes", rows)


def _numbers(pack: Pack) -> Iterable[PackList]:
    told = pack.numbers
    yield _list(
        "numbers",
        "number|start with|range|how|from",
        ((one.says, one.value, one.span, one.formula, one.source) for one in told.numbers),
    )
    for one in told.gears:
        yield _list(f"gears {one.programme}", f"km/h at pedal|{'|'.join(one.pedals)}", one.lines)


def _open(pack: Pack) -> Iterable[PackList]:
    headings = "what|id|says|stage|status|about|answer"
    for name, lines in (("open", pack.parts.open), ("settled", pack.parts.settled)):
        rows = ((one.what, one.id, one.says, one.stage, one.status, one.about, one.answer) for one in lines)
        yield _list(name, headings, rows)


def _owner(pack: Pack) -> PackList:
    told = pack.owner
    rows = [
        *(("in an emergency", "", told.stop) for _ in told.stop[:1]),
        *(("where it is cut off", what, says) for what, says in told.stops),
        *(("how to start it", str(number), step) for number, step in enumerate(told.start, start=1)),
        *(("what to watch", what, says) for what, says in told.watch),
        *(("what was done", what, says) for what, says in told.done),
        *(("limit", f"{one[0]} {one[1]}".strip(), one[2]) for one in told.limits),
    ]
    return _list("owner", "about|what|says", rows)


def _revisions(pack: Pack) -> Iterable[PackList]:
    told = pack.revisions
    yield _list(
        "changed since",
        "sheet|row|what|column|was|is now",
        ((one.sheet, one.row, _OPS[one.op], one.column, one.older, one.newer) for one in told.cells),
    )
    yield _list(
        "agreed changes",
        "revision|when|who|why|price",
        ((one.revision, one.time, one.who, one.why, one.price) for one in told.agreed),
        "price",
    )
    yield _list(
        "revisions", "revision|when|who|why", ((str(one.number), one.time, one.who, one.why) for one in told.history)
    )


def _marks(marks: Sequence[WireMark]) -> str:
    return ", ".join(f"{mark.id} {mark.colour}".strip() for mark in marks)


def _ends(ends: Sequence[WireEnd]) -> str:
    return ", ".join(" ".join(word for word in (end.wire, end.colour, end.there) if word) for end in ends)


def _yes(is_so: bool) -> str:
    return _YES if is_so else ""
