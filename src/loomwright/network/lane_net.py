"""Which parts of a network do lanes need, and where do its elements stand in their lines?

In: `Arrays`. Out: `LaneNet`, made once a job; see `lane_elimination` for what a line is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.lane_elimination import Order, line_of_edge, line_of_ref, order_of
from loomwright.network.lane_laws import LawGroup, by_law, law_groups
from loomwright.network.records import Law

__all__ = ["LaneNet", "lane_net"]


@dataclass(frozen=True, slots=True, eq=False)
class LaneNet:
    """A network for lanes.

    fixed, straight, bent: steps done once a job, those of live nodes no bent law touches, and the others.
    base: lines of all steps but the fixed ones, one column a thermal row.   curved: live elements that are no straight
    line, law by law.   to: line each puts its slope in.   from_step, to_step: their ends.
    """

    arrays: Arrays
    fixed: Order
    straight: Order
    bent: Order
    base: type_f
    linear: type_i
    linear_groups: tuple[LawGroup, ...]
    linear_to: type_i
    curved: type_i
    curved_groups: tuple[LawGroup, ...]
    curved_to: type_i
    ref_line: type_i


def lane_net(arrays: Arrays) -> LaneNet:
    """A network made ready for lanes."""
    steps, nodes = arrays.steps, arrays.nodes
    edge_line, ref_line = line_of_edge(steps), line_of_ref(steps)
    fixed = order_of(steps, 0, arrays.first_live_step)
    whole = np.zeros((ref_line[-1] + 2, arrays.base_edge.shape[0]))
    whole[edge_line] = arrays.base_edge[:, : len(edge_line)].T
    whole[ref_line] = arrays.base_ref.T
    live = arrays.live
    linear = by_law(arrays, live[arrays.law[live] == Law.LINEAR])
    curved = by_law(arrays, arrays.nonlinear)

    def lines_of(elements: type_i) -> type_i:
        slots = arrays.slot[elements]
        earthed = ref_line[np.minimum(arrays.from_step[elements], arrays.to_step[elements])]
        return np.where(slots >= 0, np.append(edge_line, 0)[slots], earthed)

    return LaneNet(
        arrays=arrays,
        fixed=fixed,
        straight=order_of(steps, arrays.first_live_step, arrays.first_bent_step),
        bent=order_of(steps, arrays.first_bent_step, nodes),
        base=whole[fixed.bottom :],
        linear=linear,
        linear_groups=law_groups(arrays, linear),
        linear_to=lines_of(linear),
        curved=curved,
        curved_groups=law_groups(arrays, curved),
        curved_to=lines_of(curved),
        ref_line=ref_line,
    )
