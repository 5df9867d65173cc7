"""What does the job, as it is asked for now, ask of each wire that is built already?

In: the job now, with its `progress`; the job as it was at the revisions that were built from, as far as they can be
had. Out: for every wire with progress what is to be done to it, nothing, or *look* where the record does not tell; the
hours of it; the proofs that no longer stand; the wires that have come since.

Every step is held against the revision it was done from: what was cut against length, area, colour, insulation; what
was crimped against terminal and seal; what was seated against the cavity; what was labelled against the label. A step
that was not done yet asks nothing: it will be done right. Nothing that is built is decided anew: a decision about a
wire that is cut stays as it was, and where the way of the wire would ask another length now that is told.

    too short by   asked + new crimps x 15 mm - cut
    too long by    cut - asked, told from 50 mm beyond the allowance of the cut list on

Source: 15 mm for a crimp cut off, 50 mm that a loom takes up: common practice, no source. Hours: `rework_hours`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.rows import Progress, Wire
from loomwright.job.wire_ends import END_WORDS, ENDS
from loomwright.loom.as_built_ends import end_asks
from loomwright.loom.as_built_piece import cut_anew, length_ask, out_of_loom, scrap_ask, stays_of
from loomwright.loom.as_built_proofs import proofs_again
from loomwright.loom.as_built_records import AsBuilt, Ask, BuiltWire
from loomwright.loom.as_built_view import View, view_of
from loomwright.loom.built_steps import WireSteps, steps_of
from loomwright.loom.rework_hours import Operation, minutes_of, rework_minutes

__all__ = ["as_built"]

Asked = tuple[Ask, tuple[Operation, ...], tuple[Operation, ...]]
"""What is asked, the operations of it, and those of the other way to mend it."""

_BUILT_ANEW = ("new",)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ground:
    """What wires are compared by. earlier: revision -> what the job asked then.   ways_mm: by route now. [mm]"""

    now: View
    earlier: Mapping[int, View]
    ways_mm: Mapping[str, float]
    minutes: Mapping[str, float]


def as_built(
    job: Job,
    *,
    earlier: Mapping[int, Job] | None = None,
    ways_mm: Mapping[str, float] | None = None,
    renamed: Mapping[str, str] | None = None,
) -> AsBuilt:
    """What is asked of each wire that is built, and of the proofs that rest on it.

    Args:
        job: as the sheets have it now, its decisions beside it.
        earlier: revision -> the job as it stood then, for revisions that progress was made from.
        ways_mm: wire -> the length its way along the runs asks now, where it has one. [mm]
        renamed: what a wire was called when it was built -> what it is called now.
    Raises:
        OutOfReach: minutes of the job's own that are no figure.
    Example:
        >>> from loomwright.job.rows import Progress, Wire
        >>> built = Progress(wire="W1", end="both", step="cut", length_mm=900.0, size_mm2=1.5, colour="RD")
        >>> wire = Wire(id="W1", from_="F1.2", to="L1.1", size_mm2=2.5, colour="RD", length_mm=850.0)
        >>> as_built(Job(wires=(wire,), progress=(built,))).asks[0].says
        'W1 was cut 1.5 mm², thinner than the 2.5 mm² asked now: scrap it and cut a new one.'
    """
    views: dict[int, View] = {}
    seen: dict[int, View] = {}
    for number, then in (earlier or {}).items():
        views[number] = seen[id(then)] if id(then) in seen else seen.setdefault(id(then), view_of(then, renamed or {}))
    ground = _Ground(
        now=view_of(job),
        earlier=views,
        ways_mm=ways_mm or {},
        minutes=rework_minutes(job),
    )
    called = renamed or {}
    steps = steps_of(replace(row, wire=called.get(row.wire, row.wire)) for row in job.progress)
    wires = tuple(_built(ground, each) for each in steps.values())
    proofs = proofs_again(job, ground.now, views, wires, minutes=ground.minutes["prove"])
    uncut = [
        name
        for name, wire in sorted(ground.now.wires.items(), key=lambda pair: id_order(pair[0]))
        if wire.fitted in _BUILT_ANEW and name not in steps
    ]
    fresh = _fresh(uncut, steps, views)
    return AsBuilt(
        wires=wires,
        fresh=fresh,
        uncut=tuple(name for name in uncut if name not in fresh),
        proofs=proofs,
        unknown=tuple(sorted({row.revision for row in job.progress if row.revision is not None} - set(views))),
        minutes=sum(wire.minutes for wire in wires) + sum(proof.minutes for proof in proofs),
    )


def _built(ground: _Ground, steps: WireSteps) -> BuiltWire:
    name = steps.wire
    now = ground.now.wires.get(name)
    since = (steps.cut or steps.first).revision
    if now is None:
        return _counted(ground, steps, "", since, [_gone(steps, since)])
    then = _wire_then(ground, steps, steps.cut or steps.first)
    scrap = scrap_ask(now, then, steps, since)
    if scrap is not None:
        work = out_of_loom(steps) if scrap.does == "take out" else cut_anew(steps)
        return _counted(ground, steps, name, since, [(scrap, work, ())])
    ends = [end_asks(ground.now, ground.earlier, now, steps, end) for end in ENDS]
    asked: list[Asked] = [(*each, ()) for one in ends for each in one.asked]
    crimps = sum(ask.does == "re-crimp" for ask, _, _ in asked)
    length = length_ask(now, then, steps, since, crimps=crimps, view=ground.now, way_mm=ground.ways_mm.get(name))
    if length is not None and length[0].does == "scrap":
        return _counted(ground, steps, name, since, [length])
    if length is not None:
        asked.insert(0, length)
    twisted = _twist(now, then, steps, since)
    asked += [twisted] if twisted is not None else []
    asked += _proved(steps, asked, now)
    asked += _unknown(now, steps, since, [word for one in ends for word in one.unknown])
    stays = stays_of(now, ground.now, ground.ways_mm.get(name))
    return replace(_counted(ground, steps, name, since, asked), stays=stays)


def _counted(ground: _Ground, steps: WireSteps, name: str, since: int | None, asked: list[Asked]) -> BuiltWire:
    """The wire with the minutes of each ask, an operation counted once."""
    done: set[Operation] = set()
    asks = []
    for ask, operations, other in asked:
        or_minutes = minutes_of(other, ground.minutes, set()) if other else None
        asks.append(replace(ask, minutes=minutes_of(operations, ground.minutes, done), or_minutes=or_minutes))
    return BuiltWire(wire=steps.wire, name=name, steps=steps, since=since, asks=tuple(asks))


def _gone(steps: WireSteps, since: int | None) -> Asked:
    """A wire that the sheets no longer have."""
    laid = [end for end in ENDS if steps.at(end, "seated")]
    mend = f"take it out of {' and '.join(f'its {END_WORDS[end]}' for end in laid)}" if laid else "scrap it"
    ask = Ask(
        wire=steps.wire,
        does="take out",
        says=f"{steps.wire} is no longer in the sheets: {mend}.",
        was="built",
        now="not wanted",
        since=since,
        cells=(("wires", steps.wire, ""),),
    )
    return ask, out_of_loom(steps), ()


def _twist(now: Wire, then: Wire | None, steps: WireSteps, since: int | None) -> Asked | None:
    """A wire that is laid and is to lie twisted with others now."""
    if then is None or now.twist == then.twist or not now.twist or not steps.is_laid:
        return None
    ask = Ask(
        wire=steps.wire,
        does="twist",
        says=f"{now.id} is laid, and is to lie twisted in {now.twist}: take one end out, twist it, seat it again.",
        was=then.twist or "not twisted",
        now=now.twist,
        since=since,
        cells=(("wires", now.id, "twist"),),
    )
    end = next(end for end in ENDS if steps.at(end, "seated"))
    words = (Operation(end=end, word="extract"), Operation(end="", word="twist"), Operation(end=end, word="seat"))
    return ask, words, ()


def _proved(steps: WireSteps, asked: list[Asked], now: Wire) -> list[Asked]:
    """A wire that was proved and is worked on now is proved again."""
    idle = ("shorten", "re-label", "look")
    if steps.proved is None or all(ask.does in idle for ask, _, _ in asked):
        return []
    ask = Ask(
        wire=steps.wire,
        does="prove",
        says=f"{now.id} was proved before: prove it again once it is done.",
        was="proved",
        now="to be proved",
        since=steps.proved.revision,
    )
    return [(ask, (Operation(end="", word="prove"),), ())]


def _unknown(now: Wire, steps: WireSteps, since: int | None, words: list[str]) -> list[Asked]:
    """What the record does not tell of the ends: nothing is inferred."""
    if not words:
        return []
    why = "no revision is written beside them" if since is None else "the job as it was then is not to be had"
    ask = Ask(
        wire=steps.wire,
        does="look",
        says=f"{now.id}: {', '.join(words)} cannot be told, since {why}. Look whether they are as asked now.",
        was="not known",
        since=since,
    )
    return [(ask, (), ())]


def _wire_then(ground: _Ground, steps: WireSteps, row: Progress) -> Wire | None:
    """The wire as it was when a step was done; None where nobody knows."""
    view = ground.earlier.get(row.revision) if row.revision is not None else None
    return None if view is None else view.wires.get(steps.wire)


def _fresh(uncut: list[str], steps: Mapping[str, WireSteps], views: Mapping[int, View]) -> tuple[str, ...]:
    """Wires that were not there at the last revision that was built from; none where nobody knows."""
    newest = max((each.first.revision or 0 for each in steps.values()), default=0)
    view = views.get(newest)
    return () if view is None else tuple(name for name in uncut if name not in view.wires)
