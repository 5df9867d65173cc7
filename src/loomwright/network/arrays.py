"""The network as flat arrays: the form in which the compiled kernels read it.

One `Arrays` value holds everything that stays the same while states change. Node numbers: 0..n-1 are nodes, n is the
reference (its volts are nothing). Edges are pairs of nodes that touch, or come to touch while nodes are eliminated.

The kernels number a node by the *step* at which it is eliminated, and an edge by its place among the neighbours of the
one of its two nodes that goes first: what is used one after the other lies side by side.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["FREE", "ONE", "THREE", "TIER_FUSE", "TIER_MOTOR", "TIER_RELAY", "TWO", "Arrays", "Reach", "Steps"]

type_f = NDArray[np.float64]
type_i = NDArray[np.int64]
type_b = NDArray[np.uint8]
type_u = NDArray[np.uint64] | NDArray[np.uint32]

ONE, TWO, THREE = np.uint64(1), np.uint64(2), np.uint64(3)
"""Numbers without a sign: beside one with a sign the compiler would make a fraction of both."""

TIER_RELAY, TIER_MOTOR, TIER_FUSE = 0, 1, 2
FREE = 255
"""A device that is not held in one state [-]."""


class Steps(NamedTuple):
    """An order of elimination: each step's neighbours, as steps, and the edges between those.

    Step k has the edges ptr[k] .. ptr[k+1]-1, each to `near`. Edges between two of its neighbours begin at pair_ptr[k]
    and stand in the order (1,2) (1,3) ... (2,3) ...
    """

    ptr: type_u
    near: type_u
    pair_ptr: type_u
    pair_edge: type_u


class Reach(NamedTuple):
    """Which islands touch: nodes that hang together by wires and joints that never change are one.

    island: of each step, the reference last.  element, other, leads: of island k those from ptr[k], elements, the
    island each goes to, and whether it conducts as a wire or a contact does.  source, end: elements that may give
    current, once an end, and the island there.  straight: of each element, whether it may be taken as a straight line.
    """

    island: type_i
    ptr: type_i
    element: type_i
    other: type_i
    leads: type_b
    source: type_i
    end: type_i
    straight: type_b


class Arrays(NamedTuple):
    """Flat arrays of a network; `_ptr` arrays give where the items of entry k begin and end.

    a, b: ends of each element as nodes.  from_step, to_step: the same as steps.  slot: its edge; -1: to the reference.
    order: node of each step.  step_of: step of each node; the reference keeps its number in both.
    base_...: what never changes, the first steps eliminated; one line a thermal row.
    """

    nodes: int
    # elements
    a: type_i
    b: type_i
    law: type_i
    row: type_i
    selector: type_i
    figures: type_f
    from_step: type_i
    to_step: type_i
    slot: type_i
    live: type_i
    nonlinear: type_i
    guard_ptr: type_i
    need_ptr: type_i
    need_device: type_i
    need_on: type_b
    # guards: each element's or device's guards, each guard's terms
    device_guard_ptr: type_i
    term_ptr: type_i
    term_variable: type_i
    term_mask: type_i
    # selectors
    sel_first: type_i
    sel_second: type_i
    sel_ptr: type_i
    sel_columns: type_i
    sel_rows: type_i
    thermal: int
    # devices
    sense_ptr: type_i
    sense_element: type_i
    sense_a: type_i
    sense_b: type_i
    sense_beside: type_i
    sense_on: type_f
    sense_off: type_f
    tier: type_b
    at_rest: type_b
    stuck: type_b
    # elimination schedule
    first_live_step: int
    first_bent_step: int
    order: type_i
    step_of: type_i
    steps: Steps
    reach: Reach
    base_edge: type_f
    base_part: type_f
    base_ref: type_f
