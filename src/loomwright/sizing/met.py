"""What do the states of the car ask of the wires and fuses that are to be decided?

Solved once, with sizes taken provisionally, since currents hardly depend on them: the states in which each load is on
by itself (for volts), what loads each open wire and fuse most, and every combination of what decides it
(`demand_states`). The last is left out of a wire where it can change nothing: the loads beyond it draw no more all
together than the thinnest wire it may have carries (`most_beyond`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.network.arrays import type_i
from loomwright.sizing.demand import Demand, Worst, demand_of, heating_amps, states_near, together
from loomwright.sizing.demand_states import cold_twins, deciding_states, hottest_only, loading_states, without_same
from loomwright.sizing.most_beyond import highest_v, most_beyond
from loomwright.sizing.volt_lines import Line, drop_lines, requirement_lines
from loomwright.sizing.wire_heat import heat_of
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.looks import look
from loomwright.states.asking.own_states import OwnStates
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.states.ratings.rating_ground import RatingGround, rating_ground
from loomwright.states.ratings.wire_limits import WireLimit, carries_a

__all__ = ["Met", "Tell", "fuse_element", "met_by", "wire_element"]

Tell = Callable[[int, int], None]
_RUNNING = {"key": ("run",), "engine": ("running",)}
_PIECE = 1024
_NEAR_FRAC = 0.95
"""Share of its worst from which a state is solved at the other ambients too: currents change less with it. [0..1]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Met:
    """What was met.

    demand: of every wire and fuse of the car, over the states solved. lines: ways that pass an open wire.
    batches: the answers themselves. covered: wires and fuses whose worst is over every state the search covers.
    at_most_a: of the others that are open, what the loads beyond them draw all together. [A]
    """

    ground: RatingGround
    demand: Demand
    lines: tuple[Line, ...]
    batches: tuple[Answers, ...]
    covered: frozenset[str]
    at_most_a: Mapping[str, float]


def wire_element(scene: Scene, wire: str) -> int | None:
    """The element of a wire; None where it has none, a free end."""
    return next((k for k in scene.compiled.elements_of.get(wire, ()) if scene.element(k).is_wire), None)


def fuse_element(scene: Scene, part: str) -> int | None:
    """The element of a fuse or breaker."""
    found = (k for k in scene.elements_of.get(part, ()) if scene.element(k).type in ("fuse", "breaker"))
    return next(found, None)


def met_by(
    scene: Scene,
    wires: Mapping[str, WireLimit],
    fuses: Mapping[str, Callable[[float], float | None]],
    tell: Tell | None = None,
    *,
    roughly: bool = False,
) -> Met:
    """What the states ask of some wires and fuses.

    Args:
        wires: that are open, each with what the thinnest size it may have stands.
        fuses: that are open, each with the rating that a worst current asks for.
        tell: called with states done and to do; may raise Stopped.
        roughly: leave out the combinations of what decides each of them: enough to begin with.
    """
    ground = rating_ground(scene)
    own = OwnStates(scene.compiled, scene.cones)
    lines = drop_lines(scene, ground.conduction, own, wires) + requirement_lines(scene, ground.conduction, wires)
    moved = own.solved() or (answers_of(scene.compiled, look(scene, _RUNNING)),)
    every = _every_element(scene)
    at = {name: k for name in wires if (k := wire_element(scene, name)) is not None}
    at |= {part: k for part in fuses if (k := fuse_element(scene, part)) is not None}
    batches = [*moved, *_solved(scene, _loading(scene, ground, moved, tuple(at.values())), None)]
    demand = demand_of(ground, every, batches)
    most_v = highest_v(scene)
    most = {name: most_beyond(scene, ground, at[name], most_v) for name in wires if name in at}
    settled = {name: most_a for name, most_a in most.items() if most_a is not None and most_a <= carries_a(wires[name])}
    asked = [] if roughly else [k for name, k in at.items() if name not in settled]
    if asked:
        more = list(_solved(scene, without_same(scene, hottest_only(scene, deciding_states(scene, asked))), tell))
        demand = together([demand, demand_of(ground, every, more)])
        batches += more
    warm = [k for name, k in at.items() if _may_matter(name, wires, fuses, demand.of(k))]
    cold = cold_twins(scene, states_near(ground, warm, demand, batches, share_frac=_NEAR_FRAC))
    more = list(_solved(scene, cold, None))
    return Met(
        ground=ground,
        demand=together([demand, demand_of(ground, every, more)]),
        lines=lines,
        batches=(*batches, *more),
        covered=frozenset(at) - settled.keys(),
        at_most_a=settled,
    )


def _loading(scene: Scene, ground: RatingGround, moved: Sequence[Answers], elements: Sequence[int]) -> type_i:
    """The states that load each of the elements most."""
    amps = [heating_amps(ground, elements, answers) for answers in moved]
    states = loading_states(scene, moved, [[one[number] for one in amps] for number in range(len(elements))])
    return without_same(scene, hottest_only(scene, states))


def _may_matter(
    name: str,
    wires: Mapping[str, WireLimit],
    fuses: Mapping[str, Callable[[float], float | None]],
    worst: Sequence[Worst],
) -> bool:
    """Whether a current somewhat larger than the worst met would ask for more: then colder states are solved, too."""
    if name in wires:
        heat = heat_of(wires[name], worst)
        return heat is not None and heat.used_frac > _NEAR_FRAC
    met_a = max((one.amps for one in worst), default=0.0)
    return fuses[name](met_a) != fuses[name](met_a / _NEAR_FRAC)


def _solved(scene: Scene, states: type_i, tell: Tell | None) -> Iterable[Answers]:
    for first in range(0, len(states), _PIECE):
        piece = states[first : first + _PIECE]
        yield answers_of(scene.compiled, piece)
        if tell is not None:
            tell(first + len(piece), len(states))


def _every_element(scene: Scene) -> Sequence[int]:
    """The elements of all wires, fuses and breakers."""
    types = ("wire", "fuse", "breaker")
    return [k for k, element in enumerate(scene.compiled.network.elements) if element.type in types]
