"""How long the drawings of a whole van take."""

from __future__ import annotations

import time
from pathlib import Path

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds

VAN = Path(__file__).parents[2] / "src" / "loomwright" / "examples" / "van" / "mended"
MOST_S = 0.5


def test_all_drawings_of_the_van_take_less_than_half_a_second_of_work():
    job, kinds = open_folder(VAN), load_kinds()
    circuit_drawings(laid_circuits(job, kinds))
    taken = []
    for _ in range(3):
        start = time.process_time()
        assert len(circuit_drawings(laid_circuits(job, kinds))) >= 24
        taken.append(time.process_time() - start)
    assert min(taken) < MOST_S
