"""What has a change made to be done again at the ends of wires that are built?

In: the job with what was decided filled in, and what it asks now of what is built (`loom.as_built`). Out: a thing for
each step that is done again: an end crimped anew, taken out and seated elsewhere, labelled anew. A wire that cannot be
used any more counts as not built and is told with the others. What no step of the record tells, a piece let in, a twist
or a wire taken out, stands on the list of what is built (`loomwright built`) alone.

An end that is crimped anew was taken out for it: it is seated again, and that is still to be done where the crimp on
record is of a later revision than the seat.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.job.points import split_point
from loomwright.job.rows import Progress, Wire
from loomwright.job.wire_ends import END_WORDS, ENDS, other_end, point_at, seal_at, terminal_at
from loomwright.loom.as_built_records import AsBuilt, Ask
from loomwright.loom.built_steps import WireSteps
from loomwright.worklist.thing import Thing

__all__ = ["is_useless", "redo_things"]

_GROUP = "Done again, since the sheets have changed"
_AT_CRIMP = ("Put the seal, the sleeve and the label on before the terminal: they do not go over it.",)
_AT_OUT = ("Lift the lock of the terminal, never pull a locked one: it spoils the cavity.",)


def is_useless(built: AsBuilt | None) -> frozenset[str]:
    """Wires that are built and have to be cut anew, by the name they have now."""
    return frozenset() if built is None else built.useless


def redo_things(built: AsBuilt, wires: Mapping[str, Wire], places: Mapping[str, str]) -> tuple[Thing, ...]:
    """Every step that is done again, wire by wire.

    Args:
        built: what is asked of what is built.
        wires: those of the job that are built, by id.
        places: part -> what its place is called.
    """
    found: list[Thing] = []
    for one in built.wires:
        wire = wires.get(one.name)
        if wire is None or any(ask.does in ("scrap", "take out") for ask in one.asks):
            continue
        for end in ENDS:
            asks = [ask for ask in one.asks if ask.end == end]
            found += _at_end(wire, end, asks, one.steps, places)
    return tuple(found)


def _at_end(wire: Wire, end: str, asks: list[Ask], steps: WireSteps, places: Mapping[str, str]) -> Iterator[Thing]:
    """The things at one end, each after the one before it."""
    crimp = next((ask for ask in asks if ask.does == "re-crimp"), None)
    seat = next((ask for ask in asks if ask.does in ("re-pin", "move") and ask.now != "free"), None)
    label = next((ask for ask in asks if ask.does == "re-label"), None)
    last = ""
    if crimp is not None or (seat is not None and _is_of_another_sort(seat)):
        thing = _again(wire, end, "crimped", crimp or seat, places, after="", cautions=_AT_CRIMP)
        last = thing.id
        yield thing
    if seat is not None or (last and steps.at(end, "seated")) or _is_out(steps, end):
        thing = _again(wire, end, "seated", seat or crimp, places, after=last, cautions=() if last else _AT_OUT)
        last = thing.id
        yield thing
    if label is not None:
        yield _again(wire, end, "labelled", label, places, after=last, cautions=())


def _is_of_another_sort(ask: Ask) -> bool:
    """Whether its connector is of another family: another terminal goes in."""
    return any(sheet == "connectors" for sheet, _, _ in ask.cells)


def _is_out(steps: WireSteps, end: str) -> bool:
    """Whether the end was crimped from a later revision than it was seated from."""
    crimped, seated = steps.at(end, "crimped"), steps.at(end, "seated")
    return crimped is not None and seated is not None and _revision(crimped) > _revision(seated) >= 0


def _revision(row: Progress) -> int:
    return -1 if row.revision is None else row.revision


_DOES = {
    "crimped": "Crimp the {end} of {wire} anew",
    "seated": "Seat the {end} of {wire} in {here}",
    "labelled": "Put another label on the {end} of {wire}",
}


def _again(
    wire: Wire,
    end: str,
    step: str,
    ask: Ask | None,
    places: Mapping[str, str],
    *,
    after: str,
    cautions: tuple[str, ...],
) -> Thing:
    here, there = point_at(wire, end), point_at(wire, other_end(end))
    facts = [("why", "" if ask is None else ask.says.partition(": ")[2])]
    if step == "crimped":
        facts += [("terminal", terminal_at(wire, end)), ("seal", seal_at(wire, end))]
    since = 0 if ask is None or ask.since is None else ask.since
    return Thing(
        id=f"build/{wire.id}/{end}/{step}/{since}",
        work="build",
        group=_GROUP,
        does=_DOES[step].format(end=END_WORDS[end], wire=wire.id, here=here or "its place"),
        sheet="progress",
        cells={"wire": wire.id, "end": end, "step": step},
        wire=wire.id,
        colour=wire.colour,
        here=here or "free end",
        there=there or "free end",
        place=places.get(split_point(here)[0], ""),
        facts=tuple(pair for pair in facts if pair[1]),
        cautions=cautions,
        after=(after,) if after else (),
    )
