"""How long do the papers take, and how much memory: the demonstration, its drawings, a long workbook, a large job.

Processor time, since others may use the machine. The pack is set in a process of its own, begun cold: fonts and layout
are read in there. What the process imports before is told beside it. Beside each figure the bar that it is held
against.
"""

from __future__ import annotations

import pickle
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

from benchmarks.test_thousand_wires import thousand
from loomwright.car import Car
from loomwright.drawings.board.board_sheets import board_print
from loomwright.drawings.circuit_drawing import circuit_drawings
from loomwright.examples.shelf import example_folder
from loomwright.handover.lists import PackList
from loomwright.pages.paper_files import drawing_pages, pack_paper, way_pages
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.list_workbook import pack_workbook
from loomwright.writers.paper import page_count

PACK_S, PACK_PAGES, PACK_DRAWINGS, PACK_MB = 3.0, 60, 40, 500.0
DRAWINGS_S, WORKBOOK_S, WORKBOOK_ROWS, LARGE_S = 2.0, 0.5, 5000, 30.0
BENCH = ("cautions", "drawings", "cuts", "board", "boxes", "connectors", "pins", "labels", "earths", "owner")
"""What is taped to the bench: some sixty pages with forty drawings."""
COLD = """
import resource, time
clock = time.perf_counter()
import pickle, sys
from loomwright.writers.paper import pack_pdf, page_count
with open(sys.argv[1], "rb") as file:
    pack, drawings, board = pickle.load(file)
begun = time.process_time()
pdf = pack_pdf(pack, drawings, board=board, asked=sys.argv[2:])
taken = time.process_time() - begun
used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(page_count(pdf), taken, begun, used, time.perf_counter() - clock)
"""


@pytest.fixture(scope="module")
def van() -> Car:
    """The demonstration."""
    return Car(open_folder(example_folder("van")))


def test_the_pack_of_the_demonstration_is_set_cold(
    van: Car, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pack = van.pack()
    own = (*drawing_pages(van), *way_pages(van, pack.ways))
    drawings = (own * PACK_DRAWINGS)[:PACK_DRAWINGS]
    kept = tmp_path / "pack"
    kept.write_bytes(pickle.dumps((pack, drawings, board_print(van.board()))))
    command = [sys.executable, "-c", COLD, str(kept), *BENCH]
    told = subprocess.run(command, check=True, capture_output=True, text=True)
    pages, taken_s, imported_s, used_mb, clock_s = (float(word) for word in told.stdout.split())
    cpu_s = imported_s + taken_s
    with capsys.disabled():
        print(
            f"\n{pages:.0f} pages, {len(drawings)} drawings from nothing: {clock_s:.2f} s by the clock, {cpu_s:.2f} s "
            f"of processor on all threads ({imported_s:.2f} s to import, {taken_s:.2f} s to set), {used_mb:.0f} MB "
            f"(bar {PACK_S:g} s for {PACK_PAGES} pages, {PACK_MB:.0f} MB)"
        )
    assert pages >= PACK_PAGES
    assert min(clock_s, cpu_s) < PACK_S
    assert used_mb < PACK_MB


def test_the_drawings_of_the_demonstration(van: Car, capsys: pytest.CaptureFixture[str]) -> None:
    begun = time.process_time()
    made = circuit_drawings(van.filled, van.kinds)
    taken_s = time.process_time() - begun
    with capsys.disabled():
        print(f"\n{len(made)} drawings laid out in {taken_s:.2f} s of processor (bar {DRAWINGS_S:g} s)")
    assert taken_s < DRAWINGS_S


def test_a_workbook_of_five_thousand_rows(capsys: pytest.CaptureFixture[str]) -> None:
    headings = ("wire", "circuit", "colour", "size mm²", "from", "to", "length mm", "notes")
    rows = tuple(
        (f"W{n}", "lights", "WH/BU", "1.5", f"F{n % 40}.2", f"L{n}.1", str(400 + n), "") for n in range(WORKBOOK_ROWS)
    )
    one = PackList(name="wires", headings=headings, rows=rows, figures=("size mm²", "length mm"))
    begun = time.process_time()
    data = pack_workbook((one,), title="large", revision="1")
    taken_s = time.process_time() - begun
    with capsys.disabled():
        print(
            f"\n{WORKBOOK_ROWS} rows in {taken_s:.2f} s of processor (bar {WORKBOOK_S:g} s), {len(data) / 1e3:.0f} kB"
        )
    assert taken_s < WORKBOOK_S


def test_the_pack_of_a_thousand_wires_with_progress(capsys: pytest.CaptureFixture[str]) -> None:
    car = Car(thousand())
    car.check()
    told: list[str] = []
    begun = time.process_time()
    pack = car.pack(making=told.append)
    pdf, drawings, _ = pack_paper(car, pack, told.append)
    taken_s = time.process_time() - begun
    used_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with capsys.disabled():
        print(
            f"\n{len(car.job.wires)} wires: {page_count(pdf)} pages, {len(drawings)} drawings in {taken_s:.1f} s of "
            f"processor (bar {LARGE_S:g} s), {used_mb:.0f} MB at most; told {len(told)} times: {' '.join(told)}"
        )
    assert told
    assert taken_s < LARGE_S
