"""The car on which sizes and ratings are tried: what stays the same while they are.

What joins what, what decides what and which current pulses do not go with sizes or ratings, so they are worked out
once; a try is the same scene with other figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loomwright.job.points import Kinds
from loomwright.job.rows import Wire
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.sizing.demand import Demand, Worst
from loomwright.sizing.fuse_asks import Guarding, guarding_of
from loomwright.sizing.fused import Reach, with_ratings
from loomwright.sizing.met import Met, wire_element
from loomwright.sizing.open_cells import OpenCells, with_choice
from loomwright.sizing.wire_ohms import WireOhms, resized
from loomwright.states.asking.scene import Scene, scene_with
from loomwright.states.ratings.rating_ground import RatingGround
from loomwright.states.ratings.wire_limits import WireLimit, limits_of

__all__ = ["TryBench"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TryBench:
    """The car, what is open in it, and what its states ask.

    begun: with provisional sizes and no rating in open fuses. limits: of open wires, of any size, at their hottest
    place. ohms: of open wires by size. roughly: an answer to begin with is enough, nothing is proved of it.
    """

    cells: OpenCells
    kinds: Kinds
    begun: Scene
    met: Met
    reach: Reach
    limits: Mapping[str, WireLimit]
    ohms: Mapping[str, WireOhms]
    roughly: bool = False
    _made: dict[tuple[str, float], Wire] = field(default_factory=dict)

    def rated(self, ratings_a: Mapping[str, float]) -> Scene:
        """The car with these ratings, its sizes provisional.

        None of these fuses opens: behind one that does, nothing would flow, and so nothing would be lost and asked.
        """
        if not ratings_a:
            return self.begun
        job = with_choice(self.begun.job, {}, ratings_a)
        network = build_network(job, self.kinds, Changes(whole=tuple(ratings_a)))
        return scene_with(self.begun, job, compile_network(network))

    def sized(self, scene: Scene, sizes_mm2: Mapping[str, float]) -> Scene:
        """The same car with these sizes."""
        job = with_choice(scene.job, sizes_mm2, {}, self._made)
        return scene_with(scene, job, resized(scene.compiled, self.ohms, sizes_mm2))

    def ground(self, scene: Scene) -> RatingGround:
        """What questions about ratings need, in one of these cars."""
        return replace(self.met.ground, scene=scene)

    def guarding(self, scene: Scene) -> Guarding:
        """What protects what in one of these cars; open wires by their hottest place."""
        known = {
            name: replace(self.limits[name], size_mm2=limit.size_mm2) if name in self.limits else limit
            for name, limit in limits_of(scene).items()
        }
        return guarding_of(scene, self.met.ground.conduction, with_ratings(self.reach, scene), known)

    def worst(self, wire: str, demand: Demand) -> tuple[Worst, ...]:
        """What flows through a wire."""
        index = wire_element(self.begun, wire)
        return demand.of(index) if index is not None else ()
