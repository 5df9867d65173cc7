"""What is cut, crimped, seated, sleeved and labelled next, wire by wire?

In: the job with what was decided filled in. Out: a thing for each step of each wire that is built. Wires are cut reel
by reel, longest first, and crimped terminal by terminal, so that reel and die are changed as seldom as can be; they are
seated place by place in the order that takes least walking. A step that is on record is done; a wire cut again begins
anew (`loom.built_steps`), and so does one that a change has made useless; what else a change asks of built wires comes
first (`worklist.redoing`). A sleeve is offered where no connector holds the end, and may be passed over.

A tube without a slit goes on before the second end of its wires is crimped, which the crimp says. What is done at an
end is told by what it goes to: a cavity clicks, an earth or a bar is bolted, a splice takes all its wires into one
barrel.

Source: the order of steps at an end is that of `loom.built_steps`; sleeve over an open terminal: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.findings import id_order
from loomwright.job.figures import text_of_figure
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import END_WORDS, ENDS, other_end, point_at, seal_at, terminal_at
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.as_built_view import View, view_of
from loomwright.loom.bench_list import CrimpLine, bench_list
from loomwright.loom.built_steps import WireSteps, steps_of
from loomwright.loom.cut_list import ALLOWANCE_MM
from loomwright.quantities.printing import for_print
from loomwright.worklist.redoing import is_useless, redo_things
from loomwright.worklist.thing import Asks, Thing, places_in_order

__all__ = ["building_things"]

_NOT_KNOWN: Mapping[str, str] = FixedMap({})
_OPEN = "free end"
_AT_CRIMP = ("Put the seal, the sleeve and the label on before the terminal: they do not go over it.",)
_PULL = "Pull at it: one that gives is cut off and crimped anew."
_AT_SEAT = "Push until it clicks, then pull at the wire."
_AT_PLACE = "Push until it clicks, or make it tight; then pull at the wire."
_AT_EARTH = (
    "Battery off before a lead or a bolt is touched.",
    "Bright metal under the ring, the bolt tight; then grease or paint over it.",
)
_AT_BAR = (
    "Battery off before a lead or a bolt is touched.",
    "The ring flat on the bar, the nut tight, the lid back on.",
)
_AT_SPLICE = (
    "Sleeve and labels on first. All its wires go into one barrel: side by side, pressed once, pulled at each.",
)
_AT_SPLICED = "Pull at it; then the sleeve shrunk over the barrel until its glue shows at both ends."


def building_things(
    job: Job,
    built: AsBuilt | None = None,
    cavities: Mapping[str, str] = _NOT_KNOWN,
    tubes: Mapping[str, str] = _NOT_KNOWN,
) -> tuple[Thing, ...]:
    """Every step of every wire that is built, in the order they are done.

    Args:
        job: with what was decided filled in.
        built: what it asks of what is built already; nothing where left out.
        cavities: point -> the cavity its plug has it in, as the face on the paper says; where left out the terminal
            is told.
        tubes: wire -> what is pushed on along its way, which no crimped end passes; none is told where left out.
    """
    view = view_of(job)
    useless = is_useless(built)
    steps = {name: each for name, each in steps_of(job.progress).items() if name not in useless}
    wires = {wire.id: wire for wire in job.wires if _is_built(wire, steps)}
    lines = {end: line for line in bench_list(job).crimps for end in line.ends}
    parts = {part.id: part.place for part in job.parts}
    kinds = {part.id: part.kind for part in job.parts}
    names = {place.id: place.name or place.id for place in job.places}
    made = _Ends(
        view=view, steps=steps, lines=lines, parts=parts, names=names, kinds=kinds, cavities=cavities, tubes=tubes
    )
    cuts = [_cut(wires[name], steps.get(name)) for name in _cut_order(job, wires)]
    ends = [(wire, end) for name in sorted(wires, key=id_order) for wire in [wires[name]] for end in ENDS]
    crimps = sorted(ends, key=lambda pair: made.tool(*pair))
    order = places_in_order([made.place(wire, end) for wire, end in ends], job.places)
    seats = sorted(ends, key=lambda pair: (order.index(made.place(*pair)), point_at(*pair)))
    redone = () if built is None else redo_things(built, wires, {name: names.get(at, "") for name, at in parts.items()})
    return (
        *redone,
        *cuts,
        *(made.crimp(wire, end) for wire, end in crimps),
        *(thing for wire, end in seats for thing in made.in_the_car(wire, end)),
    )


class _Ends:
    """What is known of wire ends, and the things that are done there."""

    def __init__(
        self,
        *,
        view: View,
        steps: Mapping[str, WireSteps],
        lines: Mapping[str, CrimpLine],
        parts: Mapping[str, str],
        names: Mapping[str, str],
        kinds: Mapping[str, str],
        cavities: Mapping[str, str],
        tubes: Mapping[str, str],
    ) -> None:
        self._view, self._steps, self._lines, self._parts, self._names = view, steps, lines, parts, names
        self._kinds, self._cavities, self._tubes = kinds, cavities, tubes

    def place(self, wire: Wire, end: str) -> str:
        """The place an end is at; empty where it has none."""
        return self._parts.get(split_point(point_at(wire, end))[0], "")

    def tool(self, wire: Wire, end: str) -> tuple[object, ...]:
        """What sorts crimps so that the tool is changed seldom."""
        line = self._lines.get(f"{wire.id} {end}")
        terminal = terminal_at(wire, end) or ("" if line is None else line.terminal)
        splice = self._splice(wire, end)
        return (bool(splice), splice, not terminal, terminal, wire.size_mm2 or 0.0, id_order(wire.id), end == "to")

    def _splice(self, wire: Wire, end: str) -> str:
        """The splice an end lies in; empty where it lies in none."""
        part = split_point(point_at(wire, end))[0]
        return part if self._kinds.get(part) == "splice" else ""

    def _tube(self, wire: Wire) -> tuple[str, str]:
        return "pushed on before its second end", self._tubes.get(wire.id, "")

    def crimp(self, wire: Wire, end: str) -> Thing:
        """The terminal at an end, or the splice it goes into."""
        splice = self._splice(wire, end)
        if splice:
            does, group = f"Splice the {END_WORDS[end]}", f"Splice {splice}"
            return self._at(
                wire,
                end,
                "crimped",
                does,
                group,
                [("into", splice), self._tube(wire)],
                after="cut",
                cautions=_AT_SPLICE,
            )
        line = self._lines.get(f"{wire.id} {end}")
        terminal = terminal_at(wire, end)
        facts = [("terminal", terminal), ("seal", seal_at(wire, end))]
        if line is not None and line.is_proposed:
            terminal = f"{line.terminal}, proposed"
            facts = [("terminal", terminal), ("seal", f"{line.proposed_seal}, proposed" if line.proposed_seal else "")]
        if line is not None:
            strip = "" if line.strip_mm is None else f"{for_print(line.strip_mm)} mm"
            pull = "" if line.pull_n is None else f"{for_print(line.pull_n)} N"
            facts += [("strip", strip), ("die", line.die), ("pull", pull)]
        facts.append(self._tube(wire))
        group = f"Crimp {terminal or 'what its place asks for'}"
        cautions = (*_AT_CRIMP, _PULL)
        return self._at(
            wire, end, "crimped", f"Crimp the {END_WORDS[end]}", group, facts, after="cut", cautions=cautions
        )

    def in_the_car(self, wire: Wire, end: str) -> Iterator[Thing]:
        """What is done where an end is seated."""
        point = point_at(wire, end)
        terminal = split_point(point)[1]
        held = self._view.connector_of(point) if point and terminal else None
        where = self._names.get(self.place(wire, end), "") or "where it has no place yet"
        does = f"Seat the {END_WORDS[end]}"
        cautions: tuple[str, ...] = (_AT_PLACE,)
        facts = [("connector", ""), ("cavity", "")]
        kind = self._kinds.get(split_point(point)[0], "")
        if held is not None:
            facts, cautions = [("connector", held.id), *_where_in(point, terminal, self._cavities)], (_AT_SEAT,)
        elif kind == "splice":
            does, cautions = f"See the splice done at the {END_WORDS[end]}", (_AT_SPLICED,)
        elif kind == "earth_point" or (point and not terminal):
            does, cautions = f"Bolt down the {END_WORDS[end]}", _AT_EARTH
        elif kind == "busbar":
            does, cautions = f"Bolt down the {END_WORDS[end]}", _AT_BAR
        yield self._at(wire, end, "seated", does, where, facts, after="crimped", cautions=cautions)
        if held is None:
            yield self._at(
                wire, end, "sleeved", f"Sleeve over the {END_WORDS[end]}", where, [], after="seated", offered=True
            )
        label = self._view.labels.get((wire.id, end))
        says = [("label", f"{label.wire} {label.here} > {label.there}")] if label is not None else []
        yield self._at(
            wire, end, "labelled", f"See that the label of the {END_WORDS[end]} is on", where, says, after="seated"
        )

    def _at(
        self,
        wire: Wire,
        end: str,
        step: str,
        does: str,
        group: str,
        facts: list[tuple[str, str]],
        *,
        after: str,
        cautions: tuple[str, ...] = (),
        offered: bool = False,
    ) -> Thing:
        steps = self._steps.get(wire.id)
        needs_cut = wire.fitted == "new"
        before = f"build/{wire.id}/both/cut" if after == "cut" else f"build/{wire.id}/{end}/{after}"
        return Thing(
            id=f"build/{wire.id}/{end}/{step}",
            work="build",
            group=group,
            does=f"{does} of {wire.id}" if "label" not in does and "over" not in does else f"{does}: {wire.id}",
            sheet="progress",
            cells={"wire": wire.id, "end": end, "step": step},
            wire=wire.id,
            colour=wire.colour,
            here=point_at(wire, end) or _OPEN,
            there=point_at(wire, other_end(end)) or _OPEN,
            place=self._names.get(self.place(wire, end), ""),
            facts=tuple(pair for pair in facts if pair[1]),
            cautions=cautions,
            after=() if after == "cut" and not needs_cut else (before,),
            offered=offered,
            is_done=steps is not None and steps.at(end, step) is not None,
        )


def _where_in(point: str, terminal: str, cavities: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """The cavity of a plug, else the terminal by its name: never one for the other."""
    cavity = cavities.get(point, "")
    yield ("cavity", cavity) if cavity else ("terminal", terminal)


def _cut(wire: Wire, steps: WireSteps | None) -> Thing:
    length_mm = None if wire.length_mm is None else wire.length_mm + ALLOWANCE_MM
    size = "" if wire.size_mm2 is None else text_of_figure(wire.size_mm2)
    length = "" if length_mm is None else text_of_figure(length_mm)
    cells = {"wire": wire.id, "end": "both", "step": "cut", "length_mm": length, "size_mm2": size}
    facts = (
        ("cut", f"{length} mm" if length else "measure it in the car: nobody knows its length"),
        ("size", f"{size} mm²" if size else "not decided yet"),
        ("insulation", wire.insulation),
    )
    return Thing(
        id=f"build/{wire.id}/both/cut",
        work="build",
        group=f"Cut {wire.colour} {size}".strip(),
        does=f"Cut {wire.id}",
        sheet="progress",
        cells={name: text for name, text in {**cells, "colour": wire.colour}.items() if text},
        wire=wire.id,
        colour=wire.colour,
        here=wire.from_ or _OPEN,
        there=wire.to or _OPEN,
        facts=tuple(pair for pair in facts if pair[1]),
        asks=Asks(unit="mm", low=wire.length_mm),
        again="Cut another piece: the short one does for a shorter wire.",
        holds_up=True,
        is_done=steps is not None,
    )


def _cut_order(job: Job, wires: Mapping[str, Wire]) -> list[str]:
    """Wires to be cut, reel by reel; those without a length and cores of cables last."""
    new = [name for name, wire in wires.items() if wire.fitted == "new"]
    by_reel = [cut.wire for one in bench_list(job).wires for cut in one.reel.cuts if cut.wire in wires]
    return list(dict.fromkeys([*by_reel, *sorted(new, key=id_order)]))


def _is_built(wire: Wire, steps: Mapping[str, WireSteps]) -> bool:
    return wire.fitted == "new" or (wire.id in steps and wire.fitted != "removed")
