"""Which rating does a fuse need for what it feeds?

The least that is made in its family and that

    load      carries the worst continuous current: three quarters of the rating, or what its maker's curve says of the
              ambient where the fuse sits
    starting  lets what flows while the starter is fed pass for as long as cranking is judged, by its gates
    rush      stands the first rush of cold lamps and standing motors: no fuse of the family opens at less I^2 t than
              its gates allow at double the rating and more

A rush I falls away in three time constants, so  I^2 t = 1/2 I^2 (t_rush / 3).  t_rush is the motor's own; a filament's
is typical. A larger fuse loses fewer millivolts, and might let a wire be thinner; it would guard it worse, so that is
not traded.

Source: fuse-note for the curve; three quarters: common practice, no source; fuse-pulses for the shape of the rush.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.refusals import OutOfReach
from loomwright.sizing.demand import STEADY, Worst
from loomwright.sizing.fused import Fuse, Reach
from loomwright.sizing.open_cells import OpenFuse
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.conduction import SWITCHING, Conduction, beyond, reached, touching
from loomwright.states.ratings.rush import Rush, rush_of
from loomwright.tables.constants import constant
from loomwright.tables.fuses import family_named, usable_a
from loomwright.tables.kinds import resolve_settings

__all__ = [
    "FuseAsk",
    "RushMet",
    "asks_of",
    "least_melting_a2s",
    "passing_factor",
    "rush_met",
    "started_together",
    "usable",
]

_DRIVER = ".drive"
_MELTS_AT = 2.0
"""Gates from this multiple of the rating on are short enough for no heat to leave [-]."""
_SHARE_MORE = 1.35
"""A first current no larger than this many times the steady one is no rush: the lowest gate at which a blade fuse has
to open at all, `fuse_gates.csv` [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FuseAsk:
    """What one limit asks of a fuse.

    limit: load, starting or rush. least_a: the rating it asks for; None where none that is made will do. [A]
    found: amps, or for a rush its I^2 t, in `unit`. values: the worst state. source: of the limit.
    """

    limit: str
    least_a: float | None
    found: float
    unit: str
    values: type_i | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RushMet:
    """The worst first rush through a fuse. amps: in the first instant. [A]   time_s: until it is over. [s]"""

    amps: float
    time_s: float
    values: type_i | None

    @property
    def energy_a2s(self) -> float:
        """Its I^2 t. [A2s]"""
        return 0.5 * self.amps**2 * self.time_s / constant("rush_time_constants")


def asks_of(fuse: OpenFuse, worst: Sequence[Worst], rush: RushMet, ambient_c: float) -> tuple[FuseAsk, ...]:
    """What each limit asks of a fuse.

    Args:
        worst: the most that flows through it, each kind of state apart.
        rush: the first rush through it.
        ambient_c: where it sits, engine hot. [C]
    """
    steady = max((one for one in worst if one.moment == STEADY), key=lambda one: one.amps, default=None)
    moment = max((one for one in worst if one.moment != STEADY), key=lambda one: one.amps, default=None)
    asks = []
    if steady is not None:
        least = _least(fuse, lambda rating: usable(fuse, rating, ambient_c)[0] >= steady.amps)
        source = usable(fuse, fuse.ratings[0] if least is None else least, ambient_c)[1]
        asks.append(
            FuseAsk(limit="load", least_a=least, found=steady.amps, unit="A", values=steady.values, source=source)
        )
    if moment is not None and moment.amps > (steady.amps if steady is not None else 0.0):
        least = _least(fuse, lambda rating: rating * passing_factor(fuse, rating) >= moment.amps)
        asks.append(
            FuseAsk(
                limit="starting", least_a=least, found=moment.amps, unit="A", values=moment.values, source="from-memory"
            )
        )
    if rush.amps > 0.0 and least_melting_a2s(fuse, fuse.ratings[0]) is not None:
        least = _least(fuse, lambda rating: (least_melting_a2s(fuse, rating) or 0.0) >= rush.energy_a2s)
        asks.append(
            FuseAsk(
                limit="rush", least_a=least, found=rush.energy_a2s, unit="A²s", values=rush.values, source="fuse-pulses"
            )
        )
    return tuple(asks)


def usable(fuse: OpenFuse, rating_a: float, ambient_c: float) -> tuple[float, str]:
    """What a fuse carries for ever where it sits, and where that is from. [A]

    Args:
        rating_a: its rating. [A]
        ambient_c: around it. [C]
    """
    try:
        return usable_a(fuse.family, rating_a, ambient_c), "fuse-note"
    except OutOfReach:
        return constant("fuse_continuous_frac") * rating_a, "common-practice"


def passing_factor(fuse: OpenFuse, rating_a: float) -> float:
    """Times its rating that a fuse lets pass for as long as cranking is judged, by its gates. [-]

    Args:
        rating_a: its rating. [A]
    """
    try:
        gates = family_named(fuse.family).gates_for(rating_a)
    except OutOfReach:
        return 1.0
    return max((gate.multiple for gate in gates if gate.min_s >= constant("cranking_s")), default=1.0)


def least_melting_a2s(fuse: OpenFuse, rating_a: float) -> float | None:
    """The least I^2 t at which a fuse may open in a short time; None where no least time is printed. [A2s]

    Args:
        rating_a: its rating. [A]
    """
    try:
        gates = family_named(fuse.family).gates_for(rating_a)
    except OutOfReach:
        return None
    found = [
        (gate.multiple * rating_a) ** 2 * gate.min_s for gate in gates if gate.multiple >= _MELTS_AT and gate.min_s > 0
    ]
    return min(found, default=None)


def rush_met(
    scene: Scene,
    conduction: Conduction,
    reach: Reach,
    fuse: Fuse,
    batches: Iterable[Answers],
    started: Collection[tuple[int, ...]],
) -> RushMet:
    """The worst first rush through a fuse: for each contact that starts loads behind it, their rush and what flows on.

    Args:
        batches: states in which its loads run.
        started: what each contact of the car starts, by `started_together`.
    """
    loads = _loads_behind(scene, conduction, reach, fuse)
    groups = {tuple(k for k in group if k in loads) for group in started} - {()}
    if conduction.live.isdisjoint(scene.ends(fuse.element)):
        # what feeds it is switched, perhaps where nobody has opened the old loom
        groups.add(tuple(sorted(_loads_behind(scene, conduction, reach, fuse, at_once=True))))
    starts = [(group, rush_of(scene, group)) for group in sorted(groups)]
    worst = RushMet(amps=0.0, time_s=0.0, values=None)
    for answers in batches:
        fine = answers.possible & ~answers.collapsed()
        for group, rush in starts:
            steady = sum((np.abs(answers.amps(k)) for k in group), np.zeros(answers.count))
            first = np.where(fine, rush.amps(answers, fuse.element), 0.0)
            through = first + np.maximum(np.abs(answers.amps(fuse.element)) - steady, 0.0)
            through = np.where(first > _SHARE_MORE * steady, through, 0.0)
            row = int(through.argmax())
            met = RushMet(amps=float(through[row]), time_s=_time_s(scene, rush), values=answers.batch.values[row])
            if met.energy_a2s > worst.energy_a2s:
                worst = met
    return worst


def _least(fuse: OpenFuse, will_do: Callable[[float], bool]) -> float | None:
    return next((rating for rating in fuse.ratings if will_do(rating)), None)


def _loads_behind(
    scene: Scene, conduction: Conduction, reach: Reach, fuse: Fuse, *, at_once: bool = False
) -> frozenset[int]:
    """What does work with the fuse's current: what ways reach from its side away from a source.

    Args:
        at_once: only what has no contact between the fuse and itself.
    """
    starts = {side.node for side in reach.sides if side.fuse == fuse.part}
    not_into = (_always_before(conduction, fuse) | set(scene.ends(fuse.element)) | conduction.earth) - starts
    nodes = reached(
        conduction,
        starts,
        through=lambda element: element != fuse.element and not (at_once and element in conduction.asks),
        into=lambda node: node not in not_into,
    )
    return frozenset(touching(scene, conduction, nodes))


def _always_before(conduction: Conduction, fuse: Fuse) -> frozenset[int]:
    """Nodes that nothing but other fuses stands between and the battery."""
    found = {conduction.live_post}
    waiting = [conduction.live_post]
    while waiting:
        for element, other in conduction.at.get(waiting.pop(), ()):
            passes = element != fuse.element and element not in conduction.asks
            if passes and other not in found and other not in conduction.earth:
                found.add(other)
                waiting.append(other)
    return frozenset(found)


def started_together(scene: Scene, conduction: Conduction) -> tuple[tuple[int, ...], ...]:
    """What does work that one contact or driver starts at once, each group once; the same for all fuses."""
    groups: dict[tuple[int, ...], None] = {}
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type in SWITCHING or element.name.endswith(_DRIVER):
            groups[beyond(scene, conduction, index, at_once=True)] = None
    return tuple(groups)


def _time_s(scene: Scene, rush: Rush) -> float:
    """How long the longest rush of some loads lasts. [s]"""
    times = [constant("lamp_rush_s")]
    for k in rush.loads:
        element = scene.element(k)
        if element.part in scene.parts and element.type == "motor":
            part = scene.parts[element.part]
            settings = resolve_settings(scene.kind(part.id), part.settings, part.rated_v or scene.vehicle.system_v)
            time_s = settings.get("inrush_s")
            times.append(time_s if isinstance(time_s, float) else 0.0)
    return max(times)
