"""Do the ends of a built wire still sit right: their cavity, terminal, seal and label?

In: what the job asks now, what it asked at the revisions the steps were done from, and the steps. Each step is held
against its own revision: an end that was seated anew since is right by its last seating. Out: what is asked, and in a
few words what the record does not tell. A wire whose two ends were changed about in the sheet is the same wire.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.job.points import split_point
from loomwright.job.rows import Progress, Wire
from loomwright.job.wire_ends import END_WORDS, other_end, point_at
from loomwright.loom.as_built_records import Ask, Does
from loomwright.loom.as_built_view import View
from loomwright.loom.built_steps import WireSteps
from loomwright.loom.labels import Label
from loomwright.loom.rework_hours import Operation

__all__ = ["EndAsks", "end_asks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndAsks:
    """What is asked of one end, each with its operations.   unknown: what the record does not tell, in words."""

    asked: tuple[tuple[Ask, tuple[Operation, ...]], ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _End:
    """One end under the eye. side: the end of the wire's row now that it is; the other one where they changed about."""

    view: View
    earlier: Mapping[int, View]
    now: Wire
    steps: WireSteps
    end: str

    def then(self, row: Progress) -> tuple[View, Wire] | None:
        """What was asked when a step was done; None where nobody knows."""
        view = self.earlier.get(row.revision) if row.revision is not None else None
        wire = None if view is None else view.wires.get(self.steps.wire)
        return None if view is None or wire is None else (view, wire)

    def side(self, then: Wire) -> str:
        """Which end of the row this one is now."""
        is_turned = (then.from_, then.to) == (self.now.to, self.now.from_) and then.from_ != then.to
        return other_end(self.end) if is_turned else self.end


def end_asks(view: View, earlier: Mapping[int, View], now: Wire, steps: WireSteps, end: str) -> EndAsks:
    """What is asked of one end of a built wire.

    Args:
        view: what the job asks now.
        earlier: revision -> what it asked then.
        now: the wire as it is asked.
        steps: what was done to it.
        end: from or to.
    """
    one = _End(view=view, earlier=earlier, now=now, steps=steps, end=end)
    found: list[tuple[Ask, tuple[Operation, ...]]] = []
    unknown: list[str] = []
    for step, question, word in (
        ("crimped", _crimped, "the terminal crimped at its"),
        ("seated", _seated, "the cavity of its"),
        ("labelled", _labelled, "the label at its"),
    ):
        row = steps.at(end, step)
        if row is None:
            continue
        then = one.then(row)
        if then is None:
            unknown.append(f"{word} {END_WORDS[end]}")
            continue
        asked = question(one, row, *then)
        found += [] if asked is None else [asked]
    return EndAsks(asked=tuple(found), unknown=tuple(unknown))


def _seated(one: _End, row: Progress, before: View, then: Wire) -> tuple[Ask, tuple[Operation, ...]] | None:
    """Another cavity, another connector, another part."""
    side = one.side(then)
    was, asked = point_at(then, one.end), point_at(one.now, side)
    old, new = before.connector_of(was), one.view.connector_of(asked)
    if was == asked:
        if old is None or new is None or (old.id, old.family) == (new.id, new.family):
            return None
        if old.family == new.family or not new.family:
            return None  # the connector has another name, or nobody has said of what sort it is
        says = f"{was} is in a connector of another sort now, {new.family} instead of {old.family or 'one not named'}"
        cells: tuple[tuple[str, str, str], ...] = (("connectors", new.id, "family"),)
        return _ask(one, row, "move", f"{says}: take it out, crimp what goes with it, seat it.", was, asked, cells), (
            *_ops(one, "extract", "crimp", "seat"),
        )
    cells = (("wires", one.now.id, side),)
    if not asked:
        says = f"was seated in {was}, and is to stay free now: take it out and close the end off."
        return _ask(one, row, "move", says, was, "free", cells), _ops(one, "extract")
    same_part = split_point(was)[0] == split_point(asked)[0]
    if same_part and ((old is None and new is None) or (old is not None and new is not None and old.id == new.id)):
        where = f"another cavity of {new.id}" if new is not None else "another terminal of the same part"
        says = f"was seated in {was}, and {asked} is asked now, {where}: take it out and seat it there."
        return _ask(one, row, "re-pin", says, was, asked, cells), _ops(one, "extract", "seat")
    says = f"was seated in {was}, and {asked} is asked now: take it out, lay it there and seat it."
    laid = Operation(end="", word="lay")
    return _ask(one, row, "move", says, was, asked, cells), (*_ops(one, "extract"), laid, *_ops(one, "seat"))


def _crimped(one: _End, row: Progress, _: View, then: Wire) -> tuple[Ask, tuple[Operation, ...]] | None:
    """Another terminal or another seal."""
    side = one.side(then)
    changed = [
        (f"{what}_{side}", getattr(then, f"{what}_{one.end}"), getattr(one.now, f"{what}_{side}"))
        for what in ("terminal", "seal")
    ]
    changed = [(column, was, asked) for column, was, asked in changed if asked and was != asked]
    if not changed:
        return None
    was = ", ".join(old or "none named" for _, old, _ in changed)
    asked = ", ".join(new for _, _, new in changed)
    says = f"was crimped with {was}, and {asked} is asked now: cut it off and crimp anew."
    cells = tuple(("wires", one.now.id, column) for column, _, _ in changed)
    out = ("extract", "crimp", "seat") if one.steps.at(one.end, "seated") else ("crimp",)
    return _ask(one, row, "re-crimp", says, was, asked, cells), _ops(one, *out)


def _labelled(one: _End, row: Progress, before: View, then: Wire) -> tuple[Ask, tuple[Operation, ...]] | None:
    """Another text on the label."""
    side = one.side(then)
    old, new = before.labels.get((then.id, one.end)), one.view.labels.get((one.now.id, side))
    if old is None or new is None:
        return None
    # what the label says of the copper is true of the piece that was cut
    new = replace(new, end=old.end, colour=old.colour, size=old.size, round_mm=old.round_mm)
    if old == new:
        return None
    says = f"was labelled {_text(old)}, and {_text(new)} is asked now: put another label on."
    columns = {"wire": "id", "here": side, "there": other_end(side), "circuit": "circuit"}
    cells = tuple(
        ("wires", one.now.id, column) for name, column in columns.items() if getattr(old, name) != getattr(new, name)
    )
    return _ask(one, row, "re-label", says, _text(old), _text(new), cells), _ops(one, "label")


def _ask(
    one: _End, row: Progress, does: Does, says: str, was: str, now: str, cells: tuple[tuple[str, str, str], ...]
) -> Ask:
    told = f"{one.now.id}, {END_WORDS[one.end]}: {says}"
    return Ask(
        wire=one.steps.wire,
        does=does,
        end=one.end,
        says=told,
        was=was or "free",
        now=now,
        since=row.revision,
        cells=cells,
    )


def _ops(one: _End, *words: str) -> tuple[Operation, ...]:
    return tuple(Operation(end=one.end, word=word) for word in words)


def _text(label: Label) -> str:
    """A label as it is read on the loom."""
    ends = f"{label.here or 'free'} to {label.there or 'free'}"
    return " ".join(piece for piece in (label.wire, ends, label.circuit) if piece)
