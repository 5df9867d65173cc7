"""What must hold for the sheets of any car: their order says nothing, a thicker wire loses less, a longer one more."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.examples.shelf import example_folder
from loomwright.job.points import kinds_of
from loomwright.job.reading import job_from_text
from loomwright.job.writing import text_from_job
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.solve import Solved, solve
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.conductors import sizes_mm2
from loomwright.tables.kinds import load_kinds
from tests.network.cars import job, solved

STATES = (
    {},
    {"key": "run", "engine": "idle", "light": "head", "heater": "on"},
    {"key": "run", "engine": "stopped", "turn": "left", "brake": "on"},
)
# rows whose order means something: positions of a switch, values of a variable
ORDERED = ("contacts", "variables")


def answers(sheets) -> list[Solved]:  # type: ignore[no-untyped-def]
    """A car's answers in a few states."""
    made = job_from_text(sheets)
    compiled = compile_network(build_network(made, kinds_of(made, load_kinds())))
    known = compiled.variable_of
    return [solve(compiled, {k: v for k, v in state.items() if k in known}) for state in STATES]


@pytest.mark.parametrize("name", ["van", "tourer"])
def test_the_order_of_rows_never_matters(name):
    sheets = text_from_job(open_folder(example_folder(name)))
    rng = Random(7)
    mixed = {}
    for sheet, rows in sheets.items():
        rows = list(rows)
        if sheet not in ORDERED:
            rng.shuffle(rows)
        mixed[sheet] = rows
    for one, other in zip(answers(sheets), answers(mixed), strict=True):
        assert one.relays == other.relays
        assert one.alive == other.alive
        assert one.blown == other.blown
        for point, volts in one.volts.items():
            if volts is None:
                assert other.volts[point] is None, point
            else:
                assert other.volts[point] == pytest.approx(volts, abs=1e-5), point


SIZES = [size for size in sizes_mm2() if 0.3 < size < 60.0]


def drop_v(size_mm2: float, length_m: float, watt: float) -> float:
    """Volts lost in the one wire that changes, between a battery and a lamp."""
    wires = [f"W1 BAT.+ LA.1 {size_mm2:g} mm2 {length_m:g}", "W2 LA.2 body", "W3 BAT.- body"]
    answer = solved(job({"LA": f"lamp; watt={watt:g}"}, wires))
    return answer.volts["BAT.+"] - answer.volts["LA.1"]


@settings(max_examples=25)
@given(st.sampled_from(SIZES), st.sampled_from(SIZES), st.floats(0.1, 8.0), st.sampled_from((5.0, 21.0, 55.0)))
def test_a_thicker_wire_of_the_sheets_never_drops_more(one, other, length_m, watt):
    thin, thick = sorted((one, other))
    assert drop_v(thick, length_m, watt) <= drop_v(thin, length_m, watt) + 1e-9


@settings(max_examples=25)
@given(st.sampled_from(SIZES), st.floats(0.1, 8.0), st.floats(0.1, 8.0))
def test_a_longer_wire_never_drops_less(size, one, other):
    short, long = sorted((one, other))
    assert drop_v(size, long, 21.0) >= drop_v(size, short, 21.0) - 1e-9
