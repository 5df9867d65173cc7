"""Which circuit sits in which way of a connector between looms, and what moves to which plug where ways are too few?

Every crossing gets a way by the engine that gives needs their pins; the goals stand in `cavity_puzzle`. Where not all
fit, the smallest sets that cannot sit together are proved and told. Connectors on a part are not arranged: the part's
terminals say where each wire goes; they are told with their spare ways.

Source: a contact's amps are typical, from memory (`tables/contact_widths.csv`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from loomwright.allocation.cavity_ground import KIND, Crossing, Plug, crossings_of, plugs_of, takes_wire
from loomwright.allocation.cavity_puzzle import CAVITY_GOALS, GAP, bare_puzzle, beside, cavity_puzzle, why_not_here
from loomwright.allocation.clashes import Clash, clashes
from loomwright.allocation.placing import Placed, Tell, place
from loomwright.findings import id_order
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Crimp
from loomwright.refusals import OutOfReach

__all__ = ["Cavities", "CavitySeat", "FixedPlug", "NotSeated", "arranged", "plugs_beside", "with_ways_typed"]

_MOST_NAMES = 12
_AT_ODDS = "a live way beside a sensor's"


@dataclass(frozen=True, slots=True, kw_only=True)
class CavitySeat:
    """One crossing and its way. was: the way as it stands in the sheets.   way: the way it gets.

    crimp: the terminal of the sheet crimps that takes its wire there, empty where none is known.   says: why.
    """

    was: str
    way: str
    wires: tuple[str, ...]
    circuits: tuple[str, ...]
    amps: float | None
    size_mm2: float | None
    crimp: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotSeated:
    """Crossings that cannot all sit in the ways there are, and can with any one of them left out."""

    crossings: tuple[str, ...]
    ways: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedPlug:
    """A connector on a part: its terminals say where each wire goes. used, ways: cavities. [-]"""

    id: str
    part: str
    ways: int | None
    used: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavities:
    """The answer. status: `fits` or `does not fit`.   seats: in order of ways.   spares: plug -> its free ways.

    moved: to another way of the same plug; moved_plug: to another plug, the smallest set that will do.
    beside: a live way and a sensor's that still lie side by side.   goals: goal -> what it costs, and whether proved.
    """

    job: Job
    status: str
    seats: tuple[CavitySeat, ...]
    spares: Mapping[str, tuple[str, ...]]
    moved: tuple[CavitySeat, ...]
    moved_plug: tuple[CavitySeat, ...]
    beside: tuple[tuple[str, str], ...]
    conflicts: tuple[NotSeated, ...]
    left_out: tuple[str, ...]
    fixed: tuple[FixedPlug, ...]
    goals: Mapping[str, tuple[int, bool]]
    notes: tuple[str, ...]

    @property
    def proved(self) -> bool:
        """Whether no answer is better, goal by goal."""
        return all(proved for _, proved in self.goals.values())


def arranged(job: Job, amps: Mapping[str, float], connector: str = "", tell: Tell | None = None) -> Cavities:
    """A way for everything that passes through connectors between looms.

    Args:
        job: as the sheets have it, its decisions beside it.
        amps: wire -> the most that flows in it, where that is known. [A]
        connector: one of them, with those at its place; all where left out.
        tell: called with goals done and to do; may raise Stopped.
    Raises:
        OutOfReach: no such connector.
        Stopped: before anything was found.
    """
    filled = with_decided(job)
    plugs = plugs_of(filled)
    fixed = tuple(_fixed(filled))
    if connector:
        fixed = tuple(one for one in fixed if connector in (one.id, one.part))
        plugs = _beside_it(filled, plugs, connector, bool(fixed))
    crossings = crossings_of(filled, amps, plugs)
    found: list[_Group] = []
    for plugs_there in _groups(plugs):
        own = {name: each for name, each in crossings.items() if each.plug in plugs_there}
        answer = place(cavity_puzzle(own, plugs_there, filled.crimps), tell) if own else None
        if answer is not None:  # everything may be left out, so there is always one
            found.append(_group_of(answer, own, plugs_there, filled.crimps, tell))
    seats = sorted((seat for one in found for seat in one.seats), key=lambda each: id_order(each.way))
    left = tuple(name for one in found for name in one.left_out)
    taken = {each.way for each in seats}
    return Cavities(
        job=job,
        status="does not fit" if left else "fits",
        seats=tuple(seats),
        spares={name: tuple(way.name for way in plug.ways if way.name not in taken) for name, plug in plugs.items()},
        moved=tuple(each for each in seats if each.was != each.way and _plug(each.was) == _plug(each.way)),
        moved_plug=tuple(each for each in seats if _plug(each.was) != _plug(each.way)),
        beside=tuple(sorted((pair for one in found for pair in one.beside), key=lambda pair: id_order(pair[0]))),
        conflicts=tuple(dict.fromkeys(clash for one in found for clash in one.conflicts)),
        left_out=left,
        fixed=fixed,
        goals={
            name: (sum(each.answer.costs[number] for each in found), all(each.answer.proved[number] for each in found))
            for number, name in enumerate(CAVITY_GOALS)
        },
        notes=tuple(_notes(plugs, crossings)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """What came of connectors whose ways are given together; each as of `Cavities`."""

    answer: Placed
    seats: tuple[CavitySeat, ...]
    beside: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    conflicts: tuple[NotSeated, ...]


def _group_of(
    answer: Placed, own: Mapping[str, Crossing], plugs: Mapping[str, Plug], crimps: tuple[Crimp, ...], tell: Tell | None
) -> _Group:
    """The ways of connectors as they were given, and why something has none.

    Args:
        own: what passes through them.
    """
    left_out = tuple(name for name in answer.left_out if not name.startswith(GAP))
    placed = {name: way for name, way in answer.placed.items() if not name.startswith(GAP)}
    conflicts: tuple[NotSeated, ...] = ()
    if left_out:
        puzzle = bare_puzzle(own, plugs, crimps)
        conflicts = tuple(_conflict(one, own, plugs, crimps) for one in clashes(puzzle, left_out, tell))
    return _Group(
        answer=answer,
        seats=tuple(_seat(own[name], way, own, plugs, placed, crimps) for name, way in placed.items()),
        beside=tuple(_gap(name) for name, way in answer.chosen.items() if name.startswith(GAP) and way == "given up"),
        left_out=left_out,
        conflicts=conflicts,
    )


def with_ways_typed(answer: Cavities) -> Job:
    """The job with its wires led to the ways they were given."""
    points = {f"{each.was}{side}": f"{each.way}{side}" for each in answer.seats for side in "ps"}
    wires = tuple(
        replace(wire, from_=points.get(wire.from_, wire.from_), to=points.get(wire.to, wire.to))
        for wire in answer.job.wires
    )
    return replace(answer.job, wires=wires)


def _plug(way: str) -> str:
    return way.rsplit(".", 1)[0]


def _gap(name: str) -> tuple[str, str]:
    one, other = name.removeprefix(GAP).split(" ")
    return one, other


def _fixed(job: Job) -> Iterator[FixedPlug]:
    """Connectors on parts, with the cavities that a wire sits in."""
    kinds = {part.id: part.kind for part in job.parts if part.fitted != "removed"}
    wired = {point for wire in job.wires if wire.fitted != "removed" for point in (wire.from_, wire.to)}
    for row in sorted(job.connectors, key=lambda each: id_order(each.id)):
        if kinds.get(row.part, KIND) != KIND:
            ends = {split_point(point)[1] for point in wired if split_point(point)[0] == row.part}
            yield FixedPlug(
                id=row.id, part=row.part, ways=row.ways, used=sum(_holds(row.terminals, each) for each in ends)
            )


def _holds(words: tuple[str, ...], terminal: str) -> bool:
    if not words:
        return True
    return any(terminal.startswith(word[:-1]) if word.endswith("*") else terminal == word for word in words)


def _beside_it(job: Job, plugs: Mapping[str, Plug], connector: str, is_fixed: bool) -> Mapping[str, Plug]:
    """The named plug and those at its place."""
    by_row = {row.id: row.part for row in job.connectors}
    name = connector if connector in plugs else by_row.get(connector, connector)
    if name not in plugs:
        if is_fixed:
            return {}
        allowed = " ".join([*plugs, *(row.id for row in job.connectors)]) or "a connector of the job; there is none"
        raise OutOfReach("connector", connector, allowed)
    return plugs_beside(plugs, name)


def plugs_beside(plugs: Mapping[str, Plug], name: str) -> dict[str, Plug]:
    """A plug and those at its place, which can take each other's crossings."""
    place = plugs[name].place
    return {each.id: each for each in plugs.values() if each.id == name or (each.place and each.place == place)}


def _groups(plugs: Mapping[str, Plug]) -> Iterator[dict[str, Plug]]:
    """Plugs that can take each other's crossings: those at one place; one without a place is by itself."""
    found: dict[str, dict[str, Plug]] = {}
    for plug in plugs.values():
        found.setdefault(plug.place or f"by itself {plug.id}", {})[plug.id] = plug
    yield from found.values()


def _seat(
    crossing: Crossing,
    way: str,
    own: Mapping[str, Crossing],
    plugs: Mapping[str, Plug],
    placed: Mapping[str, str],
    crimps: tuple[Crimp, ...],
) -> CavitySeat:
    plug = plugs[_plug(way)]
    row = next(each for each in plug.ways if each.name == way)
    crimp = takes_wire(plug, row, crossing.size_mm2, crimps)[1]
    return CavitySeat(
        was=crossing.name,
        way=way,
        wires=crossing.wires,
        circuits=crossing.circuits,
        amps=crossing.amps,
        size_mm2=crossing.size_mm2,
        crimp=crimp,
        says="; ".join(_says(crossing, way, own, plugs, placed, crimps)),
    )


def _says(
    crossing: Crossing,
    way: str,
    own: Mapping[str, Crossing],
    plugs: Mapping[str, Plug],
    placed: Mapping[str, str],
    crimps: tuple[Crimp, ...],
) -> Iterator[str]:
    there = {each.name: each for plug in plugs.values() for each in plug.ways}
    if way == crossing.name:
        yield "kept there" if there[way].is_kept else "stays where it is"
    elif crossing.name not in there:
        yield f"{crossing.name} is a way {crossing.plug} does not have"
    else:
        why = why_not_here(crossing, there[crossing.name], plugs[crossing.plug], crimps)
        other = next((name for name, where in placed.items() if where == crossing.name), "")
        sits = {where: name for name, where in placed.items()}
        round_it = [
            own[sits[each]] for each in beside(crossing.name, plugs) if each in sits and sits[each] != crossing.name
        ]
        clashing = [each for each in round_it if _at_odds(each, crossing)]
        if why:
            yield f"not in {crossing.name}: {why}"
        elif clashing and not other:
            beside_it = " and ".join(placed[each.name] for each in clashing)
            yield f"in {crossing.name} it would lie beside {beside_it}, {_AT_ODDS}"
        else:
            yield f"{crossing.name} is left to {other or 'a spare'}"
    if crossing.is_built:
        yield "made up already" if way == crossing.name else "made up already: its crimp comes out and goes in anew"
    at = {where: name for name, where in placed.items()}
    for near in beside(way, plugs):
        name = at.get(near)
        if name is None:
            continue
        if set(own[name].twists) & set(crossing.twists):
            yield f"beside {near}, its twin"
        elif _at_odds(own[name], crossing):
            yield f"beside {near}, a {'live way' if own[name].is_live else 'way of a sensor'}: no better place was free"


def _at_odds(one: Crossing, other: Crossing) -> bool:
    """Whether one may stand at battery volts and the other is a sensor's."""
    return (one.is_live and other.is_sensor) or (one.is_sensor and other.is_live)


def _conflict(
    clash: Clash, own: Mapping[str, Crossing], plugs: Mapping[str, Plug], crimps: tuple[Crimp, ...]
) -> NotSeated:
    names = tuple(name for unit in clash.units for name in unit.split(" + "))
    if len(names) == 1:
        lone = own[names[0]]
        why = dict.fromkeys(
            why_not_here(lone, way, plugs[way.plug], crimps) for plug in plugs.values() for way in plug.ways
        )
        said = "; ".join(each for each in why if each) or "there is no way at all"
        says = f"{lone.name} ({' '.join(lone.wires)}) fits no way: {said}"
    else:
        told = ", ".join(f"{name} ({' '.join(own[name].wires)})" for name in names[:_MOST_NAMES])
        more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
        blamed = f", because of {' and '.join(clash.blamed)}" if clash.blamed else ""
        says = (
            f"{told}{more} cannot all sit in the {len(clash.slots)} ways that would take them{blamed}. "
            "With any one of them elsewhere the others fit: a plug with more ways, or a second one at the same place"
        )
    return NotSeated(crossings=names, ways=clash.slots, says=says)


def _notes(plugs: Mapping[str, Plug], crossings: Mapping[str, Crossing]) -> Iterator[str]:
    for plug in plugs.values():
        own = [each for each in crossings.values() if each.plug == plug.id]
        if plug.counted:
            yield f"{plug.id}: nobody says how many ways it has; taken as {len(plug.ways)}, so none is spare"
        if not plug.known and len(plug.ways) > 1:
            yield f"{plug.id}: its layout is not known; taken as one strip, so what lies side by side may be otherwise"
        if own and all(way.most_a is None for way in plug.ways):
            yield f"{plug.id}: nobody says what its contacts carry: write their width into family, or rating_a"
        unknown = [each.name for each in own if each.amps is None]
        if unknown:
            yield f"{plug.id}: the current through {' '.join(unknown)} is not known, so it is not judged"
    if not plugs:
        yield "there is no connector between two looms (kind inline_connector), so nothing is to be arranged"
