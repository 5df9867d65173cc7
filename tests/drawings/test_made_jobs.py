"""Drawings of jobs that Hypothesis makes: no words on words, nothing over the edge, every wire once, A4 always.

A job that fails is made smaller by Hypothesis until it says by itself what is wrong with it.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.job.reading import job_from_text
from loomwright.tables.kinds import load_kinds
from tests.drawings.test_random_jobs import faults

KINDS = load_kinds()
FREE = sorted(
    kind.id
    for kind in KINDS.values()
    if kind.id not in ("controller", "switch_matrix", "battery", "inline_connector") and not kind.numbered
)
NAMES = st.sampled_from(["", "left fan", "x" * 200, "Ölgeber", "\U0001f697 motor", "מנוע קדמי", "مصباح", "馬達 前"])
CIRCUITS = st.sampled_from(["", "alpha", "beta"])
COLOURS = st.sampled_from(["", "BK", "WH/RD", "GNYE"])


@st.composite
def sheets(draw):
    """A battery, parts of any kinds under any names, wires from anywhere to anywhere."""
    parts = [{"id": "B", "kind": "battery"}]
    points = ["B.+", "B.-", "body"]
    for number in range(draw(st.integers(1, 7))):
        kind = KINDS[draw(st.sampled_from(FREE))]
        parts.append({"id": f"X{number}", "kind": kind.id, "name": draw(NAMES)})
        points += [f"X{number}.{one.name}" for one in kind.terminals if not one.name.startswith("*")]
    wires = [
        {
            "id": f"W{number}",
            "from": draw(st.sampled_from(points)),
            "to": draw(st.sampled_from([*points, ""])),
            "circuit": draw(CIRCUITS),
            "size_mm2": draw(st.sampled_from(["", "0.5", "35"])),
            "colour": draw(COLOURS),
        }
        for number in range(draw(st.integers(1, 14)))
    ]
    return {"parts": parts, "wires": wires, "circuits": [{"id": "alpha", "name": draw(NAMES)}, {"id": "beta"}]}


@settings(max_examples=8, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(sheets())
def test_a_made_job_draws_with_nothing_on_anything(made):
    assert faults(job_from_text(made)) == []


@pytest.mark.long
@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(sheets())
def test_any_made_job_draws_with_nothing_on_anything(made):
    assert faults(job_from_text(made)) == []


def wide(count, kind):
    """One circuit of so many wires, all on one part."""
    parts = [{"id": "B", "kind": "battery"}, {"id": "S", "kind": kind, "circuit": "big"}]
    parts += [{"id": f"L{number}", "kind": "lamp", "circuit": "big"} for number in range(count // 2)]
    wires = [{"id": "W0", "from": "B.+", "to": "S.1", "circuit": "big"}]
    for number in range(count // 2):
        wires.append({"id": f"A{number}", "from": f"S.{number + 2}", "to": f"L{number}.1", "circuit": "big"})
        wires.append({"id": f"E{number}", "from": f"L{number}.2", "to": "body", "circuit": "big"})
    return job_from_text({"parts": parts, "wires": wires, "circuits": [{"id": "big"}]})


def test_a_circuit_of_two_hundred_wires_goes_over_sheets_that_name_each_others_tracks():
    job = wide(200, "splice")
    assert faults(job) == []
    drawings = circuit_drawings(laid_circuits(job, KINDS))
    assert len(drawings) > 4
    numbers = [track.number for one in drawings for track in one.tracks]
    assert numbers == list(range(1, len(numbers) + 1))
