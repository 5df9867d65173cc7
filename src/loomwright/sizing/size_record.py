"""What did each limit ask of each wire and fuse, which of them ruled, and what do they carry now?

In: what was chosen (`choosing`). Out: `Sized`. The limit that ruled is the one that breaks when the wire is one size
thinner; where several break, the first of strength, heat, fuse, volts. Where the next thinner size would do and the
shop does not hold it, `stock` ruled; where it does, or there is no stock sheet, `sizes`. A wire that is laid as another
one of its lead is ruled by `lead`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from loomwright.job.rows import Wire
from loomwright.routes.records import Routes
from loomwright.sizing.choosing import Chosen
from loomwright.sizing.fit_findings import range_says
from loomwright.sizing.fuse_asks import Unguarded, unguarded
from loomwright.sizing.fuse_choice import FuseAsk, least_melting_a2s, passing_factor, usable
from loomwright.sizing.guarding import EQUAL
from loomwright.sizing.met import fuse_element, wire_element
from loomwright.sizing.open_cells import OpenFuse
from loomwright.sizing.sized import Ask, Sized, SizedFuse, SizedWire
from loomwright.sizing.volt_choice import thermal_row
from loomwright.sizing.volt_lines import Line, Lost, lost_on
from loomwright.sizing.wire_heat import Heat, heat_of, hottest_limit, warmest_c
from loomwright.states.paths.current_path import named
from loomwright.states.ratings.wire_limits import WireLimit, carries_a
from loomwright.tables.ampacity import ampacity
from loomwright.tables.conductors import sizes_mm2
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families

__all__ = ["by_the_row", "record_of"]

_TYPED, _CUT = "typed", "cut"


def record_of(chosen: Chosen, routes: Routes) -> Sized:
    """What was decided, and what stands in the job already.

    Args:
        routes: of the same job.
    """
    scene, cells = chosen.wires.scene, chosen.bench.cells
    wires = {name: _wire(chosen, scene.wires[name], routes) for name in scene.wires}
    fuses = {part: fuse for part in chosen.wires.guarding.reach.fuses if (fuse := _fuse(chosen, part)) is not None}
    decided = {name for name in cells.wires if name not in cells.pinned.sizes_mm2}
    decided |= {part for part in cells.fuses if part not in cells.pinned.ratings_a}
    network = scene.compiled.network
    return Sized(
        wires=wires,
        fuses=fuses,
        decided=frozenset(decided),
        copper_g=sum(_copper_g(scene.wires[name], one) for name, one in wires.items()),
        proved=chosen.wires.proved,
        solved=chosen.bench.met.demand.solved,
        unsettled=chosen.unsettled,
        variables=tuple((v.name, v.values, v.values.index(v.rest)) for v in network.variables),
    )


def _copper_g(wire: Wire, sized: SizedWire) -> float:
    """Copper of a new wire; nothing where its size or its length is not known. [g]"""
    if wire.fitted != "new" or sized.size_mm2 is None or sized.length_mm is None:
        return 0.0
    return constant("copper_g_per_mm3") * sized.size_mm2 * sized.length_mm


# ------------------------------------------------------------------------ wires


def _wire(chosen: Chosen, wire: Wire, routes: Routes) -> SizedWire:
    """One wire, open or given."""
    cells, name = chosen.bench.cells, wire.id
    is_open = name in cells.wires
    limit, hottest = chosen.bench.limits.get(name), chosen.hottest.get(name, "")
    if not is_open:
        given = hottest_limit(chosen.wires.scene, wire, routes)
        limit, hottest = given if given is not None else (None, "")
    size_mm2 = chosen.sizes_mm2.get(name) if is_open else wire.size_mm2
    sized = None if limit is None or size_mm2 is None else replace(limit, size_mm2=size_mm2)
    index = wire_element(chosen.wires.scene, name)
    worsts = chosen.wires.demand.of(index) if index is not None else ()
    heat = heat_of(sized, worsts) if sized is not None else None
    drop = chosen.wires.demand.drops.get(index) if index is not None else None
    asks = tuple(_asks(chosen, sized, hottest)) if is_open and sized is not None else ()
    most = max(worsts, key=lambda one: one.amps, default=None)
    decided_by = _decided_by(chosen, name, asks) if is_open else _CUT if name in cells.frozen else _TYPED
    if decided_by in ("stock", "sizes"):
        asks = (*asks, Ask(limit=decided_by, asks=size_mm2))
    return SizedWire(
        wire=name,
        size_mm2=size_mm2,
        decided_by=decided_by,
        length_mm=wire.length_mm,
        length_by=cells.wires[name].length_by if is_open else "",
        insulation_c=limit.insulation_c if limit is not None else None,
        ambient_c=limit.ambient_c if limit is not None else None,
        thinner_mm2=_thinner_mm2(chosen, size_mm2) if size_mm2 is not None else None,
        amps=heat.worst.amps if heat is not None else most.amps if most is not None else 0.0,
        conductor_c=warmest_c(sized, worsts) if sized is not None else None,
        drop_v=drop.volts if drop is not None else 0.0,
        values=heat.worst.values if heat is not None else most.values if most is not None else None,
        every_state=name in chosen.bench.met.covered,
        at_most_a=chosen.bench.met.at_most_a.get(name),
        asks=asks,
    )


def _asks(chosen: Chosen, limit: WireLimit, hottest: str) -> Iterator[Ask]:
    """What every limit asks of an open wire, and how its size meets it."""
    name, size_mm2 = limit.wire, limit.size_mm2
    least_mm2 = chosen.bench.cells.wires[name].least_mm2
    thinner_mm2 = _thinner_mm2(chosen, size_mm2)
    yield Ask(
        limit="strength",
        asks=_first(chosen, lambda size: size >= least_mm2),
        found=size_mm2,
        allowed=least_mm2,
        unit="mm²",
        thinner=thinner_mm2 if thinner_mm2 is not None and thinner_mm2 < least_mm2 else None,
        at=chosen.bench.cells.wires[name].circuit_class,
        source="common-practice",
    )
    yield from _terminal_asks(chosen, limit, thinner_mm2)
    yield from _heat_asks(chosen, limit, hottest, thinner_mm2)
    yield from _fuse_asks(chosen, limit, thinner_mm2)
    yield from _volt_asks(chosen, limit, thinner_mm2)
    other = chosen.wires.laid_as.get(name)
    if other is not None:
        yield Ask(limit="lead", asks=size_mm2, at=other, source="common-practice", rests_on=(other,))


def _terminal_asks(chosen: Chosen, limit: WireLimit, thinner_mm2: float | None) -> Iterator[Ask]:
    """What the terminals at its ends take; of the two the one that takes the least that is thickest."""
    wire = chosen.bench.cells.wires[limit.wire]
    if not wire.fits:
        return
    fit = max(wire.fits, key=lambda one: one.size_from_mm2)
    yield Ask(
        limit="terminal",
        asks=_first(chosen, wire.is_taken),
        found=limit.size_mm2,
        allowed=fit.size_from_mm2,
        unit="mm²",
        thinner=thinner_mm2 if thinner_mm2 is not None and not wire.is_taken(thinner_mm2) else None,
        at=f"{fit.called}: {range_says(fit)}",
        source=fit.source,
    )


def _heat_asks(chosen: Chosen, limit: WireLimit, hottest: str, thinner_mm2: float | None) -> Iterator[Ask]:
    index = wire_element(chosen.wires.scene, limit.wire)
    worsts = chosen.wires.demand.of(index) if index is not None else ()
    heat = heat_of(limit, worsts)
    if heat is None:
        yield Ask(limit="heat", asks=None, at=hottest, unit="A")
        return
    thin = heat_of(replace(limit, size_mm2=thinner_mm2), worsts) if thinner_mm2 is not None else None
    yield Ask(
        limit="heat",
        asks=_first(chosen, lambda size: _cool(heat_of(replace(limit, size_mm2=size), worsts))),
        found=heat.worst.amps,
        allowed=heat.allowed_a,
        unit="A",
        thinner=thin.allowed_a if thin is not None and not _cool(thin) else None,
        at=hottest,
        kind=heat.worst.moment,
        at_c=heat.at_c,
        values=heat.worst.values,
        source=ampacity(limit.size_mm2, limit.insulation_c, heat.at_c).source,
        rests_on=(hottest,) if hottest else (),
    )


def _cool(heat: Heat | None) -> bool:
    return heat is None or heat.used_frac <= 1.0


def _fuse_asks(chosen: Chosen, limit: WireLimit, thinner_mm2: float | None) -> Iterator[Ask]:
    every = tuple(unguarded(chosen.wires.guarding, limit))
    found = [one for one in every if one.severity != "note"]
    asks = _first(chosen, lambda size: not _broken(chosen, replace(limit, size_mm2=size)))
    if not found:
        yield Ask(limit="fuse", asks=asks if asks != _sizes(chosen)[0] else None)
        return
    thin = None if thinner_mm2 is None else replace(limit, size_mm2=thinner_mm2)
    breaks = [] if thin is None else _broken(chosen, thin)
    # what breaks when it is thinner is what the wire is held by; else what is used most
    held = [one for one in every if _alike(one, breaks) is not None]
    now = max(held or found, key=lambda one: one.used_frac)
    shown = _alike(now, breaks)
    thinner = None
    if thin is not None and breaks:
        # a tap that is none any more once it is thinner: what it then carries is told
        if now.unit == "A":
            thinner = shown.allowed if shown is not None else carries_a(thin)
        elif shown is not None:
            thinner = shown.found
    yield Ask(
        limit="fuse",
        asks=asks,
        found=now.found,
        allowed=now.allowed,
        unit=now.unit,
        thinner=thinner,
        at=now.by,
        rule=now.rule,
        source=_fuse_source(chosen, limit, now),
        rests_on=(now.by,),
    )


def _alike(one: Unguarded, others: Sequence[Unguarded]) -> Unguarded | None:
    return next((other for other in others if (other.rule, other.by) == (one.rule, one.by)), None)


def _broken(chosen: Chosen, limit: WireLimit) -> list[Unguarded]:
    return [one for one in unguarded(chosen.wires.guarding, limit) if one.severity != "note" and one.used_frac > EQUAL]


def _fuse_source(chosen: Chosen, limit: WireLimit, one: Unguarded) -> str:
    if one.rule == "PRO-3":
        return "k-factor"
    if one.rule != "PRO-4":
        return ampacity(limit.size_mm2, limit.insulation_c, limit.ambient_c).source
    fuse = chosen.wires.guarding.reach.fuses.get(one.by)
    gates = families()[fuse.family].printed if fuse is not None and fuse.family in families() else ()
    return next((gate.source for gate in gates if gate.multiple == constant("overload_factor")), "")


def _volt_asks(chosen: Chosen, limit: WireLimit, thinner_mm2: float | None) -> Iterator[Ask]:
    lines = _lines_of(chosen, limit.wire)
    if not lines:
        yield Ask(limit="volts", asks=None)
        return
    line, lost = min(lines, key=lambda pair: pair[1].left_v / pair[0].limit_v)
    thin = chosen.wires.volts.thinner.get(limit.wire)
    if thin is not None:
        line = thin[0]
        lost = next(one for other, one in lines if other is line)
    asks = _first(
        chosen, lambda size: all(one.left_v >= _more_v(chosen, limit, each, one, size) for each, one in lines)
    )
    is_drop = line.node < 0
    allowed_v = line.limit_v
    stands = sum(lost.each_v) if is_drop else line.limit_v + (lost.left_v if line.least else -lost.left_v)
    thinner = None
    if thin is not None:
        left_v = thin[1].left_v
        thinner = sum(thin[1].each_v) if is_drop else line.limit_v + (left_v if line.least else -left_v)
    yield Ask(
        limit="volts",
        asks=limit.size_mm2 if thin is not None else asks,
        found=stands,
        allowed=allowed_v,
        unit="V",
        thinner=thinner,
        at=line.at,
        rule=line.point,
        kind="drop" if is_drop else "least" if line.least else "most",
        values=line.values,
        source=line.source,
        rests_on=named(chosen.wires.scene, line.pieces),
    )


def _more_v(chosen: Chosen, limit: WireLimit, line: Line, lost: Lost, size_mm2: float) -> float:
    """What a line would lose more if the wire had another size, with the current that flows now. [V]"""
    ohms, row = chosen.bench.ohms[limit.wire], thermal_row(chosen.wires.scene.compiled, line)
    amps = lost.each_a[line.pieces.index(ohms.element)]
    return amps * (ohms.ohm(size_mm2, row) - ohms.ohm(limit.size_mm2, row))


def _lines_of(chosen: Chosen, wire: str) -> list[tuple[Line, Lost]]:
    """The ways a wire lies on, those no size mends among them where it is only looked at."""
    if wire not in chosen.bench.ohms:
        return []
    element = chosen.bench.ohms[wire].element
    every = zip(chosen.wires.volts.lines, chosen.wires.volts.lost, strict=True)
    found = [(line, lost) for line, lost in every if element in line.pieces]
    if wire in chosen.bench.cells.pinned.sizes_mm2:
        broken = [one.line for one in chosen.wires.volts.impossible if element in one.line.pieces]
        found += list(zip(broken, lost_on(chosen.wires.scene.compiled, broken), strict=True))
    return found


def _decided_by(chosen: Chosen, wire: str, asks: Sequence[Ask]) -> str:
    if wire in chosen.bench.cells.pinned.sizes_mm2:
        return _TYPED
    if wire not in chosen.sizes_mm2:
        return "unsettled"
    thinner_mm2 = _thinner_mm2(chosen, chosen.sizes_mm2[wire])
    if thinner_mm2 is None:
        return "strength"
    own = next((ask.limit for ask in asks if ask.asks is not None and ask.asks > thinner_mm2), "")
    return own or by_the_row(thinner_mm2, chosen.bench.cells.sizes_mm2, is_stock=chosen.bench.cells.is_stock)


def by_the_row(thinner_mm2: float, sizes_mm2: Sequence[float], *, is_stock: bool) -> str:
    """What rules a size where no limit by itself asks for more than the next thinner one.

    Args:
        sizes_mm2: those that may be chosen. [mm2]
        is_stock: they are what the shop holds; else the standard row.
    Example:
        >>> by_the_row(1.5, (0.5, 2.5), is_stock=True), by_the_row(1.5, (1.0, 1.5, 2.5), is_stock=False)
        ('stock', 'sizes')
    """
    return "stock" if is_stock and thinner_mm2 not in sizes_mm2 else "sizes"


def _sizes(chosen: Chosen) -> tuple[float, ...]:
    """Sizes that are asked about: those that may be chosen, and the standard row."""
    return tuple(sorted({*chosen.bench.cells.sizes_mm2, *sizes_mm2("road")}))


def _thinner_mm2(chosen: Chosen, size_mm2: float) -> float | None:
    """The next thinner size there is, in stock or not. [mm2]"""
    return max((size for size in _sizes(chosen) if size < size_mm2), default=None)


def _first(chosen: Chosen, holds: Callable[[float], bool]) -> float | None:
    return next((size for size in _sizes(chosen) if holds(size)), None)


# ------------------------------------------------------------------------ fuses


def _fuse(chosen: Chosen, part: str) -> SizedFuse | None:
    """One fuse or breaker, open or given; a link has no rating."""
    scene, cells = chosen.wires.scene, chosen.bench.cells
    fuse, index = chosen.wires.guarding.reach.fuses[part], fuse_element(scene, part)
    if fuse.what == "link" or index is None:
        return None
    is_open = part in cells.fuses
    rating_a = chosen.ratings_a.get(part) if is_open else fuse.rating_a
    worst = max(
        (one for one in chosen.wires.demand.of(index) if one.moment == "steady"), key=lambda one: one.amps, default=None
    )
    asks: tuple[Ask, ...] = ()
    if is_open:
        ambient_c = chosen.fuse_c[part]
        asks = tuple(_fuse_ask(cells.fuses[part], ask, rating_a, ambient_c) for ask in chosen.fuse_asks.get(part, ()))
    return SizedFuse(
        part=part,
        rating_a=rating_a,
        decided_by=_rated_by(chosen, part, rating_a) if is_open else _TYPED,
        family=fuse.family,
        amps=worst.amps if worst is not None else 0.0,
        values=worst.values if worst is not None else None,
        every_state=part in chosen.bench.met.covered,
        at_most_a=chosen.bench.met.at_most_a.get(part),
        asks=asks,
    )


def _fuse_ask(fuse: OpenFuse, ask: FuseAsk, rating_a: float | None, ambient_c: float) -> Ask:
    """What one limit asks of a fuse, and how its rating meets it."""
    smaller_a = max((rating for rating in fuse.ratings if rating_a is not None and rating < rating_a), default=None)
    allowed = None if rating_a is None else _allows(fuse, ask.limit, rating_a, ambient_c)
    thinner = None if smaller_a is None else _allows(fuse, ask.limit, smaller_a, ambient_c)
    return Ask(
        limit=ask.limit,
        asks=ask.least_a,
        found=ask.found,
        allowed=allowed,
        unit=ask.unit,
        thinner=thinner if thinner is not None and thinner < ask.found else None,
        at_c=ambient_c,
        values=ask.values,
        source=ask.source,
    )


def _allows(fuse: OpenFuse, limit: str, rating_a: float, ambient_c: float) -> float | None:
    """What a rating allows by one limit, in the limit's own unit."""
    if limit == "load":
        return usable(fuse, rating_a, ambient_c)[0]
    if limit == "starting":
        return rating_a * passing_factor(fuse, rating_a)
    return least_melting_a2s(fuse, rating_a)


def _rated_by(chosen: Chosen, part: str, rating_a: float | None) -> str:
    if part in chosen.bench.cells.pinned.ratings_a:
        return _TYPED
    if rating_a is None:
        return "unsettled"
    asks = chosen.fuse_asks.get(part, ())
    return next((ask.limit for ask in asks if ask.least_a == rating_a), "load")
