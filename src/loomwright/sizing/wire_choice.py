"""Which sizes do the open wires get, once the ratings are known?

Each wire may have the sizes that its class, its heat and its fuses allow (`_allowed`); of these the ones of least
copper that keep the volts are taken (`volt_choice`); then the car is solved with them and every limit asked again.

Whether a dead short is cleared in time hangs on the whole loop, so each wire is first given the sizes that would do if
all others were at their thickest. Where the answer then leaves a wire unprotected, either it must be thicker, or
another wire of the loop: each way is followed, the one with least copper so far first. Past a count of tries every wire
that is not protected is made thicker itself, and the answer is told as not proved.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from heapq import heappop, heappush

import numpy as np

from loomwright.sizing.demand import Demand, Worst, demand_of
from loomwright.sizing.fuse_asks import Guarding, stands, unguarded
from loomwright.sizing.guarding import EQUAL
from loomwright.sizing.lead_size import one_size_leads
from loomwright.sizing.met import Tell, fuse_element, wire_element
from loomwright.sizing.open_cells import Unsettled
from loomwright.sizing.protection import ProtectionGround, fuse_findings
from loomwright.sizing.shorts import short_a
from loomwright.sizing.try_bench import TryBench
from loomwright.sizing.unsettled import no_volts, none_cool, none_fits, none_hot, none_safe, none_strong
from loomwright.sizing.volt_choice import VoltChoice, Volts, choose_volts, confirmed
from loomwright.sizing.volt_lines import lost_on
from loomwright.sizing.wire_heat import heat_of
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.ratings.wire_limits import WireLimit
from loomwright.tables.constants import constant

__all__ = ["WireChoice", "choose_wires"]

_TRIES_MOST = 40
_FEW = 3
"""With more wires than this unprotected at once, each is made thicker itself [-]."""

Allowed = Mapping[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WireChoice:
    """The sizes, and the car with them.

    volts: the sizes and what is lost. undecided: wires for which there is none, at their thickest in the scene.
    laid_as: wires that are thicker than their limits ask since they are laid as another, with that one.
    """

    scene: Scene
    guarding: Guarding
    demand: Demand
    volts: VoltChoice
    undecided: frozenset[str]
    laid_as: Mapping[str, str]
    proved: bool
    unsettled: tuple[Unsettled, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sizes:
    """What each open wire may be, in one branch. warned: wires that no size spares a warning. stuck: that have none."""

    allowed: Allowed
    warned: frozenset[str]
    stuck: frozenset[str]

    def thicker(self, choice: VoltChoice, wires: Collection[str]) -> _Sizes | None:
        """With these wires thicker than they were chosen; None where one cannot be."""
        allowed = dict(self.allowed)
        for name in wires:
            allowed[name] = tuple(size for size in allowed[name] if size > choice.sizes_mm2[name])
        return replace(self, allowed=allowed) if all(allowed[name] for name in wires) else None


@dataclass(slots=True, kw_only=True, eq=False)
class _Branches:
    """Answers that are still to be judged, each with what its wires may be. count: how many there have been. [-]"""

    bench: TryBench
    scene: Scene
    waiting: list[tuple[float, int, _Sizes, VoltChoice]] = field(default_factory=list)
    count: int = 0

    def add(self, sizes: _Sizes, choice: VoltChoice | None = None) -> None:
        """One more: the sizes with least copper of those, or the ones that were chosen already."""
        if choice is None:
            choice = choose_volts(_volts(self.bench, self.scene, sizes.allowed), roughly=self.bench.roughly)
        self.count += 1
        heappush(self.waiting, (_grams(self.bench, choice), self.count, sizes, choice))

    def lightest(self) -> tuple[_Sizes, VoltChoice]:
        """The one with least copper, the first of several; it waits no longer."""
        _, _, sizes, choice = heappop(self.waiting)
        return sizes, choice


def choose_wires(bench: TryBench, scene: Scene, tell: Tell | None = None) -> WireChoice:
    """The sizes of the open wires of a car whose ratings are chosen.

    Args:
        tell: called with answers tried and known of so far; may raise Stopped.
    """
    thickest = dict.fromkeys(bench.cells.wires, bench.cells.sizes_mm2[-1]) | dict(bench.cells.pinned.sizes_mm2)
    sizes, none = _allowed(bench, bench.guarding(bench.sized(scene, thickest)))
    branches = _Branches(bench=bench, scene=scene)
    branches.add(sizes)
    proved = True
    while True:
        if tell is not None:
            tell(branches.count - len(branches.waiting), branches.count)
        sizes, choice = branches.lightest()
        final = bench.sized(scene, choice.sizes_mm2)
        guarding, demand = bench.guarding(final), _again(bench, final)
        hot = sizes.thicker(choice, _open(sizes, choice, _too_hot(bench, demand, choice.sizes_mm2)))
        bare = _open(sizes, choice, _unprotected(guarding, choice.sizes_mm2, sizes.warned))
        if hot is not None and hot.allowed != sizes.allowed:
            branches.add(hot)
        elif bare and (branches.count > _TRIES_MOST or len(bare) > _FEW):
            proved = False
            branches.add(sizes.thicker(choice, bare) or sizes)
        elif bare:
            for one in _mends(bench, scene, sizes, choice, guarding, bare[0]):
                branches.add(one)
        if bare or (hot is not None and hot.allowed != sizes.allowed):
            continue
        if bench.roughly:
            break
        sure = confirmed(_volts(bench, scene, sizes.allowed), choice)
        if sure.sizes_mm2 == choice.sizes_mm2:
            choice = sure
            break
        branches.add(sizes, sure)
    laid_as = one_size_leads(guarding, sizes.allowed, choice.sizes_mm2)
    if laid_as:
        same = {name: choice.sizes_mm2[as_other] for name, as_other in laid_as.items()}
        choice = replace(choice, sizes_mm2={**choice.sizes_mm2, **same})
        final = bench.sized(scene, choice.sizes_mm2)
        guarding, demand = bench.guarding(final), _again(bench, final)
        thinner = {name: found for name, found in choice.thinner.items() if name not in laid_as}
        choice = replace(choice, lost=lost_on(final.compiled, choice.lines), thinner=thinner)
    return WireChoice(
        scene=final,
        guarding=guarding,
        demand=demand,
        volts=choice,
        undecided=sizes.stuck | _hopeless(bench, choice),
        laid_as=laid_as,
        proved=proved and choice.proved,
        unsettled=(*none, *_lost_for_good(bench, choice)),
    )


def _open(sizes: _Sizes, choice: VoltChoice, names: Iterator[str]) -> tuple[str, ...]:
    """Of some wires those that can still be thicker, each once."""
    found = dict.fromkeys(names)
    return tuple(name for name in found if name not in sizes.stuck and choice.sizes_mm2[name] < sizes.allowed[name][-1])


def _grams(bench: TryBench, choice: VoltChoice) -> float:
    return sum(bench.cells.wires[name].length_mm * size for name, size in choice.sizes_mm2.items())


def _mends(
    bench: TryBench, scene: Scene, sizes: _Sizes, choice: VoltChoice, guarding: Guarding, bare: str
) -> Iterator[_Sizes]:
    """The ways to protect a wire in a dead short: itself thicker, or another wire that lets more current flow."""
    own = sizes.thicker(choice, (bare,))
    if own is not None:
        yield own
    now_a = _short_a(guarding, bare)
    for name in bench.cells.wires:
        more = sizes.thicker(choice, (name,)) if name != bare and name not in sizes.stuck else None
        if more is not None:
            tried = bench.guarding(bench.sized(scene, {**choice.sizes_mm2, name: more.allowed[name][0]}))
            if _short_a(tried, bare) > now_a * EQUAL:
                yield more


def _short_a(guarding: Guarding, wire: str) -> float:
    """The least current of a dead short at a wire's far end, over the fuses it lies behind. [A]"""
    ends = guarding.scene.ends(guarding.scene.compiled.elements_of[wire][0])
    fuses = (guarding.reach.fuses[part] for part in guarding.fused.fuses_of.get(wire, ()))
    found = (short_a(loop, ends) for fuse in fuses for loop in guarding.loops(fuse))
    return min((amps for amps in found if amps is not None), default=0.0)


# ------------------------------------------------------------------------ what each wire may be


def _allowed(bench: TryBench, guarding: Guarding) -> tuple[_Sizes, list[Unsettled]]:
    """For each open wire the sizes that its class, its heat and its fuses allow; why there is none."""
    cells, none = bench.cells, []
    found: dict[str, tuple[float, ...]] = {}
    warned: set[str] = set()
    stuck: set[str] = set()
    for name in cells.wires:
        if name in cells.pinned.sizes_mm2:
            found[name] = (cells.pinned.sizes_mm2[name],)
        elif name not in bench.limits:
            found[name] = (cells.sizes_mm2[-1],)
            stuck.add(name)
        else:
            flows = bench.worst(name, bench.met.demand)
            limits = [replace(bench.limits[name], size_mm2=size) for size in cells.sizes_mm2]
            fits = [limit for limit in limits if cells.wires[name].is_taken(limit.size_mm2)]
            strong = [limit for limit in fits if limit.size_mm2 >= cells.wires[name].least_mm2]
            cool = _from_first(strong, partial(_is_cool, flows))
            safe = _from_first(cool, partial(stands, guarding))
            if not safe:
                warned.add(name)
                safe = _from_first(cool, partial(_has_no_fault, guarding))
            found[name] = tuple(limit.size_mm2 for limit in safe) or (cells.sizes_mm2[-1],)
            if not safe:
                stuck.add(name)
                none.append(_why_none(bench, guarding, limits, strong, cool, flows))
    return _Sizes(allowed=found, warned=frozenset(warned), stuck=frozenset(stuck)), none


def _why_none(
    bench: TryBench,
    guarding: Guarding,
    limits: Sequence[WireLimit],
    strong: Sequence[WireLimit],
    cool: Sequence[WireLimit],
    flows: tuple[Worst, ...],
) -> Unsettled:
    name = limits[0].wire
    if limits[0].ambient_c >= limits[0].insulation_c:
        return none_hot(limits[0])
    least_mm2 = bench.cells.wires[name].least_mm2
    # of all sizes, whether a terminal takes them or not
    every = _from_first([limit for limit in limits if limit.size_mm2 >= least_mm2], partial(_is_cool, flows))
    thick = _from_first(every, partial(_has_no_fault, guarding))
    if thick and not bench.cells.wires[name].is_taken(thick[0].size_mm2):
        return none_fits(bench.cells, name, thick[0].size_mm2)
    if not strong:
        return none_strong(bench.cells, name)
    if not cool:
        return none_cool(bench.cells, name, heat_of(strong[-1], flows))
    return none_safe(bench.cells, name, max(unguarded(guarding, cool[-1]), key=lambda one: one.used_frac))


def _from_first(limits: Sequence[WireLimit], holds: Callable[[WireLimit], bool]) -> Sequence[WireLimit]:
    """The sizes from the first that holds on: what a thin wire stands a thicker one stands; asked again at the end."""
    return limits[next((at for at, limit in enumerate(limits) if holds(limit)), len(limits)) :]


def _is_cool(worst: tuple[Worst, ...], limit: WireLimit) -> bool:
    heat = heat_of(limit, worst)
    return limit.ambient_c <= limit.insulation_c and (heat is None or heat.used_frac <= 1.0)


def _has_no_fault(guarding: Guarding, limit: WireLimit) -> bool:
    return not any(one.severity == "fault" and one.used_frac > EQUAL for one in unguarded(guarding, limit))


def _volts(bench: TryBench, scene: Scene, allowed: Allowed) -> Volts:
    """The question of volts, of these sizes."""
    cells = bench.cells
    grams = constant("copper_g_per_mm3")
    held = {wire.size_mm2 for wire in cells.job.wires if wire.fitted == "new" and wire.size_mm2 is not None}
    return Volts(
        compiled=scene.compiled,
        ohms=bench.ohms,
        lines=bench.met.lines,
        sizes_mm2=allowed,
        grams_per_mm2={name: grams * cells.wires[name].length_mm for name in allowed},
        held_mm2=frozenset(held),
    )


# ------------------------------------------------------------------------ asked again


def _again(bench: TryBench, scene: Scene) -> Demand:
    """The worst of every open wire and fuse in the car with the choice, from the states that were the worst before.

    What is given keeps the figures it had with provisional sizes.
    """
    before = bench.met.demand
    mine = [k for name in bench.cells.wires if (k := wire_element(scene, name)) is not None]
    mine += [k for part in bench.cells.fuses if (k := fuse_element(scene, part)) is not None]
    states = [one.values for k in mine for one in before.of(k)] + [before.drops[k].values for k in mine]
    if not states:
        return before
    again = demand_of(bench.ground(scene), mine, [answers_of(scene.compiled, np.unique(np.stack(states), axis=0))])
    return Demand(worst={**before.worst, **again.worst}, drops={**before.drops, **again.drops}, solved=before.solved)


def _too_hot(bench: TryBench, demand: Demand, sizes_mm2: Mapping[str, float]) -> Iterator[str]:
    for name, size_mm2 in sizes_mm2.items():
        if name in bench.limits and not _is_cool(
            bench.worst(name, demand), replace(bench.limits[name], size_mm2=size_mm2)
        ):
            yield name


def _unprotected(guarding: Guarding, sizes_mm2: Mapping[str, float], warned: Collection[str]) -> Iterator[str]:
    """Open wires that the rules of protection name in the car with the choice.

    Args:
        warned: wires that no size spares a warning.
    """
    ground = ProtectionGround(
        scene=guarding.scene, conduction=guarding.conduction, limits=guarding.limits, fused=guarding.fused
    )
    fused = guarding.fused
    near = {part for name in sizes_mm2 for part in fused.fuses_of.get(name, ())}
    near |= {part for part, wires in guarding.feeds.items() if not sizes_mm2.keys().isdisjoint(wires)}
    near |= {part for name in sizes_mm2 for part in guarding.returns.get(name, ())}
    for finding in fuse_findings(ground, near):
        if finding.severity != "note":
            named = (name for name in (*finding.at, *finding.touches) if name in sizes_mm2)
            yield from (name for name in named if finding.severity == "fault" or name not in warned)


# ------------------------------------------------------------------------ what cannot be mended


def _hopeless(bench: TryBench, choice: VoltChoice) -> frozenset[str]:
    """Open wires on ways that even the thickest do not mend."""
    wires = {name for one in choice.impossible if not one.is_given for name in one.wires}
    return frozenset(wires - bench.cells.pinned.sizes_mm2.keys())


def _lost_for_good(bench: TryBench, choice: VoltChoice) -> Iterator[Unsettled]:
    """One reason a load or requirement whose volts no size mends."""
    told: set[str] = set()
    for one in sorted(choice.impossible, key=lambda each: each.allowed_v - each.least_v):
        if one.line.at not in told:
            told.add(one.line.at)
            yield no_volts(bench.cells, one)
